"""Everything that must hold before a change lands, in one command; `.ci/run` and pre-commit call the same.

    .venv/bin/python .ci/check.py                 all of it
    .venv/bin/python .ci/check.py format lint     only these
    .venv/bin/python .ci/check.py --mend          format, and mend what lint can, first

Nothing is changed without --mend. The pages of all modules are left in site/.
"""

import os
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

ROOT = Path(__file__).parents[1]
PYTHON = [sys.executable, "-m"]
STEPS = {
    "format": [*PYTHON, "ruff", "format", "--check", "."],
    "lint": [*PYTHON, "ruff", "check", "."],
    "types": [*PYTHON, "mypy"],
    "layers": [str(Path(sys.executable).with_name("lint-imports"))],
    "pages": [*PYTHON, "pdoc", "--docformat", "google", "--no-show-source", "-o", "site", "audio", "pairing"],
    "tests": [*PYTHON, "pytest", "-n", "4", "--dist", "loadfile"],
}
MEND = ([*PYTHON, "ruff", "check", "--fix", "."], [*PYTHON, "ruff", "format", "."])


def main(words: list[str]) -> int:
    """Run the steps that are named, all if none is; the number of those that failed."""
    if "--mend" in words:
        words.remove("--mend")
        for command in MEND:
            subprocess.run(command, cwd=ROOT, check=False)
    unknown = [word for word in words if word not in STEPS]
    if unknown:
        print(f"There is no step {', '.join(unknown)}; there are {', '.join(STEPS)}.", file=sys.stderr)
        return 2
    names = words or list(STEPS)
    beside = [name for name in names if name != "tests"]  # each keeps one core busy, tests all of them
    with ThreadPoolExecutor(2) as pool:
        failed = [name for name, passed in zip(beside, pool.map(passes, beside), strict=True) if not passed]
    failed += [name for name in names if name == "tests" and not passes(name)]
    print("== all passed ==" if not failed else f"== failed: {', '.join(failed)} ==")
    return len(failed)


def passes(name: str) -> bool:
    """Run a step, and say what it said and how long it took; of tests at once what they say, of others at their end."""
    begun = time.monotonic()
    at_once = name == "tests"
    if at_once:
        print(f"== {name} ==", flush=True)
    one_thread = {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
    done = subprocess.run(
        STEPS[name],
        cwd=ROOT,
        env=os.environ | one_thread,
        check=False,
        stdout=None if at_once else subprocess.PIPE,
        stderr=None if at_once else subprocess.STDOUT,
        text=True,
    )
    status = "passed" if done.returncode == 0 else "FAILED"
    said = "" if at_once else f"== {name} ==\n{done.stdout}"
    print(f"{said}{name}: {status} in {time.monotonic() - begun:.0f} s", flush=True)
    return done.returncode == 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
