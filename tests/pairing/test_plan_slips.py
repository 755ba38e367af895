"""Slips and habits in plans: what is misspelt is named and corrected, never passed over as a note; invented lines."""

import pytest

from pairing.model import Element, Group, Kind, Length, Plan, Section
from pairing.plan.edit import apply_edits
from pairing.plan.near import HEADING_PHRASES, LINE_PHRASES, misspelt
from pairing.plan.read import read_plan


def plan_of(heading: str, line: str = "- tree, 5 breaths") -> Plan:
    top = "# A\nbreath: 5\n\n## Tide: flow, 2 rounds\n- vinyasa, from round 2\n"
    return read_plan(f"{top}\n## {heading}\n{line}\n\n## Float: rest, 5 minutes\n- savasana\n")


def section_of(heading: str, line: str = "- tree, 5 breaths") -> Section:
    return plan_of(heading, line).sections[1]


def element_of(line: str, heading: str = "X: flow, 2 rounds") -> Element:
    part = section_of(heading, line).parts[0]
    assert isinstance(part, Element)
    return part


def corrected(heading: str, line: str = "- tree, 5 breaths") -> tuple[str, str]:
    """Heading and line after the corrections that the errors carry."""
    found = plan_of(heading, line).questions
    text = f"# A\nbreath: 5\n\n## Tide: flow, 2 rounds\n- vinyasa, from round 2\n\n## {heading}\n{line}\n"
    mended = apply_edits(text, [edit for finding in found for edit in finding.edits])
    return mended.splitlines()[6].removeprefix("## "), mended.splitlines()[7]


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("X: opning", "X: opening"),
        ("X: flwo, both sides", "X: flow, both sides"),
        ("X: strenght", "X: strength"),
        ("X: flow, 3 ronuds", "X: flow, 3 rounds"),
        ("X: flow, each round 10% qicker", "X: flow, each round 10% quicker"),
        ("X: flow, boht sides", "X: flow, both sides"),
        ("X: flow, quite music", "X: flow, quiet music"),
        ("X: flow, drving", "X: flow, driving"),
        ("X: flow, what is lefft, at least 5 minutes", "X: flow, what is left, at least 5 minutes"),
    ],
)
def test_a_slip_in_a_heading_is_corrected_and_never_passes_as_a_note(typed: str, meant: str) -> None:
    assert corrected(typed)[0] == meant


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("- tree, etch side", "- tree, each side"),
        ("- tree, optoinal", "- tree, optional"),
        ("- tree, from rond 2", "- tree, from round 2"),
        ("- tree, lst round", "- tree, last round"),
        ("- tree, suported", "- tree, supported"),
        ("- tree, 3 breths", "- tree, 3 breaths"),
    ],
)
def test_a_slip_in_a_line_is_corrected_and_never_passes_as_a_note(typed: str, meant: str) -> None:
    assert corrected("X: flow, 2 rounds", typed)[1] == meant


@pytest.mark.parametrize("note", ["light", "slow", "inhaling", "quietly", "long line, heel to fingertips", "lift"])
def test_words_that_only_look_a_little_like_an_instruction_stay_notes(note: str) -> None:
    assert element_of(f"- tree, 5 breaths, {note}").note.replace(";", ",") == note


@pytest.mark.parametrize("phrase", [*LINE_PHRASES, *HEADING_PHRASES])
def test_no_phrase_of_the_language_is_a_slip_of_another(phrase: str) -> None:
    filled = phrase.replace("#", "4")
    assert misspelt(filled, LINE_PHRASES) is None or phrase not in LINE_PHRASES
    assert misspelt(filled, HEADING_PHRASES) is None or phrase not in HEADING_PHRASES


@pytest.mark.parametrize(
    ("heading", "line"),
    [
        ("X: flow, 3 rounds, 2 rounds", "- tree"),
        ("X: flow, 2 rounds", "- plank, 5 breaths, 40 seconds"),
        ("X: flow, 2 rounds", "- tree, x3 x2"),
        ("X: flow, 2 rounds", "- tree, each side, right"),
    ],
)
def test_of_two_things_that_contradict_none_is_chosen_by_itself(heading: str, line: str) -> None:
    assert corrected(heading, line) == (heading, line)


@pytest.mark.parametrize(
    ("typed", "length"),
    [
        ("2 min 30 each side", Length("seconds", 150, 150, 150)),
        ("2' 30 e/s", Length("seconds", 150, 150, 150)),
        ("1m30s", Length("seconds", 90, 90, 90)),
        ("1h30", Length("seconds", 5400, 5400, 5400)),
        ("a breath and a half", Length("breaths", 1.5, 1.5, 1.5)),
        ("2 minutes and a half", Length("seconds", 150, 150, 150)),
        ("5br-8br", Length("breaths", 6.5, 5, 8)),
        ("30 s - 2 min", Length("seconds", 75, 30, 120)),
    ],
)
def test_lengths_of_many_habits(typed: str, length: Length) -> None:
    element = element_of(f"- tree, {typed}")
    assert element.length == length
    assert element.times is None


@pytest.mark.parametrize("typed", ["L then R", "r, l", "R/L", "per side", "(R), 5 breaths (L)"])
def test_both_sides_of_a_line_by_their_letters(typed: str) -> None:
    element = element_of(f"- tree, 5 breaths {typed}")
    assert element.each_side
    assert element.side is None


