"""The calendar entry, read back by another's library and held against RFC 5545."""

import datetime
import re
from dataclasses import replace

import icalendar
from hypothesis import given
from hypothesis import strategies as st
from show_class import HOSTILE

from audio.text import one_line
from pairing.model import Plan
from pairing.show.calendar import calendar_entry, next_start, starts_on

PLAN = Plan("Harbour", (), start="18:30", facts=(("props", "two blocks; a strap, long"),))
START = datetime.datetime(2027, 3, 6, 18, 30)
NOW = datetime.datetime(2027, 3, 1, 9, 15, tzinfo=datetime.timezone(datetime.timedelta(hours=2)))


def event_of(text):
    found = icalendar.Calendar.from_ical(text.encode())
    (event,) = found.walk("VEVENT")
    return event


def test_another_program_reads_the_class_with_its_sections(setlist):
    text = calendar_entry(setlist, PLAN, START, NOW)
    event = event_of(text)
    assert (event["SUMMARY"], event.decoded("DTSTART")) == ("Harbour evening flow", START)
    assert event.decoded("DTEND") - event.decoded("DTSTART") == datetime.timedelta(hours=1)
    assert event.decoded("DTSTAMP") == datetime.datetime(2027, 3, 1, 7, 15, tzinfo=datetime.UTC)
    said = str(event["DESCRIPTION"]).split("\n")
    assert said[0] == "60 minutes, 12 tracks"
    assert said[1] == "18:30 Arrive: opening, 7:42 minutes, easy"
    assert [line.split(":")[0][-2:] + line.split(":")[1][:2] for line in said[1:8]] == [
        f"{(START + datetime.timedelta(seconds=round(s.start_s))):%H%M}" for s in setlist.sections
    ]
    assert said[-1] == "Props: two blocks; a strap, long"


def test_what_rfc_5545_requires_is_there_and_the_library_finds_no_fault(setlist):
    found = icalendar.Calendar.from_ical(calendar_entry(setlist, PLAN, START, NOW).encode())
    assert found["VERSION"] == "2.0"  # 3.7.4
    assert found["PRODID"]  # 3.7.3
    (event,) = found.walk("VEVENT")
    assert {"UID", "DTSTAMP", "DTSTART"} <= set(event)  # 3.6.1
    assert found.errors == event.errors == []


def test_the_same_class_on_the_same_day_is_the_same_entry_and_another_day_another(setlist):
    first = event_of(calendar_entry(setlist, PLAN, START, NOW))
    changed = replace(setlist, picks=setlist.picks[:-1])
    again = event_of(calendar_entry(changed, PLAN, START, NOW + datetime.timedelta(days=1)))
    later = event_of(calendar_entry(setlist, PLAN, START + datetime.timedelta(days=7), NOW))
    assert first["UID"] == again["UID"] != later["UID"]
    assert again.decoded("DTSTAMP") > first.decoded("DTSTAMP")


@given(title=st.one_of(st.sampled_from(HOSTILE), st.text(max_size=200)), name=st.text(max_size=120))
def test_any_words_come_back_whole_in_lines_as_long_as_allowed(setlist, title, name):
    sections = (replace(setlist.sections[0], name=name), *setlist.sections[1:])
    text = calendar_entry(replace(setlist, title=title, sections=sections), PLAN, START, NOW)
    assert not re.search(r"(?<!\r)\n|\r(?!\n)", text)  # 3.1: lines end with CR LF
    assert all(len(line.encode()) <= 75 for line in text.split("\r\n"))  # 3.1: "SHOULD NOT be longer than 75 octets"
    event = event_of(text)
    assert event["SUMMARY"] == (one_line(title) or "A class")
    assert one_line(name) in str(event["DESCRIPTION"])


def test_without_a_day_it_is_the_next_time_the_hour_comes():
    morning = datetime.datetime(2027, 3, 6, 9, 0)
    assert next_start(PLAN, morning) == START
    assert next_start(PLAN, START + datetime.timedelta(seconds=1)) == START + datetime.timedelta(days=1)


def test_a_plan_without_an_hour_has_the_day_and_the_minutes_of_the_class(setlist):
    plan = Plan("Harbour", ())
    assert next_start(plan, datetime.datetime(2027, 3, 6, 23, 0)) == datetime.date(2027, 3, 6)
    event = event_of(calendar_entry(setlist, plan, starts_on(plan, START.date()), NOW))
    assert event.decoded("DTSTART") == START.date()  # 3.6.1: a VEVENT with a DATE lasts that day
    assert "DTEND" not in event
    assert str(event["DESCRIPTION"]).split("\n")[2] == "7:42 Salutes: warm-up, 8:04 minutes, working"
