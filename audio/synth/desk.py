"""From notes to a finished master: every note placed in the stereo picture, a room around it, one loudness at the end.

Samples are float32 at `RATE`; while mixing, channels come first, shape (2, frames).
"""

import math
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from audio.arrays import F32, F64
from audio.constants import LOUDNESS_STEP_S
from audio.measure.loudness import Loudness, k_weighting
from audio.synth import drums, instruments
from audio.synth.ensembles import ENSEMBLES, Ensemble
from audio.synth.instruments import RATE, banded_noise, decay, in_between, source_of_chance
from audio.synth.parts import Note
from audio.synth.recipes import Recipe
from audio.synth.score import notes
from audio.synth.voice import sing

# All editorial.
_CEILING = 10 ** (-2.5 / 20)  # of the samples; bright noise and lossy formats add up to 1.5 dB to the true peak
_FADE_S = 2.0  # of the last echo
_IN_CACHE = 1 << 14  # frames worked on at once, so that long notes don't go through the memory several times
_AT_ONCE = 9_984  # frames added at once; of more than 10,000 OpenBLAS makes threads, which take ten times as long
_STEPS_AT_ONCE = 100  # of the loudness meter: a second
_ABREAST = 4  # blocks whose spectra are worked out at once: vector code takes them side by side
_STEP = 32  # frames a value of the limiter's gain
_AHEAD = 30  # values that the limiter looks ahead, 22 ms
_VARIANTS = 3  # of a struck sound, so that strokes in a row are not the same
_STRUCK: dict[str, Callable[[int, int, int], F32]] = {
    "pluck": instruments.pluck,
    "keys": instruments.keys,
    "tongue": instruments.tongue,
    "bowl": instruments.bowl,
    "skin": drums.skin,
    "slap": drums.slap,
    "shaker": drums.shaker,
    "kick": drums.kick,
    "snare": drums.snare,
    "clap": drums.clap,
    "hat": drums.hat,
    "open_hat": drums.open_hat,
    "ride": drums.ride,
    "crash": drums.crash,
}
_HELD: dict[str, Callable[[int, int, float, int], F32]] = {
    "pad": instruments.pad,
    "choir": instruments.choir,
    "drone": instruments.drone,
    "surge": instruments.surge,
    "wash": instruments.wash,
    "bass": instruments.bass,
    "lead": instruments.lead,
    "pipe": instruments.pipe,
    "riser": drums.riser,
}


def render(recipe: Recipe, seconds: float | None = None) -> F32:
    """Make a recipe's samples, shape (frames, 2), at its level, no sample above -2 dBFS.

    Args:
        recipe: what to play.
        seconds: make only the start; its end is not faded, and its level is that of the part.
    Raises:
        ValueError: the part is silent, or shorter than 400 ms.
    """
    ensemble = ENSEMBLES[recipe.ensemble]
    frames = round(min(recipe.seconds, seconds or np.inf) * RATE)
    mix = _mixed(recipe, ensemble, frames)
    if seconds is None:
        mix[:, -round(_FADE_S * RATE) :] *= np.linspace(1, 0, round(_FADE_S * RATE), dtype=np.float32) ** 1.5
    if ensemble.drive:
        np.tanh(mix * np.float32(ensemble.drive / np.abs(mix).max() * 2), out=mix)
    return _mastered(mix, recipe.level_lufs).T


def _mixed(recipe: Recipe, ensemble: Ensemble, frames: int) -> F32:
    """All sounds and their echo: of all that sounds together one stretch after the other, each kept in the cache."""
    buses = np.zeros((3, frames), np.float32)  # left, right, and what goes to the room
    waiting, sounding = deque(enumerate(notes(recipe))), list[_Sounding]()
    for first in range(0, frames, _AT_ONCE):
        here = buses[:, first : first + _AT_ONCE]
        last = first + here.shape[1]
        while waiting and round(waiting[0][1].at_s * RATE) < last:
            number, note = waiting.popleft()
            sounding.append(_Sounding.of(note, _sound(note, number)))
        for each in sounding:
            each.add_to(here, first)
        sounding = [each for each in sounding if each.end > last]
    _add_echo(buses[:2], buses[2], np.float32(ensemble.room) * _room(ensemble.room_s))
    return buses[:2]


def _sound(note: Note, number: int) -> F32:
    layer = min(2, int(3 * note.velocity))
    if note.line:
        return sing(note.line, number)
    if note.instrument in _STRUCK:
        return _STRUCK[note.instrument](note.midi, layer, number % _VARIANTS)
    return _HELD[note.instrument](note.midi, layer, round(note.seconds, 3), number)


@dataclass(frozen=True, slots=True, eq=False)
class _Sounding:
    """A sound in its place: by constant power where it has one channel, by balance where it has two."""

    start: int  # frame
    end: int
    left: F32
    right: F32
    factors: tuple[float, float, float]  # by which it goes left, right and to the room

    @classmethod
    def of(cls, note: Note, sound: F32) -> "_Sounding":
        left, right = (sound, sound) if sound.ndim == 1 else sound
        start, loud = round(note.at_s * RATE), note.gain * note.velocity**1.3
        turn = (note.pan + 1) * math.pi / 4
        factors = (loud * math.cos(turn), loud * math.sin(turn), loud * note.send)
        return cls(start, start + left.size, left, right, factors)

    def add_to(self, buses: F32, first: int) -> None:
        """Add what of it sounds in a stretch that begins at frame `first`, in place."""
        from scipy.linalg.blas import saxpy

        skipped, into = max(0, first - self.start), max(0, self.start - first)
        size = min(self.left.size - skipped, buses.shape[1] - into)
        for bus, sound, factor in zip(buses, (self.left, self.right, self.left), self.factors, strict=True):
            saxpy(sound, bus, size, factor, skipped, 1, into)  # without an array in between


