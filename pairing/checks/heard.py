"""Checks of the class as it is heard: does anything startle, is the peak the loudest, does silence stay silent.

Each check is one function that yields findings. Differences are in LU. All thresholds are common practice or editorial,
without a published source, unless one stands beside them.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from audio.constants import ABSOLUTE_GATE_LUFS
from audio.render.bell import LENGTH_S as BELL_S
from audio.text import clock
from pairing.checks.byhand import without_swaps
from pairing.checks.register import Register
from pairing.model import ChooseAnew, Finding, Kind, MakeRest, Pick, SetList, Swap, Where
from pairing.sets.heard import ClassSound, SectionSound
from pairing.sets.levels import is_asked, over_bed

# Why there is a limit: music that swells raises heart rate and breath, pauses calm (Bernardi et al., Circulation 119,
# 2009); its size is editorial.
MOST_RISE_LU = 3.0
MEASURED_TO_LU = 0.3  # a forecast is as exact as that; what is nearer to a limit is no news
REST_OPENS_S = 20.0  # in that time nothing is louder than the rest is at any time after
REST_OPENS_LU = 1.0
MOST_TAIL_S = 4.0  # the track before has faded so soon after the rest begins
MOST_BELL_LU = 10.0  # over the median of the rest
MOST_STEP_LU = 2.0  # from one track to the next
NEAR_THE_TOP = 0.1  # of the arc

HELD_DOWN = (Kind.OPENING, Kind.COOL_DOWN)


@dataclass(frozen=True, slots=True, eq=False)
class _HeardClass:
    setlist: SetList
    sound: ClassSound

    def of_kind(self, *kinds: Kind) -> list[SectionSound]:
        return [section for section in self.sound.sections if section.kind in kinds]


_CHECKS = Register[_HeardClass]()


def heard_findings(setlist: SetList, sound: ClassSound) -> tuple[Finding, ...]:
    """What a teacher should know of the class as it is heard."""
    return tuple(without_swaps(setlist, _CHECKS.findings(_HeardClass(setlist, sound))))


# ---- the rest ----------------------------------------------------------------------------------------------------


@_CHECKS.finds("rise-in-rest")
def _rest_rises(it: _HeardClass) -> Iterator[Finding]:
    """Nothing that sounds in the rest rises suddenly to where it can be heard, tails from before included."""
    for rest in it.of_kind(Kind.REST):
        if rest.rise_lu > MOST_RISE_LU + MEASURED_TO_LU:
            yield Finding(
                "should",
                "rise-in-rest",
                Where(section=rest.name),
                f"The music rises by {rest.rise_lu:.1f} dB within 3 s, at {clock(rest.rise_at_s)}; "
                "someone lying with eyes closed may be startled.",
                "Choose other music for it.",
                deeds=(MakeRest(),),
            )


@_CHECKS.finds("rest-opens-loud")
def _rest_opening(it: _HeardClass) -> Iterator[Finding]:
    """In its first seconds nothing is louder than the rest is afterwards."""
    for rest in it.of_kind(Kind.REST):
        border_s = rest.start_s + REST_OPENS_S
        first = it.sound.sounding_by_itself(rest.start_s, min(border_s, rest.end_s))
        after = it.sound.sounding_by_itself(border_s, rest.end_s)
        if not len(first) or after.max(initial=ABSOLUTE_GATE_LUFS) <= ABSOLUTE_GATE_LUFS:
            continue
        over = float(first.max() - after.max())
        if over > REST_OPENS_LU + MEASURED_TO_LU:
            at = it.sound.steps(rest.start_s, border_s).start + int(first.argmax())
            tails = [tail.n for tail in rest.carried if rest.start_s + tail.for_s > it.sound.at_s(at)]
            why = f"; track {tails[-1]} is still playing then" if tails else ""
            yield Finding(
                "should",
                "rest-opens-loud",
                Where(section=rest.name),
                f"At {clock(it.sound.at_s(at))} it is {over:.0f} dB louder than the rest is at any time after{why}.",
                "Choose other music before the rest.",
                deeds=(Swap(_last_before(it.setlist, rest)),),
            )


@_CHECKS.finds("tail-in-rest")
def _tail(it: _HeardClass) -> Iterator[Finding]:
    """The track before has soon faded."""
    for rest in it.of_kind(Kind.REST):
        for tail in rest.carried:
            if tail.for_s > MOST_TAIL_S + 0.05:
                yield Finding(
                    "should",
                    "tail-in-rest",
                    Where(tracks=(tail.n,)),
                    f"It plays on for {tail.for_s:.0f} s after the rest begins; {MOST_TAIL_S:g} s is enough.",
                    "Choose the music of the rest again.",
                    deeds=(MakeRest(),),
                )


@_CHECKS.finds("bell-loud")
def _bells(it: _HeardClass) -> Iterator[Finding]:
    """A bell calls, it doesn't startle."""
    for rest in it.of_kind(Kind.REST):
        music = it.sound.sounding_by_itself(rest.start_s, rest.end_s)
        heard = music[music > ABSOLUTE_GATE_LUFS]
        if not len(heard):
            continue
        for at in it.sound.bells_s:
            stroke = it.sound.momentary[it.sound.steps(at, at + BELL_S)]
            over = float(stroke.max(initial=ABSOLUTE_GATE_LUFS) - np.median(heard))
            if rest.start_s - BELL_S <= at <= rest.end_s and over > MOST_BELL_LU + MEASURED_TO_LU:
                yield Finding(
                    "should",
                    "bell-loud",
                    Where(section=rest.name),
                    f"The bell at {clock(at)} is {over:.0f} dB louder than the rest; {MOST_BELL_LU:g} dB is enough.",
                )


