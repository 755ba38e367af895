"""The plan language, sentence by sentence, as docs/plan-language.md describes it to teachers."""

from pathlib import Path

import pytest

from pairing.errors import PlanError
from pairing.model import Element, Finding, Group, Kind, Length, Plan, Section, Wishes
from pairing.plan.edit import apply_edits
from pairing.plan.poses import pose_table
from pairing.plan.read import load_plan, read_plan

# The example of the language's description, as a teacher would type it.
HARBOUR = """# Harbour evening flow
slot: 45 minutes
settle: 3 minutes
breath: 5 seconds
music: no voice

## Arrive: opening, quiet music
- child's pose, 8 breaths
- say: welcome, and where we are going, 1 minute
- standing side bend 3 breaths each side

## Salutes: warm-up, 3 rounds, each round 10% quicker
- sun salutation A

## Tide: flow, both sides, 3 rounds, each round 15% quicker
- three-legged dog, 1 breath
- knee to nose x3
- warrior two, 3-5 breaths
- reverse warrior, 1 breath
- extended side angle, 2 breaths (long line, heel to fingertips)
- side plank, 1 breath, from round 2
- vinyasa, optional

## Crest: peak, both sides
- side plank, 3 breaths, knee down or lifted
- crow or garland, 5 breaths, after both sides
- song: Lanterns on the Pier

## Ebb: cool-down
- pigeon, 2 minutes each side
- seated forward fold, 10 breaths

## Float: rest, what is left, at least 5 minutes, silent last 2 minutes
- savasana
- bell
"""


def section(text: str) -> Section:
    """The one section of a plan in which these lines stand; its heading may be among them."""
    text = text if text.startswith("##") else f"## Tide: flow, both sides, 3 rounds\n{text}"
    return read_plan(f"# Class\nbreath: 5 seconds\n{text}\n").sections[0]


def line(text: str, heading: str = "## Tide: flow, 3 rounds") -> Element:
    """The element that a line is read as."""
    element = section(f"{heading}\n- {text}").parts[0]
    assert isinstance(element, Element)
    return element


def findings(text: str) -> tuple[Finding, ...]:
    return read_plan(text, file="saturday.md").questions


def breaths(shortest: float, longest: float | None = None) -> Length:
    longest = shortest if longest is None else longest
    return Length("breaths", (shortest + longest) / 2, shortest, longest)


def seconds(shortest: float, longest: float | None = None) -> Length:
    longest = shortest if longest is None else longest
    return Length("seconds", (shortest + longest) / 2, shortest, longest)


def test_the_example_of_the_description_is_read_as_it_says() -> None:
    plan = read_plan(HARBOUR)
    assert (plan.title, plan.slot_s, plan.settle_s, plan.breath_s) == ("Harbour evening flow", 2700, 180, 5)
    assert plan.wishes == Wishes(no_voice=True)
    kinds = [part.kind.value for part in plan.sections]
    assert kinds == ["opening", "warm-up", "flow", "peak", "cool-down", "rest"]
    tide = plan.sections[2]
    assert (tide.rounds, tide.both_sides, tide.quicker) == (3, True, 0.15)
    poses = [part.pose_id for part in tide.parts if isinstance(part, Element)]
    assert poses == [
        "three_legged_dog",
        "knee_to_nose",
        "warrior_2",
        "reverse_warrior",
        "extended_side_angle",
        "side_plank",
        "vinyasa",
    ]
    angle, crow = tide.parts[4], plan.sections[3].parts[1]
    assert isinstance(angle, Element)
    assert angle.note == "long line, heel to fingertips"
    assert isinstance(crow, Element)
    assert (crow.pose_id, crow.alternatives, crow.once) == ("crow", ("garland",), "after both sides")
    float_ = plan.sections[5]
    assert (float_.what_is_left, float_.at_least_s, float_.wishes.silent_last_s) == (True, 300, 120)