@pytest.mark.parametrize(
    ("typed", "count"),
    [("3 bells", 3), ("three bells", 3), ("soft bell", None), ("🔔 bell x2", 2), ("tingsha x3", 3)],
)
def test_bells_by_number_and_name(typed: str, count: int | None) -> None:
    element = element_of(f"- {typed}")
    assert (element.what, element.times) == ("bell", count)


@pytest.mark.parametrize(
    "typed",
    [
        "chatty up dog down dog",
        "chaturanga > up dog > down dog",
        "chaturanga, cobra, down dog",
        "chatty-UD-DD",
        "plank, chaturanga, up dog, down dog",
    ],
)
def test_the_moves_of_a_vinyasa_however_they_are_joined(typed: str) -> None:
    plan = plan_of("X: flow", f"- {typed}")
    assert plan.sections[1].parts[0].pose_id == "vinyasa"  # type: ignore[union-attr]
    assert any("Vinyasa" in finding.message for finding in plan.taken_as)


def test_an_alternative_on_a_line_of_its_own_belongs_to_the_line_above() -> None:
    plan = plan_of("X: peak", "- eight angle, 3 breaths\n- or firefly 5b")
    (element,) = plan.sections[1].parts
    assert isinstance(element, Element)
    assert element.alternatives == ("firefly",)
    assert any("alternative" in finding.message for finding in plan.taken_as)


def test_a_length_alone_below_a_heading_is_the_sections() -> None:
    plan = read_plan("# A\nbreath: 5\n\n## Flow: flow\n- tree\n\n## Float: rest\n6-8 min\n")
    assert plan.sections[1].minutes == Length("seconds", 420, 360, 480)
    assert any("length of" in finding.message for finding in plan.taken_as)


def test_fewer_rounds_of_a_section_done_again_leave_out_the_lines_of_later_rounds() -> None:
    again = section_of("Again: repeat Tide, 1 round", "")
    assert (again.rounds, again.repeats) == (1, "Tide")


@pytest.mark.parametrize(
    ("typed", "name", "value"),
    [
        ("X: flow, between 10", "between_s", 10.0),
        ("X: flow, breath 4", "breath_s", 4.0),
        ("Flow x 3 both sides", "rounds", 3),
    ],
)
def test_bare_numbers_of_a_heading(typed: str, name: str, value: object) -> None:
    assert getattr(section_of(typed), name) == value


def test_a_folder_may_be_named_without_quotes() -> None:
    assert section_of("X: flow, from folder Slow and low").wishes.folder == "Slow and low"


@pytest.mark.parametrize(
    ("text", "slot_s"),
    [("60 min slot", 3600), ("slot: 1h30", 5400), ("75 minute class", 4500)],
)
def test_the_slot_as_it_is_typed(text: str, slot_s: float) -> None:
    assert read_plan(f"# A\n{text}\nbreath: 5\n\n## Flow: flow\n- tree\n").slot_s == slot_s


@pytest.mark.parametrize(
    ("typed", "pose_id"),
    [
        ("WII", "warrior_2"), ("3LD", "three_legged_dog"), ("rev W", "reverse_warrior"), ("1/2 sun salutation",
        "half_sun_salutation"), ("sun sal B", "sun_salutation_b"), ("step thru", "step_through"),
        ("supported bridge on a block", "supported_bridge"), ("slowly roll up to standing", "roll_up"),
        ("sit up", "easy_seat"), ("sit ups x20", "sit_up"), ("🔸 child’s pose 🙏", "child"),
    ],
)  # fmt: skip
def test_what_teachers_write_for_a_pose(typed: str, pose_id: str) -> None:
    assert element_of(f"- {typed}").pose_id == pose_id


def test_two_poses_on_a_line_keep_their_names_whole() -> None:
    parts = section_of("X: flow", "- knees to chest, then bridge, 5 breaths").parts
    assert [(part.pose_id, part.length is None) for part in parts if isinstance(part, Element)] == [
        ("knees_to_chest", True),
        ("bridge", False),
    ]


def test_groups_of_a_repeated_section_keep_their_rounds() -> None:
    text = "# A\n\n## Tide: flow\n### Front, 2 rounds\n- tree, from round 2\n\n## Again: flow, repeat Tide\n"
    group = read_plan(text).sections[1].parts[0]
    assert isinstance(group, Group)
    assert group.rounds == 2


def test_a_heading_may_say_all_of_it_in_brackets() -> None:
    section = section_of("Glide (flow, both sides, 3 times, 10% faster each round, quiet music)")
    assert (section.name, section.kind, section.rounds, section.quicker) == ("Glide", Kind.FLOW, 3, 0.1)
    assert (section.both_sides, section.wishes.level) == (True, "quiet")
    assert section_of("Wake hips (warm-up)").kind is Kind.WARM_UP
    assert section_of("Glide: flow (the long one, for hips)").note == "the long one, for hips"


def test_play_with_a_time_is_a_pause_and_no_song() -> None:
    element = element_of("- Play: 2 min free practice")
    assert (element.what, element.length) == ("pause", Length("seconds", 120, 120, 120))
    assert element_of("- say: 2 min welcome").length == element.length
    assert element_of("- say: one breath at a time").length is None
    assert element_of("- play: Lanterns on the Pier").what == "song"
