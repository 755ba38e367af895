"""Answers to the question what an unsure line means: other readings of it, and the one that was taken, as rewrites."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace

from pairing.model import Element, Group, Place
from pairing.plan.line.amounts import exactly
from pairing.plan.line.chunks import is_size
from pairing.plan.line.moves import Around
from pairing.plan.line.parts import parts_of
from pairing.plan.line.read import line_of
from pairing.plan.lines import Line
from pairing.plan.note.evidence.lengths import about_s
from pairing.plan.note.evidence.signs import signs
from pairing.plan.note.evidence.typed import Setting, typed
from pairing.plan.note.evidence.weights import weight
from pairing.plan.note.partly import Part, elements
from pairing.plan.tokens import Scanner, Token
from pairing.plan.write import write_element

MOST = 3
CLEARLY = 1.2  # a reading whose signs weigh more than that is rather not meant; editorial
LEAD = 0.5  # of the reading that was taken before others, in weights of signs; editorial
AS_LONG = 0.1  # of its seconds: a rewrite that takes as long says the same; editorial
LEAST_SECONDS = 10  # of a pause without a unit; editorial
_LEAST_MINUTES, _MOST_MINUTES = 2, 20


def answers(
    line: Line,
    tokens: Sequence[Token],
    parts: Sequence[Part],
    setting: Setting,
    around: Around,
    scanner: Scanner,
    beside: float = 0.0,
) -> tuple[str, ...]:
    """Give at most three rewrites of a line, the likeliest first.

    The reading that was taken comes first unless signs clearly speak for another one; `beside` is the weight of those
    that the lines around it give against it.
    """
    found = signs(tokens, parts, setting)
    ranked = [
        (weight(found) + beside - _lead(line, parts, setting, around, scanner), -1, _taken(parts, setting, around))
    ]
    variants = _variants(line.text, tokens, parts, sided=_has_open_sides(parts, setting))
    for at, text in enumerate(dict.fromkeys(variants)):
        again = scanner.scan(text)
        other = parts_of(line_of(again, around), Place(line.number), around)
        if other:
            ranked.append((weight(signs(again, other, setting)), at, canonical(other) or text))
    if found["shared"] or found["open beside"]:
        ranked += [(weight(found) - CLEARLY, at, text) for at, text in enumerate(_together(line, tokens, parts))]
    if not any(is_size(part) for token in tokens for part in (token, *token.inner)):  # it may be a cue, or a name
        ranked.append((weight(found) - (CLEARLY if found["mended name"] else 0.0), len(ranked), f"({open_text(line)})"))
    ranked += [(weight(found) - LEAD, at, text) for at, text in enumerate(_no_product(parts))]
    texts = [text for _, _, text in sorted(ranked) if text and text != line.text]
    return tuple(_rewritten(line, text) for text in dict.fromkeys(texts))[:MOST]


def _taken(parts: Sequence[Part], setting: Setting, around: Around) -> str:
    """The reading that was taken, as a line or as several."""
    flat = list(elements(parts))
    if around.intervals is not None and not _sized(parts, around):  # a circuit tells the length, and rests itself
        done = [part for part in flat if part.what != "pause"]
        return canonical([replace(part, length=None, times=None) for part in done])
    told = [_with_length(part, setting) for part in parts]
    return canonical(told) or one_below_the_other(told)


def _sized(parts: Sequence[Part], around: Around) -> bool:
    """Whether the line of a circuit tells lengths of its own."""
    lengths = [part.length.likely for part in elements(parts) if part.length is not None and part.what != "pause"]
    return any(length not in (around.intervals or ()) for length in lengths)


def open_text(line: Line) -> str:
    """Give the words of a line without brackets."""
    return re.sub(r"[()]", "", line.text).strip()


def _no_product(parts: Sequence[Part]) -> Iterator[str]:
    """ "Crescent 5 br, tap the knee x5": held so long once, not so often."""
    only = parts[0] if len(parts) == 1 and isinstance(parts[0], Element) else None
    if only is not None and only.length is not None and (only.times or 1) > 1:
        yield canonical((replace(only, times=None),))


def _lead(line: Line, parts: Sequence[Part], setting: Setting, around: Around, scanner: Scanner) -> float:
    """How far the reading that was taken goes before others: little where its rewrite isn't read as it is itself."""
    text = _taken(parts, setting, around)
    if "\n" in text or (around.intervals is not None and not _sized(parts, around)):
        return LEAD
    again = parts_of(line_of(scanner.scan(text), around), Place(line.number), around)
    meant_s, read_s = about_s(parts, setting), about_s(again, setting)
    return LEAD if abs(read_s - meant_s) <= AS_LONG * meant_s else 0.0