# ---- the top ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "name", "value"),
    [
        ("slot: 60 minutes", "slot_s", 3600),
        ("slot: 60", "slot_s", 3600),
        ("slot: 1 h 15", "slot_s", 4500),
        ("slot: 1:15", "slot_s", 4500),
        ("slot: 60:00", "slot_s", 3600),
        ("Slot 60m", "slot_s", 3600),
        ("slot: 12:15-13:00", "slot_s", 2700),
        ("settle: 3 minutes", "settle_s", 180),
        ("settle: 90 s", "settle_s", 90),
        ("leave: 5", "leave_s", 300),
        ("breath: 4.5 seconds", "breath_s", 4.5),
        ("breath: 5", "breath_s", 5),
        ("breath: 5-6 s", "breath_s", 5.5),
        ("holds: slow", "holds", "slow"),
        ("holds: flow", "holds", "flow"),
        ("between: 15 seconds", "between_s", 15),
        ("between: half a breath", "between_s", 2.5),
        ("before: 10 minutes", "before_s", 600),
        ("after: 5 minutes", "after_s", 300),
        ("start: 18:30", "start", "18:30"),
        ("start: 6.30 pm", "start", "18:30"),
        ("start: 7am", "start", "07:00"),
        ("music: quiet, no voice", "wishes", Wishes(level="quiet", no_voice=True)),
        ("theme: tides", "facts", (("theme", "tides"),)),
        ("> lamps", "facts", (("note", "lamps"),)),
    ],
)
def test_the_top_of_a_plan(typed: str, name: str, value: object) -> None:
    plan = read_plan(f"# Class\n{typed}\n## Tide: flow\n- tree\n")
    assert getattr(plan, name) == value


def test_a_missing_breath_is_taken_as_five_seconds_and_the_plan_says_so() -> None:
    plan = read_plan("# Class\n## Tide: flow\n- tree\n")
    assert plan.breath_s is None
    assert [note.code for note in plan.taken_as] == ["breath-missing"]


# ---- sections and groups ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", list(Kind))
def test_every_kind_of_section_is_known_by_its_own_word(kind: Kind) -> None:
    plan = read_plan(f"# Class\nbreath: 5\n## Tide: {kind.value}\n- tree\n")
    assert plan.sections[0].kind is kind
    assert plan.taken_as == ()


@pytest.mark.parametrize(
    ("typed", "name", "value"),
    [
        ("3 rounds", "rounds", 3),
        ("x3", "rounds", 3),
        ("three rounds", "rounds", 3),
        ("each round 15% quicker", "quicker", 0.15),
        ("15 % quicker each round", "quicker", 0.15),
        ("each round quicker by 15%", "quicker", 0.15),
        ("both sides", "both_sides", True),
        ("R/L", "both_sides", True),
        ("both sides, left first", "first_side", "left"),
        ("12 minutes", "minutes", seconds(720)),
        ("12'", "minutes", seconds(720)),
        ("10-12 minutes", "minutes", seconds(600, 720)),
        ("what is left", "what_is_left", True),
        ("what's left, at least 5 minutes", "at_least_s", 300),
        ("breath 6 seconds", "breath_s", 6),
        ("6 seconds a breath", "breath_s", 6),
        ("between 20 s", "between_s", 20),
        ("between 1 breath", "between_s", 5),
        ("optional", "optional", True),
        ("quiet", "wishes", Wishes(level="quiet")),
        ("steady music", "wishes", Wishes(level="steady")),
        ("driving music", "wishes", Wishes(level="driving")),
        ("no music", "wishes", Wishes(no_music=True)),
        ("no voice", "wishes", Wishes(no_voice=True)),
        ("energy 60%", "wishes", Wishes(energy=0.6)),
        ("same music", "wishes", Wishes(same_music=True)),
        ('from "Slow, low"', "wishes", Wishes(folder="Slow, low")),
        ("beat 120-128", "wishes", Wishes(beat_bpm=(120, 128))),
        ("beat 96", "wishes", Wishes(beat_bpm=(96, 96))),
        ("silent last 2 minutes", "wishes", Wishes(silent_last_s=120)),
        ("silent last minute", "wishes", Wishes(silent_last_s=60)),
        ("rises into", "wishes", Wishes(rises_into=True)),
        ("no singing while I speak", "wishes", Wishes(clear_talk=True)),
        ("no voice, without lyrics when I'm cueing", "wishes", Wishes(no_voice=True, clear_talk=True)),
        ("music breaks at it", "wishes", Wishes(breaks_at=True)),
    ],
)
def test_attributes_of_a_section(typed: str, name: str, value: object) -> None:
    read = section(f"## Tide: flow, {typed}\n- tree")
    assert getattr(read, name) == value
    assert read.note == ""


def test_attributes_need_no_comma() -> None:
    read = section("## Flow: flow both sides 3 rounds each round 10% quicker driving music\n- tree")
    assert (read.kind, read.both_sides, read.rounds, read.quicker, read.wishes.level) == (
        Kind.FLOW,
        True,
        3,
        0.1,
        "driving",
    )


