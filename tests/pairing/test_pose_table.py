"""The pose table's form, its published values, and the counts of the compound sequences."""

import csv
import re
from importlib import resources

import pytest

from pairing.checks.cautions import CAUTIONS
from pairing.constants import USUAL_BREATH_S
from pairing.model import OwnPose
from pairing.plan.names import key
from pairing.plan.poses import SHARED_NAMES, Pose, pose_table

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
    "sit_up": 3.8,  # Compendium 02022, 2024: push-ups, sit-ups, pull-ups, lunges at moderate effort
    "push_up": 3.8,  # same
    "lunge_reps": 3.8,  # same
    "squat_reps": 3.0,  # Compendium 02056, 2024: squats, lunges, push-ups against one's own weight, general
    "jumping_jack": 7.5,  # Compendium 02020, 2024: calisthenics, vigorous effort; names jumping jacks and burpees
    "burpee": 7.5,  # same
    "sit_to_stand": 2.8,  # Compendium 02340, 2024: 6 to 12 a minute
    "mat_pilates": 1.8,  # Compendium 02103, 2024: Pilates on the mat
    "free_flow": 2.7,  # Compendium 02185, 2024: yoga, Vinyasa
    "free_stretch": 2.3,  # Compendium 02101, 2011 and 2024: stretching, mild
    "sun_salutation_classical": 3.5,  # Compendium 02180, 2024
    "sun_salutation_b": 4.8,  # 16.8 mL/kg/min, Kloubec, Int J Exerc Sci Conf Proc 8(2), abstract 66
    "sun_salutation_a": 3.6,  # 4 s a pose: 3.64 +/- 0.61, "Metabolic demands of yoga at varying tempos"
    # At least 3 in the review of 17 studies, read off its figure in a secondary source: Larson-Meyer, MSSE 2016;48(8).
    "triangle": 3.0,
    "dancer": 3.0,
    "standing_head_to_knee": 3.0,
    "warrior_3": 3.0,
}

# Jumps and sprints: calisthenics at vigorous effort; no other row may cost so much.
VIGOROUS = {
    "jumping_jack", "burpee", "high_knees", "butt_kicks", "jump_squat", "jump_lunge", "skater", "tuck_jump", "plank_jack",
    "plank_jump", "skipping", "mountain_climber",
}  # fmt: skip
# Breathing practices: 1.3 +/- 0.3 METs in the review (Larson-Meyer, MSSE 2016;48(8):1558-1569), 1.37 the mean of five
# (Ray 2011); alternate nostril alone has a value of its own. Those with work of belly or arms lie a little higher.
BREATHING = [
    "box_breath", "equal_breath", "long_exhale", "four_seven_eight", "three_part_breath", "interrupted_breath",
    "right_nostril", "left_nostril", "breath_hold", "hissing_breath", "cooling_breath", "bee_breath", "victorious_breath",
    "belly_breath", "skull_shining", "breath_of_fire", "bellows_breath", "sighing_breath", "balloon_breath",
]  # fmt: skip

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
        assert pose.rep_breaths is None or 0.15 <= pose.rep_breaths <= 5, pose.id
        assert 0.83 <= pose.mets <= _highest_mets(pose), pose.id


def _highest_mets(pose: Pose) -> float:
    """The hardest held pose; the salutation at class pace; calisthenics of vigorous effort (Compendium 02020)."""
    if pose.id in VIGOROUS:
        return 7.5
    return 4.8 if pose.family == "flow transition" else 3.6 if pose.rep_breaths is None else 5.0


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
    moved_or_low = ("flow transition", "rest", "seated", "supine")
    held = [p.mets for p in TABLE.poses.values() if p.family not in moved_or_low and p.rep_breaths is None]
    assert abs(sum(held) / len(held) - 2.2) <= 0.35


@pytest.mark.parametrize("pose_id", BREATHING)
def test_breathing_practices_lie_in_the_range_of_the_published_review(pose_id: str) -> None:
    assert 1.0 <= TABLE.get(pose_id).mets <= 1.6


# Moves with their count, and the seconds at 5 s a breath in which teachers do them; common practice, no source.
COUNTED = [
    ("roll up", 6, 36, 80), ("pelvic curls", 8, 40, 110), ("chest lift", 10, 30, 80), ("single leg stretch", 20, 25, 70),
    ("double leg stretch", 10, 35, 90), ("scissors", 20, 20, 60), ("criss cross", 20, 30, 80), ("spine stretch", 5, 30, 60),
    ("rolling like a ball", 8, 24, 64), ("clams", 15, 20, 60), ("swan prep", 5, 30, 60), ("leg pull front", 8, 24, 70),
    ("teaser", 5, 25, 75), ("saw", 6, 24, 60), ("bicycles", 20, 25, 70), ("squats", 20, 35, 90), ("push-ups", 10, 15, 45),
    ("jumping jacks", 30, 20, 50), ("burpees", 10, 25, 70), ("plié in 2nd", 8, 20, 60), ("fire hydrants", 16, 25, 70),
    ("relevé", 16, 25, 60), ("cat cow", 6, 24, 60), ("bird dog", 6, 20, 60), ("inchworms", 4, 24, 60), ("om", 3, 18, 60),
    ("shoulder rolls", 5, 10, 40), ("cobra", 3, 12, 75), ("sit to stand", 8, 20, 60), ("kapalabhati", 30, 20, 60),
]  # fmt: skip


