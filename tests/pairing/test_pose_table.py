"""The pose table's form, its published values, and the counts of the compound sequences."""

import csv
import re
from importlib import resources

import pytest

from pairing.checks.cautions import CAUTIONS
from pairing.model import OwnPose
from pairing.plan.names import key
from pairing.plan.poses import SHARED_NAMES, pose_table

TABLE = pose_table()
WARNED_OF = frozenset().union(*(caution.tags for caution in CAUTIONS))  # a tag that no caution shows would be lost
FAMILIES = {
    "standing",
    "balance",
    "forward fold",
    "twist",
    "arm balance",
    "inversion",
    "backbend",
    "kneeling",
    "prone",
    "seated",
    "supine",
    "rest",
    "flow transition",
}
# METs measured for this very pose or practice; tolerance 0: the table repeats them.
PUBLISHED = {
    "corpse": 0.83,  # Ray, Pathak, Tomer, Evid Based Complement Alternat Med 2011:241294, table 4: 0.83 +/- 0.12
    "seated_meditation": 0.93,  # same, 0.93 +/- 0.23
    "om_chant": 1.04,  # same, 1.04 +/- 0.29
    "easy_seat": 1.07,  # same, 1.07 +/- 0.28
    "mountain": 1.3,  # standing quietly, 2011 Compendium of Physical Activities, MSSE 2011;43(8):1575-1581
    "alternate_nostril": 2.0,  # Compendium 02170, 2011 and 2024
    "plank": 2.8,  # Compendium 02024, 2024 (Herrmann et al., J Sport Health Sci 2024;13:6-12)
    "bicycle_crunch": 2.8,  # same
    "sun_salutation_classical": 3.5,  # Compendium 02180, 2024
    "sun_salutation_b": 4.8,  # 16.8 mL/kg/min, Kloubec, Int J Exerc Sci Conf Proc 8(2), abstract 66
    "sun_salutation_a": 3.6,  # 4 s a pose: 3.64 +/- 0.61, "Metabolic demands of yoga at varying tempos"
    # At least 3 in the review of 17 studies, read off its figure in a secondary source: Larson-Meyer, MSSE 2016;48(8).
    "triangle": 3.0,
    "dancer": 3.0,
    "standing_head_to_knee": 3.0,
    "warrior_3": 3.0,
}

# Half-breaths as published sequences count them: 12 positions in Sinha et al., Indian J Physiol Pharmacol 2004;48(2)
# and Mody, J Bodyw Mov Ther 2011;15(3); the counted 9 and 17 moves of A and B and the start (common practice).
HALF_BREATHS = {"vinyasa": 4, "sun_salutation_a": 10, "sun_salutation_b": 18, "sun_salutation_classical": 12}


def test_there_are_two_hundred_poses_and_more_each_complete() -> None:
    assert len(TABLE.poses) >= 200
    for pose in TABLE.poses.values():
        assert re.fullmatch(r"[a-z][a-z0-9_]*", pose.id), pose.id
        assert pose.english, pose.id
        assert pose.family in FAMILIES, pose.id
        assert set(pose.cautions) <= WARNED_OF, pose.id
        assert pose.hold_breaths_flow >= 0.5, pose.id
        assert pose.hold_breaths_slow <= 60, pose.id
        assert pose.hold_breaths_flow <= pose.hold_breaths_slow, pose.id
        assert pose.rep_breaths is None or 0.5 <= pose.rep_breaths <= 3, pose.id
        assert 0.83 <= pose.mets <= (4.8 if pose.family == "flow transition" else 3.6), pose.id


def test_every_row_of_the_file_has_the_columns_of_the_header() -> None:
    text = resources.files("pairing.plan").joinpath("poses.csv").read_text(encoding="utf-8")
    rows = list(csv.reader(text.splitlines()))
    assert {len(row) for row in rows} == {12}
    assert len({row[0] for row in rows}) == len(rows)
    assert {row[5] for row in rows[1:]} == {"yes", "no"}
    assert {row[10] for row in rows[1:]} == {"published", "editorial"}


def test_every_name_leads_to_one_pose() -> None:
    for pose in TABLE.poses.values():
        for name in pose.names:
            assert TABLE.find(name).pose in (pose, TABLE.poses[_shared(name, pose.id)]), name


def _shared(name: str, pose_id: str) -> str:
    """The pose that a shared name is taken for; for any other name the pose itself."""
    return next((ids[0] for shared, ids in SHARED_NAMES.items() if key(shared) == key(name)), pose_id)


