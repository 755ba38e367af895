"""Laws of reading and printing plans: no text breaks it, every line is accounted for, a printed plan reads the same."""

import re
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pairing.effort.timetable import build_timetable
from pairing.errors import PlanError
from pairing.model import Element, Finding, Group, Place, Plan, Section
from pairing.plan.edit import apply_edits, clear_edits
from pairing.plan.lines import scan, split_lines
from pairing.plan.poses import pose_table
from pairing.plan.read import read_plan
from pairing.plan.write import write_plan

NAMES = [name for pose in pose_table().poses.values() for name in pose.names]
PIECES = [
    "3 breaths",
    "3-5 breaths",
    "half a breath",
    "inhale",
    "exhale",
    "30 s",
    "2 minutes",
    "1:30",
    "5'",
    "x3",
    "3x",
    "3 times",
    "each side",
    "e/s",
    "R/L",
    "right",
    "left",
    "between sides",
    "after both sides",
    "optional",
    "round 2",
    "rounds 1-2",
    "from round 2",
    "last round",
    "not last round",
    "no hold",
    "supported",
    "quiet",
    "driving music",
    "no music",
    "no voice",
    "energy 60%",
    "same music",
    'from "harbour"',
    "beat 120-128",
    "silent last 2 minutes",
    "rises into",
    "no singing while I speak",
    "breaks at",
    "(long line)",
    "with a block",
    "on the wall, 5 breaths",
    "or crow",
    "knee down or lifted",
    "each",
    "5",
    "2 breth",
]
HEADING_PIECES = [
    "3 rounds",
    "each round 15% quicker",
    "both sides",
    "left first",
    "12 minutes",
    "what is left",
    "at least 5 minutes",
    "breath 6 seconds",
    "between 15 seconds",
    "optional",
    "repeat Tide",
    "quiet music",
    "steady",
    "silent last 1 minute",
    "(a remark)",
    "2-3 minutes",
    "between 1 breath",
    "30 breaths",
    "1 round",
]
KINDS = [
    "opening",
    "breathing",
    "warm-up",
    "flow",
    "standing",
    "strength",
    "peak",
    "floor",
    "cool-down",
    "rest",
    "closing",
]
TOP = [
    "slot: 60 minutes",
    "settle: 3",
    "leave: 5 min",
    "breath: 4.5 s",
    "breath: 4-6 seconds",
    "holds: slow",
    "between: 1 breath",
    "music: quiet",
    "before: 10 minutes",
    "after: 2:30",
    "start: 6:30 pm",
    "theme: tides",
    "note: lamps",
    "> remark",
    "lesson: one",
]
OTHER = [
    "say: welcome, and where we go, 1 minute",
    "say hello",
    "pause: water, 30 s",
    "silence, 1 minute",
    "bell",
    "bell x3",
    "3 bells, 20 seconds apart",
    "song: Lanterns, on the Pier",
    "song: x, every time",
    "> a remark",
    "other side",
    "say: in 3 minutes we rest, optional",
    "water break",
    "## Own poses",
    "say (2 min): we hold 3 minutes",
]

joined = lambda pieces, most: st.lists(st.sampled_from(pieces), max_size=most)  # noqa: E731
pose_line = st.builds(
    lambda name, said, sep: "- " + sep.join([name, *said]),
    st.sampled_from(NAMES),
    joined(PIECES, 4),
    st.sampled_from([", ", " "]),
)
heading = st.builds(
    lambda level, name, kind, said: f"{level} {name}: " + ", ".join([kind, *said]),
    st.sampled_from(["##", "##", "###"]),
    st.sampled_from(["Tide", "Ebb", "Crest", "", "Flow"]),
    st.sampled_from(KINDS),
    joined(HEADING_PIECES, 3),
)
line = st.one_of(
    pose_line, pose_line, pose_line, heading, st.sampled_from(OTHER).map("- ".__add__), st.sampled_from(OTHER)
)
likely_plan = st.builds(
    lambda top, lines: "\n".join(["# Class", *top, "## Tide: flow, both sides, 2 rounds", *lines]),
    joined(TOP, 4),
    st.lists(line, max_size=8),
)
noise = st.text(
    st.sampled_from("ab-#*>|:,;/()[]<>'\"0123456789x×½ \t\r\n.%&_=~`\\–•é\u2028\x0b\x1b\ud800️₂五"), max_size=80
)
typed = [path.read_text(encoding="utf-8") for path in sorted((Path(__file__).parent / "plans").glob("*.[mt][dx]*"))]


@st.composite
def mistyped(draw: st.DrawFn) -> str:
    """Some lines of the plans typed by instinct, in another order, a few characters put in, left out or doubled."""
    lines = draw(st.lists(st.sampled_from([line for text in typed for line in text.splitlines()]), max_size=20))
    text = "\n".join(lines)
    for _ in range(draw(st.integers(0, 6))):
        at = draw(st.integers(0, max(len(text) - 1, 0)))
        text = (
            text[:at]
            + draw(st.one_of(noise.map(lambda bit: bit[:3]), st.sampled_from(PIECES)))
            + text[at + draw(st.integers(0, 3)) :]
        )
    return text


