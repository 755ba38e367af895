"""One line of a section -> a pose, or something that happens once: say, pause, silence, bell, song."""

import re
from dataclasses import dataclass, field, replace
from typing import Literal

from pairing.constants import SPOKEN_WORDS_A_MINUTE, USUAL_PAUSE_S, USUAL_SILENCE_S
from pairing.model import Element, Length, Place, Side
from pairing.plan.attributes import EDGE, OR, mistyped_length, not_understood, read_line, trailing, trailing_length
from pairing.plan.kinds import is_kind
from pairing.plan.lines import Line
from pairing.plan.poses import Match, Pose, PoseTable
from pairing.plan.rules import LENGTHS
from pairing.plan.said import Fault, Said
from pairing.plan.sequences import known_sequence, others, several_poses, strung
from pairing.plan.words import LENGTH, MOST_TIMES, number, show_seconds, to_length

# What the timetable takes where a line gives no length.
_USUAL = {
    "say": f"it gets the time its words take, {SPOKEN_WORDS_A_MINUTE:g} a minute",
    "pause": f"{show_seconds(USUAL_PAUSE_S)} is assumed",
    "silence": f"{show_seconds(USUAL_SILENCE_S)} is assumed",
}

Once = Literal["say", "pause", "silence", "bell", "song", "gap"]
What = Literal["pose", "say", "pause", "silence", "bell", "song", "gap"]


@dataclass(slots=True)
class Result:
    """What a line was read as: an element, faults, or a word about the lines around it."""

    element: Element | None = None
    faults: list[Fault] = field(default_factory=list)
    liberties: list[str] = field(default_factory=list)
    other_side: bool = False  # do the lines above again on the other side
    side: Side | None = None  # the lines below are done on this side
    rounds: int | None = None  # the lines above, that often
    alternative: str | None = None  # a pose to do instead of the line above
    length: Length | None = None  # nothing but a length


def read_element(line: Line, table: PoseTable, *, rest: bool = False) -> Result:
    """Read a line of a section; `rest` says that it stands in the closing rest."""
    text = line.text
    if _OTHER_SIDE.fullmatch(text):
        return Result(other_side=True, faults=[_nothing_to_repeat(text)])
    again = _AGAIN.fullmatch(text)
    if again:
        return Result(rounds=int(number(again["x"] or again["n"])), faults=[_nothing_to_repeat(text)])
    alternative = _OR_LINE.match(text)
    if alternative and table.look_up(_name(alternative[1])).pose:
        return Result(alternative=_name(alternative[1]), faults=[_nothing_to_repeat(text)])
    text = _SIT_UP.sub("easy seat", text)
    if rest and re.fullmatch(r"rest|relax|lie (?:down|still)", text.strip(" ."), re.IGNORECASE):
        text = f"savasana{text[len(text) :]}"
    text = _length_last(text)
    for what, pattern in _ONCE:
        found = pattern.match(text)
        if found and not table.knows(re.split("[,:;(]", text)[0]):
            return _once(line, what, found)
    return _pose(line, text, table)


# ---- what happens once ----


def _once(line: Line, what: Once, found: re.Match[str]) -> Result:
    if what == "bell":
        return _bell(line, found)
    if what == "silence":
        return _silence(line, found)
    if what == "gap":
        return _gap(line, found)
    return _song(line, found) if what == "song" else _spoken(line, what, found)


def _spoken(line: Line, what: Literal["say", "pause"], found: re.Match[str]) -> Result:
    """Something said, or a pause for something: its text as typed, its length at the end or before the text."""
    before = (found["early"] or "").strip(" ()")
    early = LENGTH.search(before)
    text = f"{before}: {found['text']}" if before and not early else found["text"]
    kept, said = trailing(text)
    if said.length is None and early:
        said.length = to_length(early)
    kept = trailing_length(said, kept).strip(_TEXT_EDGE)
    first = LENGTH.match(kept) if said.length is None and kept[:1].isdigit() else None
    if first and to_length(first).unit == "seconds":  # "say: 2 min welcome"
        said.length, kept = to_length(first), kept[first.end() :].strip(_TEXT_EDGE)
    result = Result(faults=said.faults, liberties=said.liberties)
    slip = mistyped_length(kept.rpartition(",")[2].strip())
    if said.length is None and slip:
        result.faults.append(slip)
    elif said.length is None:
        result.liberties.append(f'"{line.text}" has no length; {_USUAL[what]}')
    word = found["word"].lower()
    if what == "pause" and not kept and word not in ("pause", "break"):
        kept = word
    result.element = _element(line, what, kept, said)
    return result


