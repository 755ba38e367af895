"""The recipes of the demo's invented music, and what is known of each track before a sample is made.

A harbour town, an evening studio, five ensembles that do not exist. A recipe states tempo, metre, key, level, form and
the energy that each part of the form is meant to have; `beats_s` and `energy` turn that into ground truth.
Beats are those that a listener taps: quarter notes, in 6/8 dotted quarters. All numbers are editorial.
"""

from dataclasses import dataclass

import numpy as np

from audio.arrays import F64
from audio.synth.harmony import Scale
from audio.track import Curve

LEAD_IN_S = 0.3  # silence before the first note
_METRES = {"4/4": 4, "3/4": 3, "6/8": 2}  # beats a bar


@dataclass(frozen=True, slots=True)
class FormSection:
    """A part of a track's form: its name, its length in bars, its intended energy (0 to 1) at both ends."""

    name: str
    bars: int
    start: float  # energy at its first bar
    end: float  # and at its last


@dataclass(frozen=True, slots=True)
class Recipe:
    """One invented track.

    `tempo_bpm` is None where there is no beat; bars then last `free_bar_s`, about. `sway` is how far the tempo leans
    back and forth, as a share of it; 0 for a machine. `verse` and `bridge` are degrees of the scale, a chord each.
    """

    slug: str
    title: str
    artist: str
    album: str
    format: str  # the file's ending
    ensemble: str  # a name in `audio.synth.ensembles`
    key: str  # "A minor", "F sharp Dorian"
    tempo_bpm: float | None
    metre: str  # "4/4", "3/4" or "6/8"
    level_lufs: float  # integrated loudness of the master
    verse: tuple[int, ...]
    bridge: tuple[int, ...]
    sections: tuple[FormSection, ...]
    voice: bool = False  # whether it is sung
    sway: float = 0.0
    free_bar_s: float = 11.0
    tail_s: float = 4.0  # for the last chord to die away, after one last bar
    swing: float = 0.0  # how much later every second half beat comes, in beats

    @property
    def beats_a_bar(self) -> int:
        """Tapped beats in a bar."""
        return _METRES[self.metre]

    @property
    def scale(self) -> Scale:
        """The key as numbers.

        Raises:
            ValueError: the key isn't one.
        """
        return Scale.named(self.key)

    @property
    def bars(self) -> int:
        """Bars of the form, without the last chord's."""
        return sum(section.bars for section in self.sections)

    @property
    def seconds(self) -> float:
        """Length of the track."""
        return float(bar_times_s(self)[-1] + self.tail_s)

    @property
    def filename(self) -> str:
        """Name of the file that the track is written to."""
        return f"{self.slug}.{self.format}"


def beat_times_s(recipe: Recipe) -> F64:
    """Give the seconds of every beat of the score, shape (n,), that of the end of the last chord's bar included.

    Without a tempo these are the four quarters of each free bar, which nobody hears as beats.
    """
    count = (recipe.bars + 1) * recipe.beats_a_bar
    period = 60 / recipe.tempo_bpm if recipe.tempo_bpm else recipe.free_bar_s / recipe.beats_a_bar
    beat = np.arange(count)
    lean = 1 + recipe.sway * np.sin(2 * np.pi * beat / (8 * recipe.beats_a_bar))
    if recipe.sway:
        closing = np.clip((beat - count + 2.5 * recipe.beats_a_bar) / (1.5 * recipe.beats_a_bar), 0, 1)
        lean += 4 * recipe.sway * closing
    return LEAD_IN_S + np.concatenate([[0.0], np.cumsum(period * lean)])


def bar_times_s(recipe: Recipe) -> F64:
    """Give the second at which every bar starts, shape (n,), that of the last chord and the end of its bar included."""
    return beat_times_s(recipe)[:: recipe.beats_a_bar]


