"""The class as it is heard, section by section: how loud, how sudden, how lively, and what sounds across a border.

One measure for three sources of the same thing, the power of every tenth of a second of the mix: worked out from the
set (`audio.render.forecast`), taken while a mix is written, or read again from the written file. Loudness is in LUFS,
differences in LU (ITU-R BS.1770-4); the momentary loudness is of 0.4 s, the short-term of 3 s (EBU Tech 3341).
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from audio.arrays import F64, Mask
from audio.constants import ABSOLUTE_GATE_LUFS, LOUDNESS_OFFSET_LU
from audio.measure.loudness import gated_lufs
from audio.render.bell import LENGTH_S as BELL_S
from audio.render.gain_ride import short_term
from audio.render.tenths import PER_S
from audio.track import Track
from pairing.alignment import marks
from pairing.alignment.sedative import CLEAR_BEAT
from pairing.model import Kind, Pick, SectionTime, SetList
from pairing.sets.mixdown import bells, origin_s

MOMENTARY_STEPS = 4  # EBU Tech 3341: 400 ms
WINDOW_S = 3.0  # of the short-term loudness, and the time within which a rise counts
NEAR_MEDIAN_LU = 3.0  # a rise that ends lower than that below the median wakes nobody; editorial
AFTER_A_STROKE_S = 6.0  # a bell is meant to be heard; editorial
SUNG = 0.5  # likelihood from which a second counts as sung or spoken
A_LITTLE_S = 0.05


@dataclass(frozen=True, slots=True)
class Carried:
    """A track of the section before that sounds on across the border."""

    n: int
    for_s: float


@dataclass(frozen=True, slots=True)
class SectionSound:
    """What is heard of one section; times are class seconds.

    Attributes:
        section: index into the set's sections.
        loudness_lufs: integrated, gated, bells left out; -inf where nothing sounds.
        loudest_lufs, loudest_at_s: the momentary maximum, bells left out.
        rise_lu, rise_at_s: the largest rise of short-term loudness within 3 s that ends near the section's median or
            above it, and when it ends; 0 where nothing rises. A fade-in out of silence or at the start of the rest,
            and 6 s from each stroke of a bell, don't count.
        energy: mean of what is played, 0 to 1; None in silence.
        is_known: whether the library knows the track that is heard longest.
        beat_bpm: of that track; None without a clear beat.
        voice_share: share of seconds in which a voice is more likely than not, 0 to 1.
        silence_s: seconds in which nothing is heard.
        carried: what sounds on from before.
    """

    section: int
    name: str
    kind: Kind
    start_s: float
    end_s: float
    loudness_lufs: float
    loudest_lufs: float
    loudest_at_s: float
    rise_lu: float
    rise_at_s: float
    energy: float | None
    is_known: bool
    beat_bpm: float | None
    voice_share: float
    silence_s: float
    carried: tuple[Carried, ...]

    @property
    def is_silent(self) -> bool:
        """Whether nothing is heard in it but bells."""
        return self.loudest_lufs <= ABSOLUTE_GATE_LUFS or not math.isfinite(self.loudness_lufs)


@dataclass(frozen=True, slots=True, eq=False)
class ClassSound:
    """What is heard of a class.

    Attributes:
        sections: one after the other.
        loudness_lufs: of the whole mix, integrated, gated.
        origin_s: the class second of the first value of the curves.
        momentary, short_term: LUFS at the end of every tenth of a second, -70 at least, shape (steps,).
        bells_s: when each stroke of a bell is heard.
    """

    sections: tuple[SectionSound, ...]
    loudness_lufs: float
    origin_s: float
    momentary: F64
    short_term: F64
    bells_s: tuple[float, ...]

    def steps(self, start_s: float, end_s: float) -> slice:
        """The values of the curves between two class seconds."""
        first, last = (round((at - self.origin_s) * PER_S) for at in (start_s, end_s))
        return slice(min(max(first, 0), len(self.momentary)), min(max(last, 0), len(self.momentary)))

    def at_s(self, step: int) -> float:
        """The class second at which a value's window ends."""
        return self.origin_s + (step + 1) / PER_S

    def sounding_by_itself(self, start_s: float, end_s: float) -> F64:
        """The momentary values between two class seconds that no stroke of a bell is part of."""
        span = self.steps(start_s, end_s)
        return np.asarray(self.momentary[span][~self.rung(BELL_S)[span]])

    def rung(self, for_s: float) -> Mask:
        """The steps in the seconds after each stroke of a bell."""
        rung = np.zeros(len(self.momentary), bool)
        for at in self.bells_s:
            rung[self.steps(at, at + for_s)] = True
        return rung


def as_heard(setlist: SetList, power: F64, tracks: Sequence[Track]) -> ClassSound:
    """Measure a class.

    Args:
        setlist: the set.
        power: K-weighted mean square of every tenth of a second of its mix, from the mix's first second on.
        tracks: the library, for energy, beat and voice; of what it lacks those are not told.
    """
    known = {track.fingerprint: track for track in tracks}
    begins_s = origin_s(setlist)
    whole = ClassSound(
        sections=(),
        loudness_lufs=_integrated(power),
        origin_s=begins_s,
        momentary=_momentary(power),
        short_term=short_term(power),
        bells_s=tuple(at + begins_s for at, _ in bells(setlist)),
    )
    sections = tuple(
        _section(setlist, index, section, whole, power, known)
        for index, section in enumerate(setlist.sections)
        if section.end_s > section.start_s
    )
    return ClassSound(sections, whole.loudness_lufs, begins_s, whole.momentary, whole.short_term, whole.bells_s)


