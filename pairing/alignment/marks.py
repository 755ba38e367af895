"""The teacher's own word on a track, which counts more than what was measured.

Marks are plain key and value, kept in the library:
    energy: a number from 0 to 100, the mean energy as the teacher hears it
    voice: "no" or "yes"
    rest: "never" or "yes" (never in a rest; fit for one whatever was measured)
    favourite: "yes"
    use: "never"
    beat: the beats a minute that are felt, or "half", "double" or "right" against what was measured
"""

import math
from collections.abc import Mapping
from types import MappingProxyType

from audio.errors import ArcbedError
from audio.track import Curve, Track

WORDS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "voice": ("no", "yes"),
        "rest": ("never", "yes"),
        "favourite": ("yes",),
        "use": ("never",),
        "beat": ("half", "double", "right"),
    }
)
_BEAT_FACTORS = MappingProxyType({"half": 0.5, "double": 2.0, "right": 1.0})
# Up to about these the beat may as well be felt at the double: both lie as far from a middle tempo (see
# `audio.measure.tempo`), where most people tap (Moelants, Preferred tempo reconsidered, ICMPC 2002, from memory); the
# width is editorial.
STRADDLING_BPM = (68.0, 90.0)
LEAST_BPM, MOST_BPM = 20.0, 300.0  # what may be said of a beat; editorial
_LEVELS = (1 / 4, 1 / 3, 1 / 2, 2 / 3, 1.0, 3 / 2, 2.0, 3.0, 4.0)  # at which a beat is measured beside the one felt
_SAME_BEAT = 0.05  # so near it is the same beat; editorial


def checked(key: str, value: str) -> tuple[str, str]:
    """A mark as it is stored: lower case, energy as a whole number of percent.

    Raises:
        ArcbedError: no such mark, or no such value for it.

    >>> checked("Energy", " 40% ")
    ('energy', '40')
    """
    key, value = key.strip().casefold(), value.strip().casefold().removesuffix("%").strip()
    if key == "energy":
        try:
            percent = float(value)
        except ValueError:
            percent = -1.0
        if not 0 <= percent <= 100:
            raise ArcbedError(
                f'"{value}" doesn\'t say how lively a track is.',
                remedy="Energy is a number from 0 (still) to 100 (driving).",
            )
        return key, f"{percent:g}"
    if key == "beat" and (bpm := _number(value, LEAST_BPM, MOST_BPM)) is not None:
        return key, f"{bpm:.0f}"
    if key not in WORDS or value not in WORDS[key]:
        known = "; ".join(f"{name}: {' or '.join(words)}" for name, words in WORDS.items())
        raise ArcbedError(
            f'"{key}: {value}" can\'t be said of a track.',
            remedy=f"What can be said is energy: 0 to 100; {known}, or beats a minute.",
        )
    return key, value


def settled(track: Track, value: str) -> str:
    """A word on the beat as beats a minute, so that it holds whatever is measured when the track is heard again.

    Raises:
        ArcbedError: "half" of a track without a clear beat.
    """
    if value not in _BEAT_FACTORS:
        return value
    bpm = track.analysis.tempo_bpm
    if bpm is None:
        raise ArcbedError(
            f'"{track.title}" has no clear beat that could be {value}.',
            remedy="Say how many beats a minute you feel: beat=72.",
        )
    return f"{bpm * _BEAT_FACTORS[value]:.0f}"


def energy(track: Track) -> Curve:
    """The energy curve, moved so that its mean is what the teacher said, if anything; 0 to 1, shape (seconds,)."""
    curve = track.analysis.curves.energy
    said = _number(track.marks.get("energy"))
    if said is None:
        return curve
    return (curve + (said / 100 - track.analysis.curves.mean_energy)).clip(0, 1).astype(curve.dtype)


def mean_energy(track: Track) -> float:
    """The mean of the energy, as the teacher said it if anything; 0 to 1."""
    said = _number(track.marks.get("energy"))
    return track.analysis.curves.mean_energy if said is None else said / 100


def is_banned(track: Track) -> bool:
    """Whether the teacher never wants this track."""
    return track.marks.get("use") == "never"


def is_favourite(track: Track) -> bool:
    """Whether the teacher likes this track."""
    return track.marks.get("favourite") == "yes"


def voice(track: Track) -> bool | None:
    """Whether a voice is in it by the teacher's word; None where nothing was said."""
    return {"no": False, "yes": True}.get(track.marks.get("voice", ""))


def tempos_bpm(track: Track) -> tuple[float, ...]:
    """The beat of a track, and the other level where both may be felt and the teacher hasn't said which; none: ()."""
    bpm, word = track.analysis.tempo_bpm, track.marks.get("beat", "")
    said = _number(word, LEAST_BPM, MOST_BPM)
    if said is not None:
        return (_measured_at(bpm, said),)
    if bpm is None:
        return ()
    if word in _BEAT_FACTORS:
        return (bpm * _BEAT_FACTORS[word],)
    slow, fast = STRADDLING_BPM
    other = 2 * bpm if slow <= bpm < fast else bpm / 2 if 2 * slow <= bpm < 2 * fast else None
    return (bpm,) if other is None else (bpm, other)


def levels_bpm(track: Track) -> tuple[int, ...]:
    """Whole beats a minute to choose from: what was measured, its half and double, and what the teacher said."""
    bpm, said = track.analysis.tempo_bpm, _number(track.marks.get("beat"), LEAST_BPM, MOST_BPM)
    levels = {round(bpm * factor) for factor in _BEAT_FACTORS.values()} if bpm else set[int]()
    levels = {level for level in levels if LEAST_BPM <= level <= MOST_BPM}
    return tuple(sorted(levels if said is None else levels | {round(said)}))


def _measured_at(bpm: float | None, said: float) -> float:
    """The measured beat at the level that was said, which is finer than a whole number; else what was said."""
    levels = [bpm * level for level in _LEVELS] if bpm else []
    near = min(levels, key=lambda level: abs(math.log(level / said)), default=said)
    return near if abs(near / said - 1) < _SAME_BEAT else said


def rest(track: Track) -> bool | None:
    """Whether it may stand in a rest by the teacher's word; None where nothing was said."""
    return {"never": False, "yes": True}.get(track.marks.get("rest", ""))


def _number(text: str | None, least: float = 0.0, most: float = 100.0) -> float | None:
    try:
        value = float(text) if text is not None else None
    except ValueError:
        return None
    return value if value is not None and least <= value <= most else None
