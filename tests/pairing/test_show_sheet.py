"""The page as a file: self-contained, small, holding everything, harmless."""

import base64
import datetime
import hashlib
import json
import re
from dataclasses import replace
from html.parser import HTMLParser

import pytest
from show_class import (
    FINDINGS,
    HOSTILE,
    a_class,
    a_set,
    an_arc,
    hostile_set,
    hostile_timetable,
    tracks_of,
)

from audio.text import one_line
from pairing.model import Finding, Plan, SetFrame, Swap, Where
from pairing.plan.read import read_plan
from pairing.plan.starter import starting_plan
from pairing.sets.mixdown import origin_s
from pairing.show.sheet import sheet_html

PLAN = Plan("Harbour", (), start="18:30", facts=(("theme", "letting the tide go out"), ("props", "block, strap")))


class Page(HTMLParser):
    """Elements, attributes and text of a page, as a browser would see them."""

    def __init__(self, html):
        super().__init__(convert_charrefs=True)
        self.tags, self.attributes, self.texts, self.raw, self.inside = [], [], [], {}, []
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes += [(tag, name, value) for name, value in attrs]
        if tag in ("script", "style"):
            self.inside.append((tag, dict(attrs).get("type")))

    def handle_endtag(self, tag):
        if self.inside and self.inside[-1][0] == tag:
            self.inside.pop()

    def handle_data(self, data):
        if self.inside:
            self.raw[self.inside[-1]] = self.raw.get(self.inside[-1], "") + data
        else:
            self.texts.append(data)

    @property
    def text(self):
        return " ".join(" ".join(self.texts).split())


@pytest.fixture(scope="module")
def html(setlist, timetable, arc):
    return sheet_html(
        setlist,
        timetable,
        arc,
        findings=FINDINGS,
        audio="/home/teacher/mixes/harbour evening.mp3",
        plan=PLAN,
        cautions=("Offer fists to sore wrists.",),
        tracks=tracks_of(setlist),
    )


def test_everything_a_teacher_needs_stands_on_it(html, setlist, timetable):
    text = Page(html).text
    for pick in setlist.picks:
        assert pick.title in text
        assert pick.artist in text
    for section in timetable.sections:
        assert section.name in text
    for step in timetable.steps:
        assert step.name in text
    for words in (
        "18:30 to 19:30",
        "letting the tide go out",
        "beats a breath",
        "no clear beat",
        "no voice",
        "starts 0:48 in",
        "If not yet: leave out Vinyasa in Tide",
        "60 min left",
        "each side",
        "welcome, and where we are going",
        "Offer fists to sore wrists.",
        "not medical advice",
        "NIOSH 98-126",
        "public performance",
        "changes while warrior three is held.",
    ):
        assert words in text


def test_it_asks_nothing_of_the_network(html):
    page = Page(html)
    for tag, name, value in page.attributes:
        if name in ("src", "href", "data", "action", "srcset", "poster") or name.startswith("xlink"):
            assert value.startswith(("#", "data:")), (tag, name, value)
    for (tag, _), content in page.raw.items():
        if tag == "style":
            assert not re.search(r"url\((?!data:)|@import", content)
    assert not re.search(r"https?://(?!www\.w3\.org/2000/svg)", html)


def test_its_policy_names_its_own_script_and_style_by_hash_and_nothing_else(html):
    page = Page(html)
    policy = next(v for _, n, v in page.attributes if n == "content" and "default-src" in v)
    rules = dict(part.split(" ", 1) for part in policy.split("; "))
    assert rules["default-src"] == "'none'"
    assert "unsafe" not in policy
    script = re.search(r"<script>(.*?)</script>", html, re.DOTALL)[1]
    style = re.search(r"<style>(.*?)</style>", html, re.DOTALL)[1]
    for content, rule in ((script, "script-src"), (style, "style-src")):
        # Content Security Policy Level 3, 2.3.1 and 6.7.2.3: sha256 of the element's text, base64
        digest = base64.b64encode(hashlib.sha256(content.encode()).digest()).decode()
        assert rules[rule] == f"'sha256-{digest}'"
    assert html.count("<script") == 2  # the clock, and its data, which does not run
    assert " style=" not in html