@pytest.mark.parametrize(("name", "times", "least", "most"), COUNTED)
def test_a_counted_move_takes_sensible_time(name: str, times: int, least: float, most: float) -> None:
    pose = TABLE.find(name).pose
    assert pose is not None, name
    assert pose.rep_breaths is not None, pose.id
    assert least <= times * pose.rep_breaths * USUAL_BREATH_S <= most


# What teachers type on a phone, and the pose; common practice, no source.
TYPED = [
    ("DD", "downward_dog"), ("DFD", "downward_dog"), ("UFD", "upward_dog"), ("WI", "warrior_1"), ("WII", "warrior_2"),
    ("W3", "warrior_3"), ("UHP", "extended_hand_to_toe"), ("SVSN", "corpse"), ("sava", "corpse"), ("LUTW", "legs_up_wall"),
    ("seated fwd fold", "seated_forward_fold"), ("WLFF", "wide_leg_fold"), ("3LD", "three_legged_dog"), ("CP", "child"),
    ("cat/cow", "cat_cow"), ("K2N", "knee_to_nose"), ("ANB", "alternate_nostril"), ("SBK", "reclined_bound_angle"),
    ("half sun salutes", "half_sun_salutation"), ("surya nam a", "sun_salutation_a"), ("moon salute", "moon_salutation"),
    ("Utthita Trikoṇāsana", "triangle"), ("Parivṛtta Trikoṇāsana", "revolved_triangle"), ("Śavāsana", "corpse"),
    ("Mārīcyāsana C", "marichi_3"), ("Karṇapīḍāsana", "knee_to_ear"), ("utpluthiḥ", "uplifting"),
    ("Jānu Śīrṣāsana A", "head_to_knee"), ("vyaghrasana", "tiger_curl"), ("Sukshma vyayama", "joint_series"),
    ("Prasarita Padottanasana C", "wide_leg_fold"), ("ardha chakrasana", "half_wheel_standing"),
    ("🐱🐮", "cat_cow"), ("🌉", "bridge"), ("🦋", "bound_angle"), ("😴", "corpse"), ("⚔️2", "warrior_2"),
    ("☀️ A", "sun_salutation_a"), ("🐦‍⬛", "crow"), ("🐶 down dog", "downward_dog"), ("🐦 pigeon", "half_pigeon"),
]  # fmt: skip


@pytest.mark.parametrize(("typed", "pose_id"), TYPED)
def test_what_teachers_type_on_a_phone_is_found(typed: str, pose_id: str) -> None:
    assert TABLE.find(typed).pose == TABLE.get(pose_id)