def _together(line: Line, tokens: Sequence[Token], parts: Sequence[Part]) -> Iterator[str]:
    """ "Neck rolls, shoulder shrugs 1 min": the length as that of all of it."""
    flat = list(elements(parts))
    lengths = [token for token in tokens if token.kind == "length"]
    poses = all(part.what == "pose" for part in flat) and len(flat) > 1
    if len(lengths) != 1 or not poses or len(parts) != len(flat) or "→" in {token.text for token in tokens}:
        return
    first, *others = flat
    length = replace(first, length=lengths[0].length, times=None, note=" and ".join(part.name for part in others))
    yield write_element(length).removeprefix("- ")


def _variants(text: str, tokens: Sequence[Token], parts: Sequence[Part], *, sided: bool) -> Iterator[str]:
    """Other ways to type the line, each with one doubt settled."""
    open_ = re.sub(r"\s*[(\[]([^)\]]*)[)\]]", r" \1", text)
    if open_ != text:
        yield open_
    if sided:
        yield f"{open_} each side"
    said = typed(tokens).said
    alone = sum(map(is_size, said)) == 1  # beside other sizes a number is seldom minutes
    for token in said:
        if token.kind == "number" and text[token.start : token.end] == token.text:
            before, behind = text[: token.start], text[token.end :]
            if any(part.what == "pause" for part in elements(parts)):
                yield f"{before}{token.text} {'seconds' if token.high >= LEAST_SECONDS else 'min'}{behind}"
                continue
            yield f"{before}{token.text} breaths{behind}"
            yield f"{before}x{token.text}{behind}"
            if alone and _LEAST_MINUTES <= token.high <= _MOST_MINUTES:
                yield f"{before}{token.text} min{behind}"
    if any(token.says("again") for token in tokens):
        yield re.sub(r"\b(?:same|again|repeat)\b", "each side", text, flags=re.IGNORECASE)


def _with_length(part: Part, setting: Setting) -> Part:
    """Say how long a pose is taken to last, where its line doesn't."""
    if isinstance(part, Group):
        return replace(part, parts=tuple(_with_length(inner, setting) for inner in part.parts))
    open_ = part.what == "pose" and part.length is None and part.times is None
    if not open_ or part.pose_id is None or setting.table.compound(part.pose_id):
        return part
    pose = setting.table.get(part.pose_id)
    usual = pose.hold_breaths_flow if setting.style.holds == "flow" else pose.hold_breaths_slow
    return replace(part, length=exactly("breaths", usual))


def _has_open_sides(parts: Sequence[Part], setting: Setting) -> bool:
    """Whether poses have two sides, and nothing on the line or around it tells them."""
    flat = list(elements(parts))
    told = setting.both_sides or any(part.side or part.each_side for part in flat)
    told = told or any(isinstance(part, Group) and part.both_sides for part in parts)
    return not told and any(part.pose_id is not None and setting.table.get(part.pose_id).sided for part in flat)


def of_heading(line: Line, tokens: Sequence[Token], *, minutes: bool) -> tuple[str, ...]:
    """Give rewrites of a line that was taken for a heading: one without the minutes that nothing takes, a note, a part.

    Args:
        line: it.
        tokens: its tokens.
        minutes: whether it is asked about for its minutes.
    """
    text = line.text.rstrip(" :")
    if minutes:
        inner = [part for token in tokens for part in (token, *token.inner)]
        size = next((token for token in inner if token.kind == "length"), None)
        text = text.replace(size.text, "").rstrip(" :,-–—(") if size is not None else text
    named = _rewritten(line, f"{text}:")
    return tuple(dict.fromkeys(each for each in (named, f"({line.text})", f"## {line.text}") if each != line.raw))


def canonical(parts: Sequence[Part]) -> str:
    """Give the parts as one line; "" where they are more than one line holds."""
    several = len(parts) > 1
    if any(isinstance(part, Group) and (part.rounds > 1 or part.minutes) for part in parts):
        return ""
    if several and any(part.what != "pose" for part in elements(parts)):
        return ""
    both = any(isinstance(part, Group) and part.both_sides for part in parts)
    flat = [replace(part, each_side=True) if both else part for part in elements(parts)]
    if len(flat) == 1:
        return write_element(flat[0]).removeprefix("- ")
    return ", ".join(write_element(replace(part, note="")).removeprefix("- ").replace(",", "") for part in flat)


def one_below_the_other(parts: Sequence[Part]) -> str:
    """Give the parts as lines of their own, gaps among them; "" where they are done in rounds or together."""
    if len(parts) < 2 or any(isinstance(part, Group) for part in parts):
        return ""
    return "\n".join(write_element(part) for part in elements(parts)).removeprefix("- ")


def _rewritten(line: Line, text: str) -> str:
    at = line.raw.find(line.text)
    return f"{line.raw[:at] if at > 0 else ''}{text}"
