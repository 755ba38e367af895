"""Which test files take longest: what `tests/longest_first.txt` is renewed by.

    .venv/bin/python -m pytest -n 4 --dist loadfile --durations=0 > log
    .venv/bin/python tests/longest_first.py log

Files below two seconds stay out: workers take them at the end, where it doesn't matter which one has them.
"""

import re
import sys
from collections import Counter
from pathlib import Path

HERE = Path(__file__).parent
ORDER = HERE / "longest_first.txt"
LEAST_S = 2.0


def order() -> list[Path]:
    """The files that take long, the longest first."""
    return [HERE / line for line in ORDER.read_text("utf-8").splitlines()]


def main(log: Path) -> None:
    """Write the order from the durations that pytest has told."""
    seconds: Counter[str] = Counter()
    for took_s, file in re.findall(r"^([\d.]+)s \w+ +tests/(.+?)::", log.read_text("utf-8"), re.MULTILINE):
        seconds[file] += float(took_s)
    ORDER.write_text("".join(f"{file}\n" for file, took_s in seconds.most_common() if took_s >= LEAST_S), "utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