# The repertoire of each style, from memory of how classes of it are listed; common practice, no source.
REPERTOIRE = {
    "mat": "hundred;roll up;roll over;single leg circles;rolling like a ball;single leg stretch;double leg stretch;scissors;"
    "lower lift;criss cross;spine stretch forward;open leg rocker;corkscrew;saw;swan dive;single leg kick;double leg kick;"
    "neck pull;shoulder bridge;spine twist;jackknife;side kick;teaser;hip circles;swimming;leg pull front;leg pull back;"
    "kneeling side kick;side bend;boomerang;seal;control balance;rocking;push up;mermaid;pelvic curl;chest lift;toe taps;"
    "clam;dead bug;bird dog;side plank;heel beats",
    "led series": "surya namaskara a;surya namaskara b;padangusthasana;padahastasana;trikonasana;parsvakonasana;"
    "prasarita padottanasana a;parsvottanasana;utthita hasta padangusthasana;ardha baddha padmottanasana;utkatasana;"
    "virabhadrasana a;dandasana;paschimottanasana a;purvottanasana;ardha baddha padma paschimottanasana;"
    "triang mukhaikapada paschimottanasana;janu sirsasana a;janu sirsasana b;janu sirsasana c;marichyasana a;"
    "marichyasana b;marichyasana c;marichyasana d;navasana;bhujapidasana;kurmasana;supta kurmasana;garbha pindasana;"
    "kukkutasana;baddha konasana;upavistha konasana;supta konasana;supta padangusthasana;ubhaya padangusthasana;"
    "urdhva mukha paschimottanasana;setu bandhasana;urdhva dhanurasana;salamba sarvangasana;halasana;karnapidasana;"
    "urdhva padmasana;pindasana;matsyasana;uttana padasana;sirsasana;baddha padmasana;yoga mudra;padmasana;utplutihi;"
    "pasasana;krounchasana;salabhasana;bhekasana;dhanurasana;parsva dhanurasana;ustrasana;laghu vajrasana;kapotasana;"
    "supta vajrasana;bakasana;bharadvajasana;ardha matsyendrasana;eka pada sirsasana;dwi pada sirsasana;"
    "yoganidrasana;tittibhasana;pincha mayurasana;karandavasana;mayurasana;nakrasana;vatayanasana;parighasana;gomukhasana",
    "yin": "butterfly;half butterfly;dragonfly;half dragonfly;caterpillar;swan;sleeping swan;sphinx;seal;saddle;"
    "half saddle;dragon;baby dragon;winged dragon;twisted dragon;deer;shoelace;square;twisted roots;banana;"
    "cat pulling its tail;melting heart;frog;tadpole;snail;camel;dangling;squat;toe squat;ankle stretch;happy baby;child;"
    "legs up the wall;savasana;reclining twist;eye of the needle;supported fish;open wing",
    "restorative": "supported child's pose;supported bridge;legs on a chair;queen's pose;side-lying savasana;"
    "supported twist;supported fish;mountain brook;prone on bolster;supported forward fold;stonehenge;supported savasana",
    "barre": "plié in first;plié in second;relevé;tendu;dégagé;rond de jambe;grand battement;passé;développé;arabesque;"
    "attitude;parallel chair;wide second;curtsy lunge;port de bras;pretzel;fold over;fire hydrant;donkey kicks;tucks;"
    "c-curve;flat back;triceps dips;inner thigh lifts",
    "chair": "mountain;cat cow;side bend;twist;forward fold;eagle;warrior 2;pigeon;sun salutation;knee lifts;"
    "leg extensions;ankle circles;shoulder rolls;neck stretch;heel raises;sit to stand;arm raises;savasana",
    "interval": "burpees;jumping jacks;high knees;butt kicks;jump squats;jump lunges;skaters;mountain climbers;plank jacks;"
    "spider plank;shoulder taps;plank up-downs;tuck jumps;inchworms;lunges;squats;bear crawl;flutter kicks;v-ups;"
    "russian twists;superman;triceps dips;push-ups;wall sit;bicycles;plank",
    "mobility": "neck cars;shoulder cars;hip cars;wrist cars;90/90 switches;world's greatest stretch;thoracic rotation;"
    "open book;couch stretch;ankle rocks;jefferson curl;wall angels;cossack squats;leg swings;arm swings;shaking;"
    "foot massage;spinal waves;adductor rocks;deep squat;scorpion stretch;inchworm",
    "breathing": "box breathing;4-7-8;equal breathing;extended exhale;three-part breath;ujjayi;kapalabhati;bhastrika;"
    "nadi shodhana;bhramari;sitali;sitkari;surya bhedana;chandra bhedana;viloma;kumbhaka;lion's breath;breath of joy;"
    "breath of fire;uddiyana bandha;agnisara;nauli;mula bandha;coherent breathing;physiological sigh;humming;body scan;"
    "yoga nidra;loving-kindness meditation;trataka;sound bath;so hum",
    "kids": "butterfly;frog jumps;lion's breath;bear walk;crab walk;elephant;flamingo;rocket;kangaroo;bunny breath;"
    "snake;tree;star;mouse;sandwich;seed to tree;balloon breath;magic carpet ride;volcano breath;partner boat",
    "prenatal": "pelvic tilts;cat cow;goddess;squat;side-lying savasana;kegels;hip circles;bound angle;wide knee child;"
    "thread the needle;gate pose;seated side bend;pelvic floor;birthing squat",
}


@pytest.mark.parametrize("style", REPERTOIRE)
def test_the_repertoire_of_a_style_is_known(style: str) -> None:
    table = TABLE.in_style(style)
    assert [name for name in REPERTOIRE[style].split(";") if table.find(name).pose is None] == []


def test_names_of_a_style_lead_to_poses_and_leave_the_table_as_it_was() -> None:
    text = resources.files("pairing.plan").joinpath("style_names.csv").read_text(encoding="utf-8")
    for row in csv.DictReader(text.splitlines()):
        assert TABLE.in_style(row["style"]).find(row["name"]).pose == TABLE.get(row["pose_id"]), row
    assert TABLE.in_style("no such style") is TABLE
    assert (TABLE.find("swan").pose, TABLE.in_style("mat").find("swan").pose) == (
        TABLE.get("half_pigeon"),
        TABLE.get("swan_prep"),
    )


def test_every_picture_leads_to_a_pose() -> None:
    text = resources.files("pairing.plan").joinpath("pictures.csv").read_text(encoding="utf-8")
    for row in csv.DictReader(text.splitlines()):
        assert TABLE.find(row["picture"]).pose is not None, row


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
    assert all(step.hold_breaths == 0 or step.hold_breaths >= 2 for step in steps)  # a hold, which costs as one
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