def test_no_path_of_the_teachers_machine_is_on_it(html):
    assert "/home/" not in html
    assert "teacher" not in html
    assert "music/" not in html
    data = json.loads(Page(html).raw[("script", "application/json")])
    assert data["audio"] == "./harbour%20evening.mp3"


def test_a_finding_loses_the_folders_it_names(setlist, timetable, arc):
    picks = (replace(setlist.picks[0], path="/home/teacher/my music/a.mp3"), *setlist.picks[1:])
    lost = Finding("must", "lost", Where("/home/teacher/plans/a.md", 3), 'no file "/home/teacher/my music/a.mp3".')
    html = sheet_html(
        replace(setlist, picks=picks, plan=replace(setlist.plan, path="/home/teacher/plans/a.md")),
        timetable,
        arc,
        findings=(lost,),
    )
    assert "no file &#34;a.mp3&#34;." in html
    assert "teacher" not in html


def test_no_command_and_no_line_number_is_read_on_a_mat(setlist, timetable, arc):
    swap = Finding(
        "should",
        "a",
        Where("saturday.md", 14, 3, section="Tide"),
        "is too lively.",
        "Take a calmer one.",
        deeds=(Swap(4),),
    )
    mend = Finding("must", "b", Where("saturday.md", 20, 1), "there is no rest.", "Add one.")
    text = Page(sheet_html(setlist, timetable, arc, findings=(swap, mend), plan=PLAN)).text
    assert "Mend first: there is no rest. Add one." in text
    assert re.search(r"Tide ?: is too lively\. Take a calmer one\.", text)
    assert not re.search(r"arcbed|\bline \d|saturday\.md|\.json", text)


def test_a_day_that_is_known_stands_on_the_sheet(setlist, timetable, arc):
    day = datetime.date(2026, 12, 5)  # a Saturday, says any calendar
    assert "Saturday 5 December 2026" in Page(sheet_html(setlist, timetable, arc, findings=(), day=day)).text


def test_remarks_of_a_starting_plan_are_no_notes_of_the_teacher(setlist, timetable, arc):
    plan = read_plan(starting_plan(60).replace("\n", "\n> doors at ten to\n", 1), file="a.md")
    assert len(plan.facts) > 1
    text = Page(sheet_html(setlist, timetable, arc, findings=(), plan=plan)).text
    assert "doors at ten to" in text
    assert "A starting plan" not in text
    assert "Lines like this" not in text


@pytest.mark.parametrize(
    ("given", "address"),
    [
        ("mix.mp3", "./mix.mp3"),
        (r"C:\Users\t\mix #1.mp3", "./mix%20%231.mp3"),
        ("a/b:c?.ogg", "./a/b%3Ac%3F.ogg"),
        ("\udcff.mp3", "./%FF.mp3"),
        ("../secret/mix.mp3", "./mix.mp3"),
    ],
)
def test_the_mix_is_named_as_an_address_beside_the_page(setlist, timetable, arc, given, address):
    html = sheet_html(setlist, timetable, arc, findings=(), audio=given)
    assert json.loads(Page(html).raw[("script", "application/json")])["audio"] == address


def test_a_class_of_90_minutes_stays_under_400_kilobytes():
    timetable = a_class(90, rest_minutes=9)
    arc = an_arc(timetable)
    setlist = a_set(timetable, arc, tracks=18)
    html = sheet_html(setlist, timetable, arc, findings=FINDINGS, tracks=tracks_of(setlist), plan=PLAN)
    assert len(html.encode()) < 400_000


