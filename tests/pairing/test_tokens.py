"""Amounts as teachers type them, each read alone: which seconds, breaths, times it means. Common practice, no source."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pairing.plan.language import lexicon_of
from pairing.plan.note import nested
from pairing.plan.poses import pose_table
from pairing.plan.tokens import Scanner, Token

SCANNER = Scanner(lexicon_of(["breaths"]), pose_table())


def tokens(text: str) -> list[Token]:
    return SCANNER.scan(text)


def read(text: str) -> list[tuple[str, float, float, str]]:
    return [
        (token.kind, token.low, token.high, token.unit) for token in tokens(text) if token.kind not in ("mark", "word")
    ]


SECONDS = [
    ("30 seconds", 30), ("30 sec", 30), ("30s", 30), ("30 s.", 30), ('30"', 30), ("30″", 30), ("90 secs", 90),
    ("2 minutes", 120), ("2 min", 120), ("2'", 120), ("2′", 120), ("1.5 min", 90), ("1,5 min", 90), ("½ min", 30),
    ("1½ min", 90), ("1 1/2 min", 90), ("1/2 min", 30), ("1:30", 90), ("0:45", 45), ("1:02:03", 3723), ("12:00", 720),
    ("1 min 30", 90), ("1 min 30 s", 90), ("1 min 5 s", 65), ("1'30", 90), ("1'30\"", 90), ("1 hour", 3600),
    ("1h15", 4500), ("1 h 15 min", 4500), ("2 minutes and a half", 150), ("1 min and 30 sec", 90), ("two minutes", 120),
    ("thirty seconds", 30), ("~5 min", 300), ("≈ 5 min", 300),
]  # fmt: skip


@pytest.mark.parametrize(("typed", "seconds"), SECONDS)
def test_a_length_of_time(typed: str, seconds: float) -> None:
    (found,) = [token for token in tokens(typed) if token.kind != "mark"]
    assert (found.kind, found.low, found.high, found.unit) == ("length", seconds, seconds, "seconds")
    assert found.approximate is (typed[0] in "~≈")
    assert (found.start, found.end) == (0, len(typed))


RANGES = [
    ("2-3 min", 120, 180, "seconds"), ("2 to 3 minutes", 120, 180, "seconds"), ("2–3 min", 120, 180, "seconds"),
    ("30-45 s", 30, 45, "seconds"), ("30s-1min", 30, 60, "seconds"), ("3-5 breaths", 3, 5, "breaths"),
    ("3 or 5 breaths", 3, 5, "breaths"), ("5 breaths", 5, 5, "breaths"), ("5 long slow breaths", 5, 5, "breaths"), ("2 breaths and a half", 2.5, 2.5, "breaths"), ("2.5 br", 2.5, 2.5, "breaths"),
    ("five breaths", 5, 5, "breaths"),
]  # fmt: skip


@pytest.mark.parametrize(("typed", "low", "high", "unit"), RANGES)
def test_a_range_and_a_length_in_breaths(typed: str, low: float, high: float, unit: str) -> None:
    (found,) = read(typed)
    assert found == ("length", low, high, unit)
    assert tokens(typed)[0].length.likely == (low + high) / 2


COUNTS = [
    ("x3", "times", 3, 3), ("X 3", "times", 3, 3), ("×3", "times", 3, 3), ("3x", "times", 3, 3), ("3 times", "times", 3, 3),
    ("3 rounds", "times", 3, 3), ("x3-5", "times", 3, 5), ("8 counts", "counts", 8, 8), ("20 pulses", "pulses", 20, 20),
    ("12", "number", 12, 12), ("8-10", "number", 8, 10), ("10-8", "number", 10, 10),
]  # fmt: skip


@pytest.mark.parametrize(("typed", "kind", "low", "high"), COUNTS)
def test_a_count(typed: str, kind: str, low: float, high: float) -> None:
    assert read(typed)[0][:3] == (kind, low, high)


@pytest.mark.parametrize(
    ("typed", "values", "unit"),
    [("30/15", (30, 15), ""), ("40 / 20", (40, 20), ""), ("40/20 s", (40, 20), "seconds"), ("2/1 min", (120, 60), "seconds"),
     ('45"/15"', (45, 15), "seconds")],
)  # fmt: skip
def test_two_amounts_with_a_stroke(typed: str, values: tuple[float, float], unit: str) -> None:
    found = tokens(typed)[0]
    assert (found.kind, found.values, found.unit) == ("pair", values, unit)


@pytest.mark.parametrize(
    ("typed", "values"), [("8-10-12", (8, 10, 12)), ("21-15-9", (21, 15, 9)), ("5 - 4 - 3", (5, 4, 3))]
)
def test_a_chain_of_counts(typed: str, values: tuple[float, ...]) -> None:
    found = tokens(typed)[0]
    assert (found.kind, found.values) == ("chain", values)


POSES = [
    ("warrior two", "warrior_2"), ("Warrior II", "warrior_2"), ("virabhadrasana 2", "warrior_2"), ("down dog", "downward_dog"),
    ("A's", "sun_salutation_a"), ("Bs x3", "sun_salutation_b"), ("trikonasana", "triangle"), ("child's pose", "child"),
    ("triangel", "triangle"), ("cat/cow", "cat_cow"), ("3 legged dog", "three_legged_dog"),
]  # fmt: skip


@pytest.mark.parametrize(("typed", "pose"), POSES)
def test_a_pose_by_its_names(typed: str, pose: str) -> None:
    match = tokens(typed)[0].match
    assert match is not None
    assert match.pose is not None
    assert match.pose.id == pose


@pytest.mark.parametrize(
    ("typed", "marks"),
    [
        ("a -> b", ["→"]),
        ("a => b", ["→"]),
        ("a … b", ["—"]),
        ("a -- b", ["—"]),
        ("tree - crow", ["—"]),
        ("a ... b", ["—"]),
        ("a, b", [","]),
    ],
)
def test_signs(typed: str, marks: list[str]) -> None:
    assert [token.text for token in tokens(typed) if token.kind == "mark"] == marks


def test_brackets_are_asides_three_deep() -> None:
    found = tokens("tree (5 breaths [soft] ) x2")
    aside = next(token for token in found if token.kind == "aside")
    assert aside.text == "5 breaths [soft]"
    assert [inner.kind for inner in aside.inner] == ["length", "aside"]
    assert found[-1].kind == "times"
    assert tokens("tree (to the wall")[-1].text == "to the wall"


@given(st.text(alphabet="ab 0123456789-–/:.,x×'\"()[]½~>", max_size=40))
def test_every_character_that_is_not_blank_belongs_to_a_token(text: str) -> None:
    held = {at for token in tokens(text) for at in range(token.start, token.end)}
    assert {at for at, sign in enumerate(text) if not sign.isspace()} <= held


@pytest.mark.parametrize(
    ("typed", "does"),
    [("plank 30 s", True), ("boat or plank 30 s", True), ("or plank 30 s", False), ("option: boat", False),
     ("a soft gaze", False), ("boat", True)],
)  # fmt: skip
def test_a_line_does_something_unless_it_is_the_other_choice_for_the_one_above(typed: str, does: bool) -> None:
    assert nested._is_done(tokens(typed)) is does
