"""What the recipes of the demo's music promise: variety, lengths, and a ground truth that fits itself."""

import re
from pathlib import Path

import numpy as np
import pytest

from audio.synth.harmony import Scale, chord, voicing
from audio.synth.recipes import RECIPES, Recipe, bar_times_s, beats_s, energy
from audio.synth.score import notes

README = Path(__file__).parents[2] / "demo_tracks_generated" / "README.md"
by_slug = pytest.mark.parametrize("recipe", RECIPES, ids=lambda recipe: recipe.slug)


def test_the_demo_has_music_for_a_whole_class():
    minutes = sum(recipe.seconds for recipe in RECIPES) / 60
    driving = [r for r in RECIPES if np.quantile(energy(r), 0.2) >= 0.7]
    resting = [r for r in RECIPES if energy(r).max() <= 0.25 and not r.voice]
    assert 18 <= len(RECIPES) <= 24
    assert 60 <= minutes <= 80
    assert len(driving) >= 5
    assert sum(r.seconds for r in driving) >= 15 * 60
    assert len(resting) >= 4
    assert sum(420 <= r.seconds <= 480 for r in resting) >= 2  # one of them can cover a rest


def test_the_demo_shows_every_kind_of_file_metre_and_level():
    assert {r.format for r in RECIPES} == {"mp3", "m4a", "flac", "ogg", "opus", "wav"}
    assert {r.metre for r in RECIPES} == {"4/4", "3/4", "6/8"}
    assert len({r.key for r in RECIPES}) >= 10
    assert min(r.level_lufs for r in RECIPES) <= -22
    assert max(r.level_lufs for r in RECIPES) >= -10
    assert sum(r.voice for r in RECIPES) >= 3
    assert len({r.slug for r in RECIPES}) == len({r.title for r in RECIPES}) == len(RECIPES)


@by_slug
def test_the_beats_of_a_recipe_lie_at_its_tempo(recipe: Recipe):
    beats = beats_s(recipe)
    if recipe.tempo_bpm is None:
        assert beats.size == 0
        return
    gaps = np.diff(beats)
    assert np.median(60 / gaps) == pytest.approx(recipe.tempo_bpm, rel=0.02)
    assert 0 < beats[0] < 1
    assert beats[-1] < recipe.seconds
    assert gaps.max() / gaps.min() < 1.25  # rubato, not chaos


@by_slug
def test_the_energy_of_a_recipe_covers_the_track_and_falls_silent_with_it(recipe: Recipe):
    curve = energy(recipe)
    assert curve.size == np.ceil(recipe.seconds)
    assert curve.min() >= 0
    assert curve.max() <= 1
    assert curve.max() == pytest.approx(max(max(s.start, s.end) for s in recipe.sections), abs=0.02)
    assert curve[-1] < 0.5 * curve.max() or recipe.seconds - bar_times_s(recipe)[-2] < 6


@by_slug
def test_melodic_notes_belong_to_the_key(recipe: Recipe):
    classes = {(recipe.scale.tonic + step) % 12 for step in recipe.scale.steps}
    tuned = ("pluck", "keys", "tongue", "pipe", "pad", "surge", "lead", "bowl")
    played = [note.midi % 12 for note in notes(recipe) if note.instrument in tuned]
    assert len(played) > 20
    assert set(played) <= classes


@by_slug
def test_only_songs_are_sung(recipe: Recipe):
    assert any(note.line for note in notes(recipe)) == recipe.voice


# Scales and chords as in any textbook of harmony
@pytest.mark.parametrize(
    ("key", "pitches"),
    [
        ("C major", "C D E F G A B"),
        ("A minor", "A B C D E F G"),
        ("D Dorian", "D E F G A B C"),
        ("E Phrygian", "E F G A B C D"),
        ("F Lydian", "F G A B C D E"),
        ("G Mixolydian", "G A B C D E F"),
        ("B flat major", "Bb C D Eb F G A"),
        ("C sharp minor", "C# D# E F# G# A B"),
    ],
)
def test_scales_against_the_textbook(key: str, pitches: str):
    names = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
    classes = [(names[p[0]] + {"": 0, "#": 1, "b": -1}[p[1:]]) % 12 for p in pitches.split()]
    scale = Scale.named(key)
    assert [scale.note(step) % 12 for step in range(7)] == classes


def test_the_fifth_degree_of_c_major_is_g_b_d():
    assert {m % 12 for m in voicing(Scale.named("C major"), chord(5), 60)} == {7, 11, 2}


@pytest.mark.parametrize("key", ["H major", "C", "C sharp", "a minor", ""])
def test_a_key_that_is_none_is_refused(key: str):
    with pytest.raises(ValueError, match="no key"):
        Scale.named(key)


@by_slug
def test_the_readme_of_the_folder_tells_the_recipe(recipe: Recipe):
    rows = [line for line in README.read_text("utf-8").splitlines() if line.startswith(f"| {recipe.filename} |")]
    assert len(rows) == 1, "make the row anew: one a recipe"
    cells = [cell.strip() for cell in rows[0].strip("|").split("|")]
    minutes, seconds = map(int, re.fullmatch(r"(\d+):(\d\d)", cells[3]).groups())
    tempo = "none" if recipe.tempo_bpm is None else f"{recipe.tempo_bpm:g}"
    assert cells[1:3] == [recipe.title, recipe.artist]
    assert 60 * minutes + seconds == round(recipe.seconds)
    assert cells[4] == tempo
    assert cells[6:8] == [recipe.key, f"{recipe.level_lufs:g}"]
