"""The strip of a picture: each track a block with its number, title and trim; slanted edges are fades."""

from collections.abc import Mapping, Sequence

from audio.text import clock
from pairing.model import Pick
from pairing.show import drawing
from pairing.show.axes import Frame
from pairing.show.drawing import Point
from pairing.show.text import title_of

SONG_SIZE = 12.5


def strip(frame: Frame, picks: Sequence[Pick], lengths_s: Mapping[int, float]) -> list[str]:
    """Draw the tracks one after the other; `lengths_s` are whole lengths by track id, where they are known."""
    parts = [_block(frame, pick) for pick in picks]
    for pick in picks:
        parts += _block_text(frame, pick, lengths_s.get(pick.track_id))
    return parts


def _block(frame: Frame, pick: Pick) -> str:
    left, right = frame.x(pick.class_start_s), frame.x(pick.class_end_s)
    top, low = frame.strip_top, frame.strip_top + frame.size.strip
    inside = (right - left) / 2
    coming = min(max(frame.x(pick.fade_in_s) - frame.x(0), 2.5 if pick.fade_in_s else 0), inside)
    going = min(max(frame.x(pick.fade_out_s) - frame.x(0), 2.5 if pick.fade_out_s else 0), inside)
    points: list[Point] = [(left, low), (left + coming, top), (right - going, top), (right, low)]
    hint = (
        f"{pick.n}. {title_of(pick)}: {clock(pick.class_start_s)} to {clock(pick.class_end_s)}, "
        f"from {clock(pick.track_start_s)} of the track"
    )
    return drawing.shape(points, "track odd" if pick.n % 2 else "track", hint)


def _block_text(frame: Frame, pick: Pick, length_s: float | None) -> list[str]:
    left, right, top = frame.x(pick.class_start_s), frame.x(pick.class_end_s), frame.strip_top
    margin = 6 if right - left > 40 else 1
    left, right = left + margin, right - margin
    room = right - left
    if room < drawing.text_width(str(pick.n), SONG_SIZE):
        return []
    if not frame.size.wide:
        return [drawing.text((left + right) / 2, top + 20, str(pick.n), "no", anchor="middle")]
    song = _song(frame, title_of(pick), left, room) if frame.size.titles else []
    number = drawing.text(left, top + 16, str(pick.n), "no")
    return [number, *song, *_trim(frame, pick, length_s, left, room)]


def _song(frame: Frame, title: str, left: float, room: float) -> list[str]:
    """A track's title in its block: in rows, or, where these would cut it, in up to three rows that read upwards."""
    top, low = frame.strip_top, frame.strip_top + frame.size.strip
    rows = drawing.wrapped(title, SONG_SIZE, room, 4) if room > 40 else []
    upwards = drawing.wrapped(title, SONG_SIZE, frame.size.strip - 26, min(3, int(room / 13))) if room >= 13 else []
    if room > 80 or len(" ".join(rows)) >= len(" ".join(upwards)):
        return [drawing.text(left, top + 30 + 13.5 * row, words, "song") for row, words in enumerate(rows)]
    return [
        drawing.text(left + 10 + 13.5 * column, low - 5, words, "song", turned=True)
        for column, words in enumerate(upwards)
    ]


def _trim(frame: Frame, pick: Pick, length_s: float | None, left: float, room: float) -> list[str]:
    """A thin bar: the whole track, and on it the part that plays."""
    if length_s is None or room < 24:
        return []
    whole = max(length_s, pick.track_end_s, 1.0)
    x = left + 20
    width = room - 20
    start, end = pick.track_start_s / whole, pick.track_end_s / whole
    return [
        drawing.box(x, frame.strip_top + 9, width, 3, "whole"),
        drawing.box(x + start * width, frame.strip_top + 8, (end - start) * width, 5, "used"),
    ]
