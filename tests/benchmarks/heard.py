"""How whole classes sound, measured by FFmpeg: does the rest open softly, does anything rise, is the peak the loudest.

    python tests/benchmarks/heard.py --library FILE [--folders A B C] [--plans P.md ...] [--forecast]

Each folder is a library of its own (the tracks of FILE that lie in it), each plan a class; without `--plans` the six
that stand here. The set is paired and mixed as the commands do it, the mix written to a temporary file, and its loudness
read by FFmpeg's filter `ebur128`; `--forecast` takes the program's own forecast instead, in a tenth of the time. Columns,
in LU:

- opens: the momentary maximum of the rest's first 20 s over that of the rest afterwards (at most 1)
- rest, open, cool: the largest rise of short-term loudness within 3 s in the rest, the opening and the cool-down that
  ends near the section's median or above (at most 3; the fade-in of what begins the rest or the class is exempt)
- over: the loudest moment of the cool-down over that of the peak (at most 0); else: the loudest moment of all other
  sections, where the arc stands over 10 points below its top, over that of peak and top (at most 0)
- step: the largest difference of loudness between neighbours, fades left out, their beds counted, where the arc doesn't
  ask for it (at most 2)
"""

import argparse
import re
import subprocess
import sys
import tempfile
from itertools import pairwise
from pathlib import Path

import numpy as np

from audio.library import Library
from audio.render.master import Mix, write_mix
from audio.track import Track
from pairing.effort.arc import make_arc
from pairing.effort.timetable import build_timetable
from pairing.errors import ArcbedError
from pairing.model import Kind, PairOptions, SetList
from pairing.plan.poses import pose_table
from pairing.plan.read import read_plan
from pairing.sets import mixdown, shaping
from pairing.sets.levels import is_asked
from pairing.sets.pair import pair
from pairing.workflow.byhand import sound_of
from pairing.workflow.sets import SetFile

TOP = "slot: 90 minutes\n\n## Arrive: opening, {0} minutes\n- easy seat\n\n## Wake: warm-up, {1} minutes\n- cat cow\n\n"
MIDDLE = "## Tide: flow, both sides, {2} minutes\n- warrior two\n- extended side angle\n\n## Crest: peak, {3} minutes\n- crow\n\n"
END = "## Ebb: cool-down, {4} minutes\n- pigeon\n- seated forward fold\n\n## Float: rest, {5} minutes\n- savasana\n"
PLANS = {
    "half an hour": (TOP + MIDDLE + END).format(3, 5, 10, 3, 5, 4),
    "fifty": (TOP + MIDDLE + END).format(4, 8, 18, 6, 8, 6),
    "restorative": (
        TOP + "## Ebb: cool-down, {2} minutes\n- pigeon\n\n## Float: rest, {3} minutes\n- savasana\n"
    ).format(6, 6, 8, 30),
    "no peak": (TOP + "## Tide: flow, {2} minutes\n- warrior two\n\n" + END).format(3, 6, 12, 0, 7, 8),
    "long ebb": (TOP + MIDDLE + END).format(5, 6, 8, 5, 14, 7),
    "silent end": (TOP + MIDDLE + END)
    .format(3, 4, 9, 4, 5, 9)
    .replace("9 minutes\n- sav", "9 minutes, silent last 2 minutes\n- sav"),
}


def setlist_of(text: str, tracks: list[Track]) -> SetList:
    """The set of a class."""
    plan = read_plan(text, file="class.md")
    table = build_timetable(plan, pose_table())
    return pair(plan, table, make_arc(table), tracks, PairOptions())


def by_ffmpeg(mix: Mix) -> tuple[np.ndarray, np.ndarray]:
    """Momentary and short-term loudness at the end of every tenth of a second, LUFS, -70 at least."""
    with tempfile.TemporaryDirectory() as folder:
        written = write_mix(mix, Path(folder) / "mix.wav")
        asked = ["ffmpeg", "-nostats", "-hide_banner", "-i", written.path, "-af", "ebur128", "-f", "null", "-"]
        said = subprocess.run(asked, capture_output=True, text=True, check=True).stderr
    found = re.findall(r"t: *[\d.]+ .*? M: *(\S+) S: *(\S+) ", said)
    return tuple(np.maximum(np.nan_to_num(np.array(found, float), nan=-70.0), -70.0).T)  # type: ignore[return-value]


def by_forecast(mix: Mix) -> tuple[np.ndarray, np.ndarray]:
    """The same, as the program foresees it."""
    from audio.render.forecast import forecast
    from audio.render.gain_ride import short_term

    power = forecast(mix.spans, mix.duration_s, mix.sounds)
    return shaping.momentary(power), short_term(power)


