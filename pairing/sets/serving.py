"""How well a track of the library serves one place of a class, in words: for a list to choose from by hand.

The order is that of nearness to the energy asked for; what the plan forbids stands last, with the reason.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from audio.track import Track
from pairing.alignment import marks
from pairing.alignment.sedative import judge
from pairing.model import Curve, Kind, Rule, SectionTime
from pairing.temper import livelier_by, temper

FAVOURITE = 0.04  # a favourite may be so much further away; editorial


@dataclass(frozen=True, slots=True)
class SectionNeed:
    """What one section asks of its music."""

    name: str
    energy: float  # mean of what is asked for, 0 to 1
    in_rest: bool = False
    no_voice: bool = False
    folder: str | None = None
    beat_bpm: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Service:
    """A track, whether it may stand in the place, how far it is from what is asked, and why in words."""

    track: Track
    may: bool
    distance: float
    why: str


def place_of(section: SectionTime, energy: Curve, rules: Iterable[Rule] = ()) -> SectionNeed:
    """What a section asks: the mean of `energy` (class seconds, NaN: no music) in it, and the plan's rules there."""
    asked = energy[int(section.start_s) : max(int(section.end_s), int(section.start_s) + 1)]
    mean = float(np.nanmean(asked)) if np.isfinite(asked).any() else 0.2
    held = [rule for rule in rules if rule.start_s < section.end_s - 1 and rule.end_s > section.start_s + 1]
    wishes = section.wishes
    return SectionNeed(
        name=section.name,
        energy=mean,
        in_rest=section.kind is Kind.REST,
        no_voice=wishes.no_voice or section.kind is Kind.REST or bool(held and all(rule.no_voice for rule in held)),
        folder=wishes.folder or next((rule.folder for rule in held if rule.folder), None),
        beat_bpm=wishes.beat_bpm or next((rule.beat_bpm for rule in held if rule.beat_bpm), None),
    )


def ranked(tracks: Sequence[Track], place: SectionNeed) -> tuple[Service, ...]:
    """Every usable track, the one that serves the place best first."""
    found = [_service(track, place) for track in tracks]
    return tuple(sorted(found, key=lambda each: (not each.may, each.distance, each.track.id)))


def _service(track: Track, place: SectionNeed) -> Service:
    curve = marks.energy(track)
    energy = float(curve.mean()) if len(curve) else 0.0
    against = list(_against(track, place))
    distance = abs(energy - place.energy) - (FAVOURITE if marks.is_favourite(track) else 0.0)
    words = [_words(energy, place), *(["your favourite"] if marks.is_favourite(track) else [])]
    return Service(track, not against, distance, ", ".join(against or words))


def _words(energy: float, place: SectionNeed) -> str:
    apart = livelier_by(energy - place.energy)
    if apart is None:
        return f"{temper(energy)}, just what {place.name} asks for"
    return f"{temper(energy)}, {apart} than {place.name} asks for"


def _against(track: Track, place: SectionNeed) -> Iterable[str]:
    if marks.is_banned(track):
        yield "you said never"
    if place.in_rest:
        candidate = judge(track)
        if not candidate.fit:
            yield "doesn't suit a rest: " + ", ".join(candidate.reasons)
    elif place.no_voice and _has_voice(track):
        yield "has a voice, and the plan asks for none here"
    if place.folder and place.folder.casefold() not in str(track.path.parent).casefold():
        yield f'isn\'t in your folder "{place.folder}"'
    if place.beat_bpm and not any(place.beat_bpm[0] <= bpm <= place.beat_bpm[1] for bpm in marks.tempos_bpm(track)):
        yield f"hasn't the {place.beat_bpm[0]:g} to {place.beat_bpm[1]:g} beats a minute that the plan asks for here"


def _has_voice(track: Track) -> bool:
    said = marks.voice(track)
    return track.analysis.curves.voice_share > 0 if said is None else said