# ---- the class ---------------------------------------------------------------------------------------------------


@_CHECKS.finds("sudden-rise")
def _held_down(it: _HeardClass) -> Iterator[Finding]:
    """People arrive and wind down with eyes closed too."""
    for section in it.of_kind(*HELD_DOWN):
        if section.rise_lu > MOST_RISE_LU + MEASURED_TO_LU:
            yield Finding(
                "note",
                "sudden-rise",
                Where(section=section.name),
                f"The music rises by {section.rise_lu:.1f} dB within 3 s, at {clock(section.rise_at_s)}.",
            )


@_CHECKS.finds("louder-than-peak")
def _peak_is_loudest(it: _HeardClass) -> Iterator[Finding]:
    peaks = it.of_kind(Kind.PEAK)
    for section in it.of_kind(Kind.COOL_DOWN) if peaks else []:
        over = section.loudest_lufs - max(peak.loudest_lufs for peak in peaks)
        if over > MEASURED_TO_LU:
            yield Finding(
                "should",
                "louder-than-peak",
                Where(section=section.name),
                f"Its loudest moment, at {clock(section.loudest_at_s)}, is {over:.1f} dB louder than the peak.",
                "Choose other music.",
                deeds=(Swap(_at(it.setlist, section.loudest_at_s)),),
            )


@_CHECKS.finds("loudest-elsewhere")
def _loudest_moment(it: _HeardClass) -> Iterator[Finding]:
    """The loudest moment of the class lies in the peak, or where the arc stands near its top."""
    sections = [section for section in it.sound.sections if not section.is_silent]
    if not sections or not np.isfinite(it.setlist.arc).any():
        return
    loudest = max(sections, key=lambda section: section.loudest_lufs)
    peaks = it.of_kind(Kind.PEAK)
    least = max((peak.loudest_lufs for peak in peaks), default=-math.inf)
    if loudest.kind is Kind.PEAK or loudest.loudest_lufs <= least + MEASURED_TO_LU or loudest.kind in HELD_DOWN:
        return
    second = min(int(loudest.loudest_at_s), len(it.setlist.arc) - 1)
    below = float(np.nanmax(it.setlist.arc) - it.setlist.arc[second])
    if below > NEAR_THE_TOP:
        yield Finding(
            "note",
            "loudest-elsewhere",
            Where(section=loudest.name),
            f"The loudest moment of the class is here, at {clock(loudest.loudest_at_s)}, "
            "while the class is not at its hardest.",
        )


@_CHECKS.finds("uneven-level")
def _neighbours(it: _HeardClass) -> Iterator[Finding]:
    """From track to track the level stays, but where the arc asks for more or less."""
    for one, two in pairwise(it.setlist.picks):
        step = _over_its_bed(it, two) - _over_its_bed(it, one)
        if not math.isfinite(step) or abs(step) <= MOST_STEP_LU + MEASURED_TO_LU:
            continue
        if is_asked(it.setlist, one, two, step):
            continue
        yield Finding(
            "note",
            "uneven-level",
            Where(tracks=(two.n,)),
            f"It is {abs(step):.1f} dB {'louder' if step > 0 else 'softer'} than the track before, "
            "more than the class asks for there.",
        )


def _over_its_bed(it: _HeardClass, pick: Pick) -> float:
    """Loudness of a pick between its fades, against what its section is brought to; nan where it is silent."""
    inside = it.sound.steps(pick.class_start_s + pick.fade_in_s, pick.class_end_s - pick.fade_out_s)
    return over_bed(it.setlist, pick, it.sound.short_term[inside])


@_CHECKS.finds("sound-in-silence")
def _silences(it: _HeardClass) -> Iterator[Finding]:
    """In a silence nothing sounds, but for a bell."""
    for start_s, end_s in silences(it.setlist):
        values = it.sound.sounding_by_itself(start_s + 0.4, end_s)
        sounding = np.count_nonzero(values > ABSOLUTE_GATE_LUFS) / 10
        if sounding > 0.1:
            yield Finding(
                "should",
                "sound-in-silence",
                Where(name="silence"),
                f"In the silence from {clock(start_s)} to {clock(end_s)} something is heard for {sounding:.1f} s.",
                "Choose the music again, or only that of the rest.",
                deeds=(ChooseAnew(), MakeRest()),
            )


def silences(setlist: SetList) -> list[tuple[float, float]]:
    """The stretches in which the class has no music, class seconds."""
    return list(setlist.frame.silent_s)


def _last_before(setlist: SetList, rest: SectionSound) -> int:
    return max((pick.n for pick in setlist.picks if pick.class_start_s < rest.start_s - 0.05), default=1)


def _at(setlist: SetList, at_s: float) -> int:
    return max((pick.n for pick in setlist.picks if pick.class_start_s <= at_s), default=1)
