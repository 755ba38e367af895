"""The benchmarks that need nothing but the checkout, in one command, beside what was stored.

    python tests/benchmarks/run.py                 all of them, under a minute
    python tests/benchmarks/run.py plan_speed      only this
    python tests/benchmarks/run.py --store         and keep what came out as results/NAME.txt

A line whose numbers moved by more than a fifth is shown with the stored one below it. Figures of another machine, or of
a busy one, say little: compare ratios.
"""

import platform
import re
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).parent
QUICK = ("plan_speed", "show")
MOVED = 1.2
NUMBER = re.compile(r"\d[\d,]*\.?\d*")


def main(words: list[str]) -> int:
    """Run those named, all if none is."""
    names = [word for word in words if word != "--store"] or list(QUICK)
    failed = 0
    for name in names:
        print(f"== {name} ==", flush=True)
        done = subprocess.run([sys.executable, HERE / f"{name}.py"], stdout=subprocess.PIPE, text=True, check=False)
        failed += done.returncode != 0
        stored = HERE / "results" / f"{name}.txt"
        former = stored.read_text(encoding="utf-8").splitlines() if stored.exists() else []
        for line in done.stdout.splitlines():
            print(line)
            was = next((old for old in former if words_of(old) == words_of(line)), None)
            if was is not None and moved(was, line):
                print(f"{was}   <- stored")
        if "--store" in words and not done.returncode:
            stored.write_text(f"{machine()}\n{done.stdout}", encoding="utf-8", newline="\n")
    return failed


def machine() -> str:
    """What the figures were measured on."""
    return f"{platform.system()} {platform.machine()}, Python {platform.python_version()}"


def words_of(line: str) -> str:
    """A line without its numbers: what it is about."""
    return " ".join(NUMBER.sub("", line).split())


def moved(was: str, now: str) -> bool:
    """Say whether a number of a line is off by more than a fifth."""
    pairs = zip(NUMBER.findall(was), NUMBER.findall(now), strict=True)
    values = [(float(a.replace(",", "")), float(b.replace(",", ""))) for a, b in pairs]
    return any(max(pair) > MOVED * min(pair) for pair in values)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