def test_shared_names_lead_to_poses_and_say_which_others() -> None:
    for name, ids in SHARED_NAMES.items():
        match = TABLE.find(name)
        assert match.pose is TABLE.get(ids[0])
        assert all(TABLE.get(other).english.lower() in match.note for other in ids[1:])


def test_published_values_are_repeated_and_no_other_row_calls_itself_published() -> None:
    published = {pose.id: pose.mets for pose in TABLE.poses.values() if pose.mets_source == "published"}
    assert published == PUBLISHED


def test_held_poses_lie_around_the_mean_of_the_published_review() -> None:
    # Larson-Meyer, MSSE 2016;48(8):1558-1569: asanas 2.2 +/- 0.7 METs, range 1.4 to 4.0
    held = [p.mets for p in TABLE.poses.values() if p.family not in ("flow transition", "rest", "seated", "supine")]
    assert abs(sum(held) / len(held) - 2.2) <= 0.35


@pytest.mark.parametrize(("compound", "count"), HALF_BREATHS.items())
def test_compounds_have_their_published_count_of_half_breaths(compound: str, count: int) -> None:
    steps = TABLE.compound(compound)
    assert len(steps) == count
    assert all(step.pose_id in TABLE.poses for step in steps)
    assert all(step.breath in ("in", "out", "hold out") for step in steps)


@pytest.mark.parametrize(("compound", "breaths"), [("vinyasa", 2), ("sun_salutation_a", 10), ("sun_salutation_b", 14)])
def test_compounds_last_their_half_breaths_and_the_long_dog(compound: str, breaths: float) -> None:
    # With the dog of five breaths on top: 5 + 5 and 9 + 5 (common practice)
    steps = TABLE.compound(compound)
    assert len(steps) / 2 + sum(step.hold_breaths for step in steps) == breaths
    assert TABLE.get(compound).hold_breaths_flow == breaths


def test_breath_alternates_in_a_compound() -> None:
    for compound in HALF_BREATHS:
        breaths = [step.breath.split()[-1] for step in TABLE.compound(compound)]
        pairs = zip(breaths, breaths[1:], TABLE.compound(compound)[1:], strict=False)
        assert all(one != other or step.breath == "hold out" for one, other, step in pairs), compound


def test_both_legs_lead_in_sun_salutation_b() -> None:
    assert [step.side for step in TABLE.compound("sun_salutation_b") if step.side] == ["right", "left"]


@pytest.mark.parametrize(
    ("word", "first"),
    [("dog", "downward_dog"), ("Virabhadra", "warrior_1"), ("pigeon", "half_pigeon"), ("twist", "supine_twist")],
)
def test_a_search_finds_the_poses_with_the_word(word: str, first: str) -> None:
    found = [pose.id for pose in TABLE.search(word)]
    assert first in found
    assert all(key(word) in "".join(map(key, (*TABLE.get(i).names, TABLE.get(i).family, i))) for i in found)


def test_a_search_finds_the_poses_of_a_caution() -> None:
    cautioned = {pose.id for pose in TABLE.poses.values() if "glaucoma" in pose.cautions}
    assert {pose.id for pose in TABLE.search("glaucoma")} == cautioned


def test_what_is_called_by_the_part_it_opens_leads_to_poses() -> None:
    assert TABLE.find("shoulder opener").pose == TABLE.get("puppy")
    assert TABLE.find("hip opener").pose is None  # it heads whole sections too
    assert TABLE.openers("Hip openers") == ("half pigeon", "lizard", "garland")
    assert TABLE.openers("tree") == ()


def test_a_search_for_nothing_gives_the_whole_table() -> None:
    assert len(TABLE.search("")) == len(TABLE.poses)


def test_a_mistyped_name_gives_the_nearest_known_ones() -> None:
    match = TABLE.find("trinagle")
    assert match.pose is None
    assert match.nearest[0] == "triangle"
    assert TABLE.find("qqqqqq").nearest == ()


def test_own_poses_go_before_those_of_the_table() -> None:
    table = TABLE.with_own([OwnPose("Tree", like="dancer", sided=True), OwnPose("ripple", mets=3.1)])
    assert table.find("tree").pose == table.get("own_tree")
    assert (table.get("own_tree").mets, table.get("own_ripple").mets_source) == (TABLE.get("dancer").mets, "own")
    assert TABLE.find("tree").pose is TABLE.get("tree")


def test_an_own_pose_like_a_salutation_moves_like_it() -> None:
    table = TABLE.with_own([OwnPose("harbour salute", like="sun_salutation_a")])
    assert table.compound("own_harbour_salute") == TABLE.compound("sun_salutation_a")
