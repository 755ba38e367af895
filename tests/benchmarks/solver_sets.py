"""Whole sets of the demo's class from invented libraries: gap, section starts met, music cut away, error over the bound.

    python tests/benchmarks/solver_sets.py [--tracks 200,1000] [--seeds 2]

A section start is met where a track begins within 8 s of it. Music cut away is the share of the tracks used that isn't
heard. The error's bound is that of energy alone under the same hard rules. Times are CPU, imports left out; `swap` is
the median time of a list of 12 replacements.
"""

import argparse
import resource
import statistics
import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent))

import solver_libraries as libraries

from audio.track import Track
from pairing.model import PairOptions, SetList
from pairing.sets.pair import pair
from pairing.sets.swap import alternatives

NEAR_S = 8.0


def met(setlist: SetList) -> str:
    """Section starts, after the first, at which a track begins."""
    begins = np.array([pick.class_start_s for pick in setlist.picks])
    starts = [section.start_s for section in setlist.sections[1:]]
    return f"{sum(np.abs(begins - at).min() <= NEAR_S for at in starts)} of {len(starts)}"


def cut_away(setlist: SetList, tracks: list[Track]) -> float:
    """Share of the music of the tracks used that isn't heard."""
    lengths = {track.id: track.analysis.duration_s for track in tracks}
    heard = sum(pick.class_end_s - pick.class_start_s for pick in setlist.picks)
    return 1 - heard / sum(lengths[pick.track_id] for pick in setlist.picks)


def row(count: int, seed: int) -> str:
    """One line of the table."""
    tracks = libraries.tracks(count, seed)
    start = time.process_time()
    setlist = pair(*libraries.a_class(), tracks, PairOptions())
    spent, fit = time.process_time() - start, setlist.fit
    swaps = []
    for n in (3, 6, 9):
        alternatives(setlist, n, tracks)
        start = time.process_time()
        alternatives(setlist, n, tracks)
        swaps.append(time.process_time() - start)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return (
        f"{count:>7} {seed:>4} {100 * fit.gap:>6.1f} {met(setlist):>7} {100 * cut_away(setlist, tracks):>6.1f}"
        f" {fit.rmse:>6.3f} {fit.bound_rmse:>6.3f} {fit.rmse / fit.bound_rmse:>6.2f} {fit.correlation:>6.3f}"
        f" {len(setlist.picks):>5} {spent:>6.2f} {statistics.median(swaps):>6.3f} {peak:>5.0f}"
    )


def main() -> None:
    """Print one row a library."""
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--tracks", default="40,200,1000,2000")
    asked.add_argument("--seeds", type=int, default=2)
    given = asked.parse_args()
    pair(*libraries.a_class(), libraries.tracks(60), PairOptions())
    print(" tracks seed  gap %  starts  cut %   rmse  bound  ratio   corr picks pair s swap s    MB")
    for count in map(int, given.tracks.split(",")):
        for seed in range(1, given.seeds + 1):
            print(row(count, seed), flush=True)


if __name__ == "__main__":
    main()