def beats_s(recipe: Recipe) -> F64:
    """Give the seconds of the beats that can be heard, shape (n,), the first of the last chord included.

    Empty where there is no beat.
    """
    if recipe.tempo_bpm is None:
        return np.empty(0)
    return beat_times_s(recipe)[: -recipe.beats_a_bar]


def energy(recipe: Recipe) -> Curve:
    """Give the intended energy at 1 Hz, 0 to 1, shape (ceil(seconds),); value i holds for [i, i + 1)."""
    bars = bar_times_s(recipe)
    edge, times, values = 0, [], []
    for section in recipe.sections:
        times += [bars[edge], bars[edge + section.bars] - 1e-6]
        values += [section.start, section.end]
        edge += section.bars
    times += [bars[edge], recipe.seconds]
    values += [recipe.sections[-1].end, 0.0]
    middle = np.arange(np.ceil(recipe.seconds)) + 0.5
    return np.asarray(np.interp(middle, times, values), np.float32)


def _form(words: str) -> tuple[FormSection, ...]:
    """Read sections like "verse 16 0.24, break 8 0.60-0.80": name, bars, energy at both ends."""
    sections = []
    for part in words.split(", "):
        name, bars, levels = part.split()
        start, _, end = levels.partition("-")
        sections.append(FormSection(name, int(bars), float(start), float(end or start)))
    return tuple(sections)


_SALTGLASS, _DUSK, _NETS, _ROPEWALK, _CUTTER = (
    "Saltglass Quartet",
    "Dusk Ferry Ensemble",
    "The Netmenders' Choir",
    "Ropewalk Nine",
    "Pilot Cutter Drums",
)

