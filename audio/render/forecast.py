"""How loud a mix will be in every tenth of a second, worked out without rendering it.

Each span's power is that of its recording (`tenths`) under the mixer's own gain laws: its levels, its fades, and cosine
and sine where two spans overlap. Two things are left out, which together stay below half a decibel: a stretch of an
overlap for beats that meet, and the correlation of its two tracks, which the mixer evens out.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from audio.arrays import F64
from audio.render import fade
from audio.render.mixer import MIX_RATE, Sound
from audio.render.span import Span
from audio.render.tenths import PER_S, powers_of_samples, taken


@dataclass(frozen=True, slots=True, eq=False)
class _Share:
    """What one span gives to the mix: power of every tenth of a second from step `first` on."""

    first: int
    power: F64


def forecast(spans: Sequence[Span], duration_s: float, sounds: Sequence[Sound] = ()) -> F64:
    """Power of every tenth of a second of a mix, shape (ceil(10 x duration_s),); see `tenths` for the unit.

    Args:
        spans, duration_s, sounds: as for `mixer.render`.
    Raises:
        AudioError: a file can't be read.
    """
    total = np.zeros(int(np.ceil(duration_s * PER_S - 1e-6)))
    for share in (*_shares(spans), *map(_of_sound, sounds)):
        inside = share.power[max(-share.first, 0) : max(len(total) - share.first, 0)]
        first = max(share.first, 0)
        total[first : first + len(inside)] += inside
    return total


def _shares(spans: Sequence[Span]) -> list[_Share]:
    before, after = (None, *spans), (*spans[1:], None)
    return [_share(span, one, two) for span, one, two in zip(spans, before, after, strict=False)]


def _share(span: Span, before: Span | None, after: Span | None) -> _Share:
    start_s, end_s = span.mix_start_s, span.mix_end_s
    first, last = int(np.floor(start_s * PER_S)), int(np.ceil(end_s * PER_S))
    edges = np.clip(np.arange(first, last + 1) / PER_S, start_s, end_s)
    middle = (edges[:-1] + edges[1:]) / 2
    levels = np.interp(middle, [level.at_s for level in span.levels], [level.gain_db for level in span.levels])
    gain = 10 ** (levels / 10) * _rise(span, before, middle) * _fall(span, after, middle)
    return _Share(first, taken(span.path, edges - start_s + span.track_start_s) * gain)


def _rise(span: Span, before: Span | None, at_s: F64) -> F64:
    """Power factor of the beginning: sine, over the overlap where there is one, else over the fade-in."""
    joins = before is not None and before.mix_end_s > span.mix_start_s
    lasts = before.mix_end_s - span.mix_start_s if joins and before else max(span.fade_in_s, fade.SHORTEST_FADE_S)
    return _sine(at_s - span.mix_start_s, lasts)


def _fall(span: Span, after: Span | None, at_s: F64) -> F64:
    joins = after is not None and after.mix_start_s < span.mix_end_s
    lasts = span.mix_end_s - after.mix_start_s if joins and after else max(span.fade_out_s, fade.SHORTEST_FADE_S)
    return _sine(span.mix_end_s - at_s, lasts)


def _sine(since_s: F64, lasts_s: float) -> F64:
    return np.asarray(np.sin(np.clip(since_s / lasts_s, 0.0, 1.0) * np.pi / 2) ** 2)


def _of_sound(sound: Sound) -> _Share:
    frame, step = round(sound.at_s * MIX_RATE), MIX_RATE // PER_S
    first = frame // step
    shifted = np.concatenate((np.zeros((frame - first * step, 2), np.float32), sound.samples))
    return _Share(first, powers_of_samples(shifted))
