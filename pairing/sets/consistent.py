"""What must hold between the values of a set, beyond the range that each has for itself."""

import math
import os
from collections.abc import Iterator, Sequence

from pairing.model import Passage, Pick, Rest, SectionTime, SetFrame, SetList

SLACK_S = 0.01

Contradiction = tuple[str, str]  # place, such as "picks[2].class_start_s"; what should stand there


def faults(setlist: SetList) -> Iterator[Contradiction]:
    """Every value that can't be, seen beside the others."""
    length = math.ceil(setlist.class_s)
    for name in ("arc", "target_energy", "played_energy"):
        if len(getattr(setlist, name)) != length:
            yield name, f"a list of {length} numbers"
    for index, section in enumerate(setlist.sections):
        yield from _section(section, f"sections[{index}]", setlist.class_s)
    if setlist.rest is not None:
        yield from _rest(setlist.rest, setlist.class_s)
    if not _names_a_file(setlist.plan.path):
        yield "plan.path", "the path of a plan"
    yield from _picks(setlist.picks)
    yield from _frame(setlist.frame, len(setlist.sections), setlist.class_s)
    for index, former in enumerate(setlist.previous):
        yield from ((f"previous[{index}].was.{place}", expected) for place, expected in faults(former.was))


def _section(section: SectionTime, place: str, class_s: float) -> Iterator[Contradiction]:
    parts: list[tuple[SectionTime | Passage, str]] = [(section, place)]
    parts += [(each, f"{place}.passes[{n}]") for n, each in enumerate(section.passes)]
    for part, where in parts:
        if part.start_s > class_s:
            yield f"{where}.start_s", "inside the class"
        if not part.start_s <= part.end_s <= class_s + SLACK_S:
            yield f"{where}.end_s", "after its start and inside the class"


def _rest(rest: Rest, class_s: float) -> Iterator[Contradiction]:
    if rest.start_s > class_s:
        yield "rest.start_s", "inside the class"
    if not rest.start_s <= rest.end_s <= class_s + SLACK_S:
        yield "rest.end_s", "after its start and inside the class"
    if rest.silence_s > rest.end_s - rest.start_s + SLACK_S:
        yield "rest.silence_s", "no longer than the rest"
    for index, bell in enumerate(rest.bells_s):
        if bell > class_s + SLACK_S:
            yield f"rest.bells_s[{index}]", "inside the class"


def _picks(picks: Sequence[Pick]) -> Iterator[Contradiction]:
    for index, pick in enumerate(picks):
        place, length = f"picks[{index}]", pick.class_end_s - pick.class_start_s
        if pick.n != index + 1:
            yield f"{place}.n", f"{index + 1}"
        if not _names_a_file(pick.path):
            yield f"{place}.path", "the path of a recording"
        if length < 0:
            yield f"{place}.class_end_s", "after its start"
        for name in ("fade_in_s", "fade_out_s"):
            if getattr(pick, name) > length + SLACK_S:
                yield f"{place}.{name}", "no longer than the pick"
        if index and pick.class_start_s < picks[index - 1].class_start_s:
            yield f"{place}.class_start_s", "at or after the start of the pick before"
        if index + 2 < len(picks) and pick.class_end_s > picks[index + 2].class_start_s + SLACK_S:
            yield f"{place}.class_end_s", "before the pick after the next begins"


def _names_a_file(path: str) -> bool:
    """Whether a file of this name could be: half a character is none, a byte that isn't UTF-8 may be (PEP 383)."""
    try:
        os.fsencode(path)
    except UnicodeEncodeError:
        return False
    return "\0" not in path


def _frame(frame: SetFrame, sections: int, class_s: float) -> Iterator[Contradiction]:
    for index, rule in enumerate(frame.rules):
        if rule.end_s < rule.start_s:
            yield f"frame.rules[{index}].end_s", "after its start"
        if rule.section > sections:
            yield f"frame.rules[{index}].section", "the index of a section"
    if _is_silent_throughout(frame, class_s):
        yield "frame.silent_s", "stretches that leave some of the class to the music"


def _is_silent_throughout(frame: SetFrame, class_s: float) -> bool:
    at = 0.0
    for start, end in sorted(frame.silent_s):
        if start > at + 1:  # a second is the least that music is laid out in
            return False
        at = max(at, end)
    return at >= class_s - 1
