"""Lines that stand outside the class: title, settings, totals, remarks, wishes for the music."""

import itertools
import re
from dataclasses import replace

from pairing.model import Wishes
from pairing.plan.fronts import has_music_sign
from pairing.plan.kinds import kind_named
from pairing.plan.language import spelled
from pairing.plan.line.chunks import is_size, wished
from pairing.plan.line.read import line_of
from pairing.plan.lines import Line
from pairing.plan.note.state import Reading
from pairing.plan.says import says_of
from pairing.plan.titles import LONGEST_SLOT_S, clock_span, read_title
from pairing.plan.tokens import Token
from pairing.plan.top import names_key, read_key
from pairing.plan.words import show_seconds

SHORTEST_BELOW_S = 1200.0  # of a slot that stands below the title: ten minutes of anything are rather done; editorial
SOUND_ID = "sound_bath"
MOST_WORDS = 3  # of a setting that is a time; editorial
LEAST_OF_ROOM_S = 1200.0  # "heating on half an hour before" tells no line's length; editorial
LEAST_PRACTICE_S = 60.0  # no breath is so long
MANY_WORDS = 8  # of a sentence, in which a length need not be that of a line; editorial
_TIME_KEYS = {
    ("start",),
    ("before",),
    ("after",),
    ("settle",),
    ("settling",),
    ("arrivals",),
    ("leave",),
    ("leaving",),
    ("between",),
    ("transition",),
}
_SIDES = {("r",), ("l",), ("right",), ("left",), ("other", "side")}
_FACTS = ("props", "theme", "note")
_CLOSING = {"(": ")", "[": "]", "{": "}"}
_QUOTES = "\"'“”„‘’«»"
_CLOCK = re.compile(r"(?<![\d.:])\d{1,2}[.:h][0-5]\d(?![\d.:])")  # 8.42, 20:50
_SIZED = ("length", "counts", "pulses", "pair", "chain")


def remark(reading: Reading, line: Line, text: str | None = None) -> None:
    """Keep a line that is only to be read."""
    text = line.text if text is None else text
    reading.said(line, "a note, not part of the class")
    if reading.stack and text:
        reading.stack[-1].notes.append(text)
    elif text:
        reading.top.facts.append(("note", text))


def is_inert(line: Line) -> bool:
    """Say whether all of a line stands in brackets."""
    text = line.text.strip()
    if not text:
        return True
    if spelled(text) in _SIDES:
        return False  # "[L]": the lines above on the left
    if len(text) > 1 and text[0] in _QUOTES and text[-1] in _QUOTES:
        return True  # "let the ribs fan out", said while the line above goes on
    close = _CLOSING.get(text[:1])
    return close is not None and text[-1:] in ")]}" and text.find(close) in (-1, len(text) - 1)  # not "[R] ... / [L]"


def is_done_aside(reading: Reading, line: Line) -> bool:
    """ "> rebound on back 1", ">> silence 1 min": a rest or pose with its length, in a note without signs."""
    tokens = [token for token in reading.tokens_of(line) if token.kind != "mark"]
    sized = any(token.kind in ("length", "number") for token in tokens)
    done = bool(tokens) and (tokens[0].kind == "pose" or tokens[0].says("once", "kinds.rest", "easy"))
    return not (reading.has_signs or reading.has_title) and bool(reading.items) and sized and done


def is_title(reading: Reading, line: Line) -> bool:
    """Read the first line as the title, and a bare line above all else as a fact."""
    if reading.stack or reading.sections or reading.top.told or line.form != "text" or line.number in reading.front:
        return False
    if reading.title is not None or reading.has_title:
        return _is_slot(reading, line) or (reading.has_title and _is_fact(reading, line))
    title = read_title(line.text, reading.tokens_of(line), apart=_stands_apart(reading, line))
    if title is None:
        return False
    reading.title = title.name
    note_slot(reading, title.slot_s, title.start)
    reading.said(line, "the title" + (f"; the slot is {show_seconds(title.slot_s)}" if title.slot_s else ""))
    return True


def _is_slot(reading: Reading, line: Line) -> bool:
    """ "75 mins - level 2", "45min / hot room", right below the title: how long the class is, and nothing to do."""
    tokens = reading.tokens_of(line)
    if len(reading.lines) < 2 or line is not reading.lines[1] or not tokens or reading.items or reading.has_signs:
        return False
    first, *others = tokens
    minutes = first.low if first.kind == "length" and first.unit == "seconds" else 0.0
    does = any(token.match or token.says("kinds", "easy", "once", "join.each", "sides") for token in others)
    if does or not SHORTEST_BELOW_S <= minutes <= LONGEST_SLOT_S:
        return False
    note_slot(reading, minutes, None)
    reading.said(line, f"the slot is {show_seconds(minutes)}")
    return True