def test_hostile_text_adds_no_element_and_no_attribute(timetable, arc):
    tame = sheet_html(
        replace(
            hostile_set(timetable, arc),
            picks=tuple(replace(p, title="a", artist="b", path="c.mp3") for p in hostile_set(timetable, arc).picks),
        ),
        timetable,
        arc,
        findings=[Finding("must", "c", Where(name="a"), "b", "c")] * len(HOSTILE),
        plan=PLAN,
    )
    setlist = hostile_set(timetable, arc)
    facts = tuple((text, text) for text in HOSTILE)
    html = sheet_html(
        setlist,
        hostile_timetable(timetable),
        arc,
        findings=setlist.findings,
        cautions=HOSTILE,
        audio=HOSTILE[1],
        plan=replace(PLAN, facts=facts),
        tracks=tracks_of(setlist),
    )
    page = Page(html)
    assert set(page.tags) <= set(Page(tame).tags) | {"audio", "q", "i"}
    assert not [name for _, name, _ in page.attributes if name.startswith("on") or name == "style"]
    assert not re.search("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]", html)
    shown = page.text
    for text in HOSTILE:
        assert " ".join(one_line(text).split()) in shown
    data = json.loads(page.raw[("script", "application/json")])
    assert data["tracks"][0][1] == HOSTILE[0]
    assert max(len(title) for _, title, _, _ in data["tracks"]) <= 60  # the clock's buttons stay where they are
    html.encode("utf-8")


@pytest.mark.parametrize("comes_in_s", [-600.0, -585.0])  # also where the mix begins with silence
def test_the_clock_counts_from_where_the_mix_begins(setlist, timetable, arc, comes_in_s):
    first, last = setlist.picks[0], setlist.picks[-1]
    picks = (
        replace(first, class_start_s=comes_in_s),
        *setlist.picks[1:-1],
        replace(last, class_end_s=setlist.class_s + 300),
    )
    early = replace(setlist, picks=picks, frame=SetFrame(600.0, 300.0))
    html = sheet_html(early, timetable, arc, findings=())
    data = json.loads(Page(html).raw[("script", "application/json")])
    assert (data["from_s"], data["to_s"]) == (origin_s(early), pytest.approx(setlist.class_s + 300))
    assert data["from_s"] == -600.0


def test_music_before_and_after_the_class_stands_in_parts_of_its_own(setlist, timetable, arc):
    first, last = setlist.picks[0], setlist.picks[-1]
    early = replace(first, n=1, title="Doors open", class_start_s=-600.0, class_end_s=2.0)
    after = replace(last, n=99, title="Coats on", class_start_s=setlist.class_s, class_end_s=setlist.class_s + 200)
    html = sheet_html(replace(setlist, picks=(early, *setlist.picks, after)), timetable, arc, findings=())
    parts = re.findall(r"<table.*?</table>", html, re.DOTALL)
    assert "Before the class" in parts[0]
    assert "Doors open" in parts[0]
    assert "After the class" in parts[-1]
    assert "Coats on" in parts[-1]
    assert "You " not in parts[0] + parts[-1]
    assert len(parts) == len(timetable.sections) + 2


def test_what_was_assumed_stands_on_the_page(setlist, timetable, arc):
    text = Page(sheet_html(setlist, timetable, arc, findings=())).text
    assert "It may take from 57:00 to 1:04:48, as options and breath go. A breath takes 5 seconds." in text


def test_the_hour_that_the_hearing_caution_names_follows_from_its_rule(html):
    """NIOSH 98-126: T(h) = 8 / 2^((L - 85) / 3), so 94 dBA for one hour in all."""
    assert 8 / 2 ** ((94 - 85) / 3) == 1
    text = Page(html).text
    assert "At most 85 dBA over 8 hours a day" in text
    assert "94 dBA for one hour in all (NIOSH 98-126). Your local rules come first." in text


def test_a_set_without_rest_or_findings_has_a_page_too(setlist, timetable, arc):
    bare = replace(setlist, rest=None, findings=(), picks=(), slot_s=None)
    text = Page(sheet_html(bare, timetable, arc, findings=())).text
    assert "Worth knowing before the class" not in text
    assert "Tide" in text


def test_cautions_among_the_findings_stand_with_the_cautions(setlist, timetable, arc):
    caution = Finding("note", "caution-wrists", Where("a.md"), "Weight on the hands: crow.", "Offer fists.")
    html = sheet_html(setlist, timetable, arc, findings=(caution,))
    assert "<li><bdi>Weight on the hands: crow. Offer fists.</bdi></li>" in html
    assert "Worth knowing before the class" not in html


def test_the_same_set_gives_the_same_page(setlist, timetable, arc):
    assert sheet_html(setlist, timetable, arc, findings=FINDINGS) == sheet_html(
        setlist, timetable, arc, findings=FINDINGS
    )
