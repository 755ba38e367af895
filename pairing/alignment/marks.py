"""The teacher's own word on a track, which counts more than what was measured.

Marks are plain key and value, kept in the library:
    energy: a number from 0 to 100, the mean energy as the teacher hears it
    voice: "no" or "yes"
    rest: "never" or "yes" (never in a rest; fit for one whatever was measured)
    favourite: "yes"
    use: "never"
    beat: "half", "double" or "right" (the beat as it is felt, against what was measured)
"""

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
    if key not in WORDS or value not in WORDS[key]:
        known = "; ".join(f"{name}: {' or '.join(words)}" for name, words in WORDS.items())
        raise ArcbedError(
            f'"{key}: {value}" can\'t be said of a track.', remedy=f"What can be said is energy: 0 to 100; {known}."
        )
    return key, value


def energy(track: Track) -> Curve:
    """The energy curve, moved so that its mean is what the teacher said, if anything; 0 to 1."""
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
    bpm = track.analysis.tempo_bpm
    if bpm is None:
        return ()
    said = _BEAT_FACTORS.get(track.marks.get("beat", ""))
    if said is not None:
        return (bpm * said,)
    slow, fast = STRADDLING_BPM
    other = 2 * bpm if slow <= bpm < fast else bpm / 2 if 2 * slow <= bpm < 2 * fast else None
    return (bpm,) if other is None else (bpm, other)


def rest(track: Track) -> bool | None:
    """Whether it may stand in a rest by the teacher's word; None where nothing was said."""
    return {"never": False, "yes": True}.get(track.marks.get("rest", ""))


def _number(text: str | None) -> float | None:
    try:
        value = float(text) if text is not None else None
    except ValueError:
        return None
    return value if value is not None and 0 <= value <= 100 else None
