"""Is a track fit for the closing rest? Measured traits of sedative music, each with its reason.

Published ground: 60 to 80 beats a minute, soft, instrumental (Shum et al. 2014; Chan et al. 2010); no accented beats,
no percussion (Lai and Good 2005); a stable dynamic contour (Jespersen and Vuust 2012), all as tabulated in open
article PMC7399370, table 3. Crescendos raise blood pressure in step with their profile (Bernardi et al., Circulation
119, 2009). The limits in LU, onsets and treble are our own reading of "soft", "stable" and "no percussion".
"""

from dataclasses import dataclass, replace

import numpy as np

from audio.render.gain_ride import MOST_RISE_LU, NEAR_MEDIAN_LU
from audio.track import Analysis, Curve, Track
from pairing.alignment import marks
from pairing.temper import DRIVING, temper

FASTEST_BPM = 80.0  # Shum et al. 2014, Chan et al. 2010, Lai and Good 2005, in PMC7399370 table 3
STIMULATIVE_BPM = 130.0  # Karageorghis et al. 1996, as cited in a thesis; "sedative" is usually below 100
CLEAR_BEAT = 0.5  # editorial: below this confidence a tempo is a guess, and the beat too weak to tap to
LIVELIEST = 0.42  # editorial: mean energy, 0 to 1
LIVELIEST_MOMENT = 0.6  # editorial: energy of the liveliest 10 s
MOST_ONSETS = 3.0  # editorial: onsets a second
WIDEST_RANGE_LU = 10.0  # editorial: loudness range of a "stable dynamic contour"
GENTLE_RISE_LU = 3.8  # editorial: what rises by more is held down in the mix too, but is no music for a rest
MOST_TREBLE = 0.2  # editorial: share of power above 4 kHz
NEVER = 100.0  # excess of a track the teacher never wants in a rest
SETTLED_S = 10  # the first seconds, in which any piece may rise from nothing


@dataclass(frozen=True, slots=True)
class Trait:
    """One measured trait: whether it passes, in words, and by how much it fails (0 passes, 1 is far off)."""

    passes: bool
    words: str
    excess: float


@dataclass(frozen=True, slots=True, eq=False)
class RestCandidate:
    """A track and what speaks for and against it in a rest."""

    track: Track
    fit: bool
    reasons: tuple[str, ...]  # what fails, worst first; what passes where nothing fails
    excess: float  # 0: every trait passes; sorts the unfit from least bad on


def judge(track: Track) -> RestCandidate:
    """Judge one usable track; the teacher's own word (rest, voice, energy) counts more than measurement."""
    said = marks.rest(track)
    if said is True:
        return RestCandidate(track, True, ("you said it suits a rest",), 0.0)
    traits = _traits(track, track.analysis)
    failing = sorted((trait for trait in traits if not trait.passes), key=lambda trait: -trait.excess)
    excess = sum(trait.excess for trait in failing)
    if said is False:
        return RestCandidate(track, False, ("you said never in a rest", *_words(failing)), excess + NEVER)
    return RestCandidate(track, not failing, _words(failing or traits), excess)


def is_fit(track: Track) -> bool:
    """The same verdict, quickly: the traits that cost most to measure come last, and only if the others pass."""
    said = marks.rest(track)
    return said if said is not None else all(trait(track, track.analysis).passes for trait in _TRAITS)


def stretch_of(track: Track, start_s: float, end_s: float) -> Track:
    """The track as if there were only the part that is played, so that what lies elsewhere in it doesn't count.

    Beat, onsets and treble stay those of the whole; the loudness range is read off the curve (EBU Tech 3342).
    """
    known, along = track.analysis, track.analysis.curves
    part = slice(int(start_s), max(int(np.ceil(end_s)), int(start_s) + 1))
    cut = known.but(
        loudness=along.loudness[part].copy(),
        energy=along.energy[part].copy(),
        voice=along.voice[part].copy(),
        loudness_range_lu=min(known.loudness_range_lu, _range_of(along.loudness[part])),
    )
    return replace(track, analysis=cut)


def has_clear_beat(track: Track) -> bool:
    """Whether a steady beat is heard in a track: one that a fade takes away is listened after."""
    return track.analysis.tempo_bpm is not None and track.analysis.tempo_confidence >= CLEAR_BEAT


def is_driving(track: Track) -> bool:
    """Whether a track would wake a class up: lively all along, or a clear stimulative beat."""
    if float(marks.energy(track).mean()) >= DRIVING:
        return True
    return has_clear_beat(track) and felt_bpm(track.analysis) >= STIMULATIVE_BPM


