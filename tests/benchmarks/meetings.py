"""Does the music's climax meet the peak's pose, and what does that cost the arc? Each class chosen without and with it.

    python tests/benchmarks/meetings.py --library FILE [--folders A B C] [--plans P.md ...] [--weight 2.0]

Each folder is a library of its own, each plan with a peak a class; without `--plans` those of `heard.py`. Columns,
without and with the meetings in the objective: seconds between the peak's pose and the nearest climax of what plays
then (within 4: met), root mean squared error, section starts met within 8 s, picks, CPU seconds.
"""

import argparse
import statistics
import sys
import time
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))

import numpy as np
from heard import PLANS, setlist_of

from audio.library import Library
from audio.track import Track
from pairing.alignment import task
from pairing.alignment.meetings import MET_S
from pairing.errors import ArcbedError
from pairing.model import SetList

BALANCED = task.PREFERENCES["balanced"]


def apart_s(setlist: SetList, tracks: list[Track]) -> float:
    """Seconds between the peak's pose and the climax of the track that plays then; inf where it has none."""
    shapes = {track.fingerprint: track.analysis.curves.shape for track in tracks}
    at_s = next(moment.at_s for moment in setlist.frame.moments if moment.what == "climax")
    playing = [pick for pick in setlist.picks if pick.class_start_s <= at_s < pick.class_end_s]
    climaxes = [(pick, shapes[pick.fingerprint].climax_s) for pick in playing]
    found = [abs(pick.class_start_s + at - pick.track_start_s - at_s) for pick, at in climaxes if at is not None]
    return min(found, default=np.inf)


def starts_met(setlist: SetList) -> int:
    """Section starts, after the first, at which a track begins."""
    begins = np.array([pick.class_start_s for pick in setlist.picks])
    return sum(np.abs(begins - section.start_s).min() <= 8 for section in setlist.sections[1:])


def row(text: str, tracks: list[Track], weight: float) -> tuple[float, float, int, int, float] | None:
    """The figures of a class; None where it can't be made or has no such moment."""
    task.PREFERENCES = {"balanced": replace(BALANCED, meeting=weight)}
    began = time.process_time()
    try:
        made = setlist_of(text, tracks)
    except ArcbedError:
        return None
    spent = time.process_time() - began
    if not any(moment.what == "climax" for moment in made.frame.moments):
        return None
    return apart_s(made, tracks), made.fit.rmse, starts_met(made), len(made.picks), spent


def main() -> None:
    """Print a line a class, and the sums."""
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--library", type=Path, required=True)
    asked.add_argument("--folders", nargs="*", default=[""])
    asked.add_argument("--plans", nargs="*", type=Path, default=[])
    asked.add_argument("--weight", type=float, default=BALANCED.meeting)
    given = asked.parse_args()
    classes = {path.stem: path.read_text("utf-8") for path in given.plans} or PLANS
    with Library(given.library) as library:
        everything = [track for track in library.tracks() if track.analysis is not None]
    both = []
    for folder in given.folders:
        tracks = [track for track in everything if folder in track.path.parts or not folder]
        for name, text in classes.items():
            two = [row(text, tracks, weight) for weight in (0.0, given.weight)]
            if None in two:
                continue
            both.append(two)
            said = " | ".join(f"{r[0]:6.1f} s {r[1]:.3f} {r[2]} starts {r[3]:2} picks {r[4]:4.1f} CPU s" for r in two)
            print(f"{folder:>10} {name:>22} {said}", flush=True)
    for which, title in enumerate(("without", "with")):
        rows = [two[which] for two in both]
        met = sum(each[0] <= MET_S for each in rows)
        middle = [statistics.median(each[k] for each in rows) for k in (1, 2, 3, 4)]
        print(f"{title}: {met} of {len(rows)} met; medians: error {middle[0]:.4f}, starts {middle[1]},", end=" ")
        print(f"picks {middle[2]}, CPU s {middle[3]:.1f}")


if __name__ == "__main__":
    main()