def rises(setlist: SetList, whole: ClassSound, section: SectionTime) -> F64:
    """By how much each short-term value of a section lies above the lowest of the 3 s before it, LU, shape (steps,).

    0 where the value lies more than 3 LU below the section's median, and where a rise is meant.
    """
    span = whole.steps(section.start_s, section.end_s)
    level = whole.short_term[span]
    heard = level[level > ABSOLUTE_GATE_LUFS]
    if not len(heard):
        return np.zeros(len(level))
    lag = round(WINDOW_S * PER_S)
    before = np.concatenate((np.full(lag, np.inf), whole.short_term))
    lowest = np.lib.stride_tricks.sliding_window_view(before, lag + 1).min(axis=1)[span]
    counts = (level > np.median(heard) - NEAR_MEDIAN_LU) & ~_meant(setlist, whole)[span]
    return np.where(counts, level - lowest, 0.0)


def _meant(setlist: SetList, whole: ClassSound) -> Mask:
    """Where a rise is meant: while music comes in out of silence or begins the rest, and after a stroke of a bell."""
    meant = whole.rung(AFTER_A_STROKE_S)
    ended_s = -math.inf
    for pick in setlist.picks:
        begins_rest = setlist.rest is not None and abs(pick.class_start_s - setlist.rest.start_s) < A_LITTLE_S
        if begins_rest or pick.class_start_s > ended_s - A_LITTLE_S:
            meant[whole.steps(pick.class_start_s, pick.class_start_s + pick.fade_in_s + WINDOW_S)] = True
        ended_s = pick.class_end_s
    return meant


def _section(
    setlist: SetList,
    index: int,
    section: SectionTime,
    whole: ClassSound,
    power: F64,
    known: Mapping[str, Track],
) -> SectionSound:
    span = whole.steps(section.start_s, section.end_s)
    momentary = np.where(whole.rung(BELL_S)[span], ABSOLUTE_GATE_LUFS, whole.momentary[span])
    risen = rises(setlist, whole, section)
    sounding = [pick for pick in setlist.picks if _shared(pick, section) > 0]
    longest = max(sounding, key=lambda pick: _shared(pick, section), default=None)
    played = setlist.played_energy[int(section.start_s) : math.ceil(section.end_s)]
    loudest, steepest = (int(values.argmax()) if len(values) else 0 for values in (momentary, risen))
    return SectionSound(
        section=index,
        name=section.name,
        kind=section.kind,
        start_s=section.start_s,
        end_s=section.end_s,
        loudness_lufs=_integrated(np.where(whole.rung(BELL_S)[span], 0.0, power[span])),
        loudest_lufs=float(momentary.max(initial=ABSOLUTE_GATE_LUFS)),
        loudest_at_s=whole.at_s(span.start + loudest),
        rise_lu=float(risen.max(initial=0.0)),
        rise_at_s=whole.at_s(span.start + steepest),
        energy=float(np.nanmean(played)) if np.isfinite(played).any() else None,
        is_known=longest is not None and longest.fingerprint in known,
        beat_bpm=_beat(known.get(longest.fingerprint)) if longest else None,
        voice_share=_voice_share(sounding, section, known),
        silence_s=float(np.count_nonzero(whole.momentary[span] <= ABSOLUTE_GATE_LUFS)) / PER_S,
        carried=tuple(
            Carried(pick.n, round(_shared(pick, section), 1))
            for pick in sounding
            if pick.class_start_s < section.start_s - A_LITTLE_S and _shared(pick, section) > A_LITTLE_S
        ),
    )


def _momentary(power: F64) -> F64:
    """Of the 0.4 s that end with each step, or as many as there are."""
    summed = np.concatenate(([0.0], np.cumsum(power)))
    end = np.arange(1, len(power) + 1)
    start = np.maximum(end - MOMENTARY_STEPS, 0)
    mean = np.maximum(summed[end] - summed[start], 0.0) / (end - start)
    with np.errstate(divide="ignore"):
        return np.asarray(np.maximum(LOUDNESS_OFFSET_LU + 10 * np.log10(mean), ABSOLUTE_GATE_LUFS))


def _integrated(power: F64) -> float:
    """Gated loudness of blocks of 0.4 s that begin every 0.1 s; BS.1770-4."""
    if len(power) < MOMENTARY_STEPS:
        return -math.inf
    return gated_lufs(np.convolve(power, np.full(MOMENTARY_STEPS, 1 / MOMENTARY_STEPS), "valid"))


def _shared(pick: Pick, section: SectionTime) -> float:
    return min(pick.class_end_s, section.end_s) - max(pick.class_start_s, section.start_s)


def _beat(track: Track | None) -> float | None:
    if track is None or ("beat" not in track.marks and track.analysis.tempo_confidence < CLEAR_BEAT):
        return None
    return next(iter(marks.tempos_bpm(track)), None)


def _voice_share(sounding: Sequence[Pick], section: SectionTime, known: Mapping[str, Track]) -> float:
    seconds = np.arange(math.ceil(section.start_s), math.floor(section.end_s))
    sung = np.zeros(len(seconds), bool)
    for pick in sounding:
        track = known.get(pick.fingerprint)
        if track is None or marks.voice(track) is False:
            continue
        at = (seconds - pick.class_start_s + pick.track_start_s).astype(int)
        inside = (seconds >= pick.class_start_s) & (seconds < pick.class_end_s)
        sung |= inside & (track.analysis.curves.voice.take(at, mode="clip") >= SUNG)
    return float(sung.mean()) if len(sung) else 0.0
