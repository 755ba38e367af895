"""What was measured, in words people say; the figures stay on request.

A cut is where one word gives way to the next. What is published stands beside its cut; the others are editorial.
"""

import math
import statistics
from collections.abc import Iterable

from audio.text import clock, one_line
from pairing.constants import MODERATE_METS
from pairing.model import Kind, Pick, SectionTime, SetList
from pairing.temper import livelier_by, temper

__all__ = ["GRADES", "effort", "loudness", "place_in_class", "places_in_class", "temper", "temper_against", "voice"]

NO_VOICE = 0.02  # share of seconds: fewer are blips, as where music without a voice is looked for; editorial
SUNG = 0.25  # from here on a listener would call it a song; editorial
VOICES = {"speech": ("some talk", "spoken"), "choir": ("some choir", "a choir")}

SOFT_LOUD_LU = 4.0  # below or above the median of one's own tracks; editorial

# Moderate work begins at 3.0 METs (ACSM/AHA, in PMC8321902, table 1). The others are editorial: lying and sitting poses
# of the table lie below 2, salutations at one breath a pose above 4 (`pairing.constants`).
EFFORTS = ((4.0, "hard"), (MODERATE_METS, "working"), (2.0, "warm"))

GRADES = {"must": "mend first", "should": "worth a look", "note": "good to know"}  # by the levels of findings

NEAR_S = 10.0  # a change of music so close to a beginning counts as at it; editorial


def temper_against(energy: float, asked: float) -> str | None:
    """How music stands to what is asked of it; None where it fits.

    >>> temper_against(0.5, 0.57), temper_against(0.5, 0.52)
    ('a little calmer than asked', None)
    """
    words = livelier_by(energy - asked)
    return f"{words} than asked" if words else None


def voice(share: float, kind: str | None = None) -> str:
    """How much of a track is sung or spoken.

    Args:
        share: of its seconds, those in which a voice is likely, 0 to 1.
        kind: "speech", "choir" or "singing" (`Analysis.voice_kind`); None: not known.

    >>> voice(0.0), voice(0.1), voice(0.6), voice(0.6, "speech")
    ('no voice', 'some voice', 'sung', 'spoken')
    """
    if share < NO_VOICE:
        return "no voice"
    some, mostly = VOICES.get(kind or "", ("some voice", "sung"))
    return mostly if share >= SUNG else some


def loudness(lufs: float, others: Iterable[float]) -> str:
    """Whether a track is soft or loud beside one's others (integrated loudness, LUFS); "" where it is neither."""
    known = [each for each in others if math.isfinite(each)]
    if not known or not math.isfinite(lufs):
        return ""
    apart = lufs - statistics.median(known)
    return "" if abs(apart) < SOFT_LOUD_LU else "loud" if apart > 0 else "soft"


def effort(mets: float) -> str:
    """How hard the body works.

    >>> [effort(mets) for mets in (1.2, 2.5, 3.4, 4.2)]
    ['easy', 'warm', 'working', 'hard']
    """
    return next((word for least, word in EFFORTS if mets >= least), "easy")


def place_in_class(setlist: SetList, n: int) -> str:
    """Where track `n` of a class comes in: "as Tide begins", "at the peak", "in the rest"; no two tracks share one."""
    return places_in_class(setlist)[n]


def places_in_class(setlist: SetList) -> dict[int, str]:
    """Where each track of a class comes in, by its number."""
    places = {pick.n: _place(setlist, pick) for pick in setlist.picks}
    said = list(places.values())
    starts_s = {pick.n: pick.class_start_s for pick in setlist.picks}
    return {n: place if said.count(place) == 1 else f"{place}, at {clock(starts_s[n])}" for n, place in places.items()}


def _place(setlist: SetList, pick: Pick) -> str:
    at_s = pick.class_start_s
    if at_s >= setlist.class_s - 1:
        return "after the class"
    if at_s < 0 and pick.class_end_s <= NEAR_S:
        return "before the class"
    if at_s <= NEAR_S:
        return "as the class begins"
    section = next((each for each in setlist.sections if at_s < each.end_s - NEAR_S), setlist.sections[-1])
    name = _name(section, setlist.sections)
    if at_s - section.start_s <= NEAR_S:
        return f"at {name}" if name == "the peak" else f"as {name} begins"
    share = (at_s - section.start_s) / (section.end_s - section.start_s)
    return f"{'early in' if share < 1 / 3 else 'halfway through' if share < 2 / 3 else 'late in'} {name}"


def _name(section: SectionTime, sections: tuple[SectionTime, ...]) -> str:
    """The one peak or rest of a class by what it is; any other section as the teacher calls it."""
    called = {Kind.PEAK: "the peak", Kind.REST: "the rest"}.get(section.kind)
    alone = sum(each.kind is section.kind for each in sections) == 1
    return called if called and alone else one_line(section.name) or f"the {section.kind.value}"