def test_groups_stand_inside_sections() -> None:
    read = section(
        "## Tide: flow\n- tree\n### Ladder, 2 rounds, both sides\n- warrior one\n- chair\n## Ebb: rest\n- savasana"
    )
    tree, ladder = read.parts
    assert isinstance(tree, Element)
    assert isinstance(ladder, Group)
    assert (ladder.name, ladder.rounds, ladder.both_sides, len(ladder.parts)) == ("Ladder", 2, True, 2)


def test_an_earlier_section_comes_again_with_its_lines_rounds_and_sides() -> None:
    plan = read_plan("# A\n## Tide: flow, both sides, 3 rounds\n- tree\n## Again: flow, repeat Tide, 1 round\n")
    tide, again = plan.sections
    assert again.repeats == "Tide"
    assert (again.parts, again.both_sides, again.rounds) == (tide.parts, True, 1)


def test_a_rest_comes_once_a_class() -> None:
    (finding,) = findings("# A\n## B: rest\n- savasana\n## C: rest\n- savasana\n")
    assert finding.code == "two-rests"


# ---- lines ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "length"),
    [
        ("3 breaths", breaths(3)),
        ("1 breath", breaths(1)),
        ("half a breath", breaths(0.5)),
        ("inhale", breaths(0.5)),
        ("exhale", breaths(0.5)),
        ("3-5 breaths", breaths(3, 5)),
        ("3 - 5 breaths", breaths(3, 5)),
        ("3 to 5 breaths", breaths(3, 5)),
        ("5br", breaths(5)),
        ("5 deep breaths", breaths(5)),
        ("90 seconds", seconds(90)),
        ("90s", seconds(90)),
        ('30"', seconds(30)),
        ("2 minutes", seconds(120)),
        ("5'", seconds(300)),
        ("1:30", seconds(90)),
        ("1 min 30", seconds(90)),
        ("2 1/2 minutes", seconds(150)),
        ("1½ min", seconds(90)),
        ("a minute", seconds(60)),
        ("1-2 minutes", seconds(60, 120)),
        ("hold for about 5 breaths", breaths(5)),
        ("1,5 minutes", seconds(90)),
    ],
)
@pytest.mark.parametrize("between", [", ", " "])
def test_lengths(typed: str, length: Length, between: str) -> None:
    read = line(f"tree{between}{typed}")
    assert (read.pose_id, read.length, read.note) == ("tree", length, "")


def test_a_range_counts_as_its_middle() -> None:
    assert breaths(3, 5).likely == 4
    assert line("tree, 3-5 breaths").length == breaths(3, 5)


@pytest.mark.parametrize(
    ("typed", "name", "value"),
    [
        ("x3", "times", 3),
        ("3x", "times", 3),
        ("3 times", "times", 3),
        ("3 reps", "times", 3),
        ("x 3", "times", 3),
        ("three times", "times", 3),
        ("twice", "times", 2),
        ("2 sets of 10", "times", 20),
        ("3 x 8 reps", "times", 24),
        ("each side", "each_side", True),
        ("e/s", "each_side", True),
        ("each way", "each_side", True),
        ("R/L", "each_side", True),
        ("per leg", "each_side", True),
        ("right and left", "each_side", True),
        ("right", "side", "right"),
        ("left", "side", "left"),
        ("optional", "optional", True),
        ("if time", "optional", True),
        ("from round 2", "from_round", 2),
        ("round 2 on", "from_round", 2),
        ("round 2", "to_round", 2),
        ("rounds 1-2", "to_round", 2),
        ("last round", "last_round", "only"),
        ("not last round", "last_round", "not"),
        ("no hold", "no_hold", True),
        ("supported", "supported", True),
        ("every time", "every_time", True),
        ("with a strap", "note", "with a strap"),
        ("at the wall", "note", "at the wall"),
        ("(soft knees)", "note", "soft knees"),
        ("knee down or lifted", "note", "knee down or lifted"),
        ("over two blocks", "note", "over two blocks"),
        ("on 2 blocks", "note", "on 2 blocks"),
    ],
)
def test_attributes_of_a_line(typed: str, name: str, value: object) -> None:
    read = line(f"tree, 5 breaths, {typed}")
    assert getattr(read, name) == value
    assert (read.pose_id, read.length) == ("tree", breaths(5))


