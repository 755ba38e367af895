"""How much louder or softer each pick is played, so that the music lies like an even bed under the class."""

import math
from functools import lru_cache

import numpy as np

from audio.constants import ABSOLUTE_GATE_LUFS, LOUDNESS_OFFSET_LU
from audio.measure.loudness import gated_lufs
from audio.track import Analysis
from pairing.model import Kind, Levels, Pick, SetList

MOST_GAIN_DB = 24.0  # editorial: what is softer than that is left soft; more gain would lift its noise
WINDOW_S = 3  # the loudness curve holds 3-s windows
ASKED = 0.1  # a change of the target that large asks for another level


def gain_db(analysis: Analysis, start_s: float, end_s: float, kind: Kind, levels: Levels) -> float:
    """Gain that brings the seconds played of a track to the bed of a section, dB; 0 for silence.

    Args:
        start_s, end_s: seconds of the track that are played.
        kind: of the section; `levels.bed` has LUFS for each.
    """
    loudness = span_loudness(analysis, start_s, end_s)
    if not math.isfinite(loudness):
        return 0.0
    return min(levels.bed(kind) - loudness, MOST_GAIN_DB)


def over_bed(setlist: SetList, pick: Pick, levels: np.ndarray) -> float:
    """Mean level of what is heard of a pick against the bed of its section, LU; nan where it is silent.

    Args:
        levels: LUFS at even steps between its fades.
    """
    heard = levels[levels > ABSOLUTE_GATE_LUFS]
    section = next((each for each in setlist.sections if each.name == pick.section), None)
    if section is None or not len(heard):
        return math.nan
    return float(10 * np.log10(np.mean(10 ** (heard / 10)))) - setlist.options.levels.bed(section.kind)


def is_asked(setlist: SetList, one: Pick, two: Pick, louder_by: float) -> bool:
    """Whether the class asks for a pick louder than the one before, or softer where `louder_by` is below 0."""
    asked = _target(setlist, two) - _target(setlist, one)
    return math.copysign(1.0, louder_by) * asked >= ASKED


def _target(setlist: SetList, pick: Pick) -> float:
    part = setlist.target_energy[max(int(pick.class_start_s), 0) : max(int(pick.class_end_s), 1)]
    return float(np.nanmean(part)) if np.isfinite(part).any() else math.nan


@lru_cache(maxsize=512)  # a list of replacements asks for the picks that stay again and again
def span_loudness(analysis: Analysis, start_s: float, end_s: float) -> float:
    """Integrated loudness of a part of a track, LUFS, from its short-term curve; -inf for silence.

    The curve's own figure for the whole track is brought to the exact one, and the part is moved by the same amount.
    """
    curve = analysis.curves.loudness
    whole = _gated(curve)
    if not (math.isfinite(whole) and math.isfinite(analysis.loudness_lufs)):
        return analysis.loudness_lufs
    first, last = math.floor(start_s) + WINDOW_S, math.ceil(end_s)
    inside = _gated(curve[first:last] if last - first >= WINDOW_S else curve[int(start_s) : last])
    return analysis.loudness_lufs + (inside - whole if math.isfinite(inside) else 0.0)


def _gated(short_term: np.ndarray) -> float:
    """The 3-s windows through the gates that BS.1770 has for its blocks of 400 ms."""
    return gated_lufs(10 ** ((short_term.astype(np.float64) - LOUDNESS_OFFSET_LU) / 10))
