"""From the grid's answer to exact times: hand-overs on phrases and beats, fades, and the borders that stay exact."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from audio.track import Analysis, Track
from pairing.alignment import marks
from pairing.alignment.cuts import exact_second, music_ends, music_starts
from pairing.alignment.frame import Frame
from pairing.alignment.options import CROSSFADES_S
from pairing.alignment.task import Task
from pairing.model import Kind
from pairing.solve.problem import Chosen

DIGITS = 6  # times are kept to a microsecond, so that a set reads back as it was written
FARTHEST_S = 1.5  # a hand-over moves at most so far from the grid's second to meet a phrase
REST_TAIL_S = 4.0  # the track before the rest has faded so soon after the rest begins
FINAL_FADE_S = 20.0  # 10 to 30 s (common practice, no source)
FADE_TO_SILENCE_S = 8.0  # before a stretch without music; editorial
FADE_FROM_SILENCE_S = 3.0  # into a track that is entered in its middle, or where people sit or lie still; editorial
STILL = (Kind.OPENING, Kind.BREATHING, Kind.COOL_DOWN, Kind.REST, Kind.CLOSING)
RETURN_FADE_S = 8.0  # after the rest the music comes back softly; editorial
SHORTEST_TAIL_S = 1.0  # a shorter overlap is none
BEAT_CONFIDENCE = 0.5  # editorial: below, a beat is no reason to move a hand-over


@dataclass(frozen=True, slots=True)
class ExactPick:
    """A pick in exact times, before it has a name."""

    track: int  # the solver's number
    class_start_s: float
    class_end_s: float
    track_start_s: float
    fade_in_s: float
    fade_out_s: float


@dataclass(frozen=True, slots=True)
class Exact:
    """What is known exactly of the hand-over at a grid second."""

    at_s: float
    track: int  # the track that begins there
    track_start_s: float | None = None


def refine(task: Task, chosen: Sequence[Chosen], exact: Mapping[int, Exact] | None = None) -> tuple[ExactPick, ...]:
    """Exact times for every pick.

    Args:
        task: the problem the picks answer.
        chosen: picks in order; a gap between two is a stretch without music.
        exact: known exact times by grid second: of pins, of picks that stay as they are.
    """
    known = exact or {}
    starts, enters = _starts(task, chosen, known)
    _fit_into_tracks(task, chosen, starts, enters)
    _lengthen_in_rest(task, chosen, starts, enters, CROSSFADES_S[Kind.REST])
    ends = [_hand_over(task.frame, chosen, starts, index) for index in range(len(chosen))]
    tails = [_tail(task, chosen, starts, ends, enters, index) for index in range(len(chosen))]
    stretches = []
    for index, pick in enumerate(chosen):
        joined = index > 0 and ends[index - 1] == starts[index]
        overlap = tails[index - 1] if joined else 0.0
        length = ends[index] - starts[index]
        fade_in = overlap or _fade_in(task, pick, enters[index], length)
        fade_out = tails[index] or _fade_out(task, pick, ends[index], enters[index] + length, length - overlap)
        stretches.append(
            ExactPick(pick.track, starts[index], ends[index] + tails[index], enters[index], fade_in, fade_out)
        )
    return tuple(stretches)


def _starts(task: Task, chosen: Sequence[Chosen], known: Mapping[int, Exact]) -> tuple[list[float], list[float]]:
    """Class second at which each pick takes over, and second of its track there."""
    fixed = {second: exact.at_s for second, exact in known.items()} | task.frame.anchors()
    starts: list[float] = []
    enters: list[float] = []
    for index, pick in enumerate(chosen):
        nominal = float(pick.start + task.frame.origin_s)
        if pick.start in fixed:
            at = fixed[pick.start]
        elif index and chosen[index - 1].end == pick.start:
            at = _meeting(task, chosen[index - 1], starts[-1], enters[-1], nominal)
        else:
            at = nominal
        if pick.start not in fixed:
            at = _clear_of_voice(task, chosen, index, at)
        starts.append(round(at, DIGITS))
        enters.append(round(_enter(task, pick, known.get(pick.start)), DIGITS))
    return starts, enters


def _fit_into_tracks(task: Task, chosen: Sequence[Chosen], starts: list[float], enters: list[float]) -> None:
    """Where a moved hand-over asks for more than the track has, enter it earlier, else let it take over later."""
    for index in reversed(range(len(chosen))):
        analysis = task.tracks[chosen[index].track].analysis
        end_s = _hand_over(task.frame, chosen, starts, index)
        over_s = enters[index] + end_s - starts[index] - music_ends(analysis)
        if over_s > 0:
            earlier = min(over_s, enters[index])
            enters[index] = round(enters[index] - earlier, DIGITS)
            starts[index] = round(starts[index] + over_s - earlier, DIGITS)


def _lengthen_in_rest(
    task: Task, chosen: Sequence[Chosen], starts: list[float], enters: list[float], wanted_s: float
) -> None:
    """Where the rest must have a change of music, let the next track begin earlier, for a long cross-fade."""
    rest = task.frame.rest
    for index in range(1, len(chosen)) if rest is not None else ():
        assert rest is not None
        joined = chosen[index - 1].end == chosen[index].start
        if not joined or not rest.start_s + 1 < starts[index] < rest.end_s - 1:
            continue
        left_at = enters[index - 1] + starts[index] - starts[index - 1]
        missing = wanted_s - (_end_of(task, chosen[index - 1]) - left_at)
        end_s = _hand_over(task.frame, chosen, starts, index)
        # The next track is left later by the same amount, and may need a cross-fade of its own.
        needed = wanted_s if index + 1 < len(chosen) and chosen[index + 1].start == chosen[index].end else 0.0
        room = _end_of(task, chosen[index]) - (enters[index] + end_s - starts[index]) - needed
        earlier = min(missing, room, (starts[index] - starts[index - 1]) / 2)
        if earlier > 0:
            starts[index] = round(starts[index] - earlier, DIGITS)


def _end_of(task: Task, pick: Chosen) -> float:
    analysis = task.tracks[pick.track].analysis
    return music_ends(analysis)


def _enter(task: Task, pick: Chosen, known: Exact | None) -> float:
    said = known.track_start_s if known is not None and known.track == pick.track else None
    if said is not None and abs(said - pick.enter) <= FARTHEST_S:
        return said
    analysis = task.tracks[pick.track].analysis
    return exact_second(analysis, pick.enter)


def _meeting(task: Task, going: Chosen, going_start_s: float, entered: float, nominal: float) -> float:
    """The class time near the grid's second at which the track that goes reaches its phrase, else its beat."""
    track = task.tracks[going.track]
    leave = going.enter + going.end - going.start
    exact = exact_second(track.analysis, leave)
    at = going_start_s + exact - entered
    if exact == leave and _is_clear(track.analysis) and len(track.analysis.curves.beats_s):
        beats = going_start_s + track.analysis.curves.beats_s - entered
        at = float(beats[np.argmin(np.abs(beats - nominal))])
    latest = going_start_s + music_ends(track.analysis) - entered
    return min(min(max(at, nominal - FARTHEST_S), nominal + FARTHEST_S), latest)


