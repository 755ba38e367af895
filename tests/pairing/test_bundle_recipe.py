"""The recipe of the bundle keeps up with the program; the bundle itself is built and tried by hand (DEVELOPERS.md)."""

import importlib.util
import re
import subprocess
import sys
from pathlib import Path

import pytest

from pairing.solve.compiling import LOOPS

ROOT = Path(__file__).parents[2]
RECIPE = ROOT / ".ci/bundle"


def recipe(name):
    spec = importlib.util.spec_from_file_location(f"bundle_{name}", RECIPE / f"{name}.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_every_module_with_compiled_loops_is_compiled_ahead():
    users = {
        path.relative_to(ROOT).with_suffix("").as_posix().replace("/", ".")
        for path in (ROOT / "pairing").rglob("*.py")
        if re.search(r"^@compiled\(", path.read_text("utf-8"), re.M)
    }
    assert users == set(LOOPS)


WITHOUT_COMPILER = """
import sys, types

class Ready(types.ModuleType):
    def __getattr__(self, name):
        if name.startswith("__"):
            raise AttributeError(name)
        return lambda *arguments: None

sys.modules["pairing.solve._ahead"] = Ready("pairing.solve._ahead")
from pairing.solve.compiling import compile_here
compile_here()
assert not {"numba", "llvmlite"} & set(sys.modules), "a compiler was imported"
"""


def test_where_the_loops_lie_ready_no_compiler_is_imported():
    subprocess.run([sys.executable, "-c", WITHOUT_COMPILER], cwd=ROOT, check=True)


def test_the_licences_name_each_part_and_bring_its_text(tmp_path):
    recipe("licences").main(tmp_path)
    page = (tmp_path / "LICENCES.md").read_text("utf-8")
    for part, licence in {"mutagen": "GPL-2.0-or-later", "av": "BSD-3-Clause", "numpy": "BSD-3-Clause"}.items():
        assert re.search(rf"^\| {part} \| [\d.]+ \| .*{licence}", page, re.M), part
        assert list((tmp_path / "licences").glob(f"{part}-*")), part
    assert "GNU GENERAL PUBLIC LICENSE" in (tmp_path / "GPL-3.0.txt").read_text("utf-8")


@pytest.mark.skipif(sys.platform == "win32", reason="a desktop entry is for free desktops")
def test_the_menu_entry_starts_the_program_from_where_it_lies(tmp_path):
    """Desktop Entry Specification 1.5: paths with spaces are quoted, %f stands for the one file that is opened."""
    there = tmp_path / "a folder" / "arcbed"
    there.mkdir(parents=True)
    for name in ("add to menu.sh", "arcbed.svg"):
        (there / name).write_bytes((RECIPE / name).read_bytes())
    home = {"HOME": str(tmp_path), "PATH": "/usr/bin:/bin", "XDG_DATA_HOME": str(tmp_path / "data")}
    for _ in range(2):  # again, as after a move
        subprocess.run(["sh", str(there / "add to menu.sh")], env=home, check=True, capture_output=True)
    entry = (tmp_path / "data/applications/arcbed.desktop").read_text()
    assert f'Exec="{there}/arcbed" open %f' in entry
    assert "MimeType=text/markdown;" in entry
    assert (tmp_path / "data/icons/hicolor/scalable/apps/arcbed.svg").is_file()
