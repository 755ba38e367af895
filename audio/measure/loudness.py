"""Loudness and true peak of a stream of samples, per ITU-R BS.1770-4, EBU R 128, EBU Tech 3341 and Tech 3342.

Loudness is in LUFS, differences in LU, peaks in dBTP. A meter is fed blocks of shape (frames, channels), full scale
1.0, at any rate of 8 kHz and more, and is read once at the end. A single channel counts as two equal ones (dual mono,
+3.01 LU) in `weights_of`, because a mono file is heard from both speakers of the room and the mix is made so.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from audio import constants as c
from audio.arrays import F32, F64

_SURROUND = {"SL", "SR", "BL", "BR", "BC"}


@dataclass(frozen=True, slots=True, eq=False)
class Loudness:
    """What a meter has read.

    `power` is the weighted mean square of each 10 ms, shape (steps,), the ground of all values. Silence, and
    less than 400 ms, read -inf; a loudness range needs one 3-s window above the gates, else it is 0.
    """

    power: F64
    true_peak_dbtp: float

    @property
    def momentary_lufs(self) -> F64:
        """Loudness of every whole 400-ms window, one each 10 ms, shape (windows,), -inf in silence; EBU Tech 3341."""
        return _lufs(_windows(self.power, c.MOMENTARY_STEPS))

    @property
    def short_term_lufs(self) -> F64:
        """Loudness of every whole 3-s window, one each 10 ms, shape (windows,), -inf in silence; EBU Tech 3341."""
        return _lufs(_windows(self.power, c.SHORT_TERM_STEPS))

    @property
    def integrated_lufs(self) -> float:
        """Gated loudness of the whole, LUFS; -inf for silence, and for less than 400 ms. BS.1770-4."""
        return gated_lufs(_windows(self.power, c.MOMENTARY_STEPS)[:: c.GATING_STEPS])

    @property
    def range_lu(self) -> float:
        """Loudness range, LU, 0 or more; EBU Tech 3342. Of pieces under a minute it says little."""
        power = _windows(self.power, c.SHORT_TERM_STEPS)[:: c.GATING_STEPS]
        loud = power[_lufs(power) > c.ABSOLUTE_GATE_LUFS]
        if loud.size == 0:
            return 0.0
        levels = np.sort(_lufs(loud[_lufs(loud) > _lufs(loud.mean()) + c.RANGE_GATE_LU]))
        low, high = (levels[round((levels.size - 1) * percent / 100)] for percent in c.RANGE_PERCENTILES)
        return float(high - low)

    def rise_lu(self, within_s: float = 3.0) -> float:
        """Largest rise of the short-term loudness within `within_s`, LU, 0 or more.

        The first window is the first whole one above the absolute gate, so that the start of the music itself is no
        rise; a level below the gate counts as the gate.
        """
        sounding = np.flatnonzero(_lufs(self.power) > c.ABSOLUTE_GATE_LUFS)
        if sounding.size == 0:
            return 0.0
        levels = np.maximum(self.short_term_lufs[sounding[0] :: c.GATING_STEPS], c.ABSOLUTE_GATE_LUFS)
        steps = round(within_s / c.LOUDNESS_STEP_S / c.GATING_STEPS)
        rises = [levels[lag:] - levels[:-lag] for lag in range(1, min(steps, levels.size - 1) + 1)]
        return max((float(rise.max()) for rise in rises), default=0.0)

    def curve(self, seconds: int) -> F32:
        """Short-term loudness at 1 Hz: the loudest 3-s window that ends in the second, shape (seconds,), LUFS.

        In the first three seconds, and after the end, the windows are as long as there is sound for; silence reads
        the absolute gate less 30 LU, so that the curve stays finite.
        """
        steps = round(1 / c.LOUDNESS_STEP_S)
        total = np.concatenate(([0.0], np.cumsum(self.power)))
        end = np.minimum(np.arange(1, seconds * steps + 1), self.power.size)
        start = np.maximum(0, np.minimum(end - 1, np.arange(1, seconds * steps + 1) - c.SHORT_TERM_STEPS))
        mean = (total[end] - total[start]) / np.maximum(1, end - start)
        levels = np.maximum(_lufs(mean), c.ABSOLUTE_GATE_LUFS - 30)
        loudest: F32 = levels.reshape(seconds, steps).max(axis=1).astype(np.float32)
        return loudest


class Meter:
    """Measures loudness and true peak of blocks as they come.

    Args:
        rate: samples a second.
        weights: factor on the power of each channel, see `weights_of`.

    EBU Tech 3341, case 1: a sine of 1 kHz in both channels with peaks at -23 dBFS reads -23 LUFS.

    >>> sine = 10 ** (-23 / 20) * np.sin(2 * np.pi * 1000 / 48_000 * np.arange(20 * 48_000))
    >>> meter = Meter(48_000, (1.0, 1.0))
    >>> meter.feed(np.stack([sine, sine], axis=1).astype(np.float32))
    >>> round(meter.read().integrated_lufs, 1)
    -23.0
    """

    def __init__(self, rate: int, weights: tuple[float, ...]) -> None:
        self._sos = k_weighting(rate)
        self._weights = np.array(weights)
        self._state = np.zeros((2, 2, len(weights)))
        self._step = rate * c.LOUDNESS_STEP_S
        self._taken = 0
        self._open = np.zeros(len(weights))  # power sums of the step that isn't full yet
        self._power: list[F64] = []
        self._peak = PeakMeter(len(weights))

    def feed(self, samples: F32) -> None:
        """Take the next frames, shape (frames, channels), full scale 1.0."""
        from scipy.signal import sosfilt

        if len(samples) == 0:
            return
        self._peak.feed(samples)
        weighted, self._state = sosfilt(self._sos, samples, axis=0, zi=self._state)
        self._add(np.square(weighted, out=weighted))

    def read(self) -> Loudness:
        """What was measured up to now."""
        power = np.concatenate(self._power) if self._power else np.zeros(0)
        return Loudness(power, self._peak.read_dbtp())

    def _add(self, squares: F64) -> None:
        # Step k ends at round(k * step) frames, so that 10 ms stay 10 ms at rates such as 22.05 kHz.
        first = math.floor(self._taken / self._step + 1e-9)
        last = math.floor((self._taken + len(squares)) / self._step + 1e-9)
        edges = np.round(np.arange(first, last + 1) * self._step)
        starts = np.concatenate(([0], edges[1:].astype(int) - self._taken))
        whole = starts[starts < len(squares)]
        sums = np.zeros((len(starts), squares.shape[1]))
        sums[: len(whole)] = np.add.reduceat(squares, whole, axis=0)
        sums[0] += self._open
        self._power.append(sums[:-1] @ self._weights / np.diff(edges))
        self._open = sums[-1]
        self._taken += len(squares)


class PeakMeter:
    """True peak by four-fold oversampling, as BS.1770-4 Annex 2 asks, with a longer filter than its example.

    Only where the samples are high enough for the filter to reach a new maximum are the three values between two
    samples worked out, which changes nothing in the result.
    """

    def __init__(self, channels: int) -> None:
        kernel = _interpolator()
        self._reach = float(np.abs(kernel).sum(axis=0).max())
        self._between = np.zeros((_PEAK_BLOCK + _TAPS - 1, 3 * _PEAK_BLOCK), np.float32)
        for at in range(_PEAK_BLOCK):  # all values between the samples of a block, as one matrix product
            self._between[at : at + _TAPS, 3 * at : 3 * at + 3] = kernel
        self._tail = np.zeros((_TAPS - 1, channels), np.float32)
        self._peak = 0.0

    def feed(self, samples: F32) -> None:
        """Take the next frames, shape (frames, channels), full scale 1.0."""
        samples = np.concatenate((self._tail, samples))
        blocks = max(0, (len(samples) - _TAPS + 1) // _PEAK_BLOCK)
        if blocks:
            self._look_at(samples[: blocks * _PEAK_BLOCK + _TAPS - 1])
        self._tail = samples[blocks * _PEAK_BLOCK :]

    def read_dbtp(self) -> float:
        """Largest true peak of all channels, dBTP, -inf for silence."""
        self.feed(np.zeros((_PEAK_BLOCK + _TAPS, self._tail.shape[1]), np.float32))
        return 20 * math.log10(self._peak) if self._peak > 0 else -math.inf

    def _look_at(self, samples: F32) -> None:
        # Whole blocks, and the samples after the last one that its windows reach.
        level = np.abs(samples)
        starts = np.arange(0, len(samples) - _TAPS + 1, _PEAK_BLOCK)
        tops = np.maximum.reduceat(level, starts, axis=0)
        self._peak = max(self._peak, float(tops.max()))
        tops = np.maximum(tops, np.append(tops[1:], tops[-1:], axis=0))  # a block's windows reach into the next
        windows = np.lib.stride_tricks.sliding_window_view(samples, _PEAK_BLOCK + _TAPS - 1, axis=0)[starts]
        # The loudest first: the sooner the maximum is high, the fewer places are left that could pass it.
        order = np.argsort(tops, axis=None)[::-1]
        for few in (order[:16], order[16:]):
            block, channel = np.unravel_index(few[tops.ravel()[few] * self._reach > self._peak], tops.shape)
            between = windows[block, channel] @ self._between
            self._peak = max(self._peak, float(np.abs(between).max(initial=0.0)))


def gated_lufs(blocks: F64) -> float:
    """Loudness of blocks by their weighted mean squares through both gates of BS.1770-4.

    Args:
        blocks: mean squares, summed over the channels with their weights, shape (blocks,).
    Returns:
        LUFS; -inf where none passes the gate.

    >>> round(gated_lufs(np.array([0.01, 0.01, 1e-9])), 2)  # -0.691 + 10 lg 0.01; the quiet block doesn't count
    -20.69
    """
    loud = blocks[_lufs(blocks) > c.ABSOLUTE_GATE_LUFS]
    if loud.size == 0:
        return -math.inf
    gate = _lufs(loud.mean()) + c.RELATIVE_GATE_LU
    return float(_lufs(loud[_lufs(loud) > gate].mean()))


_TAPS = 24  # of each phase: within 0.05 dB up to 0.4 of the rate, see the tests
_PEAK_BLOCK = 32


def weights_of(layout: Sequence[str]) -> tuple[float, ...]:
    """Power factors of the channels, BS.1770-4 table 3: front 1.0, side and rear 1.41, low-frequency effects 0.

    Args:
        layout: names of the channels as FFmpeg gives them ("FL", "FR", "FC", "LFE", "BL", ...); unknown ones count
            as front.

    A single channel gets 2.0: dual mono.
    """
    if len(layout) == 1:
        return (2.0,)
    return tuple(0.0 if n.startswith("LFE") else c.SURROUND_WEIGHT if n in _SURROUND else 1.0 for n in layout)


def k_weighting(rate: float) -> F64:
    """The two K-weighting filters of BS.1770-4 as second-order sections at any rate.

    Returns:
        shape (2, 6), as `scipy.signal.sosfilt` takes them: b0, b1, b2, a0, a1, a2 of the shelf, then of the high-pass.

    At 48 kHz they are those of ITU-R BS.1770-4, tables 1 and 2:

    >>> k_weighting(48_000)[0].round(4).tolist()
    [1.5351, -2.6917, 1.1984, 1.0, -1.6907, 0.7325]
    """
    k = math.tan(math.pi * c.K_SHELF_HZ / rate)
    high = 10 ** (c.K_SHELF_DB / 20)
    band = high**c.K_SHELF_BAND_EXPONENT
    norm = 1 + k / c.K_SHELF_Q + k * k
    shelf = [
        (high + band * k / c.K_SHELF_Q + k * k) / norm,
        2 * (k * k - high) / norm,
        (high - band * k / c.K_SHELF_Q + k * k) / norm,
        1.0,
        2 * (k * k - 1) / norm,
        (1 - k / c.K_SHELF_Q + k * k) / norm,
    ]
    k = math.tan(math.pi * c.K_HIGHPASS_HZ / rate)
    norm = 1 + k / c.K_HIGHPASS_Q + k * k
    highpass = [1.0, -2.0, 1.0, 1.0, 2 * (k * k - 1) / norm, (1 - k / c.K_HIGHPASS_Q + k * k) / norm]
    return np.array([shelf, highpass])


def _windows(power: F64, steps: int) -> F64:
    if power.size < steps:
        return np.zeros(0)
    total = np.concatenate(([0.0], np.cumsum(power)))
    return np.maximum(0.0, (total[steps:] - total[:-steps]) / steps)


def _lufs(power: F64 | np.float64) -> F64:
    with np.errstate(divide="ignore"):
        return np.asarray(c.LOUDNESS_OFFSET_LU + 10 * np.log10(power))


def _interpolator() -> F32:
    # Windowed sinc at a quarter, a half and three quarters between two samples; columns are the three phases.
    place = np.arange(_TAPS)[:, None] - (_TAPS / 2 - 1) - np.array([0.25, 0.5, 0.75])
    window = np.i0(9.0 * np.sqrt(np.maximum(0.0, 1 - (place / (_TAPS / 2)) ** 2)))  # Kaiser's
    kernel = np.sinc(place) * window
    phases: F32 = (kernel / kernel.sum(axis=0)).astype(np.float32)
    return phases
