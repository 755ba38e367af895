"""Every row of the tables of docs/plan-language.md, as the plan that it makes and as it is written again."""

import re
from dataclasses import replace

import pytest

from pairing.model import Element, Group, Kind, Length, Place, Plan, Section, Wishes
from pairing.plan.read import read_plan
from pairing.plan.write import write_plan

MINUTE, FIVE = Length("seconds", 60, 60, 60), Length("breaths", 5, 5, 5)


def seconds(likely: float, shortest: float | None = None, longest: float | None = None) -> Length:
    return Length("seconds", likely, likely if shortest is None else shortest, likely if longest is None else longest)


def breaths(likely: float, shortest: float | None = None, longest: float | None = None) -> Length:
    return replace(seconds(likely, shortest, longest), unit="breaths")


def plan_of(text: str) -> Plan:
    plan = read_plan(text, file="a.md")
    assert plan.questions == (), plan.questions
    return plan


def differing(one: object, usual: object) -> dict[str, object]:
    """The values that a row sets."""
    return {
        name: getattr(one, name)
        for name in one.__dataclass_fields__  # type: ignore[attr-defined]
        if getattr(one, name) != getattr(usual, name)
        and name not in ("name", "place", "parts", "text", "lines", "taken_as")
    }


# ---- the top -----------------------------------------------------------------------------------------------------

PLAIN = "\n## A: flow\n- plank, 5 breaths\n"
TOP = [
    ("slot: 60 minutes", {"slot_s": 3600.0}),
    ("slot: 60", {"slot_s": 3600.0}),
    ("slot: 1 h 15", {"slot_s": 4500.0}),
    ("slot: 12:15-13:00", {"slot_s": 2700.0, "start": "12:15"}),
    ("settle: 3 minutes", {"settle_s": 180.0}),
    ("leave: 5 minutes", {"leave_s": 300.0}),
    ("breath: 5 seconds", {"breath_s": 5.0}),
    ("breath: 4-6 seconds", {"breath_s": 5.0, "breath_range_s": (4.0, 6.0)}),
    ("holds: slow", {"holds": "slow"}),
    ("holds: flow", {"holds": "flow"}),
    ("between: 15 seconds", {"between_s": 15.0}),
    ("music: quiet, no voice", {"wishes": Wishes(level="quiet", no_voice=True)}),
    ("before: 10 minutes", {"before_s": 600.0}),
    ("after: 5 minutes", {"after_s": 300.0}),
    ("start: 18:30", {"start": "18:30"}),
    ("theme: tides", {"facts": (("theme", "tides"),)}),
    ("props: two blocks", {"facts": (("props", "two blocks"),)}),
    ("level: all", {"facts": (("level", "all"),)}),
    ("note: slow down", {"facts": (("note", "slow down"),)}),
    ("> slow down", {"facts": (("note", "slow down"),)}),
]


@pytest.mark.parametrize(("row", "sets"), TOP)
def test_the_top(row: str, sets: dict[str, object]) -> None:
    plain = plan_of(f"# Harbour\n{PLAIN}")
    found = differing(plan_of(f"# Harbour\n{row}\n{PLAIN}"), plain)
    assert {name: value for name, value in found.items() if name != "sections"} == sets


# ---- headings ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", list(Kind))
def test_kinds(kind: Kind) -> None:
    (section,) = plan_of(f"# Harbour\n\n## Arrive: {kind.value}\n- plank, 5 breaths\n").sections
    assert (section.kind, section.name) == (kind, "Arrive")


