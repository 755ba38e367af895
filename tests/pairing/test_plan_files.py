"""The plans that come with the project, the starting plans, and plans brought in from spreadsheets."""

import re
from importlib import resources
from pathlib import Path

import pytest

from pairing.checks.slot import check_slot
from pairing.effort.timetable import build_timetable
from pairing.errors import PlanError
from pairing.model import Edit, Kind, Plan
from pairing.plan.edit import apply_edits
from pairing.plan.poses import pose_table
from pairing.plan.read import read_plan
from pairing.plan.spreadsheet import plan_from_csv
from pairing.plan.starter import MINUTES, starting_plan
from pairing.workflow.examples import example_text, examples
from pairing.workflow.plans import apply_remedy, correct, new_plan, outline_of

EXAMPLES = sorted((Path(__file__).parents[2] / "pairing" / "plan" / "examples").glob("*.md"))
DEMO = resources.files("pairing.plan").joinpath("demo-class.md").read_text(encoding="utf-8")
TEXTS = {path.stem: path.read_text(encoding="utf-8") for path in EXAMPLES} | {"demo-class": DEMO}
STARTERS = {f"start-{minutes}": starting_plan(minutes) for minutes in MINUTES}


def rest_s(plan: Plan) -> float:
    timetable = build_timetable(plan, pose_table())
    return next(part.end_s - part.start_s for part in timetable.sections if part.kind is Kind.REST)


@pytest.mark.parametrize("name", [*TEXTS, *STARTERS])
def test_a_plan_that_we_give_away_fits_its_slot_even_in_its_longest_form(name: str) -> None:
    plan = read_plan((TEXTS | STARTERS)[name])
    timetable = build_timetable(plan, pose_table())
    assert check_slot(plan, timetable, pose_table()).fits == "fits"
    assert timetable.findings == ()


def test_examples_tell_their_length_and_style_and_raise_nothing_to_mend() -> None:
    told = {each.id: each for each in examples()}
    assert set(told) == {path.stem for path in EXAMPLES}
    assert {each.minutes for each in examples()} == set(MINUTES)
    assert len({each.style for each in examples()}) >= 8
    for name, each in told.items():
        assert name.endswith(f"-{each.minutes}")
        assert each.title in TEXTS[name]
        plan = outline_of(read_plan(example_text(name)))
        assert [found.code for found in plan.findings if found.level != "note"] == [], name
    assert rest_s(read_plan(TEXTS["slow-75"])) >= 600


def test_there_is_no_example_outside_the_list() -> None:
    with pytest.raises(PlanError, match="no example"):
        example_text("../demo-class")


def test_the_demo_class_has_all_that_a_class_has() -> None:
    plan = read_plan(DEMO)
    kinds = {part.kind for part in plan.sections}
    assert {Kind.OPENING, Kind.WARM_UP, Kind.FLOW, Kind.PEAK, Kind.COOL_DOWN, Kind.REST, Kind.CLOSING} <= kinds
    flows = [part for part in plan.sections if part.kind is Kind.FLOW and part.both_sides and part.quicker]
    assert len(flows) == 2


def test_rounds_of_the_examples_quicken_and_their_sides_are_stated() -> None:
    for name in ("lunchtime-30", "slow-75", "strong-flow-60", "demo-class"):
        assert any(part.both_sides and part.rounds > 1 for part in read_plan(TEXTS[name]).sections)


@pytest.mark.parametrize("minutes", MINUTES)
def test_a_starting_plan_explains_itself_and_fills_its_slot_with_at_most_twice_the_least_rest(minutes: int) -> None:
    text = starting_plan(minutes)
    plan = read_plan(text)
    assert plan.slot_s == 60 * minutes
    assert sum(line.startswith(">") for line in text.splitlines()) >= 6
    (rest,) = (part for part in plan.sections if part.kind is Kind.REST)
    assert rest.at_least_s is not None
    assert rest.at_least_s <= rest_s(plan) <= 2 * rest.at_least_s


def test_there_is_no_starting_plan_of_other_lengths() -> None:
    with pytest.raises(ValueError, match="no starting plan of 50 minutes"):
        starting_plan(50)


# ---- edits ------------------------------------------------------------------------------------------------------


def test_edits_keep_line_endings_and_all_other_lines() -> None:
    text = "a\r\nb\nc\rd"
    assert apply_edits(text, [Edit(2, "B"), Edit(4, "D")]) == "a\r\nB\nc\rD"
    assert apply_edits(text, [Edit(1, None)]) == "b\nc\rd"
    assert apply_edits(text, [Edit(1, "x\ny")]) == "x\r\ny\r\nb\nc\rd"
    assert apply_edits(text, []) == text


def test_an_edit_of_a_line_that_is_not_there_is_refused() -> None:
    with pytest.raises(ValueError, match="no line 5"):
        apply_edits("a\nb\n", [Edit(5, "c")])


# ---- spreadsheets -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_a_spreadsheet_becomes_a_plan_whatever_parts_its_cells(delimiter: str) -> None:
    rows = [
        ["Pose", "Section", "Length", "Notes"],
        ["child's pose", "Arrive: opening", "8 breaths", "forehead down"],
        ["tree", "Crest: peak", "5 breaths each side", ""],
        ["savasana", "Float: rest", "6 min", ""],
    ]
    plan = read_plan(plan_from_csv("\r\n".join(delimiter.join(row) for row in rows), title="Evening"))
    assert [(part.name, part.kind) for part in plan.sections] == [
        ("Arrive", Kind.OPENING),
        ("Crest", Kind.PEAK),
        ("Float", Kind.REST),
    ]
    child = plan.sections[0].parts[0]
    assert child.note == "forehead down"