def _clear_of_voice(task: Task, chosen: Sequence[Chosen], index: int, at: float) -> float:
    """A hand-over near a border of "no voice", moved so that no voice sounds beyond it."""
    nominal = chosen[index].start + task.frame.origin_s
    joined = index > 0 and chosen[index - 1].end == chosen[index].start
    for start, end in _voiceless(task.frame):
        if joined and abs(start - nominal) <= 1.0 and _may_sing(task.tracks[chosen[index - 1].track]):
            at = min(at, start)
        if abs(end - nominal) <= 1.0 and _may_sing(task.tracks[chosen[index].track]):
            at = max(at, end)
    return at


def _voiceless(frame: Frame) -> list[tuple[float, float]]:
    """Stretches of class seconds in which no voice may sound, apart, in order."""
    found: list[tuple[float, float]] = []
    for rule in frame.rules:
        if rule.no_voice and found and rule.start_s <= found[-1][1] + 1e-6:
            found[-1] = (found[-1][0], rule.end_s)
        elif rule.no_voice:
            found.append((rule.start_s, rule.end_s))
    return found


def _may_sing(track: Track) -> bool:
    said = marks.voice(track)
    return track.analysis.curves.voice_share > 0 if said is None else said


def _is_clear(analysis: Analysis) -> bool:
    return analysis.tempo_bpm is not None and analysis.tempo_confidence >= BEAT_CONFIDENCE


