"""From a recipe to the notes of all players, in order of time."""

from collections.abc import Iterator

from audio.synth.ensembles import ENSEMBLES
from audio.synth.harmony import chord
from audio.synth.instruments import source_of_chance
from audio.synth.parts import Bar, Note
from audio.synth.recipes import FormSection, Recipe, beat_times_s


def notes(recipe: Recipe) -> tuple[Note, ...]:
    """Write the whole score of a recipe; the same recipe gives the same notes."""
    parts = ENSEMBLES[recipe.ensemble].parts
    chances = [source_of_chance(recipe.slug, seat) for seat in range(len(parts))]
    written = [
        note
        for bar in bars(recipe)
        for part, chance in zip(parts, chances, strict=True)
        if part.strength(bar.energy) > 0
        for note in part.player(part, bar, chance)
    ]
    return tuple(sorted(written, key=lambda note: (note.at_s, note.instrument, note.midi)))


def bars(recipe: Recipe) -> Iterator[Bar]:
    """Give every bar of the form, then that of the last chord."""
    form = [
        (s, k, max(0.0, s.start + (s.end - s.start) * k / max(1, s.bars - 1)))
        for s in recipe.sections
        for k in range(s.bars)
    ]
    last = recipe.sections[-1]
    form.append((last, last.bars, last.end))
    levels = [level for _, _, level in form] + [0.0]
    times_s = beat_times_s(recipe)
    for number, (section, index, level) in enumerate(form):
        final = number == recipe.bars
        yield Bar(
            number,
            section,
            index,
            recipe.beats_a_bar,
            times_s[number * recipe.beats_a_bar :][: 2 * recipe.beats_a_bar + 1],
            chord(1 if final else _degree(recipe, section, index), 4 if recipe.ensemble in ("ballad", "pads") else 3),
            level,
            levels[number + 1],
            recipe.scale,
            recipe.metre == "6/8",
            recipe.swing,
            final,
        )


def _degree(recipe: Recipe, section: FormSection, index: int) -> int:
    degrees = recipe.bridge if section.name in ("bridge", "break") else recipe.verse
    return degrees[index % len(degrees)]
