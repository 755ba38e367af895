"""The tables over class time: how much a second counts, where a change is welcome, which flows have two sides."""

from collections.abc import Sequence

import numpy as np

from audio.arrays import F32
from pairing.alignment.frame import Frame
from pairing.model import Kind, SectionTime

# Weight of the squared error: a wrong second in the opening is remembered, one in the warm-up is not. Editorial.
SECTION_WEIGHT = {Kind.OPENING: 3.0, Kind.BREATHING: 3.0, Kind.PEAK: 2.0, Kind.CLOSING: 2.0}
OUTSIDE_WEIGHT = 0.3  # music before and after the class
# Factor on it where the music is too lively: worse than too calm in quiet sections. In the rest only that counts much:
# music calmer than asked for hurts nobody there. Editorial.
OVERSHOOT = {Kind.OPENING: 2.0, Kind.BREATHING: 2.0, Kind.COOL_DOWN: 2.0, Kind.REST: 6.0, Kind.CLOSING: 2.0}

# Cost of a hand-over so many seconds before (-) or after a section's start; 1 elsewhere. Editorial.
AT_A_START = ((-8, -5, 0.2), (-4, -3, 0.05), (-2, 0, 0.0), (1, 2, 0.2), (3, 4, 0.5))
AT_A_PASS = ((-3, 1, 0.7),)  # a round or side begins
IN_STILLNESS = 1.6  # inside a held pose, or while the teacher speaks
IN_REST = 50.0  # no change in the rest unless it must; editorial
SAME_MUSIC_S = 12  # "same music": no change so near to the border

SHORT_S = 90  # below, a track is a clip
CLIP_COST = 1.0  # at SHORT_S / 3
SCRAP_S = 30  # below, it is a scrap, and only played where a stretch of music is that short
ALONE_S = 720  # a stretch between two exact borders that one track may have to fill alone


def second_weights(frame: Frame) -> tuple[F32, F32]:
    """What an error counts in each grid second.

    Returns:
        weight of its square, and the factor on it where the music is too lively, shape (T,) each.
    """
    weight = np.full(frame.seconds, OUTSIDE_WEIGHT, np.float32)
    over = np.ones(frame.seconds, np.float32)
    for section in frame.sections:
        part = slice(frame.grid(section.start_s), frame.grid(section.end_s))
        weight[part] = SECTION_WEIGHT.get(section.kind, 1.0)
        over[part] = OVERSHOOT.get(section.kind, 1.0)
    return weight, over


def change_costs(frame: Frame) -> F32:
    """Cost of a hand-over at each grid second, shape (T + 1,); inf where there must be none."""
    cost = np.ones(frame.seconds + 1, np.float32)
    for section in frame.sections:
        for passage in section.passes:
            _lower(cost, frame.grid(passage.start_s), AT_A_PASS)
    for start, end in (*frame.held, *frame.talk):
        cost[frame.grid(start) + 1 : frame.grid(end)] = IN_STILLNESS
    for section in frame.sections:
        _lower(cost, frame.grid(section.start_s), AT_A_START)
    _lower(cost, frame.grid(frame.class_s), AT_A_START)
    if frame.rest is not None:
        cost[frame.grid(frame.rest.start_s) + 1 : frame.grid(frame.rest.end_s)] = IN_REST
    for section in frame.sections[1:]:
        if section.wishes.same_music:
            at = frame.grid(section.start_s)
            cost[max(at - SAME_MUSIC_S, 0) : at + SAME_MUSIC_S + 1] = np.inf
    return cost


def length_costs(frame: Frame, *, clips: bool, longest_s: float) -> F32:
    """Cost of hearing a track for so many seconds, shape (T + 1,).

    Args:
        clips: allow clips, though no scraps that no short stretch or library of scraps forces; else neither.
        longest_s: the longest track there is.
    """
    length = np.arange(frame.seconds + 1, dtype=np.float32)
    cost = CLIP_COST * np.clip((SHORT_S - length) / (SHORT_S * 2 / 3), 0, None)
    shortest = min((last - first for first, last in stretches(frame)), default=0)
    cost[: min(SCRAP_S if clips else SHORT_S, shortest // 2, int(longest_s) // 2)] = np.inf
    return np.asarray(cost, np.float32)


def stretches(frame: Frame) -> list[tuple[int, int]]:
    """Grid seconds between two borders of music that must be exact, in order."""
    silent = np.isnan(frame.on_grid(frame.arc))
    edges = np.flatnonzero(np.diff(np.concatenate(([True], silent, [True])).astype(np.int8))).tolist()
    found = []
    for first, last in zip(edges[::2], edges[1::2], strict=True):
        inner = [second for second in must_change(frame) if first < second < last]
        found += list(zip([first, *inner], [*inner, last], strict=True))
    return found


def must_change(frame: Frame) -> list[int]:
    """Grid seconds at which a new track must start though the music goes on."""
    at = [frame.grid(edge) for edge in frame.breaks()]
    if frame.rest is not None:
        at.append(frame.grid(frame.rest.start_s))
    silent = np.isnan(frame.on_grid(frame.arc))
    return sorted({second for second in at if 0 < second < frame.seconds and not silent[second - 1 : second + 1].any()})


def twins(sections: Sequence[SectionTime], frame: Frame) -> list[tuple[int, int, int]]:
    """(start of one side, start of the other, seconds) of every round that is done on both sides."""
    found = []
    for section in sections:
        for one, two in zip(section.passes, section.passes[1:], strict=False):
            if one.side and two.side and one.side != two.side and one.round == two.round:
                starts = frame.grid(one.start_s), frame.grid(two.start_s)
                length = min(frame.grid(one.end_s) - starts[0], frame.grid(two.end_s) - starts[1])
                if length > 0:
                    found.append((*starts, length))
    return found


def _lower(cost: F32, at: int, window: tuple[tuple[int, int, float], ...]) -> None:
    for first, last, value in window:
        low, high = max(at + first, 0), min(at + last + 1, len(cost))
        if low < high:
            cost[low:high] = np.minimum(cost[low:high], value)
