"""A class as an entry of a calendar: iCalendar, RFC 5545, one event whose description holds the sections.

Times are floating (RFC 5545, section 3.3.5, form 1): the hour of the plan is that of the wall where the class is.
"""

import datetime
import uuid
from collections.abc import Iterator

from audio.text import clock, one_line
from pairing.model import Plan, SetList
from pairing.plan.starter import is_remark
from pairing.show.text import counted, length
from pairing.show.words import effort

FOLDED_AT = 75  # octets of a line, its break not counted (section 3.1)
PRODUCT = "-//arcbed//class with its music//EN"
SPACE = uuid.uuid5(uuid.NAMESPACE_URL, "arcbed:class")  # of the UIDs below, so that they stay the same


Start = datetime.datetime | datetime.date


def starts_on(plan: Plan, day: datetime.date) -> Start:
    """When the class of a plan starts on a day; the day alone where the plan names no hour."""
    if not plan.start:
        return day
    hour, _, minute = plan.start.partition(":")
    return datetime.datetime.combine(day, datetime.time(int(hour) % 24, int(minute or 0)))


def next_start(plan: Plan, now: datetime.datetime) -> Start:
    """The next time that the hour of a plan comes round, `now` being local time; today where it names none."""
    today = starts_on(plan, now.date())
    gone = isinstance(today, datetime.datetime) and today < now
    return today + datetime.timedelta(days=1) if gone else today


def calendar_entry(setlist: SetList, plan: Plan, starts: Start, written: datetime.datetime) -> str:
    """Write a class as an iCalendar object, with line breaks CR LF.

    Args:
        starts: the first breath, local time, or the day.
        written: now, with its time zone; the same class on the same day keeps its UID however often it is written,
            so that a calendar renews its entry instead of adding one.
    """
    title = one_line(setlist.title) or "A class"
    name = f"{one_line(plan.title) or title}|{starts.isoformat()}"
    lines = (
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        f"PRODID:{PRODUCT}",
        "CALSCALE:GREGORIAN",
        "BEGIN:VEVENT",
        f"UID:{uuid.uuid5(SPACE, name)}",
        f"DTSTAMP:{written.astimezone(datetime.UTC):%Y%m%dT%H%M%SZ}",
        *_times(starts, setlist.class_s),
        f"SUMMARY:{_escaped(title)}",
        f"DESCRIPTION:{_escaped(chr(10).join(_described(setlist, plan, starts)))}",
        "END:VEVENT",
        "END:VCALENDAR",
    )
    return "".join(f"{part}\r\n" for line in lines for part in _folded(line))


def _times(starts: Start, class_s: float) -> Iterator[str]:
    if not isinstance(starts, datetime.datetime):
        yield f"DTSTART;VALUE=DATE:{starts:%Y%m%d}"
        return
    yield f"DTSTART:{starts:%Y%m%dT%H%M%S}"
    yield f"DTEND:{starts + datetime.timedelta(seconds=round(class_s)):%Y%m%dT%H%M%S}"


def _at(starts: Start, at_s: float) -> str:
    """A moment of the class by the clock on the wall, or by its own where no hour is known."""
    if not isinstance(starts, datetime.datetime):
        return clock(at_s)
    return f"{starts + datetime.timedelta(seconds=round(at_s)):%H:%M}"


def _described(setlist: SetList, plan: Plan, starts: Start) -> Iterator[str]:
    """The sections by the clock, the music, and what the teacher noted."""
    yield f"{length(setlist.class_s)}, {counted(len(setlist.picks), 'track', 'tracks')}"
    for section in setlist.sections:
        about = (section.kind.value, length(section.end_s - section.start_s), effort(section.mean_mets))
        yield f"{_at(starts, section.start_s)} {one_line(section.name)}: {', '.join(about)}"
    if setlist.rest and setlist.rest.bells_s:
        yield f"Bell at {', '.join(clock(at_s) for at_s in setlist.rest.bells_s)} of the class"
    for key, value in plan.facts:
        if not is_remark(value):
            yield f"{one_line(key).capitalize()}: {one_line(value)}"


def _escaped(text: str) -> str:
    """A value of type TEXT (section 3.3.11)."""
    for character in "\\;,":
        text = text.replace(character, "\\" + character)
    return text.replace("\n", "\\n")


def _folded(line: str) -> Iterator[str]:
    """A content line in parts of at most 75 octets, no character torn; each but the first begins with a space."""
    part = ""
    for character in line:
        if len(part.encode()) + len(character.encode()) > FOLDED_AT:
            yield part
            part = " "
        part += character
    yield part