def _stands_apart(reading: Reading, line: Line) -> bool:
    """Whether a blank line or the settings of the class follow."""
    below = reading.lines[1] if len(reading.lines) > 1 and reading.lines[0] is line else None
    return below is not None and (below.first or below.form == "heading" or names_key(below.text))


def is_plain_key(reading: Reading, line: Line) -> bool:
    """A setting of the class by its own name, above all parts."""
    if reading.stack:
        return False
    return is_key(reading, line) if names_key(line.text) else _is_named_fact(reading, line)


def is_labelled(reading: Reading, line: Line) -> bool:
    """Take a line with a label for oneself for a note, see `has_label`, and one with a sign for music in front."""
    music = has_music_sign(line) and (reading.marks_music or not _begins_to_do(reading, line))
    found = music or has_label(reading, line)
    if found:
        remark(reading, line)
    return found


def _begins_to_do(reading: Reading, line: Line) -> bool:
    """Whether the first word of a line names a pose or a part: "♪ savasana 8 min"; a bell is music there."""
    said = [token for token in reading.tokens_of(line) if token.kind != "mark"][:1]
    named = [token.match.pose for token in said if token.match and not token.broad]
    return any(pose and pose.id != SOUND_ID for pose in named) or any(token.says("kinds") for token in said)


def has_label(reading: Reading, line: Line) -> bool:
    """ "Playlist: instrumental only", "Musik: ab Teil 2 leise": words for oneself, wherever they stand."""
    label, colon, value = line.text.partition(":")
    tokens = reading.scanner.scan(label)
    names = ("music.word", "top.props", "top.note", "top.theme")
    if not colon or len(tokens) != 1 or not tokens[0].says(*names) or tokens[0].says("kinds", "once.song"):
        return False
    return bool(value.strip()) and not any(token.kind in ("length", "times") for token in reading.scanner.scan(value))


def _is_named_fact(reading: Reading, line: Line) -> bool:
    """ "Material: bloques, manta": a fact by its name in another language, or by another word for it."""
    label, colon, value = line.text.partition(":")
    tokens = reading.scanner.scan(label)
    named = [name for name in _FACTS if any(token.says(f"top.{name}") for token in tokens)]
    if colon and len(tokens) == 1 and tokens[0].says("kinds.peak") and not (reading.has_signs or _tells(reading, line)):
        named = ["theme"]  # "peak: crow. Need the wall"
    elif not colon and len(tokens) > 1 and tokens[0].says("top.subject") and not _tells(reading, line):
        named, value = ["theme"], line.text[tokens[0].end :]  # "focus obliques, don't rush"
    elif not colon or len(tokens) != 1 or tokens[0].says("kinds"):
        return False
    if not named or not value.strip():
        return False
    reading.top.facts.append((named[0], value.strip()))
    reading.said(line, "a note, not part of the class")
    return True


def _tells(reading: Reading, line: Line) -> bool:
    """Whether a line tells how long or how often."""
    return any(token.kind in _SIZED or token.kind == "times" for token in reading.tokens_of(line))


def _is_fact(reading: Reading, line: Line) -> bool:
    tokens = reading.tokens_of(line)
    if any(token.kind == "pose" or token.says("kinds") for token in tokens) or ":" in line.text:
        return False
    if re.search(r"\d", line.text):
        return False
    reading.top.facts.append(("note", line.text))
    reading.problems.liberties_of(line, [f'"{line.text}" is read as a note for the sheet'])
    reading.said(line, "a note, not part of the class")
    return True


def note_slot(reading: Reading, slot_s: float | None, start: str | None) -> None:
    """Keep the booking that a title tells, where no other is known."""
    if slot_s and reading.top.slot_s is None:
        reading.top.slot_s, reading.slot_by_title = slot_s, True
    if start and reading.top.start is None:
        reading.top.start = start


