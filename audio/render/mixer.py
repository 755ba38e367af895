"""Spans of tracks into one stream of stereo blocks, sample by sample, however long the class.

Memory holds one block and one overlap: between hand-overs a single track streams through; an overlap is read whole,
because its gain law follows the correlation of the two tracks and the outgoing one may be stretched.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from audio.arrays import F32
from audio.render import fade, stretch
from audio.render.source import Source
from audio.render.span import Span

MIX_RATE = 44_100
BLOCK_FRAMES = MIX_RATE


@dataclass(frozen=True, slots=True, eq=False)
class Sound:
    """A sound of our own in the mix, such as a bell: shape (frames, 2), and when its first sample falls."""

    at_s: float
    samples: F32


def render(
    spans: Sequence[Span],
    duration_s: float,
    *,
    sounds: Sequence[Sound] = (),
    gain_db: float = 0.0,
    leap: bool = False,
) -> Iterator[F32]:
    """Mix spans and sounds into stereo blocks at 44.1 kHz.

    Args:
        spans: sorted by `mix_start_s`; at most two sound at once.
        duration_s: length of the mix; exactly round(duration_s x 44100) frames come out.
        sounds: added on top.
        gain_db: applied to the whole mix.
        leap: enter recordings by their index, as `Source` does.
    Yields:
        float32, shape (frames, 2), one second each, the last shorter.
    Raises:
        AudioError: a file can't be read.
        ValueError: three spans would sound at once.

    >>> click = Sound(0.5, np.ones((1, 2), np.float32))
    >>> blocks = list(render([], 1.5, sounds=[click], gain_db=-6.0))
    >>> [block.shape for block in blocks], round(float(blocks[0].max()), 3)
    ([(44100, 2), (22050, 2)], 0.501)
    """
    factor = np.float32(10 ** (gain_db / 20))
    at = 0
    for block in _even(_filled(_voices(spans, leap), _frame(duration_s))):
        for sound in sounds:
            _add(block, at, sound)
        at += len(block)
        yield block if factor == 1.0 else block * factor


class _Voice:
    """One span while it sounds."""

    def __init__(self, span: Span, joins_before: bool, joins_after: bool, leap: bool) -> None:
        self.span = span
        self.start, self.end = _frame(span.mix_start_s), _frame(span.mix_end_s)
        # Where a neighbour overlaps, the law of the overlap takes the place of the fade.
        fade_in_s = 0.0 if joins_before else max(span.fade_in_s, fade.SHORTEST_FADE_S)
        fade_out_s = 0.0 if joins_after else max(span.fade_out_s, fade.SHORTEST_FADE_S)
        self._fade_in = min(_frame(fade_in_s), self.end - self.start)
        self._fade_out = min(_frame(fade_out_s), self.end - self.start)
        self._times = np.array([level.at_s for level in span.levels])
        self._gains = np.array([level.gain_db for level in span.levels])
        self.source = Source(span.path, span.track_start_s, MIX_RATE, leap=leap)

    def solo(self, at: int, until: int) -> Iterator[tuple[int, F32]]:
        """The span by itself, from frame `at` of the mix on."""
        while at < until:
            frames = min(BLOCK_FRAMES, until - at)
            yield at, self.source.read(frames) * (self.level(at, frames) * self._fades(at, frames))[:, None]
            at += frames

    def level(self, at: int, frames: int) -> F32:
        """Amplitude factors of the span's levels, shape (frames,), or (1,) where they don't move."""
        times, gains = self._times, self._gains
        # Between two knots a gain of equal ends stands still.
        before, after = np.searchsorted(times, (at / MIX_RATE, (at + frames) / MIX_RATE))
        around = gains[max(before - 1, 0) : after + 1]
        if np.all(around == around[0]):
            return np.asarray(10 ** (around[:1] / 20), np.float32)
        seconds = np.arange(at, at + frames) / MIX_RATE
        return np.asarray(10 ** (np.interp(seconds, times, gains) / 20), np.float32)

    def _fades(self, at: int, frames: int) -> F32:
        if self.start + self._fade_in <= at and at + frames <= self.end - self._fade_out:
            return np.ones(1, np.float32)
        factors = np.ones(frames, np.float32)
        position = np.arange(at, at + frames)
        if at < self.start + self._fade_in:
            risen = (position - self.start) / max(self._fade_in - 1, 1)
            factors *= np.sin(np.clip(risen, 0, 1) * np.pi / 2).astype(np.float32)
        if at + frames > self.end - self._fade_out:
            left = (self.end - 1 - position) / max(self._fade_out - 1, 1)
            factors *= np.sin(np.clip(left, 0, 1) * np.pi / 2).astype(np.float32)
        return factors


def _voices(spans: Sequence[Span], leap: bool) -> Iterator[tuple[int, F32]]:
    """(first frame, samples) of what sounds alone and of each overlap, in order of time."""
    before: _Voice | None = None
    try:
        for index, span in enumerate(spans):
            following = spans[index + 1] if index + 1 < len(spans) else None
            joins_before = before is not None and before.end > _frame(span.mix_start_s)
            joins_after = following is not None and _frame(following.mix_start_s) < _frame(span.mix_end_s)
            voice = _Voice(span, joins_before, joins_after, leap)
            voice.source.__enter__()
            at = voice.start
            if before is not None:
                if joins_before:
                    yield at, _overlap(before, voice)
                    at = before.end
                before.source.__exit__(None, None, None)
            before = voice
            until = _frame(following.mix_start_s) if following and joins_after else voice.end
            if until < at:
                raise ValueError(f"three tracks would sound at once at {until / MIX_RATE:.1f} s")
            yield from voice.solo(at, until)
    finally:
        if before is not None:
            before.source.__exit__(None, None, None)


def _overlap(going: _Voice, coming: _Voice) -> F32:
    start, frames = coming.start, going.end - coming.start
    rate = _rate(going.span, coming.span, frames / MIX_RATE)
    if rate is None or abs(rate - 1.0) < stretch.LEAST_STEP:
        tail = going.source.read(frames)
    else:
        tail = stretch.stretched(going.source.read(int(np.ceil(frames * rate)) + 1), rate, frames, MIX_RATE)
    tail = tail * going.level(start, frames)[:, None]
    head = coming.source.read(frames) * coming.level(start, frames)[:, None]
    if frames < 2:
        return head
    out, into = fade.equal_power(frames, fade.correlation(tail, head, MIX_RATE))
    return np.asarray(tail * out[:, None] + head * into[:, None], np.float32)


def _rate(going: Span, coming: Span, overlap_s: float) -> float | None:
    if going.tempo_bpm is None or coming.tempo_bpm is None:
        return None
    # Seconds of either track at which the overlap begins.
    left_at_s = going.track_start_s + coming.mix_start_s - going.mix_start_s
    going_beats = np.asarray(going.beats_s) - left_at_s
    return stretch.meeting_rate(going_beats, np.asarray(coming.beats_s) - coming.track_start_s, overlap_s)


def _filled(pieces: Iterator[tuple[int, F32]], total: int) -> Iterator[F32]:
    """Cut the pieces to frames [0, total), with silence where there is none."""
    at = 0
    for start, piece in pieces:
        if start > at:
            yield from _silence(min(start, total) - at)
            at = min(start, total)
        kept = piece[max(at - start, 0) : max(total - start, 0)]
        yield kept
        at += len(kept)
    yield from _silence(total - at)


def _silence(frames: int) -> Iterator[F32]:
    for first in range(0, frames, BLOCK_FRAMES):
        yield np.zeros((min(BLOCK_FRAMES, frames - first), 2), np.float32)


def _even(pieces: Iterator[F32]) -> Iterator[F32]:
    """The same samples in blocks of one second."""
    rest = np.zeros((0, 2), np.float32)
    for piece in pieces:
        rest = np.concatenate((rest, piece)) if len(rest) else piece
        while len(rest) >= BLOCK_FRAMES:
            yield rest[:BLOCK_FRAMES].copy()
            rest = rest[BLOCK_FRAMES:]
    if len(rest):
        yield rest.copy()


def _add(block: F32, at: int, sound: Sound) -> None:
    first = _frame(sound.at_s) - at
    start, end = max(first, 0), min(first + len(sound.samples), len(block))
    if start < end:
        block[start:end] += sound.samples[start - first : end - first]


def _frame(seconds: float) -> int:
    return round(seconds * MIX_RATE)