def largest_rise(analysis: Analysis, start_s: float = 0.0, end_s: float | None = None) -> float:
    """Largest rise of short-term loudness within 3 s that ends within 3 LU of the median or above it, LU.

    The first 10 s are left out: a piece may begin from nothing. 0 where there is nothing to measure.
    """
    first = int(start_s) + SETTLED_S
    curve = analysis.curves.loudness[first : None if end_s is None else int(end_s)].astype(np.float64)
    heard = curve[np.isfinite(curve)]
    if len(curve) < 5 or not len(heard):
        return 0.0
    heard.sort()
    floor = (heard[(len(heard) - 1) // 2] + heard[len(heard) // 2]) / 2 - NEAR_MEDIAN_LU
    level = np.fmax(curve, -70.0)
    # Windows end anywhere in their second: a rise of 3 s lies between those of 3 and of 4 values.
    rises = level[4:] - np.minimum((level[:-4] + level[1:-3]) / 2, level[2:-2])
    return max(float(np.max(rises, where=level[4:] > floor, initial=0.0)), 0.0)


def _range_of(loudness: Curve) -> float:
    loud = loudness[loudness > -70.0].astype(np.float64)
    if not len(loud):
        return 0.0
    loud = loud[loud > 10 * np.log10(np.mean(10 ** (loud / 10))) - 20.0]
    low, high = np.percentile(loud, (10, 95))
    return float(high - low)


def _words(traits: list[Trait]) -> tuple[str, ...]:
    return tuple(trait.words for trait in traits)


def _traits(track: Track, analysis: Analysis) -> list[Trait]:
    return [trait(track, analysis) for trait in _TRAITS]


def felt_bpm(analysis: Analysis) -> float:
    """The tempo as it is felt: halved while there are fewer onsets than beats, since then no one taps to each."""
    assert analysis.tempo_bpm is not None
    bpm = analysis.tempo_bpm
    while 60 * analysis.onset_rate < bpm and bpm > FASTEST_BPM:
        bpm /= 2
    return bpm


def _energy(track: Track, _: Analysis) -> Trait:
    curve = marks.energy(track)
    mean = float(curve.mean()) if len(curve) else 0.0
    top = float(np.convolve(curve, np.full(10, 0.1), "valid").max()) if len(curve) >= 10 else mean
    over = max(mean - LIVELIEST, top - LIVELIEST_MOMENT, 0.0)
    if not over:
        return Trait(True, temper(mean), 0.0)
    part = f"{temper(mean)} on the whole" if mean > LIVELIEST else "a lively moment"
    return Trait(False, part, over / 0.1)


def _beat(_: Track, analysis: Analysis) -> Trait:
    if analysis.tempo_bpm is None or analysis.tempo_confidence < CLEAR_BEAT:
        return Trait(True, "no clear beat", 0.0)
    bpm = felt_bpm(analysis)
    if bpm <= FASTEST_BPM:
        return Trait(True, f"a slow beat ({bpm:.0f} a minute)", 0.0)
    beat = f"{bpm:.0f}" if round(bpm) > FASTEST_BPM else f"just over {FASTEST_BPM:.0f}"
    return Trait(
        False, f"a clear beat of {beat} a minute ({FASTEST_BPM:.0f} at most)", min((bpm - FASTEST_BPM) / 60, 1.0)
    )


def _voice(track: Track, analysis: Analysis) -> Trait:
    said = marks.voice(track)
    share = analysis.curves.voice_share if said is None else float(said)
    if share == 0:
        return Trait(True, "no voice", 0.0)
    return Trait(False, "a voice in it", 0.5 + share)


def _rise(_: Track, analysis: Analysis) -> Trait:
    rise = largest_rise(analysis)
    if rise <= MOST_RISE_LU:
        return Trait(True, "no sudden rise", 0.0)
    return _limit("a sudden rise in loudness", "a rise that the mix evens out", rise, GENTLE_RISE_LU)


def _range(_: Track, analysis: Analysis) -> Trait:
    return _limit("now soft, now loud", "steady loudness", analysis.loudness_range_lu, WIDEST_RANGE_LU)


def _onsets(_: Track, analysis: Analysis) -> Trait:
    return _limit("many new sounds", "few new sounds", analysis.onset_rate, MOST_ONSETS)


def _treble(_: Track, analysis: Analysis) -> Trait:
    return _limit("bright and sharp", "soft treble", analysis.treble_share, MOST_TREBLE)


def _limit(words: str, passing: str, value: float, limit: float) -> Trait:
    if value <= limit:
        return Trait(True, passing, 0.0)
    return Trait(False, words, min(value / limit - 1, 2.0))


_TRAITS = (_beat, _range, _onsets, _treble, _voice, _energy, _rise)
