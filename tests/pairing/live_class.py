"""A class of three minutes with music of its own, packed as one page: what the tests of the live page share."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import soundfile
from scipy.signal import oaconvolve
from show_class import a_set

from audio.measure.jumps import Jump
from audio.render.span import Level, Span
from pairing.model import Pick, Rest, SetList
from pairing.plan.read import read_plan
from pairing.sets.live import LivePick, LiveSet, LiveTrack
from pairing.show.livepage import live_json, pages
from pairing.show.sheet import sheet_html
from pairing.workflow.plans import outline_of

RATE = 44_100
PLAN = """# Short one
slot: 4 minutes
breath: 4 seconds

## Arrive: opening
- child's pose, 30 seconds
- cat-cow, 5 breaths

## Crest: peak
- crow, 30 seconds
- boat, 20 seconds, optional

## Ebb: cool-down
- pigeon, 15 seconds each side

## Float: rest, 40 seconds
- savasana
"""
# class second of start and end, second of the track; cross-fades of 5.25 s, and a fade of 3 s into the rest
PICKS = ((0.0, 55.25, 3.5), (50.0, 105.25, 0.0), (100.0, 133.0, 1.25), (130.0, 160.0, 0.0))
LONG_S = 75.0
PLANNED = outline_of(read_plan(PLAN, file="short.md"))


def music(seed: int, seconds: float = LONG_S) -> np.ndarray:
    """Noise in the band of music with strokes every half second: nothing in it repeats, so a shift by a sample shows."""
    rng = np.random.default_rng(seed)
    noise = rng.standard_normal((int(seconds * RATE), 2), np.float32)
    smooth = oaconvolve(noise, np.hanning(24).astype(np.float32)[:, None], "same", axes=0)
    since = np.arange(RATE // 2, dtype=np.float32) / RATE
    beat = np.resize(0.35 + 0.65 * np.exp(-9 * since), len(noise))
    return 0.12 * smooth / np.abs(smooth).std() * beat[:, None]


def a_live_set(folder: Path) -> tuple[SetList, LiveSet]:
    """Four picks and a spare, as wav files in `folder`."""
    outline = outline_of(read_plan(PLAN, file="short.md"))
    made = a_set(outline.timetable, outline.arc, tracks=4, title="Short one")
    picks = tuple(_pick(old, *row) for old, row in zip(made.picks, PICKS, strict=True))
    rest = Rest(130.0, 170.0, bells_s=(160.0,), silence_s=10.0)
    setlist = replace(made, picks=picks, rest=rest, plan=replace(made.plan, text=PLAN))
    tracks = tuple(_track(folder, n, picks[n].track_start_s if n < 4 else 0.0, n == 3) for n in range(5))
    live = LiveSet(
        picks=tuple(
            LivePick(n, pick, pick.section == "Crest", 4 if pick.section == "Crest" else None, ((0.0, pick.gain_db),))
            for n, pick in enumerate(picks)
        ),
        tracks=tracks,
        spare_levels=(-3.0,) * 5,
        bells=((160.0, -28.0),),
        sinks_s=10.0,
        check=((1, 10.0, -3.0), (3, 5.0, -3.0)),
    )
    return setlist, live


def write_page(folder: Path, setlist: SetList, live: LiveSet, **more) -> Path:
    """The packed page in `folder`."""
    outline = outline_of(read_plan(PLAN, file="short.md"))
    html = sheet_html(
        setlist, outline.timetable, outline.arc, findings=(), plan=outline.plan, live=live_json(setlist, live), **more
    )
    path = folder / "short-live.html"
    path.write_text("".join(pages(html, live)), encoding="utf-8")
    return path


def _pick(old: Pick, start_s: float, end_s: float, track_s: float) -> Pick:
    return replace(
        old,
        class_start_s=start_s,
        class_end_s=end_s,
        track_start_s=track_s,
        fade_in_s=0.5,
        fade_out_s=3.0,
        gain_db=-3.0,
    )


def _track(folder: Path, n: int, from_s: float, still: bool) -> LiveTrack:
    path = folder / f"{n}.wav"
    soundfile.write(path, music(n), RATE, subtype="FLOAT")
    exits = () if still else tuple((at, 0.5) for at in np.arange(from_s + 2, LONG_S, 2.0))
    back = () if still or n == 1 else (Jump(from_s + 40.0, from_s + 10.0, 0.06, 0.3),)
    return LiveTrack(path, f"Track {n}", from_s, LONG_S, exits, back, (from_s + 10.0, 4.0))


def spans_of(live: LiveSet) -> tuple[Span, ...]:
    """The picks as the mixer takes them."""
    return tuple(
        Span(
            live.tracks[each.track].path,
            each.pick.class_start_s,
            each.pick.class_end_s,
            each.pick.track_start_s,
            each.pick.fade_in_s,
            each.pick.fade_out_s,
            (Level(0.0, each.pick.gain_db),),
        )
        for each in live.picks
    )
