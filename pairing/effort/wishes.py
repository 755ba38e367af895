"""What is asked of the music at a place: what a line says goes before its group, its section and the plan.

A wish that names a level (quiet, steady, driving), an energy or no music replaces the wish of that sort from further
out; the others are added. `same music` and `silent last` belong to the place they are written at and aren't handed on.
"""

from dataclasses import replace

from pairing.model import Wishes

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
        same_music=inner.same_music,
        folder=inner.folder or outer.folder,
        beat_bpm=inner.beat_bpm or outer.beat_bpm,
        silent_last_s=inner.silent_last_s,
    )


def handed_on(wishes: Wishes) -> Wishes:
    """Give what of a place's wishes holds for the things inside it."""
    if not wishes.same_music and wishes.silent_last_s is None:
        return wishes
    return replace(wishes, same_music=False, silent_last_s=None)
