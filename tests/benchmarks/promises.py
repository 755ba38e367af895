"""A thousand random edits of plans and sets: is every promise kept, or named?

`python tests/benchmarks/promises.py [STEPS]` prints what was done, how many promises were kept and named, and each that
was lost (there should be none). Twenty steps a class, each class with a library of its own; needs nothing but the
checkout. About half a minute of CPU for a hundred steps.
"""

import sys
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "pairing"))

from random_edits import Week  # noqa: E402

STEPS_A_CLASS = 20


def main() -> None:
    steps = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    done, kept, named, lost = Counter[str](), 0, 0, list[str]()
    for seed in range(-(-steps // STEPS_A_CLASS)):
        week = Week(seed)
        for _ in range(STEPS_A_CLASS):
            done[week.step()] += 1
        kept, named, lost = kept + week.kept, named + week.named, lost + week.lost
    print("\n".join(f"{count:5}  {what}" for what, count in done.most_common()))
    print(f"promises kept {kept}, named {named}, lost {len(lost)}")
    print("\n".join(lost))


if __name__ == "__main__":
    main()