def _gap(line: Line, found: re.Match[str]) -> Result:
    """What isn't known yet: its length, and its text in brackets."""
    noted = re.fullmatch(r"(.*?)\s*\(([^()]*)\)", found["text"])
    kept, said = trailing(noted[1] if noted else found["text"])
    name = noted[2] if noted else kept.strip(_TEXT_EDGE)
    return Result(_element(line, "gap", name, said), said.faults, said.liberties)


def _song(line: Line, found: re.Match[str]) -> Result:
    kept, said = trailing(found["text"])
    title = kept.strip(_TEXT_EDGE + '"“”')
    faults = list(said.faults)
    if said.length is not None:
        faults.append(Fault("song-length", line.text, "A song plays whole, so it needs no length.", _SONG))
    if not title:
        faults.append(Fault("song-title", line.text, "This song has no title.", _SONG))
    return Result(_element(line, "song", title, said), faults, said.liberties)


_TEXT_EDGE = " \t,;:–—-\\"
_SONG = 'Write: "song: its title".'


def _silence(line: Line, found: re.Match[str]) -> Result:
    said = read_line(f"silence, {found['early'] or ''} {found['text']}", lambda name: name == "silence")
    told = [] if said.length else [f'"{line.text}" has no length; {_USUAL["silence"]}']
    return Result(_element(line, "silence", "", said), said.faults, said.liberties + told)


def _bell(line: Line, found: re.Match[str]) -> Result:
    kept = re.findall(r"\(([^()]*)\)", found["text"])
    parts = re.split("[,;]", re.sub(r"\([^()]*\)", "", found["text"]))
    apart = [part.strip() for part in parts if LENGTH.search(part)]
    rest = ",".join(part for part in parts if part.strip() not in apart)
    said = read_line(f"bell{rest}", lambda name: name.lower() == "bell")
    count = int(number(found["count"])) if found["count"] else said.times
    notes = [part for part in said.parts if part.lower() != "bell"] + said.notes + apart + kept
    element = _element(line, "bell", "bell", replace(said, times=count, notes=notes))
    told = [f'"{part}" is shown with the bell, not timed' for part in apart]
    return Result(element, said.faults, said.liberties + told)


_BEFORE_TEXT = r"(?P<early>\s*\([^)]*\)|\s+\d[\w.:' ]*?(?=\s*:))?\s*(?::|-\s|–|—|,)?\s*(?P<text>.*)$"
_WORDS_OF: dict[Once, str] = {
    "say": r"(?P<word>say|talk|(?:speak|speech|tell|reading|read|welcome|announcements?|notices|explain|story|poem|"
    r"quote|demo|demonstrate|teach)\b(?=\s*[:(,–-]|\s+\S+.*\d))\b",
    "pause": r"(?P<word>pause|(?:water|toilet|tea|short|rest)?\s*break|water|rest(?=\s*(?:[,:(–-]\s*|for\s+)?\d)|"
    r"transition|props?|set ?up|(?:free )?play(?=\s*[,:–-]?\s*\d+ ?(?:min|sec))|"
    r"(?:get|fetch|grab|collect|bring|prepare|put away|roll out|change)\s+[^,:;\d]+)\b",
    "gap": r"(?P<word>gap(?=\s*:))\b",
    "silence": r"(?P<word>(?:in )?silence|stillness|silent (?:sitting|pause)|quiet time)\b",
}
_ONCE: tuple[tuple[Once, re.Pattern[str]], ...] = (
    *((what, re.compile(words + _BEFORE_TEXT, re.IGNORECASE)) for what, words in _WORDS_OF.items()),
    (
        "bell",
        re.compile(
            r"(?:ring\s+)?(?:the\s+|a\s+)?(?:(?P<count>\d{1,2}|one|two|three|four|five|six)(?:\s*x\s*|\s+|(?=\D)))?"
            r"(?:(?:soft|small|big|final|last|closing|opening|single|long|short|gentle|hand)\s+)*"
            r"(?:bells?|chimes?|gongs?|(?:singing |tibetan |sound )?bowls?|tingshas?)\b(?P<text>.*)$",
            re.IGNORECASE,
        ),
    ),
    (
        "song",
        re.compile(
            r"(?:song|track|play|tune)\s*(?:[:–—-]|$|(?=[\"“]))\s*(?!\d+ ?(?:min|sec))(?P<text>.*)$", re.IGNORECASE
        ),
    ),
)
_OTHER_SIDE = re.compile(
    r"(?:(?:switch|change|swap)\s+sides"
    r"|(?:repeat|same|again|switch|change|now|and|all|do|everything|then|it|to)?[\s,:]*(?:all\s+)?(?:on\s+|to\s+)?(?:the\s+)?"
    r"(?:(?:other|second|2nd|opposite)\s+(?:side|leg)|(?:repeat|again|same)\s+(?:on\s+)?(?:the\s+)?left(?:\s+side)?"
    r"|left\s+side[\s:,–-]+(?:repeat|same|the\s+same|again)))"
    r"(?:\s+again)?[.!:]?",
    re.IGNORECASE,
)