@pytest.mark.parametrize("once", ["between sides", "after both sides"])
def test_what_comes_once_with_two_sides(once: str) -> None:
    assert line(f"chair, 5 breaths, {once}", "## Tide: flow, both sides").once == once


@pytest.mark.parametrize(
    "typed", ["crow or garland, 5 breaths", "crow / garland, 5 breaths", "crow, 5 breaths or garland"]
)
def test_of_two_poses_the_first_counts_and_both_are_shown(typed: str) -> None:
    read = line(typed)
    assert (read.name, read.pose_id, read.alternatives, read.length) == ("crow", "crow", ("garland",), breaths(5))


@pytest.mark.parametrize(
    ("typed", "what", "name", "length", "times"),
    [
        ("say: welcome, and where we go, 1 minute", "say", "welcome, and where we go", seconds(60), None),
        ("say: in 3 minutes we rest, 20 s", "say", "in 3 minutes we rest", seconds(20), None),
        ("say welcome 1 minute", "say", "welcome", seconds(60), None),
        ("say: hello (2 min)", "say", "hello", seconds(120), None),
        ("pause: water, 45 s", "pause", "water", seconds(45), None),
        ("water break, 1 minute", "pause", "water break", seconds(60), None),
        ("silence, 2 minutes", "silence", "", seconds(120), None),
        ("bell", "bell", "bell", None, None),
        ("bell x3", "bell", "bell", None, 3),
        ("3 bells", "bell", "bell", None, 3),
        ("song: Lanterns on the Pier", "song", "Lanterns on the Pier", None, None),
        ("song: 3, 2, 1", "song", "3, 2, 1", None, None),
    ],
)
def test_other_lines(typed: str, what: str, name: str, length: Length | None, times: int | None) -> None:
    read = line(typed)
    assert (read.what, read.name, read.length, read.times, read.pose_id) == (what, name, length, times, None)


def test_talk_without_a_length_is_taken_from_its_words_and_the_plan_says_so() -> None:
    plan = read_plan("# A\nbreath: 5\n## B: flow\n- say: welcome\n")
    assert "no length" in plan.taken_as[0].message


def test_a_side_before_a_colon_holds_for_the_lines_below() -> None:
    read = section("## Tide: flow\nRight side:\n- tree\n- bell\nLeft side:\n- tree")
    assert [part.side for part in read.parts if isinstance(part, Element)] == ["right", None, "left"]


@pytest.mark.parametrize(
    "typed", ["other side", "repeat on the left", "same on the second side", "Left side: same", "Switch sides"]
)
@pytest.mark.parametrize("behind", ["", "\n- chair"])
def test_the_other_side_takes_its_time_on_the_line_that_asks_for_it(typed: str, behind: str) -> None:
    read = section(f"## Tide: flow\n- low lunge\n- tree\n- {typed}{behind}")
    told = [(part.pose_id, part.side, part.place.line) for part in read.parts[:4] if isinstance(part, Element)]
    assert told == [("low_lunge", "right", 4), ("tree", "right", 5), ("low_lunge", "left", 6), ("tree", "left", 6)]


def test_at_the_end_of_a_section_repeat_means_rounds() -> None:
    assert section("## Tide: flow\n- tree\n- repeat x3").rounds == 3


def test_several_poses_on_a_line_are_done_one_after_the_other() -> None:
    read = section("## Tide: flow\n- warrior two, reverse warrior, 1 breath each\n- plank 20 s then low plank").parts
    told = [(part.pose_id, part.length) for part in read if isinstance(part, Element)]
    assert told == [
        ("warrior_2", breaths(1)),
        ("reverse_warrior", breaths(1)),
        ("plank", seconds(20)),
        ("low_plank", None),
    ]


def test_the_poses_of_a_vinyasa_in_a_row_are_a_vinyasa() -> None:
    assert line("chaturanga, up dog, down dog").pose_id == "vinyasa"


def test_a_number_without_a_unit_behind_a_pose_is_breaths() -> None:
    assert line("tree 7").length == breaths(7)


