"""Names quick tests that together run every function known to `near.txt`, few and short: for another Python, say.

    python -m pytest $(python tests/mutants/cover.py)

Tests that have gone since `near.txt` was measured are left out.
"""

import re
from functools import cache
from pathlib import Path

from near import Near, Place

ROOT = Path(__file__).resolve().parents[2]
START_S = 0.05  # editorial: what any test costs


def cover(near: Near) -> list[str]:
    """Greedy: the test that runs the most functions a second, of those that none runs yet."""
    runs: dict[str, set[Place]] = {}
    for place, tests in near.tests.items():
        for test in filter(is_there, {example.partition("[")[0] for example in tests}):
            runs.setdefault(test, set()).add(place)
    chosen = []
    while runs:
        best = max(runs, key=lambda test: len(runs[test]) / (near.seconds[test] + START_S))
        chosen.append(best)
        done = runs.pop(best)
        runs = {test: places - done for test, places in runs.items() if places - done}
    return sorted(chosen)


def is_there(test: str) -> bool:
    """Whether the test still stands in its file."""
    file, _, name = test.partition("::")
    return bool(re.search(rf"def {re.escape(name.rpartition('::')[2])}\(", text(file)))


@cache
def text(file: str) -> str:
    """What stands in a file of tests; nothing where it has gone."""
    path = ROOT / file
    return path.read_text("utf-8") if path.is_file() else ""


if __name__ == "__main__":
    print("\n".join(cover(Near.read())))