# Slug, title, artist, album, kind of file; ensemble, key, tempo, metre, level; verse, bridge; form.
RECIPES: tuple[Recipe, ...] = (
    Recipe(
        "slack-water", "Slack Water", _DUSK, "Night Crossing", "flac",
        "drone", "D Dorian", None, "4/4", -24.0,
        (1, 1, 4, 1), (7, 1),
        _form("intro 4 0.02-0.06, verse 14 0.08, break 6 0.10, verse 10 0.08, outro 4 0.06-0.05"),
        free_bar_s=11.0, tail_s=9.0,
    ),
    Recipe(
        "last-ferry-lights", "Last Ferry Lights", _DUSK, "Night Crossing", "flac",
        "pads", "F Lydian", None, "4/4", -21.0,
        (1, 2, 6, 5), (4, 3, 6, 5),
        _form("intro 4 0.05-0.09, verse 16 0.11, bridge 8 0.14, verse 12 0.11, outro 4 0.08-0.05"),
        free_bar_s=9.3, tail_s=9.0,
    ),
    Recipe(
        "fog-on-the-mole", "Fog on the Mole", _DUSK, "Night Crossing", "ogg",
        "drone", "A minor", None, "4/4", -20.0,
        (1, 6, 1, 7), (4, 1),
        _form("intro 3 0.03-0.08, verse 12 0.10-0.16, outro 4 0.10-0.05"),
        free_bar_s=10.5, tail_s=9.0,
    ),
    Recipe(
        "lamp-oil", "Lamp Oil", _DUSK, "Lights Along the Quay", "mp3",
        "pads", "G major", 56.0, "4/4", -19.0,
        (1, 3, 4, 1, 6, 4, 2, 5), (4, 1, 2, 6),
        _form("intro 4 0.08-0.12, verse 16 0.16, bridge 8 0.20, verse 16 0.18, outro 4 0.10-0.04"),
        sway=0.01, tail_s=8.0,
    ),
    Recipe(
        "mending-nets", "Mending Nets", _SALTGLASS, "Shore Work", "m4a",
        "pluck", "C major", 66.0, "4/4", -18.0,
        (1, 5, 6, 4), (2, 6, 4, 5),
        _form("intro 4 0.15, verse 16 0.24, bridge 8 0.30, break 4 0.18, verse 12 0.30, outro 4 0.16-0.08"),
        sway=0.012,
    ),
    Recipe(
        "pilot-light", "Pilot Light", _SALTGLASS, "Shore Work", "wav",
        "tongues", "F major", 72.5, "4/4", -20.0,
        (1, 6, 2, 5), (4, 3, 2, 5),
        _form("intro 4 0.16, verse 16 0.26, bridge 8 0.34, verse 12 0.30, outro 4 0.15-0.06"),
        sway=0.006,
    ),
    Recipe(
        "tidewrack", "Tidewrack", _SALTGLASS, "Shore Work", "flac",
        "ballad", "E flat major", 68.0, "4/4", -19.0,
        (1, 3, 6, 4, 1, 5, 4, 5), (6, 4, 1, 5),
        _form("intro 4 0.12, verse 16 0.20, bridge 8 0.32, break 4 0.18, verse 16 0.28, outro 6 0.16-0.05"),
        sway=0.03, tail_s=4.0,
    ),
    Recipe(
        "letters-in-the-locker", "Letters in the Locker", _SALTGLASS, "Lights Along the Quay", "ogg",
        "ballad", "C sharp minor", 58.0, "4/4", -22.0,
        (1, 6, 3, 7), (4, 1, 6, 7),
        _form("intro 4 0.08, verse 16 0.16, bridge 8 0.24, verse 12 0.16, outro 4 0.10-0.03"),
        sway=0.035, tail_s=4.0,
    ),
    Recipe(
        "ropewalk-waltz", "Ropewalk Waltz", _SALTGLASS, "Shore Work", "m4a",
        "pluck", "E minor", 92.0, "3/4", -17.0,
        (1, 1, 7, 7, 6, 6, 7, 5), (4, 1, 3, 7),
        _form("intro 8 0.22, verse 24 0.34, bridge 16 0.42, break 8 0.26, verse 24 0.44, outro 8 0.25-0.12"),
        sway=0.008,
    ),
    Recipe(
        "bollard-song", "Bollard Song", _NETS, "Mouths of the River", "mp3",
        "song", "G Mixolydian", 76.0, "4/4", -16.0,
        (1, 7, 4, 1), (6, 4, 1, 7),
        _form("intro 4 0.20, verse 16 0.34, bridge 8 0.44, break 4 0.28, verse 16 0.46, outro 4 0.25-0.12"),
        voice=True, sway=0.006,
    ),
    Recipe(
        "tern-and-marram", "Tern and Marram", _NETS, "Mouths of the River", "opus",
        "song", "B minor", 64.0, "4/4", -18.0,
        (1, 6, 4, 5), (3, 7, 6, 5),
        _form("intro 4 0.14, verse 16 0.24, bridge 8 0.32, verse 16 0.30, outro 4 0.16-0.06"),
        voice=True, sway=0.012,
    ),
    Recipe(
        "low-lanterns", "Low Lanterns", _CUTTER, "Hands on Wood", "flac",
        "stamp", "D Dorian", 100.0, "4/4", -15.0,
        (1, 1, 4, 1), (7, 4, 1, 1),
        _form("intro 8 0.46, verse 24 0.58, bridge 8 0.66, break 8 0.50, verse 16 0.70, outro 8 0.54-0.40"),
        swing=0.04,
    ),
    Recipe(
        "skiff-and-oar", "Skiff and Oar", _CUTTER, "Hands on Wood", "m4a",
        "hands", "A Dorian", 67.0, "6/8", -14.0,
        (1, 7, 4, 1), (3, 7, 4, 5),
        _form("intro 8 0.32, verse 32 0.48, bridge 16 0.58, break 8 0.40, verse 24 0.60, outro 8 0.42-0.28"),
    ),
    Recipe(
        "coiling", "Coiling", _CUTTER, "Hands on Wood", "ogg",
        "stamp", "E Phrygian", 104.0, "4/4", -14.0,
        (1, 2, 1, 7), (6, 7, 2, 1),
        _form("intro 8 0.48, verse 24 0.60, bridge 16 0.68, break 8 0.52, verse 16 0.72, outro 8 0.56-0.42"),
        swing=0.02,
    ),
    Recipe(
        "hawser", "Hawser", _CUTTER, "Hands on Wood", "flac",
        "hands", "G minor", 108.0, "4/4", -12.0,
        (1, 7, 6, 7), (4, 6, 7, 1),
        _form("intro 8 0.46, verse 24 0.62, bridge 16 0.72, break 8 0.55, verse 24 0.76, outro 8 0.60-0.45"),
    ),
    Recipe(
        "caulkers-hands", "Caulkers' Hands", _NETS, "Mouths of the River", "ogg",
        "chant", "F Mixolydian", 112.0, "4/4", -12.0,
        (1, 7, 4, 1), (6, 4, 7, 1),
        _form("intro 8 0.50, verse 24 0.66, bridge 16 0.74, break 8 0.56, verse 16 0.78, outro 8 0.60-0.45"),
        voice=True,
    ),
    Recipe(
        "winch", "Winch", _ROPEWALK, "Under Load", "mp3",
        "drive", "A minor", 118.0, "4/4", -11.0,
        (1, 6, 3, 7), (4, 6, 1, 7),
        _form("intro 8 0.62-0.78, verse 24 0.84, break 8 0.60-0.80, verse 32 0.90, bridge 16 0.86, outro 8 0.78-0.68"),
        tail_s=2.5,
    ),
    Recipe(
        "breakwater", "Breakwater", _ROPEWALK, "Under Load", "m4a",
        "drive", "E minor", 124.0, "4/4", -10.0,
        (1, 3, 7, 6), (6, 7, 1, 1),
        _form("intro 8 0.74-0.80, verse 32 0.88, break 8 0.62-0.84, verse 40 0.96, bridge 16 0.90, outro 8 0.80-0.70"),
        tail_s=2.5,
    ),
    Recipe(
        "northerly", "Northerly", _ROPEWALK, "Under Load", "ogg",
        "drive", "F sharp minor", 128.0, "4/4", -9.0,
        (1, 7, 6, 7), (6, 3, 7, 1),
        _form("intro 8 0.80-0.86, verse 32 0.95, break 8 0.64-0.88, verse 48 1.0, outro 8 0.88-0.76"),
        tail_s=2.5,
    ),
    Recipe(
        "signal-fires", "Signal Fires", _ROPEWALK, "Under Load", "opus",
        "anthem", "C minor", 122.0, "4/4", -10.0,
        (1, 6, 3, 7), (4, 1, 6, 7),
        _form("intro 8 0.72-0.80, verse 32 0.86, break 8 0.60-0.82, verse 40 0.94, outro 8 0.82-0.70"),
        voice=True, tail_s=2.5,
    ),
    Recipe(
        "spring-tide", "Spring Tide", _ROPEWALK, "Under Load", "flac",
        "drive", "D minor", 132.0, "4/4", -9.0,
        (1, 4, 6, 7), (3, 7, 6, 7),
        _form(
            "intro 8 0.68-0.86, verse 32 0.94, break 8 0.64-0.88, verse 32 1.0, bridge 8 0.92, verse 8 1.0, "
            "outro 8 0.86-0.74"
        ),
        tail_s=2.5,
    ),
    Recipe(
        "ebb-and-bell", "Ebb and Bell", _DUSK, "Lights Along the Quay", "m4a",
        "pads", "B flat major", 60.0, "4/4", -20.0,
        (1, 4, 6, 4), (2, 4, 1, 5),
        _form("intro 4 0.10-0.16, verse 16 0.20, bridge 8 0.22, verse 16 0.18, outro 6 0.12-0.04"),
        sway=0.01, tail_s=8.0,
    ),
)  # fmt: skip