def is_total(reading: Reading, line: Line) -> bool:
    """Take a line that sums the class up as a check of it; say whether it is one."""
    tokens = [token for token in reading.tokens_of(line) if token.kind != "mark"]
    about = (
        len(tokens) > 1 and tokens[0].text.lower().endswith("ish") and tokens[0].text[:1].isdigit()
    )  # "24ish all in"
    if (about and tokens[1].says("top.total")) or (tokens and _is_open_total(reading, line, tokens)):
        remark(reading, line)
        return True
    if not tokens or (not tokens[0].says("top.total") and not (len(tokens) == 2 and tokens[1].says("top.total"))):
        return False
    sizes = [token for token in tokens if token.kind in ("length", "number")]
    first = tokens[1:2] if tokens[0].says("top.total") else []
    right_behind = [token for token in first if token in sizes]  # "total 75 or so. Music off from the rest on"
    if not right_behind and (len(sizes) != 1 or any(token.kind == "pose" for token in tokens)):
        if not first or first[0].kind != "unknown" or not first[0].text[:1].isdigit():
            return False
        remark(reading, line)  # "total = 43ish"
        return True
    size = (right_behind or sizes)[0]
    reading.problems.total = (line, size.high if size.kind == "length" else 60.0 * size.high)
    reading.said(line, "a check of the whole, not part of the class")
    return True


def _is_open_total(reading: Reading, line: Line, tokens: list[Token]) -> bool:
    """ "total = ??, count again": a sum that is still to be made."""
    open_ = any(token.kind == "mark" and token.text in "=?" for token in reading.tokens_of(line)[1:4])
    return tokens[0].says("top.total") and open_ and len(tokens) > 1 and tokens[1].kind != "number"


def is_errand(reading: Reading, line: Line, *, over: bool) -> bool:
    """Take a line for a note that speaks of the room and the people: "bring straps", "kettle on", "who has the key?".

    Outside the class one word of such talk is enough; within it, or beside words of something that is done, more are.

    Args:
        reading: what is known of the note.
        line: it.
        over: the class lies above it.
    """
    lexicon = reading.scanner.lexicon
    found = lexicon.talk_in(spelled(line.text))
    first = reading.lines[0] is line  # the title, or the class itself
    if first or line.number in reading.front or line.number in reading.rows:
        return False
    tokens = reading.tokens_of(line)
    over = over or not (reading.items or reading.stack)
    if _is_reminder(reading, line) or _leaves(reading, line) or (over and _lists_props(reading, line)):
        remark(reading, line)
        return True
    if not found or (over and reading.rested and any(token.says("once.greet") for token in tokens)):
        return False  # "bring them back slowly, sit, thank you"
    known = [token for token in tokens if " ".join(spelled(token.text)) not in found]
    needed = 1 if over else 2
    things = all(lexicon.talk[tuple(word.split())] == "props" for word in found)
    needed += things and any(token.kind in ("number", "times") or token.says("columns.section") for token in tokens)
    needed += any(token.says("once", "kinds", "moves", "easy") for token in known)
    flat = [part for token in tokens for part in (token, *token.inner)]
    sized = any(token.kind in _SIZED for token in flat)
    needed += sized and (len(spelled(line.text)) < MANY_WORDS or not over)
    if sized and not any(token.kind == "length" and token.high >= LEAST_OF_ROOM_S for token in flat):
        return False
    needed += 2 * any(token.kind == "pose" and not token.broad for token in known)
    needed += any(token.kind == "length" and token.unit == "breaths" for token in tokens)
    if len(found) < needed or (not over and sized):
        return False
    remark(reading, line)
    return True


def _is_reminder(reading: Reading, line: Line) -> bool:
    """ "Ask about dates", "if late: skip the wheel", "homework: hips": its first words say that it is for oneself."""
    flat = [part for token in reading.tokens_of(line) for part in (token, *token.inner)]
    if not reading.scanner.lexicon.reminds(spelled(line.text)) or any(token.says("how.optional") for token in flat):
        return False
    named = any(token.kind == "pose" and not token.broad for token in flat)
    timed = any(token.kind in _SIZED and token.high < LEAST_OF_ROOM_S for token in flat)
    return not timed and not (named and any(token.kind == "times" for token in flat))


def _lists_props(reading: Reading, line: Line) -> bool:
    """ "2 blankets, 2 blocks, bell (find the stick)": the first thing named is one to lay out, and no time stands."""
    tokens = reading.tokens_of(line)
    first = list(itertools.takewhile(lambda token: token.kind != "mark" or token.text == "+", tokens))
    lexicon = reading.scanner.lexicon
    named = [token for token in first if not token.says("columns.section")]  # "block 1"
    thing = any(lexicon.talk.get(spelled(token.text)) == "props" for token in named)
    done = any(token.match for token in first) or any(token.kind in _SIZED for token in tokens)
    return thing and not done