def _room(seconds: float) -> F32:
    """Echo of a room, shape (2, frames): a few early reflections, then noise whose treble dies first."""
    rng = source_of_chance("room", seconds)
    n = round(seconds * RATE)
    channels = []
    for _ in range(2):
        low = banded_noise(n, 150, 1200, rng) * decay(n, seconds)
        high = banded_noise(n, 1200, 6500, rng) * decay(n, 0.5 * seconds)
        tail = (low + 0.7 * high) * np.clip(np.arange(n) / (0.02 * RATE), 0, 1) ** 2
        tail /= np.sqrt(np.sum(tail**2))
        for delay_s in rng.uniform(0.008, 0.06, 7):
            tail[round(delay_s * RATE)] += 0.12 * rng.choice([-1, 1])
        channels.append(np.concatenate([np.zeros(round(0.012 * RATE)), tail]))
    return np.array(channels, np.float32)


def _add_echo(into: F32, send: F32, echo: F32) -> None:
    """Convolve with both channels of an echo by blocks and add, in place; what rings on past the end is lost."""
    from scipy import fft

    size = 1 << math.ceil(math.log2(2.5 * echo.shape[1]))
    step = size - echo.shape[1] + 1
    spectra = fft.rfft(echo, size)
    for first in range(0, send.size, step * _ABREAST):
        starts = range(first, min(first + step * _ABREAST, send.size), step)
        blocks = np.zeros((len(starts), size), np.float32)
        for block, start in zip(blocks, starts, strict=True):
            piece = send[start : start + step]
            block[: piece.size] = piece
        spectrum = fft.rfft(blocks)
        for channel, of_echo in zip(into, spectra, strict=True):
            for start, echoed in zip(starts, fft.irfft(spectrum * of_echo, size), strict=True):
                room = channel[start : start + size]
                room += echoed[: room.size]


def _mastered(mix: F32, level_lufs: float) -> F32:
    """Bring a mix to a loudness, its peaks held under the ceiling by a gain that looks ahead."""
    sides = np.sqrt([np.vdot(side, side) for side in mix])
    mix *= (sides.mean() / sides)[:, None].astype(np.float32)  # neither side is the louder one
    power, peaks = _power(mix), _peaks(mix)
    wanted_db = level_lufs - Loudness(power, 0.0).integrated_lufs
    if not np.isfinite(wanted_db):
        raise ValueError("a mix without sound, or shorter than 400 ms, has no loudness")
    for _ in range(6):  # the limiter takes some loudness; what it takes is worked out before it is applied
        slope = _limit(peaks * 10 ** (wanted_db / 20)) * 10 ** (wanted_db / 20)
        reached = Loudness(power * _mean_square(slope, power.size), 0.0).integrated_lufs
        wanted_db += level_lufs - reached
    slope = np.append(slope, slope[-1])
    for first in range(0, slope.size - 1, _IN_CACHE // _STEP):
        piece = mix[:, first * _STEP : first * _STEP + _IN_CACHE]
        piece *= in_between(slope[first : first + _IN_CACHE // _STEP + 1], _STEP)[: piece.shape[1]]
    return mix


def _power(mix: F32) -> F64:
    """Weighted power of every step of a loudness meter, without the meter's true peak."""
    from scipy.signal import sosfilt

    sos, state = k_weighting(RATE), np.zeros((2, 2, 2))
    power, step = [], round(LOUDNESS_STEP_S * RATE)
    for start in range(0, mix.shape[1] // step * step, _STEPS_AT_ONCE * step):
        weighted, state = sosfilt(sos, mix[:, start : start + _STEPS_AT_ONCE * step], axis=1, zi=state)
        whole = weighted[:, : weighted.shape[1] // step * step]
        power.append(np.square(whole).reshape(2, -1, step).mean(axis=2).sum(axis=0))
    return np.concatenate(power)


def _peaks(mix: F32) -> F32:
    """Largest sample of both channels in every step, the last one filled up with silence."""
    steps = np.zeros(-(-mix.shape[1] // _STEP), np.float32)
    for start in range(0, mix.shape[1], _IN_CACHE):
        level = np.abs(mix[:, start : start + _IN_CACHE]).max(axis=0)
        level = np.pad(level, (0, -level.size % _STEP))
        steps[start // _STEP : (start + level.size) // _STEP] = level.reshape(-1, _STEP).max(axis=1)
    return steps


def _limit(peaks: NDArray[np.floating]) -> F64:
    from scipy.ndimage import minimum_filter1d, uniform_filter1d

    wanted = np.minimum(1.0, _CEILING / np.maximum(peaks, 1e-9)).astype(np.float64)
    return np.asarray(uniform_filter1d(minimum_filter1d(wanted, 2 * _AHEAD + 5), 2 * _AHEAD + 1))


def _mean_square(slope: F64, steps: int) -> F64:
    edges = np.linspace(0, slope.size, steps, endpoint=False).astype(int)
    counts = np.diff(np.append(edges, slope.size))
    return np.asarray(np.add.reduceat(slope**2, edges) / counts)