HEADINGS = [
    ("3 rounds", {"rounds": 3}),
    ("3 rounds, each round 15% quicker", {"rounds": 3, "quicker": 0.15}),
    ("both sides", {"both_sides": True}),
    ("both sides, left first", {"both_sides": True, "first_side": "left"}),
    ("12 minutes", {"minutes": seconds(720)}),
    ("what is left, at least 5 minutes", {"what_is_left": True, "at_least_s": 300.0}),
    ("what is left", {"what_is_left": True}),
    ("breath 6 seconds", {"breath_s": 6.0}),
    ("between 20 seconds", {"between_s": 20.0}),
    ("optional", {"optional": True}),
    ("quiet music", {"wishes": Wishes(level="quiet")}),
    ("steady", {"wishes": Wishes(level="steady")}),
    ("driving music", {"wishes": Wishes(level="driving")}),
    ("energy 60%", {"wishes": Wishes(energy=0.6)}),
    ("energy 0%", {"wishes": Wishes(energy=0.0)}),
    ("energy 100%", {"wishes": Wishes(energy=1.0)}),
    ("no music", {"wishes": Wishes(no_music=True)}),
    ("no voice", {"wishes": Wishes(no_voice=True)}),
    ("same music", {"wishes": Wishes(same_music=True)}),
    ('from "Slow and low"', {"wishes": Wishes(folder="Slow and low")}),
    ("from folder Slow and low", {"wishes": Wishes(folder="Slow and low")}),
    ("beat 96-110", {"wishes": Wishes(beat_bpm=(96, 110))}),
    ("silent last 2 minutes", {"wishes": Wishes(silent_last_s=120)}),
    ("no singing while I speak", {"wishes": Wishes(clear_talk=True)}),
    ("rises into", {"wishes": Wishes(rises_into=True)}),
    ("breaks at", {"wishes": Wishes(breaks_at=True)}),
    ("3 rounds, both sides, 12 minutes, no voice", {"rounds": 3, "both_sides": True, "minutes": seconds(720), "wishes": Wishes(no_voice=True)}),
]  # fmt: skip


@pytest.mark.parametrize(("row", "sets"), HEADINGS)
@pytest.mark.parametrize("group", [False, True])
def test_headings(row: str, sets: dict[str, object], group: bool) -> None:
    inner = f"### B, {row}\n- plank, 5 breaths\n"
    text = f"# Harbour\n\n## A: flow\n{inner}" if group else f"# Harbour\n\n## A: flow, {row}\n- plank, 5 breaths\n"
    (section,) = plan_of(text).sections
    made = section.parts[0] if group else section
    usual = plan_of("# Harbour\n\n## A: flow\n### B\n- plank, 5 breaths\n").sections[0]
    assert differing(made, usual.parts[0] if group else usual) == sets


def test_an_earlier_part_is_repeated_with_its_lines_rounds_and_sides() -> None:
    text = "# Harbour\n\n## Tide: flow, both sides, 2 rounds\n- plank, 5 breaths\n\n## Again: flow, repeat Tide\n"
    one, two = plan_of(text).sections
    assert (two.repeats, two.rounds, two.both_sides) == ("Tide", 2, True)
    assert [part.name for part in two.parts] == [part.name for part in one.parts]


# ---- lines -------------------------------------------------------------------------------------------------------

LINES = [
    ("5 breaths", {"length": FIVE}),
    ("half a breath", {"length": breaths(0.5)}),
    ("inhale", {"length": breaths(0.5)}),
    ("exhale", {"length": breaths(0.5)}),
    ("40 seconds", {"length": seconds(40)}),
    ("2 minutes", {"length": seconds(120)}),
    ("1:30", {"length": seconds(90)}),
    ("5'", {"length": seconds(300)}),
    ("3-5 breaths", {"length": breaths(4, 3, 5)}),
    ("1-2 minutes", {"length": seconds(90, 60, 120)}),
    ("x3", {"times": 3}),
    ("3 times", {"times": 3}),
    ("3 reps", {"times": 3}),
    ("5 breaths x3", {"length": FIVE, "times": 3}),
    ("5 breaths, each side", {"length": FIVE, "each_side": True}),
    ("5 breaths e/s", {"length": FIVE, "each_side": True}),
    ("5 breaths each way", {"length": FIVE, "each_side": True}),
    ("5 breaths R/L", {"length": FIVE, "each_side": True}),
    ("5 breaths, right", {"length": FIVE, "side": "right"}),
    ("5 breaths, left", {"length": FIVE, "side": "left"}),
    ("5 breaths, between sides", {"length": FIVE, "once": "between sides"}),
    ("5 breaths, after both sides", {"length": FIVE, "once": "after both sides"}),
    ("5 breaths, optional", {"length": FIVE, "optional": True}),
    ("5 breaths, round 2", {"length": FIVE, "from_round": 2, "to_round": 2}),
    ("5 breaths, rounds 1-2", {"length": FIVE, "to_round": 2}),
    ("5 breaths, rounds 2-3", {"length": FIVE, "from_round": 2, "to_round": 3}),
    ("5 breaths, from round 2", {"length": FIVE, "from_round": 2}),
    ("5 breaths, last round", {"length": FIVE, "last_round": "only"}),
    ("5 breaths, not last round", {"length": FIVE, "last_round": "not"}),
    ("5 breaths, supported", {"length": FIVE, "supported": True}),
    ("5 breaths (long line)", {"length": FIVE, "note": "long line"}),
    ("5 breaths, with a strap", {"length": FIVE, "note": "with a strap"}),
    ("5 breaths, at the wall", {"length": FIVE, "note": "at the wall"}),
    ("5 breaths, on 2 blocks", {"length": FIVE, "note": "on 2 blocks"}),
    ("5 breaths, over a bolster", {"length": FIVE, "note": "over a bolster"}),
    ("5 breaths, knee down or lifted", {"length": FIVE, "note": "knee down or lifted"}),
    ("5 breaths, quiet", {"length": FIVE, "wishes": Wishes(level="quiet")}),
    ("5 breaths, energy 60%", {"length": FIVE, "wishes": Wishes(energy=0.6)}),
    ("5 breaths, rises into", {"length": FIVE, "wishes": Wishes(rises_into=True)}),
    ("5 breaths, breaks at", {"length": FIVE, "wishes": Wishes(breaks_at=True)}),
]


