"""What is asked of the music at a place: what a line says goes before its group, its section and the plan.

A wish that names a level (quiet, steady, driving), an energy or no music replaces the wish of that sort from further
out; the others are added. `same music`, `silent last`, `rises into` and `breaks at` belong to the place they are
written at and aren't handed on.
"""

from dataclasses import replace

from pairing.model import Kind, Wishes

NO_WISHES = Wishes()


def inside(outer: Wishes, inner: Wishes) -> Wishes:
    """Give the wishes that hold in a place with wishes `inner`, surrounded by `outer`."""
    if inner == NO_WISHES:
        return handed_on(outer)
    states_level = inner.level is not None or inner.energy is not None or inner.no_music
    level = inner if states_level else outer
    return Wishes(
        level=level.level,
        energy=level.energy,
        no_music=level.no_music,
        no_voice=inner.no_voice or outer.no_voice,
        clear_talk=inner.clear_talk or outer.clear_talk,
        same_music=inner.same_music,
        folder=inner.folder or outer.folder,
        beat_bpm=inner.beat_bpm or outer.beat_bpm,
        rises_into=inner.rises_into,
        breaks_at=inner.breaks_at,
        silent_last_s=inner.silent_last_s,
    )


def from_the_top(wishes: Wishes, kind: Kind) -> Wishes:
    """Give what of the plan's wishes holds in a section: no level and no energy in the closing rest."""
    return replace(wishes, level=None, energy=None) if lifts_a_rest(wishes, kind) else wishes


def lifts_a_rest(wishes: Wishes, kind: Kind) -> bool:
    """Say whether the plan's wishes would lift its closing rest; "driving" is meant for the class that moves."""
    return kind is Kind.REST and (wishes.level in ("steady", "driving") or wishes.energy is not None)


def handed_on(wishes: Wishes) -> Wishes:
    """Give what of a place's wishes holds for the things inside it."""
    return replace(wishes, same_music=False, rises_into=False, breaks_at=False, silent_last_s=None)