# ---- Markdown as phones make it -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "typed",
    [
        "- tree, 5 breaths",
        "-tree, 5 breaths",
        "* tree, 5 breaths",
        "• tree, 5 breaths",
        "– tree, 5 breaths",
        "1. tree, 5 breaths",
        "2) tree, 5 breaths",
        "tree, 5 breaths",
        "  - tree, 5 breaths",
        "- [ ] tree, 5 breaths",
        "- **tree**, 5 breaths",
        "+ tree, 5 breaths",
        "- tree, 5\u00a0breaths",
        "-\ttree, 5 breaths",
        "- _tree_, 5 breaths",
        "- TREE, 5 Breaths",
        "- tree - 5 breaths",
        "- tree: 5 breaths",
        "- tree <the one on the hill>, 5 breaths",
        "- tree, 5 breaths\n---",
        "- tree, 5 breaths\n\n***",
    ],
)
def test_lists_as_phones_make_them(typed: str) -> None:
    (read,) = section(f"## Tide: flow\n{typed}").parts
    assert isinstance(read, Element)
    assert (read.pose_id, read.length) == ("tree", breaths(5))


@pytest.mark.parametrize(
    "heading",
    [
        "## Tide: flow",
        "##Tide: flow",
        "## Tide: flow ##",
        "  ## Tide: flow",
        "Tide: flow\n----------",
        "##  Tide : flow",
        "## **Tide**: flow",
    ],
)
def test_headings_as_phones_make_them(heading: str) -> None:
    read = read_plan(f"# Class\n\n{heading}\n- tree\n").sections[0]
    assert (read.name, read.kind) == ("Tide", Kind.FLOW)


@pytest.mark.parametrize(
    "data",
    [
        HARBOUR.encode(),
        b"\xef\xbb\xbf" + HARBOUR.encode(),
        HARBOUR.encode("utf-16"),
        HARBOUR.replace("\n", "\r\n").encode(),
        HARBOUR.replace("\n", "\r").encode("latin-1"),
    ],
)
def test_files_in_any_usual_encoding_and_line_ending(data: bytes, tmp_path: Path) -> None:
    path = tmp_path / "harbour.txt"
    path.write_bytes(data)
    plan = load_plan(path)
    assert (plan.title, len(plan.sections), plan.sections[5].place.line) == ("Harbour evening flow", 6, 33)


def test_latin_1_is_read_where_it_is_no_utf_8(tmp_path: Path) -> None:
    path = tmp_path / "cafe.md"
    path.write_bytes("# Café\n## Tide: flow\n- tree\n".encode("latin-1"))
    assert load_plan(path).title == "Café"


def test_a_note_without_signs_has_headings_by_their_look() -> None:
    text = "Slow evening\nslot 60\n\nOpening:\neasy seat\n\nWARM UP\ncat cow x5\n\n**Peak**\ntree\n\nSavasana, 6 min\n"
    plan = read_plan(text)
    assert plan.title == "Slow evening"
    assert [part.kind.value for part in plan.sections] == ["opening", "warm-up", "peak", "rest"]
    assert [len(part.parts) for part in plan.sections] == [1, 1, 1, 1]


# ---- names ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "pose_id"),
    [
        ("Warrior II", "warrior_2"),
        ("warrior two", "warrior_2"),
        ("Virabhadrasana 2", "warrior_2"),
        ("Childs poses", "child"),
        ("Child’s Pose", "child"),
        ("DOWN-DOG", "downward_dog"),
        ("Parśvottānāsana", "pyramid"),
        ("Parshvottanasana", "pyramid"),
        ("gentle cat cow", "cat_cow"),
        ("tree against the wall", "tree"),
        ("3 sun salutation A", "sun_salutation_a"),
    ],
)
def test_names_in_any_spelling(typed: str, pose_id: str) -> None:
    assert line(typed).pose_id == pose_id


@pytest.mark.parametrize("name", ["crescent", "half moon", "twist", "sun salutation"])
def test_of_a_name_of_several_poses_the_plan_says_which_was_taken(name: str) -> None:
    plan = read_plan(f"# A\nbreath: 5\n## B: flow\n- {name}\n")
    (note,) = plan.taken_as
    element = plan.sections[0].parts[0]
    assert isinstance(element, Element)
    assert pose_table().get(element.pose_id or "").english in note.message


def test_words_that_make_another_pose_are_not_passed_over() -> None:
    (finding,) = findings("# A\n## B: flow\n- revolved pigeon, 3 breaths\n")
    assert finding.code == "unknown-pose"