def test_columns_go_by_many_names_and_a_unit_in_the_header_counts() -> None:
    text = plan_from_csv("Asana;Time (sec);Part;Side;Mood\nplank;30;Core;;calm\nside plank;20;;both;\n", title="A")
    assert text == "# A\n\n## Core\n- plank, 30 seconds (Mood calm)\n- side plank, 20 seconds, each side\n"


def test_a_section_named_once_holds_for_the_rows_below() -> None:
    plan = read_plan(plan_from_csv("section,pose,breaths\nflow,tree,5\n,crow,3\nrest,savasana,60\n", title="A"))
    assert [len(part.parts) for part in plan.sections] == [2, 1]


@pytest.mark.parametrize(
    ("table", "lines"),
    [
        # a length in several columns
        ("pose,minutes,seconds,breaths\nplank,1,30,\nboat,,40,\ntree,,,5\n",
         ["## Class: flow", "- plank, 1 minutes 30 seconds", "- boat, 40 seconds", "- tree, 5 breaths"]),
        # sections as rows in the column of poses
        ("What,How long\nWarm up,\ncat-cow,5 breaths\nCool down,\nchild,\n",
         ["## Warm up", "- cat-cow, 5 breaths", "## Cool down", "- child"]),
        # a section's length without a pose; remarks; running numbers; an unquoted comma
        ("#,Section,Pose,Length,Notes\n1,Flow,tree,5 breaths,steady, eyes open\n2,Flow,,,talk of hips\n3,Savasana,,6 min,\n",
         ["## Flow", "- tree, 5 breaths (steady; eyes open)", "> talk of hips", "## Savasana, 6 min"]),
        # a length beside nothing is left for the reader of plans to ask about
        ("pose,length\ntree,5 breaths\n,7 breaths\n", ["## Class: flow", "- tree, 5 breaths", "- 7 breaths"]),
        # as spreadsheet programs quote
        ('\ufeffsep=;\r\nPose;Cue\r\n"warrior ""two""";"soft; open"\r\n',
         ["## Class: flow", '- warrior "two" (soft; open)']),
    ],
)  # fmt: skip
def test_no_cell_with_content_is_lost(table: str, lines: list[str]) -> None:
    assert [line for line in plan_from_csv(table, title="A").splitlines()[1:] if line] == lines


def test_a_table_too_long_for_a_class_is_refused_not_cut() -> None:
    with pytest.raises(PlanError, match="2003 rows"):
        plan_from_csv("pose\n" + "tree\n" * 2002, title="A")


@pytest.mark.parametrize("cell", ["=tree", "+tree", "@tree", "-tree", "# tree", '"\n## tree"', "\ttree"])
def test_a_cell_is_text_and_opens_neither_a_formula_nor_a_heading(cell: str) -> None:
    text = plan_from_csv(f"section;pose\nflow;{cell}\n", title="=cmd()")
    assert text == "# cmd()\n\n## flow\n- tree\n"


@pytest.mark.parametrize(
    "table", ["", "\n\n", "a,b\n1,2\n", "section,length\nflow,3\n", "pose\n", '"', "\0", "sep=;\n"]
)
def test_a_table_without_poses_is_an_error_for_a_person(table: str) -> None:
    with pytest.raises(PlanError) as caught:
        plan_from_csv(table, title="A")
    assert caught.value.findings[0].remedy


# ---- the description for teachers -------------------------------------------------------------------------------

LANGUAGE = (Path(__file__).parents[2] / "docs" / "plan-language.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("text", re.findall(r"```markdown\n(.*?)```", LANGUAGE, re.DOTALL))
def test_the_plans_in_the_description_are_plans(text: str) -> None:
    assert read_plan(text).sections


def test_the_table_in_the_description_becomes_a_plan() -> None:
    table = LANGUAGE[LANGUAGE.index("section,pose,length,notes") :].split("```")[0]
    assert [part.kind.value for part in read_plan(plan_from_csv(table, title="A")).sections] == [
        "opening",
        "flow",
        "rest",
    ]


def test_every_kind_stands_in_the_description() -> None:
    assert all(f"| `{kind.value}` |" in LANGUAGE for kind in Kind)


def test_asking_for_a_starting_plan_of_another_length_is_an_error_for_a_person(tmp_path: Path) -> None:
    with pytest.raises(PlanError, match="there are 30, 45, 60, 75, 90"):
        new_plan(tmp_path / "saturday.md", 50)
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "latin-1"])
@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_corrections_and_remedies_keep_the_files_encoding_and_line_endings(
    tmp_path: Path, encoding: str, ending: str
) -> None:
    lines = ["# Été", "slot: 20 minutes", "breath: 5", "", "## Flow: flow, 9 rounds", "- krow, 30 breaths", ""]
    lines[6] = "- tree, 5 breaths (à gauche)"
    path = tmp_path / "été.md"
    path.write_bytes(ending.join(lines).encode(encoding))
    correct(path)
    assert path.read_bytes() == ending.join([*lines[:5], "- crow, 30 breaths", lines[6]]).encode(encoding)
    apply_remedy(path, "rounds-5")
    assert path.read_bytes() == ending.join(
        [*lines[:4], "## Flow: flow, 8 rounds", "- crow, 30 breaths", lines[6]]
    ).encode(encoding)
