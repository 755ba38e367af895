"""A set as one file a pick, for a player that can't cross-fade: played one after the other they last as long as the
class."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from audio.render.bell import LENGTH_S as BELL_S
from audio.render.span import Level, Span
from pairing.model import Pick, SetList
from pairing.sets import mixdown

OUT_S, IN_S = 2.0, 0.5  # fades of a part where the mix would cross-fade; editorial
LONGEST_NAME = 60


@dataclass(frozen=True, slots=True)
class MixPart:
    """One file: its name without ending, what it plays, and the bells heard in it (second, level).

    A stroke that began in the part before has a second below 0.
    """

    name: str
    title: str
    artist: str
    spans: tuple[Span, ...]
    duration_s: float
    bells: tuple[tuple[float, float], ...]


def parts(setlist: SetList, spans: Sequence[Span]) -> tuple[MixPart, ...]:
    """Cut the class, of which `spans` plays the picks, at its hand-overs; each part holds one pick and the silence
    after it, if any."""
    bells = mixdown.bells(setlist)
    edges = [0.0, *(span.mix_start_s for span in spans[1:]), mixdown.duration_s(setlist)]
    rows = zip(setlist.picks, spans, pairwise(edges), strict=False)  # without picks there is an edge too many
    return tuple(_part(pick, span, start, end, bells) for pick, span, (start, end) in rows)


def _part(pick: Pick, span: Span, start: float, end: float, bells: Sequence[tuple[float, float]]) -> MixPart:
    return MixPart(
        name=f"{pick.n:02d} {_file_name(pick.title)}",
        title=f"{pick.n:02d} {pick.title}",
        artist=pick.artist,
        spans=(_moved(span, start, end),),
        duration_s=end - start,
        bells=tuple((at - start, level) for at, level in bells if start - BELL_S < at < end),
    )


def _moved(span: Span, start: float, end: float) -> Span:
    cut = span.mix_end_s > end
    return replace(
        span,
        mix_start_s=span.mix_start_s - start,
        mix_end_s=min(span.mix_end_s, end) - start,
        fade_in_s=min(span.fade_in_s, IN_S),
        fade_out_s=OUT_S if cut else span.fade_out_s,
        levels=tuple(Level(level.at_s - start, level.gain_db) for level in span.levels),
    )


def _file_name(title: str) -> str:
    """A title as every file system takes it: letters, digits, spaces and a few marks."""
    kept = "".join(letter if letter.isalnum() or letter in " -'," else " " for letter in title)
    return " ".join(kept.split())[:LONGEST_NAME].strip() or "track"
