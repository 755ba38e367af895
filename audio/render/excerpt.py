"""A stretch of a mix by itself, to be heard: the same sound as in the whole mix, without rendering what lies before."""

from collections.abc import Generator, Sequence
from contextlib import closing
from dataclasses import replace
from itertools import zip_longest

from audio.arrays import F32
from audio.render import mixer
from audio.render.mixer import MIX_RATE, Sound
from audio.render.span import Level, Span

LEAD_FRAMES = MIX_RATE // 4  # the soft edge and the resampler of a span that is entered in its middle settle in it
GRID_FRAMES = MIX_RATE // 50  # whole samples at every usual rate, so that a resampled span falls on the same ones


def excerpt(
    spans: Sequence[Span], duration_s: float, start_frame: int, *, sounds: Sequence[Sound] = ()
) -> Generator[F32, None, None]:
    """The mix from a frame on, in blocks of at most a second.

    Args:
        spans, duration_s, sounds: of the whole mix, as for `mixer.render`.
        start_frame: the first frame wanted; from 0.
    Yields:
        float32, shape (frames, 2), 44.1 kHz; nothing from the end of the mix on.
    Raises:
        AudioError: a file can't be read.

    An overlap or a fade depends on all of it, so rendering begins where no such thing is going on and what lies before
    the frame is dropped.
    """
    begin = _on_grid(spans, _quiet_start(spans, max(start_frame - LEAD_FRAMES, 0)))
    begin_s = begin / MIX_RATE
    kept = [_from(span, begin) for span in spans if _frame(span.mix_end_s) > begin]
    later = [replace(sound, at_s=sound.at_s - begin_s) for sound in sounds]
    drop = start_frame - begin
    with closing(_render(kept, duration_s - begin_s, later)) as blocks:
        for block in blocks:
            if drop < len(block):
                yield block[drop:]
            drop = max(drop - len(block), 0)


def _render(spans: Sequence[Span], duration_s: float, sounds: Sequence[Sound]) -> Generator[F32, None, None]:
    yield from mixer.render(spans, max(duration_s, 0.0), sounds=sounds, leap=True)


def _quiet_start(spans: Sequence[Span], frame: int) -> int:
    """The last frame at or before `frame` that lies in no overlap and no fade."""
    for one, two in reversed(list(zip_longest(spans, spans[1:]))):
        start = _frame(one.mix_start_s)
        if two is not None and _frame(two.mix_start_s) < frame < _frame(one.mix_end_s):
            frame = _frame(two.mix_start_s)
        if start < frame < start + _frame(one.fade_in_s):
            frame = start
        last = _frame(one.mix_end_s) - _frame(one.fade_out_s)
        if start < last < frame < _frame(one.mix_end_s):
            frame = last
    return frame


def _on_grid(spans: Sequence[Span], frame: int) -> int:
    """A little earlier, so that the span that sounds there is entered a whole number of steps after its start."""
    sounding = [_frame(span.mix_start_s) for span in spans if _frame(span.mix_start_s) < frame < _frame(span.mix_end_s)]
    return frame - (frame - sounding[0]) % GRID_FRAMES if sounding else frame


def _from(span: Span, begin: int) -> Span:
    """The span in a mix that begins at frame `begin`; what lies before is left out."""
    begin_s = begin / MIX_RATE
    late = max(begin - _frame(span.mix_start_s), 0)
    return replace(
        span,
        mix_start_s=0.0 if late else span.mix_start_s - begin_s,
        mix_end_s=span.mix_end_s - begin_s,
        track_start_s=span.track_start_s + late / MIX_RATE,
        fade_in_s=0.0 if late else span.fade_in_s,
        levels=tuple(Level(level.at_s - begin_s, level.gain_db) for level in span.levels),
    )


def _frame(seconds: float) -> int:
    return round(seconds * MIX_RATE)