def _hand_over(frame: Frame, chosen: Sequence[Chosen], starts: Sequence[float], index: int) -> float:
    """When the next pick takes over, or the music has died away."""
    pick = chosen[index]
    if index + 1 < len(chosen) and chosen[index + 1].start == pick.end:
        return starts[index + 1]
    return frame.anchors().get(pick.end, float(pick.end + frame.origin_s))


def _tail(
    task: Task,
    chosen: Sequence[Chosen],
    starts: Sequence[float],
    ends: Sequence[float],
    enters: Sequence[float],
    index: int,
) -> float:
    """How long a pick sounds on after the next one has begun; 0 before silence."""
    if index + 1 == len(chosen) or starts[index + 1] != ends[index] or task.frame.is_break(chosen[index].end):
        return 0.0
    track = task.tracks[chosen[index].track]
    kind = task.frame.section_at(ends[index] + 1e-3).kind
    left_at = enters[index] + ends[index] - starts[index]
    following = ends[index + 1] - starts[index + 1]
    limits = [
        CROSSFADES_S[kind],
        music_ends(track.analysis) - left_at,
        following / 2,
        (ends[index] - starts[index]) / 2,
    ]
    rest = task.frame.rest
    if rest is not None and abs(ends[index] - rest.start_s) < 1e-3:
        limits.append(REST_TAIL_S)
    limits += [_until_voice(track, left_at, ends[index], stretch) for stretch in _voiceless(task.frame)]
    tail = min(limits)
    return round(tail, DIGITS) if tail >= SHORTEST_TAIL_S else 0.0


def _until_voice(track: Track, left_at_s: float, at_s: float, stretch: tuple[float, float]) -> float:
    """Seconds after a hand-over until the track that goes would sing in a stretch without voice; inf if it doesn't."""
    first, last = max(stretch[0] - at_s, 0.0), stretch[1] - at_s
    if not _may_sing(track) or last <= first:
        return float("inf")
    if marks.voice(track):
        return first
    sung = np.flatnonzero(track.analysis.curves.voice >= 0.5) - left_at_s
    inside = sung[(sung + 1 > first) & (sung < last)]
    return max(float(inside[0]), first) if len(inside) else float("inf")


def _fade_in(task: Task, pick: Chosen, enter_s: float, length: float) -> float:
    analysis = task.tracks[pick.track].analysis
    if task.frame.is_break(pick.start):
        return min(RETURN_FADE_S, length / 2)
    still = task.frame.section_at(pick.start + task.frame.origin_s).kind in STILL
    if enter_s <= music_starts(analysis) and not still:
        return 0.0
    return min(FADE_FROM_SILENCE_S, length / 2)


def _fade_out(task: Task, pick: Chosen, end_s: float, left_s: float, length: float) -> float:
    """Length of a fade that nothing overlaps: into silence, or out of the way of a voice."""
    frame, analysis = task.frame, task.tracks[pick.track].analysis
    final = frame.rest is not None and frame.rest.start_s < end_s <= frame.rest.end_s + 1e-3
    if final or pick.end == frame.seconds:
        return min(FINAL_FADE_S, max(length / 2, 0.0))
    if left_s >= music_ends(analysis) - SHORTEST_TAIL_S:
        return 0.0  # it ends there by itself
    return min(FADE_TO_SILENCE_S, max(length / 2, 0.0))
