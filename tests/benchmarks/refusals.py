"""Does `pair` refuse where a set can be found by chance? Random libraries of 5 to 100 tracks, scarce on purpose.

    python tests/benchmarks/refusals.py [--count 200] [--orders 60] [--first 0]

Prints a row for each refusal, with its words, and whether random orders (tests/pairing/random_orders.py) found a set
after all; the last line must say 0 wrong.
"""

import argparse
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "pairing"))

from random_orders import chain_by_chance, scarce_case, widest_task

from pairing.errors import NotEnoughMusic
from pairing.sets.pair import pair


def main() -> None:
    """Print the refusals and what chance makes of them."""
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--count", type=int, default=200)
    asked.add_argument("--orders", type=int, default=60)
    asked.add_argument("--first", type=int, default=0)
    given = asked.parse_args()
    refused, wrong, slowest = 0, 0, 0.0
    for seed in range(given.first, given.first + given.count):
        what = scarce_case(seed)
        start = time.process_time()
        try:
            pair(*what)
            words = ""
        except NotEnoughMusic as error:
            words = str(error).splitlines()[0]
        spent = time.process_time() - start
        slowest = max(slowest, spent)
        if not words:
            continue
        refused += 1
        found = chain_by_chance(widest_task(*what).problem, given.orders, seed)
        wrong += found is not None
        tracks = what[3]
        music = sum(track.analysis.duration_s for track in tracks) / 60
        print(
            f"{seed:>4} {len(tracks):>4} tracks {music:>5.0f} min for {what[1].duration_s / 60:>4.0f} {spent:>6.1f} s"
            f" {'WRONG' if found else ''} {words}",
            flush=True,
        )
    print(f"{given.count} libraries, {refused} refused, {wrong} wrong; slowest {slowest:.1f} CPU s")


if __name__ == "__main__":
    main()