def line_of(line: str) -> Element:
    sides = "" if re.search("e/s|each|R/L", line) else "both sides, "  # one of the two says it
    (section,) = read_plan(f"# Harbour\n\n## A: flow, {sides}3 rounds\n- {line}\n", file="a.md").sections
    (element,) = section.parts
    assert isinstance(element, Element)
    return element


@pytest.mark.parametrize(("row", "sets"), LINES)
def test_lines(row: str, sets: dict[str, object]) -> None:
    assert differing(line_of(f"warrior two, {row}"), line_of("warrior two")) == sets


MORE = [
    ("sun salutation A, no hold", {"pose_id": "sun_salutation_a", "no_hold": True}),
    ("crow or garland, 5 breaths", {"pose_id": "crow", "alternatives": ("garland",), "length": FIVE}),
    ("say: welcome, 1 minute", {"what": "say", "pose_id": None, "length": MINUTE}),
    ("say: welcome", {"what": "say", "pose_id": None}),
    ("say: welcome, 1 minute, every time", {"what": "say", "pose_id": None, "length": MINUTE, "every_time": True}),
    ("pause: water, 30 seconds", {"what": "pause", "pose_id": None, "length": seconds(30)}),
    ("silence, 2 minutes", {"what": "silence", "pose_id": None, "length": seconds(120)}),
    ("bell", {"what": "bell", "pose_id": None}),
    ("bell x3", {"what": "bell", "pose_id": None, "times": 3}),
    ("song: Lanterns on the Pier", {"what": "song", "pose_id": None}),
    ("gap: 2 minutes (wall play)", {"what": "gap", "pose_id": None, "length": seconds(120)}),
]


@pytest.mark.parametrize(("row", "sets"), MORE)
def test_other_lines(row: str, sets: dict[str, object]) -> None:
    assert differing(line_of(row), line_of("warrior two")) == sets


@pytest.mark.parametrize(
    "section",
    [*(f"## A: flow, {row}\n- plank, 5 breaths\n" for row, _ in HEADINGS),
     "## A: flow, both sides, 3 rounds\n" + "".join(f"- warrior two, {row}\n" for row, sets in LINES if "each_side" not in sets),
     "## A: flow, both sides\n" + "".join(f"- {row}\n" for row, _ in MORE if "gap" not in row),
     "## Tide: flow\n- plank, 5 breaths\n\n## Again: flow, repeat Tide\n"],
)  # fmt: skip
def test_what_is_written_again_is_the_same_plan(section: str) -> None:
    def bare(plan: Plan) -> list[object]:
        return [without_places(one) for one in plan.sections]

    plan = plan_of(f"# Harbour\nslot: 60 minutes\nbreath: 4-6 seconds\nmusic: no voice\n\n{section}")
    again = plan_of(write_plan(plan))
    assert bare(again) == bare(plan)
    assert (again.slot_s, again.breath_range_s, again.wishes) == (3600.0, (4.0, 6.0), Wishes(no_voice=True))


def without_places(one: object) -> object:
    if isinstance(one, Element):
        return replace(one, place=Place(0))
    assert isinstance(one, Group | Section)
    return replace(one, place=Place(0), parts=tuple(without_places(part) for part in one.parts))  # type: ignore[arg-type]