_AGAIN = re.compile(
    r"(?:repeat|all|everything)(?:\s+(?:all|everything|this|it))?\s*[,:]?\s*"
    r"(?:x\s*(?P<x>\d{1,2})|(?P<n>\d{1,2}|two|three|four|five)\s*(?:x|times|rounds))[.!]?",
    re.IGNORECASE,
)


_OR_LINE = re.compile(r"^or[:,]?\s+(\S.*)", re.IGNORECASE)
_SIT_UP = re.compile(  # the way to a seat; with a count, the exercise
    r"^(?:slowly\s+)?sit\s+up(?=\s*(?:$|[,;:(\d–-]))(?!.*(?:[x×]\s?\d|\d\s?[x×]|\breps?\b|\btimes\b))", re.IGNORECASE
)


def _length_last(text: str) -> str:
    """Put a length before a word that is no pose behind it: "1 min: say: welcome"."""
    early = LENGTH.match(text) if text[:1].isdigit() else None
    if early is None:
        return text
    rest = text[early.end() :].strip(_TEXT_EDGE)
    spoken = any(pattern.match(rest) for what, pattern in _ONCE if what in ("say", "pause", "silence"))
    return f"{rest}, {early.group().strip()}" if spoken else text


def _name(text: str) -> str:
    return re.split(r"[,;(]|\s\d", text)[0].strip(" .:")


def _nothing_to_repeat(text: str) -> Fault:
    return Fault("repeat-line", text, f'"{text}" has nothing to repeat here.', _REPEATS)


_REPEATS = 'Rounds and sides go in the heading: "## Tide: flow, both sides, 3 rounds".'


# ---- poses ----


def _pose(line: Line, text: str, table: PoseTable) -> Result:
    said = read_line(text, table.knows)
    result = Result(faults=list(said.faults), liberties=list(said.liberties))
    name = said.parts[0] if said.parts else ""
    if not name and said.told == {"side"}:
        return Result(side=said.side, faults=[_nothing_to_repeat(text)])
    if not name and said.told == {"length"}:
        result.length = said.length
    if not name:
        result.faults.append(Fault("no-pose", line.text, f'"{line.text}" doesn\'t name a pose.', _POSE_LINES))
        return result
    sequence = None if table.knows(name) else known_sequence([name, *said.notes], table)
    if sequence:
        return _sequence(line, said, table.get(sequence))
    pieces = strung(name, table)
    if pieces:
        result.faults = [several_poses(line, len(pieces), table)]
        return result
    shown, alternatives, match = _find(name, said, table)
    late = [note for note in said.notes if re.match(r"or\s+\S", note, re.IGNORECASE) and table.knows(note[3:])]
    said.notes = [note for note in said.notes if note not in late]
    alternatives += tuple(note[3:].strip() for note in late)
    result.faults += [not_understood(odd) for odd in alternatives if re.search(r"\d", odd) and not table.knows(odd)]
    more = others(match, said.notes, table)
    sequence = known_sequence([name, *said.notes], table) if more else None
    if sequence:
        return _sequence(line, said, table.get(sequence))
    if more:
        result.faults = [several_poses(line, 1 + len(more), table)]
        return result
    if match.pose is None:
        result.faults.append(_bare_number(name, table) or _unknown_pose(name, table))
        return result
    if match.note:
        result.liberties.append(f'"{shown}" is read as {match.pose.english}, {match.note}')
    elif match.extra:
        result.liberties.append(f'"{shown}" is read as {match.pose.english}')
    result.element = _element(line, "pose", shown, said, pose_id=match.pose.id, alternatives=alternatives)
    return result


def _sequence(line: Line, said: Said, pose: Pose) -> Result:
    """The poses of a known sequence in a row: "chaturanga, up dog, down dog"."""
    taken = f'"{line.text}" is read as {pose.english}'
    element = _element(line, "pose", pose.english.lower(), replace(said, notes=[]), pose_id=pose.id)
    return Result(element, list(said.faults), [*said.liberties, taken])


def _find(name: str, said: Said, table: PoseTable) -> tuple[str, tuple[str, ...], Match]:
    """Give the pose's name without what surrounds it, the alternatives typed after it, and its match."""
    if table.knows(name):
        return name, (), table.look_up(name)
    first, *others = OR.split(name)
    if others and first.strip():
        shown, match = _find_with_tail(first, said, table)
        if match.pose:
            return shown, tuple(other.strip() for other in others if other.strip()), match
    counted = re.match(r"(\d{1,3}|one|two|three|four|five|six)\s*(?:x\s*)?(?=\s|[^\W\d])(\D.*)$", name, re.IGNORECASE)
    if counted and said.times is None and 1 <= number(counted[1]) <= MOST_TIMES:
        said.times = int(number(counted[1]))
        found = _find(counted[2].strip(), said, table)
        if found[2].pose:
            return found
        said.times = None
    shown, match = _find_with_tail(name, said, table)
    if match.pose is None:
        for note in said.notes:
            if table.knows(note):
                said.notes[said.notes.index(note)] = name
                return note, (), table.look_up(note)
    return shown, (), match


