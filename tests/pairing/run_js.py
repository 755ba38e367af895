"""The pure modules of the class page, run by node where there is one, else in the browser that the tests need anyway."""

import json
import shutil
import subprocess
from pathlib import Path

TEMPLATES = Path(__file__).parents[2] / "pairing" / "show" / "templates"
NODE = shutil.which("node")


def answer_of(script: str, *names: str, browser=None):
    """What a script gives, run after the named files of the page's templates or of this folder.

    Args:
        script: statements that end in `return`; its value passes as JSON.
        browser: used where there is no node.
    """
    code = "\n".join([_source(name) for name in names] + [script])
    if NODE is None:
        with browser.new_context() as window:
            return window.new_page().evaluate(f"() => {{ {code} }}")
    wrapped = f"console.log(JSON.stringify((() => {{ {code} }})()))"
    done = subprocess.run([NODE], input=wrapped, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def _source(name: str) -> str:
    here = Path(__file__).parent / name
    return (here if here.exists() else TEMPLATES / name).read_text(encoding="utf-8")
