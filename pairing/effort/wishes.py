"""What is asked of the music at a place: what a line says goes before its group, its section and the plan.

A wish that names a level (quiet, steady, driving), an energy or no music replaces the wish of that sort from further
out; the others are added. `same music`, `silent last`, `rises into` and `breaks at` belong to the place they are
written at and aren't handed on.
"""

from dataclasses import fields, replace

from pairing.model import Kind, Wishes

NO_WISHES = Wishes()
_NOTHING = {each.name: getattr(NO_WISHES, each.name) for each in fields(Wishes)}
_NO_LEVEL = {name: _NOTHING[name] for name in ("level", "energy", "no_music")}  # one replaces the others
_OF_ITS_PLACE = {name: _NOTHING[name] for name in ("same_music", "rises_into", "breaks_at", "silent_last_s")}


def inside(outer: Wishes, inner: Wishes) -> Wishes:
    """Give the wishes that hold in a place with wishes `inner`, surrounded by `outer`.

    >>> inside(Wishes(level="quiet", no_voice=True), Wishes(energy=0.5)) == Wishes(energy=0.5, no_voice=True)
    True
    """
    if inner == NO_WISHES:
        return handed_on(outer)
    stated = {name: value for name, nothing in _NOTHING.items() if (value := getattr(inner, name)) != nothing}
    return replace(outer, **(_OF_ITS_PLACE | (_NO_LEVEL if stated.keys() & _NO_LEVEL.keys() else {}) | stated))


def from_the_top(wishes: Wishes, kind: Kind) -> Wishes:
    """Give what of the plan's wishes holds in a section: no level and no energy in the closing rest."""
    return replace(wishes, level=None, energy=None) if lifts_a_rest(wishes, kind) else wishes


def lifts_a_rest(wishes: Wishes, kind: Kind) -> bool:
    """Say whether the plan's wishes would lift its closing rest; "driving" is meant for the class that moves."""
    return kind is Kind.REST and (wishes.level in ("steady", "driving") or wishes.energy is not None)


def handed_on(wishes: Wishes) -> Wishes:
    """Give what of a place's wishes holds for the things inside it."""
    return replace(wishes, **_OF_ITS_PLACE)