def _find_with_tail(name: str, said: Said, table: PoseTable) -> tuple[str, Match]:
    name = name.strip()
    if table.knows(name):
        return name, table.look_up(name)
    led = _LEAD.sub("", name)
    moved = _MOVE_TO.match(led)
    if moved and table.knows(led[moved.end() :]) and not table.look_up(moved[1]).pose:
        led = led[moved.end() :]
    for found in _TAIL_WORD.finditer(led):
        if table.knows(led[: found.start()]) and not table.knows(led[found.start() :]):
            said.notes.insert(0, led[found.start() :].strip())
            return led[: found.start()], table.look_up(led[: found.start()])
    match = table.look_up(led)
    if match.pose is None:
        for found in _TAIL_WORD.finditer(led):
            inner = table.look_up(led[: found.start()])
            if inner.pose:
                said.notes.insert(0, led[found.start() :].strip())
                return led[: found.start()], inner
    return led if match.pose else name, match


_LEAD = re.compile(
    r"^(?:(?:hold|rest in|come (?:in)?to|move (?:in)?to|into|back (?:in)?to|return to|find|flow through|step (?:in)?to|"
    r"lie in|"
    r"sit in|stay in|from|enter|take|do|some|a few|your|then|to|shift (?:in)?to|lower (?:in)?to|press (?:in)?to|"
    r"hop to|melt into|release (?:in)?to|lift (?:in)?to|set up)\s+)+",
    re.IGNORECASE,
)
_MOVE_TO = re.compile(r"((?:[^\W\d]+\s+){1,3}?)(?:in)?to\s+(?:a\s+|the\s+)?(?=\S)", re.IGNORECASE)
_TAIL_WORD = re.compile(
    r"\s+(?:with|at|on|over|in|against|using|holding|under|without|from|into|onto|through|facing|lifting|reaching|above|beside|behind|near|next|off|around|across|sitting|seated|lying|"
    r"while|for|by|then|and|&|to|keeping|as|w/)(?=\s)",
    re.IGNORECASE,
)
_POSE_LINES = 'A line looks like: "- warrior two, 3 breaths".'


def _bare_number(name: str, table: PoseTable) -> Fault | None:
    """The fault of "tree 7": a pose with a number that has no unit."""
    found = re.fullmatch(r"(.+?)[\s,]+(\d{1,3}(?:\s?[-–]\s?\d{1,3})?)", name)
    if not found or not table.knows(found[1]):
        return None
    return Fault("unknown-length", name, f'"{found[2]}" has no unit.', LENGTHS, f"{found[1]}, {found[2]} breaths")


def _unknown_pose(name: str, table: PoseTable) -> Fault:
    if is_kind(name):
        poses = " or ".join(f'"{pose}"' for pose in table.openers(name))
        named = f"Name the pose: {poses}. " if poses else ""
        heading = f'{named}If a section begins here, write "## {name}".'
        return Fault("unknown-pose", name, f'"{name}" isn\'t a known pose.', heading)
    near = " or ".join(f'"{other}"' for other in table.nearest(name))
    meant = table.meant(name)
    remedy = f"Did you mean {near}? " if near else ""
    return Fault(
        "unknown-pose",
        name,
        f'"{name}" isn\'t a known pose.',
        f'{remedy}Your own poses go under "## Own poses"; a remark begins with ">".',
        meant,
    )


_BRACKETS = re.compile(r"[()\[\]<>{}\s]+")


def _element(
    line: Line, what: What, name: str, said: Said, *, pose_id: str | None = None, alternatives: tuple[str, ...] = ()
) -> Element:
    note = _BRACKETS.sub(" ", "; ".join(filter(None, said.notes))).strip(EDGE) if said.notes else ""
    return Element(
        what=what,
        name=name,
        place=Place(line.number, line.column(name)),
        pose_id=pose_id,
        alternatives=alternatives,
        length=said.length,
        times=said.times,
        each_side=said.each_side,
        side=said.side,
        once=said.once,
        optional=said.optional,
        from_round=said.from_round or 1,
        to_round=said.to_round,
        last_round=said.last_round,
        no_hold=said.no_hold,
        supported=said.supported,
        every_time=said.every_time,
        note=note,
        wishes=said.wishes,
    )