def figures(setlist: SetList, momentary: np.ndarray, short_term: np.ndarray) -> dict[str, float]:
    """The columns; nan where a class has no such part."""
    origin, kinds = mixdown.origin_s(setlist), {kind: [] for kind in Kind}  # type: ignore[var-annotated]
    for section in setlist.sections:
        kinds[section.kind].append(section)

    def part(values: np.ndarray, start_s: float, end_s: float) -> np.ndarray:
        return values[max(round(10 * (start_s - origin)), 0) : round(10 * (end_s - origin))]

    def most(kind: Kind) -> float:
        return max((part(momentary, each.start_s, each.end_s).max() for each in kinds[kind]), default=np.nan)

    def rise(kind: Kind) -> float:
        return max((_rise(setlist, short_term, each, origin) for each in kinds[kind]), default=np.nan)

    found = {"rest": rise(Kind.REST), "open": rise(Kind.OPENING), "cool": rise(Kind.COOL_DOWN)}
    rest, found["opens"] = setlist.rest, np.nan
    if rest is not None:
        after = part(momentary, rest.start_s + 20.4, rest.end_s - rest.silence_s)
        found["opens"] = part(momentary, rest.start_s, rest.start_s + 20).max() - after.max()
    found["over"] = most(Kind.COOL_DOWN) - most(Kind.PEAK)
    seconds = np.arange(len(setlist.arc))
    near = setlist.arc >= np.nanmax(setlist.arc) - 0.1
    loud = np.array([part(momentary, second, second + 1).max() for second in seconds])
    in_peak = np.array([any(p.start_s <= s < p.end_s for p in kinds[Kind.PEAK]) for s in seconds])
    found["else"] = loud[~near & ~in_peak].max(initial=-70) - loud[near | in_peak].max(initial=-70)
    found["step"] = _step(setlist, short_term, origin)
    return found


def _rise(setlist: SetList, short_term: np.ndarray, section, origin: float) -> float:  # type: ignore[no-untyped-def]
    first, last = round(10 * (section.start_s - origin)), round(10 * (section.end_s - origin))
    fades = [p.fade_in_s for p in setlist.picks if abs(p.class_start_s - section.start_s) < 0.05]
    exempt = first + round(10 * (max(fades, default=0) + 3)) if fades and section.kind is not Kind.COOL_DOWN else first
    inside = short_term[first:last]
    floor = np.median(inside[inside > -70]) - 3
    lowest = np.array([short_term[max(k - 30, 0) : k + 1].min() for k in range(exempt, last)])
    level = short_term[exempt:last]
    bells = setlist.rest.bells_s if setlist.rest else ()
    at = origin + np.arange(exempt, last) / 10
    meant = np.any([(at >= bell) & (at < bell + 6) for bell in bells], axis=0) if bells else np.zeros(len(at), bool)
    return float(np.where((level > floor) & ~meant, level - lowest, 0).max(initial=0))


def _step(setlist: SetList, short_term: np.ndarray, origin: float) -> float:
    kind = {section.name: section.kind for section in setlist.sections}
    levels = []
    for pick in setlist.picks:
        first, last = pick.class_start_s + pick.fade_in_s + 3, pick.class_end_s - pick.fade_out_s
        heard = short_term[round(10 * (first - origin)) : round(10 * (last - origin))]
        outside = Kind.OPENING if pick.class_start_s < 0 else Kind.CLOSING  # music before and after the class
        bed = setlist.options.levels.bed(kind.get(pick.section, outside))
        levels.append(10 * np.log10(np.mean(10 ** (heard / 10))) - bed if len(heard) else np.nan)
    steps = [two - one for one, two in pairwise(levels)]
    unasked = [
        abs(step)
        for step, (one, two) in zip(steps, pairwise(setlist.picks), strict=True)
        if np.isfinite(step) and not is_asked(setlist, one, two, step)
    ]
    return max(unasked, default=0.0)


def main() -> None:
    """Print one row a class."""
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--library", type=Path, required=True)
    asked.add_argument("--folders", nargs="*", default=[""])
    asked.add_argument("--plans", nargs="*", type=Path, default=[])
    asked.add_argument("--forecast", action="store_true")
    given = asked.parse_args()
    plans = {path.stem: path.read_text("utf-8") for path in given.plans} or PLANS
    with Library(given.library) as library:
        everything = library.tracks()
    columns = ("opens", "rest", "open", "cool", "over", "else", "step")
    print(f"{'folder':>12} {'class':>14} " + " ".join(f"{name:>6}" for name in columns))
    for folder in given.folders:
        tracks = [track for track in everything if folder in track.path.parts or not folder]
        for name, text in plans.items():
            try:
                found = SetFile(Path("class.json"), setlist_of(text, tracks), tuple(tracks))
            except ArcbedError as error:
                print(f"{folder:>12} {name:>14} {str(error).splitlines()[0]}")
                continue
            mix = sound_of(found)
            heard = figures(found.setlist, *(by_forecast if given.forecast else by_ffmpeg)(mix))
            print(f"{folder:>12} {name:>14} " + " ".join(f"{heard[column]:>6.1f}" for column in columns), flush=True)


if __name__ == "__main__":
    sys.exit(main())
