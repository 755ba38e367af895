"""How well three logged classes foretell the length of a fourth, on made-up teachers: there are no logs of real classes.

    python tests/benchmarks/own_pace.py [TEACHERS]

How the teachers are made up stands in tests/pairing/taught_classes.py. Three of their classes are logged and learned; of a
fourth plan the program gives a range. Told: how often it holds the real length, how wide it is, and how far off the likely
length is, unlearned and learned. Some seconds.
"""

import statistics
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "pairing")]

from taught_classes import trial  # noqa: E402


def main() -> None:
    """Print the table."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    trials = [trial(seed) for seed in range(count)]
    off = [abs(t.likely_s / t.real_s - 1.0) for t in trials]
    before = [abs(t.unlearned_s / t.real_s - 1.0) for t in trials]
    print(f"made-up teachers                          {count}")
    print(f"range holds the real length               {sum(t.holds for t in trials) / count:.1%}")
    print(f"range, larger way from the likely length  {max(t.width for t in trials):.1%} at most")
    print(
        f"likely length off, unlearned              {statistics.median(before):.1%} (median), {max(before):.1%} (most)"
    )
    print(f"likely length off, learned                {statistics.median(off):.1%} (median), {max(off):.1%} (most)")


if __name__ == "__main__":
    main()