broken_plan = st.builds(
    lambda text, bits, cuts: "".join(
        part for pair in zip(re.split("(?<=[ ,])", text), [*bits, *[""] * 999], strict=False) for part in pair
    )[: len(text) - cuts],
    likely_plan,
    st.lists(st.one_of(noise, st.just("")), max_size=30),
    st.integers(0, 30),
)


def bare(part: Element | Group) -> Element | Group:
    if isinstance(part, Element):
        return replace(part, place=Place(0))
    return replace(part, place=Place(0), parts=tuple(map(bare, part.parts)))


def meaning(plan: Plan) -> Plan:
    """The plan without where and how it was typed."""
    sections = tuple(section for section in map(bare, plan.sections) if isinstance(section, Section))
    return replace(
        plan, sections=sections, file="", text="", taken_as=(), questions=(), lines=(), total=None, slot_by_title=False
    )


def elements(group: Group) -> list[Element]:
    inside = [elements(part) if isinstance(part, Group) else [part] for part in group.parts]
    return [element for part in inside for element in part]


def asked(result: Plan | PlanError) -> tuple[Finding, ...]:
    return result.questions if isinstance(result, Plan) else result.findings


def try_to_read(text: str) -> Plan | PlanError:
    try:
        return read_plan(text)
    except PlanError as error:
        return error


@given(st.one_of(likely_plan, broken_plan, mistyped(), noise, st.text(max_size=200)))
@settings(max_examples=150, deadline=None)
def test_any_text_is_a_plan_or_gives_findings_with_line_and_column(text: str) -> None:
    result = try_to_read(text)
    for finding in asked(result):
        assert (finding.level, bool(finding.message), bool(finding.remedy)) == ("must", True, True)
        place = re.fullmatch(r"plan\.md, line (\d+), column (\d+)", str(finding.where))
        if place is None:  # the file as a whole
            assert (str(finding.where), finding.code) == ("plan.md", "no-class")
            continue
        typed = split_lines(text)[int(place[1]) - 1]
        assert 1 <= int(place[2]) <= len(typed)
    if isinstance(result, Plan):
        assert result.text == text


@given(st.one_of(likely_plan, broken_plan, mistyped()))
@settings(max_examples=100, deadline=None)
def test_every_line_is_echoed_and_an_answer_changes_no_other_line(text: str) -> None:
    plan = try_to_read(text)
    if not isinstance(plan, Plan):
        return
    assert {line.line for line in plan.lines} >= {line.number for line in scan(text)}
    assert all(line.says for line in plan.lines)
    says = {line.line: line.says for line in plan.lines}
    edits = clear_edits(plan, read_plan)
    mended = try_to_read(apply_edits(text, edits))
    if edits and isinstance(mended, Plan):
        changed = {edit.line for edit in edits}
        assert all(says[line.line] == line.says for line in mended.lines if line.line not in changed)


def steps(plan: Plan) -> list[tuple[object, ...]]:
    """What is done, in order, with its time; by whatever lines and groups."""
    made = build_timetable(plan, pose_table()).steps
    return [(step.what, step.pose_id, step.side, step.times, round(step.start_s), round(step.end_s)) for step in made]


@given(likely_plan)
@settings(max_examples=150, deadline=None)
def test_a_printed_plan_is_the_same_class(text: str) -> None:
    plan = try_to_read(text)
    if isinstance(plan, Plan) and not plan.questions:
        again = read_plan(write_plan(plan))
        assert (again.title, again.slot_s, again.facts) == (plan.title, plan.slot_s, plan.facts)
        assert steps(again) == steps(plan)


@given(likely_plan)
@settings(max_examples=150, deadline=None)
def test_every_line_of_a_list_becomes_a_line_of_the_plan_or_a_finding(text: str) -> None:
    plan = try_to_read(text)
    listed = {line.number for line in scan(text) if line.form == "item"}
    if isinstance(plan, Plan):
        told = {line.line for line in plan.lines}
        assert listed <= told


@given(broken_plan)
@settings(max_examples=150, deadline=None)
def test_corrections_change_only_the_lines_they_name(text: str) -> None:
    result = try_to_read(text)
    if result:
        edits = [edit for finding in asked(result) for edit in finding.edits]
        changed = {edit.line for edit in edits}
        before, after = (
            split_lines(text),
            split_lines(apply_edits(text, [e for e in edits if e.new and "\n" not in e.new])),
        )
        assert len(before) == len(after) or any(edit.new and re.search("[\r\n]", edit.new) for edit in edits)
        if len(before) == len(after):
            assert all(a == b for n, (a, b) in enumerate(zip(before, after, strict=True), 1) if n not in changed)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "\n",
        "#",
        "-",
        "## ",
        "# \n## :\n- ",
        "\x00",
        "- " * 5000,
        "(" * 3000,
        "1" * 3000,
        "## A: flow\n- tree, " + "3-" * 2000,
        "x3" * 3000,
        "-" * 5000 + "\n" + "=" * 5000,
        "## A: flow\n- tree " + "or crow " * 800,
        "## a: flow\n- " + "one " * 3000,
    ],
)
def test_degenerate_texts_end_quickly(text: str) -> None:
    assert isinstance(try_to_read(text), Plan | PlanError)