def _leaves(reading: Reading, line: Line) -> bool:
    """ "12.45 OUT, choir waits", "off the grass by 8.42": a time of day and a word of leaving, and no pose."""
    tokens = reading.tokens_of(line)
    words = spelled(line.text)
    if any(token.says("intervals.work") for token in tokens):
        return False  # "45 on/15 off, 1:00 between rounds"
    over = (reading.rested or reading.ended) and reading.scanner.lexicon.leaves(words[:1])
    if over and not any(token.kind in _SIZED for token in tokens):
        return True  # "out the door by 1, next class waiting"
    told = _CLOCK.search(line.text) and reading.scanner.lexicon.leaves(words)
    return bool(told) and not any(token.kind == "pose" and not token.broad for token in tokens)


def is_key(reading: Reading, line: Line) -> bool:
    """Take a line that says how the class is done; say whether it is one."""
    if ":" in line.text and not names_key(line.text):
        line_said = line_of(reading.tokens_of(line), reading.around())
        if line_said.moves or kind_named(line.text.partition(":")[0]):
            return False
    if _heads_below(reading, line) or _tells_what_is_done(line.text) or _tells_a_practice(reading, line):
        return False
    found = read_key(line, reading.top, reading.stack[-1] if reading.stack else None, reading.problems)
    if found:
        reading.said(line, "a setting of the class" if not reading.stack else "how this part is done")
    if found and (span := clock_span(line.text)):
        note_slot(reading, None, span[1])
    return found


def _heads_below(reading: Reading, line: Line) -> bool:
    """ "Ground: 8 mins", no setting by its name, right above lines of the class: a part, and its minutes."""
    at = reading.places[line.number] + 1
    below = reading.lines[at] if at < len(reading.lines) else None
    value = [token for token in reading.tokens_of(line) if token.kind == "length" and token.unit == "seconds"]
    plain = not reading.has_signs and line.form == "text" and not names_key(line.text) and len(value) == 1
    return plain and below is not None and not below.first and value[0].high < LEAST_OF_ROOM_S


def _tells_a_practice(reading: Reading, line: Line) -> bool:
    """ "Breath - 4 in 6 out 3 mins": some minutes of breathing, not how long a breath is."""
    tokens = reading.tokens_of(line)
    return tokens[0].says("kinds.breathing") and any(
        token.kind == "length" and token.unit == "seconds" and token.low >= LEAST_PRACTICE_S for token in tokens
    )


def _tells_what_is_done(text: str) -> bool:
    """ "Settle: lie on your back, knees bent - 4 mins": a line of the class, no setting."""
    name, colon, value = text.partition(":")
    words = value.split()
    return bool(colon) and spelled(name) in _TIME_KEYS and len(words) > MOST_WORDS and not words[0][0].isdigit()


def _speaks_of_music(tokens: list[Token]) -> bool:
    """ "Music on, something jolly": words about the music that need be no wish, without a time or a thing to do."""
    first = next((token for token in tokens[:2] if token.says("music.word") and not token.says("kinds", "moves")), None)
    if first is None or len(tokens) < 2 or all(token.says("music", "join") for token in tokens):
        return False
    named = ("once.say", "once.pause", "kinds", "sides")
    flat = [part for token in tokens for part in (token, *token.inner)]
    return not any(is_size(token) or token.kind == "pose" or token.says(*named) for token in flat)


def is_music(reading: Reading, line: Line) -> bool:
    """A line that is a wish for the music alone: it holds from here on."""
    tokens = [token for token in reading.tokens_of(line) if token.kind != "mark"]
    freely = ":" not in line.text and _speaks_of_music(tokens)
    if not tokens or not (freely or all(token.says("music", "join") for token in tokens)):
        return False
    if all(token.roles <= {"music.word", "once.song"} for token in tokens) or (
        len(tokens) == 1 and tokens[0].says("kinds")
    ):
        return False
    wishes = Wishes()
    for token in tokens:
        wishes = wished(wishes, token)
    if freely and wishes.level is None and any(token.says("how.slow", "how.quick") for token in tokens):
        wishes = replace(wishes, level="quiet" if any(token.says("how.slow") for token in tokens) else "driving")
    if freely and wishes == Wishes():
        remark(reading, line)
        return True
    if not reading.stack:
        reading.top.wishes = wishes if reading.top.wishes == Wishes() else reading.top.wishes
    elif reading.stack[-1].parts:
        reading.stack[-1].music_from.append((len(reading.stack[-1].parts), wishes))
    else:
        reading.stack[-1].said.wishes = wishes
    reading.said(line, f"music from here on: {says_of(wishes)}")
    return True