def test_own_poses_of_the_plan_and_of_its_folder(tmp_path: Path) -> None:
    (tmp_path / "poses.md").write_text(
        "- tidal lunge: like low lunge\n- ripple: 3.5 METs, one side\n- unused: 2 METs\n"
    )
    path = tmp_path / "class.md"
    path.write_text("# A\n## B: flow\n- tidal lunge\n- ripple\n- tree\n## Own poses\n- tidal lunge: like high lunge\n")
    plan = load_plan(path)
    names = [(pose.name, pose.like, pose.mets, pose.sided) for pose in plan.own_poses]
    assert names == [("tidal lunge", "high_lunge", None, True), ("ripple", None, 3.5, True)]
    ids = [part.pose_id for part in plan.sections[0].parts if isinstance(part, Element)]
    assert ids == ["own_tidal_lunge", "own_ripple", "tree"]
    table = pose_table().with_own(plan.own_poses)
    assert table.get("own_tidal_lunge").mets == pose_table().get("high_lunge").mets


# ---- errors -----------------------------------------------------------------------------------------------------

BROKEN = """# Saturday
slto: 60 minutes
breath: five of them

## Tide: flow, both sides, 3 roundz
- krow, 5 breaths
- pigeon, 2 breth
- tree, 5 breaths, each side
- warrior two, from round 4
- lizzard, x9999
"""


def test_all_errors_of_a_file_come_at_once_with_line_column_and_remedy() -> None:
    found = findings(BROKEN)
    assert [str(finding.where) for finding in found] == [
        "saturday.md, line 2, column 1",
        "saturday.md, line 3, column 9",
        "saturday.md, line 5, column 28",
        "saturday.md, line 6, column 3",
        "saturday.md, line 7, column 11",
        "saturday.md, line 8, column 20",
        "saturday.md, line 9, column 3",
        "saturday.md, line 10, column 12",
    ]
    assert all(finding.remedy for finding in found)
    assert found[3].message == '"krow" isn\'t a known pose.'
    assert found[3].remedy.startswith('Did you mean "crow"')


def test_one_command_applies_the_clear_corrections_and_touches_nothing_else() -> None:
    corrected = apply_edits(BROKEN, [edit for finding in findings(BROKEN) for edit in finding.edits])
    assert corrected.splitlines() == [
        "# Saturday",
        "slot: 60 minutes",
        "breath: five of them",
        "",
        "## Tide: flow, both sides, 3 rounds",
        "- crow, 5 breaths",
        "- pigeon, 2 breaths",
        "- tree, 5 breaths",
        "- warrior two, from round 4",
        "- lizzard, x9999",
    ]


@pytest.mark.parametrize(
    ("typed", "code"),
    [
        ("- 5 breaths", "no-pose"),
        ("- tree, 5 breaths, 2 minutes", "said-twice"),
        ("- tree, 0 breaths", "length"),
        ("- tree, 900 minutes", "length"),
        ("- tree, hands 2 high", "unknown-attribute"),
        ("- tree, round 5", "no-such-round"),
        ("- song: x, 3 minutes", "song-length"),
        ("- song:", "song-title"),
        ("- tree, energy 300%", "energy"),
        ("### More, 9999 rounds\n- tree", "count"),
        ("### More: repeat Ebb", "unknown-repeat"),
        ("### More: 3 minutes per round\n- tree", "unknown-attribute"),
        ("- say: hello, 2 minuts", "unknown-length"),
    ],
)
def test_what_can_not_be_understood_is_asked_about(typed: str, code: str) -> None:
    assert code in [finding.code for finding in findings(f"# A\n## B: flow\n- mountain\n{typed}\n")]


@pytest.mark.parametrize("text", ["", "\n\n", "# A\n", "> a thought\n", "(later)\n"])
def test_a_note_of_nothing_is_refused_in_one_sentence(text: str) -> None:
    with pytest.raises(PlanError, match="holds nothing that names a pose, a time or a part of a class"):
        read_plan(text)


@pytest.mark.parametrize("text", ["tree, 5 breaths\n" * 20_001, "x" * 1_000_001])
def test_a_note_larger_than_any_class_is_refused_in_one_sentence(text: str) -> None:
    with pytest.raises(PlanError, match="larger than any class"):
        read_plan(text)


def test_reading_a_missing_file_is_an_error_for_a_person(tmp_path: Path) -> None:
    with pytest.raises(PlanError, match="can't be read"):
        load_plan(tmp_path / "none.md")


def test_the_same_text_is_read_the_same() -> None:
    first, second = read_plan(HARBOUR), read_plan(HARBOUR)
    assert isinstance(first, Plan)
    assert first == second
