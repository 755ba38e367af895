"""What takes time in a note and what takes none: headings with minutes, details, errands, ways from place to place.

Invented notes; the seconds are those that their own words tell, at 5 s a breath. Common practice, no source.
"""

from collections import defaultdict

import pytest

from pairing.effort.timetable import build_timetable
from pairing.plan.poses import pose_table
from pairing.plan.read import read_plan


def spent(text: str) -> dict[int, int]:
    """Seconds by line of a note."""
    told: dict[int, float] = defaultdict(float)
    for step in build_timetable(read_plan(text), pose_table()).steps:
        told[step.line] += step.end_s - step.start_s
    return {number: round(told[number]) for number in range(1, text.count("\n") + 1)}


def in_all(text: str, *numbers: int) -> list[int]:
    """Seconds of lines with all that a heading above them asks for once more."""
    told: dict[int, float] = defaultdict(float)
    for step in build_timetable(read_plan(text), pose_table()).steps:
        told[step.told_by] += step.end_s - step.start_s
    return [round(told[number]) for number in numbers]


def of_lines(text: str, *numbers: int) -> list[int]:
    found = spent(text)
    return [found[number] for number in numbers]


HEADS = [
    "WARM UP (6 min)",
    "Warm up 6 mins",
    "Échauffement (6 min)",
    "AUFWÄRMEN 6 min",
    "Calentamiento (6 min)",
    "LOOSEN UP - 6 min",
]


@pytest.mark.parametrize("heading", HEADS)
def test_minutes_of_a_heading_hold_lines_that_only_say_what_is_done(heading: str) -> None:
    note = f"Tuesday class 60 min\n\n{heading}\ncat cow x6\nbird dog\nshoulder rolls\n\nSTRENGTH\nplank 1 min\n"
    assert of_lines(note, 3, 4, 5, 6, 9) == [360, 0, 0, 0, 60]


@pytest.mark.parametrize("heading", HEADS)
def test_lines_that_tell_their_own_lengths_keep_them(heading: str) -> None:
    note = f"Tuesday class 60 min\n\n{heading}\npuppy 2 min\ncobra 1 min\nsphinx 3 min\n\nSTRENGTH\nplank 1 min\n"
    assert of_lines(note, 3, 4, 5, 6, 9) == [0, 120, 60, 180, 60]


@pytest.mark.parametrize(
    "heading",
    ["SIDE SERIES 4 MIN EACH SIDE", "LEG SERIES (4 min e/s)", "SIDE LYING 4 min per side", "HIPS 4 MIN EACH SIDE"],
)
def test_minutes_of_each_side_count_twice(heading: str) -> None:
    note = f"Tuesday class 60 min\n\n{heading}\n  clams\n  leg lifts\n\nFLOOR\nplank 1 min\n"
    assert of_lines(note, 3, 4, 5) == [480, 0, 0]


@pytest.mark.parametrize(
    "heading", ["Block 1 - R side", "block 2 (balance)", "PART B", "Section 3", "PLIÉS", "TEIL 2 BALANCE", "Bloque 1"]
)
def test_names_of_parts_head_what_is_below(heading: str) -> None:
    note = f"Tuesday class 60 min\n\nchild 1 min\n\n{heading}\nplank 40 sec\nbow 20 sec\n"
    assert of_lines(note, 5, 6, 7) == [0, 40, 20]


@pytest.mark.parametrize(
    "heading",
    [
        "CIRCUIT 45 on / 15 off x 2 rounds",
        "Circuit 45/15, 2 rounds",
        "CIRCUIT - 45s on 15s off - 2 rounds",
        "circuit: 45 on, 15 off, 2 rounds",
    ],
)
def test_work_and_rest_of_a_circuit_stand_in_its_heading(heading: str) -> None:
    note = f"Tuesday class 60 min\n\n{heading}\n   lunges\n   push ups\n   bear crawl\n\nchild 1 min\n"
    assert of_lines(note, 3, 4, 5, 6) == [0, 120, 120, 120]


@pytest.mark.parametrize(
    "errand",
    [
        "bring the spare straps and blankets", "props: two blocks each", "ask who is new", "heater on, mats in a circle",
        "Decken mitbringen", "traer bloques y mantas", "apporter les briques et les couvertures", "Playlist: the slow one, no drums",
        "tell them about the next class", "who has the key??", "Candles, heating on half an hour before.",
    ],
)  # fmt: skip
@pytest.mark.parametrize("behind", [False, True])
def test_errands_around_a_class_take_no_time(errand: str, *, behind: bool) -> None:
    lines = ["child 2 min", "tree 1 min each side", "savasana 8 min"]
    note = "\n".join(["Evening class 60 min", *lines, errand] if behind else ["Evening class 60 min", errand, *lines])
    assert sum(spent(note + "\n").values()) == 120 + 120 + 480


@pytest.mark.parametrize(
    "detail",
    [
        "   - blanket between the knees",
        '   "let the ribs fan out"',
        "   * strap round the thighs",
        "   bolster longways",
        "  - knees wide if tight",
    ],
)
def test_what_is_set_in_below_a_time_is_part_of_it(detail: str) -> None:
    note = f"Restore 30 min\n5:30 welcome\n5:35 legs up the wall\n{detail}\n5:45 side lying\n5:50 savasana\n6:00 end - blow out candles!!\n"
    assert of_lines(note, 3, 4, 5, 6, 7) == [600, 0, 300, 600, 0]


@pytest.mark.parametrize(
    "way",
    [
        "roll to the side, come to all fours",
        "come up slowly",
        "stand up slowly!",
        "Sit down again",
        "langsam hoch",
        "roll over onto bellies",
        "make your way to the front",
    ],
)
def test_ways_from_place_to_place_are_short(way: str) -> None:
    assert spent(f"Slow class 60 min\nchild 2 min\n{way}\ntree 1 min\n")[3] <= 15


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("jog / high knees / butt kicks 3 min", 180), ("sleeping bears 4 min, read the end of the story", 240),
        ("Étirements 6 min : pigeon, papillon, torsion", 360), ("stretch 7 min, lights low: splits, side bend", 420),
        ("Ankles and toes: point and flex 1 min", 60), ("wall sit, last one standing (max 2 min)", 120),
        ("sleeping swan 4 min per side, 1 min puppy in between", 540), ("chair 30 sec, tree 1 min each side", 150),
    ],
)  # fmt: skip
def test_minutes_that_stand_on_a_line_are_those_of_the_line(typed: str, meant: int) -> None:
    assert spent(f"Evening class 60 min\nbreath: 5 seconds\nchild 1 min\n{typed}\n")[4] == meant


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("forward fold few br", 20), ("forward fold a few breaths", 20), ("mountain several breaths", 20),
        ("hundred, 100 beats - feet down", 100), ("plank 30 sec. x3", 90), ("tree 5 breaths both", 50),
    ],
)  # fmt: skip
def test_small_words_beside_numbers(typed: str, meant: int) -> None:
    assert spent(f"Evening class 60 min\nbreath: 5 seconds\nchild 1 min\n{typed}\n")[4] == meant


@pytest.mark.parametrize(
    "typed",
    ["sun A x2 (slow) then x2 on breath", "sun A x4 (2 slow, 2 on the breath)", "Sun A - 2 slow, 2 with the breath"],
)
def test_counts_of_one_salutation_add_up(typed: str) -> None:
    whole = spent("Evening class 60 min\nchild 1 min\nsun A x4\n")[3]
    assert spent(f"Evening class 60 min\nchild 1 min\n{typed}\n")[3] == pytest.approx(whole, rel=0.55)


@pytest.mark.parametrize(
    "typed", ["Frobnik 4", "frobnik re 2, li 2", "Frobnik 2/2", "Frobnik R 2 L 2", "frobnik 2 min e/s"]
)
def test_unknown_names_in_a_class_of_long_holds_keep_their_minutes(typed: str) -> None:
    assert spent(f"Yin Dienstag 75 min\nKind 2\n{typed}\nSphinx 4\n")[3] == 240


@pytest.mark.parametrize(
    "times",
    [("12.40", "12.55", "1.00", "1.08"), ("12:40", "12:55", "1:00", "1:08"), ("12h40", "12h55", "1h00", "1h08")],
)
def test_a_clock_of_twelve_hours_goes_past_noon(times: tuple[str, ...]) -> None:
    first, second, third, last = times
    note = (
        f"Lunch class 12.30-1.15\n12.30 - cat cow\n{first} - tree\n{second} - bow\n{third} - twist\n{last} - savasana\n"
    )
    assert of_lines(note, 2, 3, 4, 5) == [600, 900, 300, 480]


@pytest.mark.parametrize(
    "heading", ["BLOCK 1 - 3 ROUNDS, 40 ON 20 OFF", "Part 2 - 3 rounds 40/20", "SECTION 1 – 3 sets, 40 on 20 off"]
)
def test_the_number_of_a_part_is_no_end_of_a_range(heading: str) -> None:
    assert of_lines(f"Strong 30 min\n\n{heading}\nsquats\nlunge R\nlunge L\n", 4, 5, 6) == [180, 180, 180]


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("all fours - cat cow 8 rounds", 40), ("easy seat, sun breaths x6", 30), ("side lying: clams x10", 25),
        ("bridge x5", 75), ("camel 4x", 60), ("plank 3 x 20s, 10s off", 80), ("plank 3 x 20s (10 sec off)", 80),
        ("shoulder rolls 8x fwd, 8x back", 48), ("child 2 min, last 30 secs arms by the side", 120),
        ("down dog 5br > plank 3br > cobra (3 breaths) x2", 110),
    ],
)  # fmt: skip
def test_places_short_holds_and_sums(typed: str, meant: int) -> None:
    assert spent(f"Evening class 60 min\nbreath: 5 seconds\nholds: slow\n{typed}\n")[4] == pytest.approx(meant, rel=0.3)


@pytest.mark.parametrize("slip", ["agian", "repaet", "again agian", "same agian", "raepet"])
def test_small_words_with_a_slip_are_known(slip: str) -> None:
    assert spent(f"Evening class 60 min\nplank 30 sec\n{slip}\n")[3] == 30


@pytest.mark.parametrize("line", ["again with feet parallel", "once more", "repeat", "again", "do it again"])
def test_again_means_all_of_the_part_though_a_rest_stands_in_it(line: str) -> None:
    assert spent(f"Barre 45 min\n\nTHIGHS\nplies x16\nhold 20 sec\nshake 10 sec\n{line}\n")[7] >= 60


@pytest.mark.parametrize("other", ["L", "left", "L side", "other side", "same on the left"])
def test_the_left_of_one_line_is_not_that_of_lines_above_it(other: str) -> None:
    assert spent(f"Evening class 60 min\nchild 1 min\nwide leg fold 30 sec\nlow lunge R 20 sec\n{other}\n")[5] == 20


@pytest.mark.parametrize(
    "first", ["tune in - ong namo x3", "opening chant x3, then sit", "welcome, om x3", "arrive: om x3"]
)
def test_a_count_in_a_plain_line_repeats_no_lines_below(first: str) -> None:
    assert spent(f"Monday class 60 min\n{first}\nspinal flex 2 min\nchild 1 min\n")[3] == 120


@pytest.mark.parametrize("count", ["x2", "2 rounds", "x 2", "2x", "2 sets"])
def test_a_count_by_itself_is_that_of_the_lines_above(count: str) -> None:
    assert spent(f"Core 45 min\n\nCORE\nplank 30 sec\nboat 20 sec\n{count}\nchild 1 min\n")[6] == 50


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("standing: crescent 5br e/s, dancer 30s e/s (10m)", 600), ("suns A x6 (12 min)", 720), ("boat x3 5br, plank 30s (4 min)", 240),
        ("lunge 5br R/L, tree 30s e/s (6')", 360), ("cat cow x8, puppy 5br (3 mins)", 180),
    ],
)  # fmt: skip
def test_minutes_in_a_bracket_behind_other_sizes_hold_the_line(typed: str, meant: int) -> None:
    assert spent(f"Evening class 60 min\nchild 1 min\n{typed}\n")[3] == pytest.approx(meant, abs=1)


@pytest.mark.parametrize(
    "heading", ["stretch 5 mins", "cool down 4 mins", "Dehnen 5 Min", "wind down 3 min", "stretching (5 min)"]
)
def test_minutes_above_the_closing_rest_are_no_heading_of_it(heading: str) -> None:
    assert sum(spent(f"Evening class 60 min\nplank 1 min\n{heading}\nsavasana 5 min\n").values()) >= 60 + 180 + 300


HATHA = "Class 14 Tuesday 60 min\nsavasana 1\n{}\nfish 2\nseated forward fold 3\nplow 1\nbow 2\nrelax 8\n"


@pytest.mark.parametrize(
    "typed",
    ["shoulderstand 3", "locust 2, plow 1", "triangle 1 + 2", "reverse plank 1, seated forward fold 2", "headstand 3"],
)
def test_small_bare_numbers_of_a_still_class_are_minutes(typed: str) -> None:
    assert spent(HATHA.format(typed))[3] == 180


@pytest.mark.parametrize("typed", ["20' (left)", "20' (L)", "20' [left side]", "20' left", "20' other side"])
def test_a_time_before_a_side_is_that_of_the_side(typed: str) -> None:
    note = f"Class 45'\n0' breath\n5' cat cow\n10' warrior two, triangle (R)\n{typed}\n25' core\n35' savasana\n"
    assert of_lines(note, 4, 5) == [600, 300]


@pytest.mark.parametrize("mark", ["•", "-", "*", "–", "▪"])
def test_plain_lines_above_bullets_head_them(mark: str) -> None:
    below = {
        "Warm Up (10 mins)": ["Cat cow x10", "Puppy pose"],
        "Cool down (12 mins)": ["Pigeon (2 mins each side)", "Twist (3 mins each side)"],
    }
    flow = {"Flow 1 (12 mins) - x3 each side": ["Crescent lunge", "Warrior 2", "Vinyasa"]}
    lines = [line for name, items in (below | flow).items() for line in (name, *(f"{mark} {item}" for item in items))]
    note = "\n".join(["Slow flow 75 mins", *lines, "Savasana (10 mins)", ""])
    assert of_lines(note, 2, 3, 4, 5, 6, 7) == [600, 0, 0, 0, 240, 360]
    assert of_lines(note, 8, 9, 10, 11, 12) == pytest.approx([720, 0, 0, 0, 600], abs=3)


@pytest.mark.parametrize(
    "typed",
    [
        "Joint release, on all fours - 10 min",
        "Sukhasana, arrive, opening chant - 10 min",
        "tree, eagle, dancer - 10 min",
        "neck, shoulders, wrists (10 min)",
        "cat, cow, child - 10 min",
    ],
)
def test_many_minutes_behind_several_names_are_those_of_all(typed: str) -> None:
    assert spent(f"Evening class 60 min\nplank 1 min\n{typed}\n")[3] == 600


@pytest.mark.parametrize(
    "heading",
    [
        "The hard bit: peak",
        "Strong middle: flow",
        "Down we go: cool-down",
        "Slow start: warm-up",
        "On one leg: standing",
    ],
)
def test_a_name_with_its_kind_heads_a_part_without_signs(heading: str) -> None:
    plan = read_plan(f"Evening class 60 min\nplank 1 min\n{heading}\ntree 1 min\nbow 1 min\n")
    assert [section.name for section in plan.sections][-1] == heading.partition(":")[0]
    assert plan.sections[-1].kind.value == heading.partition(": ")[2]


@pytest.mark.parametrize(
    ("typed", "least", "most"),
    [("sit up, close", 10, 90), ("come to sit, close", 10, 90), ("hundred prep: 5 sets of 10", 45, 60), ("hundred x1", 95, 105), ("sit 3 min, om x3", 190, 230)],
)  # fmt: skip
def test_ends_beats_and_chants(typed: str, least: float, most: float) -> None:
    assert least <= spent(f"Mat class 45 min\nsavasana 5 min\n{typed}\n")[3] <= most


@pytest.mark.parametrize("form", ["- {} ({} min)", "{} ({}')", "{} - {} min", "{}: {} min", "* {} [{} mins]"])
def test_minutes_behind_all_lines_that_make_the_class_are_totals(form: str) -> None:
    lines = {
        "child -> cat/cow": 4,
        "sun A x4": 6,
        "sun B x3": 6,
        "chair -> twist R/L -> crow": 5,
        "pigeon R/L": 4,
        "savasana": 5,
    }
    note = "\n".join(["Sunrise vinyasa 30 min", *(form.format(*each) for each in lines.items()), ""])
    assert of_lines(note, 2, 3, 4, 5, 6, 7) == pytest.approx([60 * minutes for minutes in lines.values()], abs=2)


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("arms 5 min (2 lb): bicep 16, tricep 16, x2", 300), ("abs 8 min: hundred, roll ups x8, plank 1 min", 480),
        ("Breath - 4 in 6 out 3 mins", 180), ("bananasana 1' + 1'", 120), ("chimes, come back slowly 3 min", 180),
    ],
)  # fmt: skip
def test_minutes_are_those_of_what_they_stand_by(typed: str, meant: int) -> None:
    assert spent(f"Evening class 60 min\nchild 1 min\n{typed}\n")[3] == pytest.approx(meant, abs=1)


@pytest.mark.parametrize(
    "typed", ["3+3 half butterfly", "3 + 3 dragon", "3/3 shoelace", "6 sphinx", "3+3 twist", "6 sit, breathe"]
)
def test_minutes_in_front_of_a_long_hold(typed: str) -> None:
    assert spent(f"Yin Thursday (60)\nchild 2\n{typed}\nsava 8\n")[3] == 360


@pytest.mark.parametrize("typed", ["A x2 B x1", "A x2, B x1", "A x 2 B x 1", "A's x2 + B x1"])
def test_salutations_by_their_letters(typed: str) -> None:
    both = spent("Evening class 60 min\nchild 1 min\nsun A x2\nsun B x1\n")
    assert spent(f"Evening class 60 min\nchild 1 min\n{typed}\n")[3] == pytest.approx(both[3] + both[4], rel=0.05)


@pytest.mark.parametrize(
    "typed",
    [
        "plank 20s / boat 20s / bow 20s / tree 20s",
        "child / plank 30s / bow 30s / tree / boat 20s",
        "w2 4br / rev / tri 4br / plank 20s / boat 20s",
    ],
)
def test_many_slashes_part_what_comes_one_after_the_other(typed: str) -> None:
    assert spent(f"Evening class 60 min\nbreath: 5 seconds\nchild 1 min\n{typed}\n")[4] >= 80


@pytest.mark.parametrize("form", [":{:02d} {}", "{}' {}", "[{}'] {}", "{} min {}", "{}: {}"])
def test_minutes_of_a_class_in_front_are_a_clock(form: str) -> None:
    starts = {
        0: "breath",
        3: "cat cow, bird dog 10/10",
        6: "suns x4",
        14: "R: lunge pulses 20, w3 5br",
        18: "L",
        22: "sava",
        30: "done",
    }
    note = "\n".join(["Monday 6:15 30m", *(form.format(*each) for each in starts.items()), ""])
    assert of_lines(note, 2, 3, 4, 5, 6, 7)[:5] == pytest.approx([180, 180, 480, 240, 240], abs=2)


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("lunge flow R: low lunge > half splits > lizard. 3 breaths in each", 45), ("pigeon 4' side", 480), ("pigeon D 4' / I 4'", 480),
        ("arrive lying, 4 mins, natural breath > 3d breath", 240), ("plank 20 sec, boat 20 sec. L same", 80),
    ],
)  # fmt: skip
def test_runs_and_sides_of_a_line(typed: str, meant: int) -> None:
    note = f"Clase de yoga 60 min\nbreath: 5 seconds\npostura del niño 1 min\n{typed}\n"
    assert spent(note)[4] == pytest.approx(meant, abs=1)


@pytest.mark.parametrize(
    "line",
    [
        "(x)",
        ": 5",
        "5 min:",
        "→ / +",
        "(8 min)",
        "3+",
        "x2",
        '"',
        "'' ''",
        "- :",
        "12.30 -",
        ":00",
        "/ 2 /",
        "L",
        "→",
        ". .",
        "1/2",
        "½ x",
        "same",
        "right",
        "3. &",
        "5) —",
    ],
)
def test_scraps_of_lines_are_read_without_a_fault(line: str) -> None:
    assert len(read_plan(f"Evening class 60 min\nchild 1 min\n{line}\nsavasana 5 min\n{line}\ncat 1 min\n").lines) >= 3


@pytest.mark.parametrize(
    "heading",
    [
        "circuit 30 sec each, 3 rounds:",
        "CIRCUIT - 30s each - 3 rounds",
        "Circuit (30 sec each, 3 rounds)",
        "STATIONS 30 sec ea, 3 rounds",
        "CORE: 30 s each, 3 sets",
    ],
)
def test_so_long_each_in_a_heading_is_work_without_rest(heading: str) -> None:
    assert of_lines(f"Strong 45 min\n\n{heading}\nsquat jumps\nboat hold\n\nchild 1 min\n", 4, 5, 7) == [90, 90, 60]


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("triangle 2× each side, hold 20 secs", 80), ("bridge: 3 times, hold 5 breaths", 75), ("tree 2x each, hold 30 sec", 120),
        ("camel x3, hold 20 sec", 60), ("bow 2x hold 15s", 30), ("-- break, tea 10 min --", 600), ("*** water break 2 min ***", 120),
    ],
)  # fmt: skip
def test_holds_of_a_few_times_and_breaks(typed: str, meant: int) -> None:
    assert spent(f"Evening class 60 min\nbreath: 5 seconds\nchild 1 min\n{typed}\nplank 1 min\n")[4] == pytest.approx(
        meant, abs=1
    )


@pytest.mark.parametrize(
    ("typed", "meant"),
    [("WARM-UP (5') knee lifts, side steps, arm reaches", 300), ("Warm up (4 min) cat cow, puppy", 240), ("CORE (6 min) boat, plank, bow", 360), ("arrive, lie, 5", 300), ("relax, on backs - 8", 480)],
)  # fmt: skip
def test_minutes_in_front_of_a_run_and_behind_a_name(typed: str, meant: int) -> None:
    assert spent(f"Evening class 60 min\nchild 1 min\n{typed}\nplank 1 min\n")[3] == pytest.approx(meant, abs=1)


@pytest.mark.parametrize(
    "heading",
    [
        "SEAT (10') R then L",
        "SEAT (10 min), both sides",
        "SEAT 10 min - R + L",
        "SEAT (10 mins) right then left",
        "SEAT 10' R/L",
    ],
)
def test_minutes_of_a_part_on_both_sides_are_those_of_both(heading: str) -> None:
    assert of_lines(
        f"Barre 50 min\n\n{heading}\n- arabesque x16\n- pulses 32\n\nchild 1 min\n", 3, 4, 5, 7
    ) == pytest.approx([600, 0, 0, 60], abs=2)


@pytest.mark.parametrize(
    "typed",
    [
        "walk to front, fold, slowly roll up",
        "knee to nose, step through, fold",
        "3 leg dog, knee to nose, step through",
        "step back, low plank, up dog",
        "halfway lift, fold, stand",
    ],
)
def test_what_is_passed_through_takes_a_breath(typed: str) -> None:
    assert 14 <= spent(f"Evening flow 60 min\nbreath: 5 seconds\nchild 1 min\n{typed}\n")[4] <= 60


@pytest.mark.parametrize(
    "heading",
    [
        "FLOW R then L - 2 rounds: first slow, 2 one breath one movement", "Standing flow L + R, 2 rounds: 1st slowly, then quick",
        "Flow re dann li - 2 Runden: erste langsam", "FLUJO derecha luego izquierda - 2 vueltas: primera lenta",
        "SERIES - 2 rounds R then 2 rounds L",
    ],
)  # fmt: skip
def test_rounds_of_both_sides_stand_in_a_heading(heading: str) -> None:
    note = f"Tuesday class 60 min\n\n{heading}\ntriangle 20 sec\nhalf moon 10 sec\n\nchild 1 min\n"
    assert in_all(note, 3, 4, 5, 7) == [0, 80, 40, 60]


@pytest.mark.parametrize(
    "heading",
    [
        "FLOW 1 - R, L, then R + L again 1 br per move", "Flow two - R and L, then both again 1 breath each",
        "STANDING - right, left, repeat both sides 1 breath per pose",
    ],
)  # fmt: skip
def test_a_heading_asks_for_all_once_more_without_holds(heading: str) -> None:
    note = f"Vinyasa 60 min\n\n{heading}\ntriangle 30 sec\nhalf moon 20 sec\n\nchild 1 min\n"
    assert in_all(note, 3, 4, 5) == [0, 2 * (30 + 5), 2 * (20 + 5)]


@pytest.mark.parametrize(
    "heading", ["10:10 standing flow, both sides, 3 times", "10:10 balances R/L x2", "10:10 flow, 3 rounds"]
)
def test_minutes_of_a_clock_hold_all_rounds_of_what_is_set_in(heading: str) -> None:
    note = f"Tuesday class 10:00 - 11:00\n10:00 child\n{heading}\n - triangle\n - half moon, tree\n10:25 corpse\n10:35 end\n"
    assert of_lines(note, 2, 3, 4, 5) == [600, 900, 0, 0]


@pytest.mark.parametrize(
    "heading",
    ["Gentle flow, right side first:", "Flow - left side first:", "Slow sequence (R first):", "Flow re zuerst:"],
)
def test_a_side_that_comes_first_heads_its_lines(heading: str) -> None:
    other = "L" if "left" not in heading else "R"
    note = f"Tuesday vinyasa 60 min\ncat 1 min\n\n{heading}\n  triangle 30 sec\n  half moon 20 sec\n{other} the same\n"
    note += "Both sides once more, add a twist\nchild 1 min\n"
    assert of_lines(note, 2, 4, 5, 6, 7, 8, 9) == [60, 0, 30, 20, 50, 100, 60]


@pytest.mark.parametrize(
    "line",
    [
        "slower music", "Music back on, something warm", "musique lente et douce", "faster tunes from here", "quiet track now",
        "Musik wieder an, was Ruhiges", "música otra vez, algo alegre",
    ],
)  # fmt: skip
def test_words_about_the_music_take_no_time(line: str) -> None:
    note = f"Tuesday class 60 min\ncat 1 min\n{line}\ncobra 1 min\n"
    assert of_lines(note, 2, 3, 4) == [60, 0, 60]


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("dragon G 3 min, D 3 min", 360), ("demi-pigeon D 2 min, G 2 min", 240), ("cygne G 3 min puis D 3 min", 360),
        ("1/2 moon 30 sec", 30), ("½ pigeon 40 s e/s", 80), ("1/2 sun salute 1 min", 60), ("1/2 min plank", 30),
        ("rest 30 sec, knees to chest", 30), ("Pause 20 Sek, Kind", 20), ("descanso 40 seg, postura del niño", 40),
    ],
)  # fmt: skip
def test_letters_of_sides_halves_and_rests(typed: str, meant: int) -> None:
    assert of_lines(f"Flow class 60 min\nposture de l'enfant 1 min à droite\n{typed}\n", 3) == [meant]


@pytest.mark.parametrize(
    "typed",
    ["sun A x4, first 2 slow", "sun A x4, the last one fast", "Sonnengruß A 4x, die letzten 2 langsam", "saludo al sol A x4, los 2 primeros lentos"],
)  # fmt: skip
def test_how_the_first_or_last_are_done_adds_none(typed: str) -> None:
    alone = of_lines("Flow class 60 min\nsun A x4\n", 2)
    assert of_lines(f"Flow class 60 min\n{typed}\n", 2) == alone


@pytest.mark.parametrize(
    "typed",
    ["bridge x10, hold last one 20 sec", "bridge x10, the last one hold 20 sec", "puente x10, el último aguantar 20 seg", "pont x10, tenir le dernier 20 sec"],
)  # fmt: skip
def test_the_last_of_several_is_held(typed: str) -> None:
    assert of_lines(f"Flow class 60 min\n{typed}\n", 2) == [10 * 5 + 20]


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("bell x3, sit, thanks", 38), ("ring the bell, sit up, thank everyone, 1 min", 60), ("bell, sit, hands together, thank you, 2 min", 120),
        ("gong, come up, bye, 1 min", 60), ("sit up slowly", 10),
    ],
)  # fmt: skip
def test_a_class_ends_in_the_time_that_is_told(typed: str, meant: int) -> None:
    assert of_lines(f"Flow class 60 min\ncobra 1 min\nsavasana 6 min\n{typed}\n", 3, 4) == [360, meant]


@pytest.mark.parametrize("last", ["bell", "bell, om", "gong, then namaste, tea is ready", "chimes, thank you"])
def test_a_clock_gives_its_minutes_to_bells_and_words(last: str) -> None:
    note = f"Flow 9:00 - 10:00\n9:00 cat\n9:30 cobra\n9:50 savasana\n9:57 {last}\n10:00 end\n"
    assert of_lines(note, 4, 5) == [420, 180]


@pytest.mark.parametrize(
    "typed", ["knees to chest, rock - 1", "happy baby, rock side to side - 1", "twist, wipers - 2"]
)
def test_a_number_behind_a_dash_is_that_of_what_is_moved_in(typed: str) -> None:
    note = f"Yin 60 min\nbutterfly - 4\nsphinx - 3\nswan - 4\n{typed}\nsavasana 10\n"
    assert of_lines(note, 5) == [60 * int(typed[-1])]


@pytest.mark.parametrize("errand", ["no props, hall just mopped", "push tables back", "mute everyone, vacuum first"])
def test_words_about_the_room_above_the_class_take_no_time(errand: str) -> None:
    assert of_lines(f"Flow class 60 min\n{errand}\ncat 1 min\n", 2, 3) == [0, 60]


@pytest.mark.parametrize(
    "heading",
    [
        "FLOW B x2, R + L", "FLOW A: right then left, x2 (1st slow)",
        "SEQUENCE x 2 - right and left", "Flow 3: R, L, 2 rounds",
    ],
)  # fmt: skip
def test_a_count_beside_both_sides_is_that_of_the_part(heading: str) -> None:
    note = f"Tuesday class 60 min\n\n{heading}\ntriangle 20 sec\nhalf moon 10 sec\n\nchild 1 min\n"
    assert in_all(note, 3, 4, 5, 7) == [0, 80, 40, 60]


@pytest.mark.parametrize(
    "heading",
    ["cool down - 5 mins", "Cool down: 5 min", "COOL DOWN 5 min", "stretch - 5 min", "ESTIRAR 5 min", "DEHNEN 5 Min"],
)
def test_the_closing_rest_is_no_detail_of_what_stands_above(heading: str) -> None:
    note = f"Tuesday class 60 min\nplank 1 min\n\n{heading}\nquad stretch, neck\npuppy, twist\nsavasana 3 min\n"
    assert of_lines(note, 2, 4, 5, 6, 7) == [60, 300, 0, 0, 180]


@pytest.mark.parametrize(
    ("typed", "times"),
    [("twist x4 each way", 8), ("side plank x4 e/s", 8), ("locust x6", 6)],
)
def test_what_is_done_often_is_moved_with_the_breath(typed: str, times: int) -> None:
    assert of_lines(f"Flow class 60 min\n{typed}\n", 2) == [5 * times]


@pytest.mark.parametrize(
    "title", ["Gentle flow 60 (village hall)", "Flow, Tues 9.30 60 (bring straps)", "Flow 1h (upstairs)"]
)
def test_minutes_of_a_title_may_stand_before_a_bracket(title: str) -> None:
    assert read_plan(f"{title}\ncat 1 min\n").slot_s == 3600


@pytest.mark.parametrize(
    "heading",
    [
        "De pie - lado D y luego lado I",
        "Debout, côté D puis G",
        "STANDING right side then left",
        "Im Stand - rechts, dann links",
    ],
)
def test_a_name_that_has_no_sides_heads_both(heading: str) -> None:
    note = (
        f"Tuesday class 60 min\npostura del niño 1 min\n\n{heading}\ntriangle 20 sec\nhalf moon 10 sec\n\ncat 1 min\n"
    )
    assert in_all(note, 2, 4, 5, 6, 8) == [60, 0, 40, 20, 60]


@pytest.mark.parametrize(
    "typed", ["glute bridge 3x15 (20 s rest)", "squats 3x15 (rest 20 s)", "lunges 3x15, 20 s rest"]
)
def test_rests_between_sets_come_between_sets(typed: str) -> None:
    without = of_lines(f"Barre class 60 min\n{typed.split(' 3x')[0]} x15\n", 2)[0]
    assert of_lines(f"Barre class 60 min\n{typed}\n", 2)[0] == pytest.approx(3 * without + 40, abs=3)


@pytest.mark.parametrize(
    "title", ["Hatha 19h-20h", "Yoga mardi 18h - 19h", "Flow 17 - 18 Uhr", "Hatha 9 Uhr bis 10 Uhr"]
)
def test_hours_of_the_day_tell_the_slot(title: str) -> None:
    assert read_plan(f"{title}\ncat 1 min\n").slot_s == 3600


@pytest.mark.parametrize(
    ("right", "left"),
    [("RIGHT SIDE", "LEFT SIDE"), ("right", "left"), ("R side", "L side"), ("rechte Seite", "linke Seite"), ("lado derecho", "lado izquierdo")],
)  # fmt: skip
@pytest.mark.parametrize("same", ["", "same\n"])
def test_the_right_side_comes_first_below_lines_without_sides(right: str, left: str, same: str) -> None:
    note = f"Flow class 60 min\npostura del niño 1 min, Kind 1 min\nsun A x3\n{right}\ntriangle 20 sec\nhalf moon 10 sec\n{left}\n{same}"
    assert of_lines(f"{note}cat 1 min\n", 4, 5, 6, 7) == [0, 20, 10, 30]


@pytest.mark.parametrize(
    "detail", ["cue: soften the knees", "note: wall for those who wobble", "cues: look where the toes point"]
)
@pytest.mark.parametrize("pose", ["down dog - slowly, by the wall", "warrior 2 R/L, twice", "tree, both sides"])
def test_a_time_of_the_clock_above_a_cue_is_that_of_its_own_line(pose: str, detail: str) -> None:
    note = f"Class 18:00-18:30\n18:00 sit\n18:05 {pose}\n   {detail}\n18:12 mountain\n18:15 savasana\n18:30 end\n"
    assert of_lines(note, 2, 3, 4, 5, 6) == [300, 420, 0, 180, 900]


@pytest.mark.parametrize(
    "line", ["breath - count 4 in 4 out", "breath: 4 in, 6 out", "breathing, count to 4", "ujjayi breath, even"]
)
def test_a_line_of_breath_with_a_time_of_the_clock_takes_its_time(line: str) -> None:
    note = f"Class 18:00-18:30\n18:00 sit\n18:05 {line}\n18:12 cat cow x6\n18:15 savasana\n18:30 end\n"
    assert of_lines(note, 2, 3, 4, 5) == [300, 420, 180, 900]


@pytest.mark.parametrize("again", ["(R then L, 2 rounds)", "(R then L)", "x2", "2 rounds"])
def test_what_stands_below_the_bullets_of_a_part_is_not_done_again_with_it(again: str) -> None:
    note = f"Power 30 min\n\nSTANDING SERIES {again}\n- warrior 1 1 min\n- triangle 1 min\n\nwater 30s\nplank 1 min\nSAVASANA 6\n"
    assert of_lines(note, 7, 8, 9) == [30, 60, 360]


@pytest.mark.parametrize(
    ("sided", "seconds"),
    [("pigeon - 3 each side", 360), ("pigeon - 3 e/s", 360), ("pigeon - 3/3", 360), ("frog - 6", 360)],
)
@pytest.mark.parametrize("music", ["♪ bring in the piano", "♪ drums here, not too loud", "(lights down)"])
def test_numbers_behind_dashes_that_make_the_class_are_minutes(sided: str, seconds: int, music: str) -> None:
    note = (
        f"Slow flow 30 min\narrive - 4\ncat cow - 3\n{music}\nmoon salutes, 2 each side - 5\n{sided}\nsavasana - 12\n"
    )
    assert of_lines(note, 2, 3, 4, 5, 6, 7) == [240, 180, 0, 300, seconds, 720]


@pytest.mark.parametrize(
    "after", ["rebound 1'", "rebound on back 1 min", "counterpose: tabletop 1 min", "rest on belly 60 s"]
)
def test_what_has_its_own_minutes_below_a_pose_follows_it(after: str) -> None:
    note = f"Yin 30 min\n1) Butterfly 5'\n   {after}\n2) Sphinx 3'\n   {after}\n3) Savasana 8'\n"
    assert of_lines(note, 2, 3, 4, 5, 6) == [300, 60, 180, 60, 480]


@pytest.mark.parametrize("first", ["sit, eyes closed", "lie down", "seated, hands on belly", "stand, feel your feet"])
@pytest.mark.parametrize("heading", ["ARRIVE (5 min)", "ARRIVING (5 min)", "WARM UP (5 min)"])
def test_how_a_part_begins_is_done_in_its_minutes(heading: str, first: str) -> None:
    note = f"Class 60 min\n\n{heading}\n{first}\nneck rolls\n\nFLOW\nsun A x4\nsavasana 5 min\n"
    assert of_lines(note, 3, 4, 5, 9) == [300, 0, 0, 300]


@pytest.mark.parametrize(
    "how", ["last one 1 breath per move", "the last one 1 breath a move", "first one 2 breaths each"]
)
def test_how_one_of_several_is_done_is_no_length_of_all(how: str) -> None:
    head = "Class 60 min\ncat cow x8\n"
    assert of_lines(f"{head}sun B x3, {how}\nsavasana 5 min\n", 3) == of_lines(f"{head}sun B x3\nsavasana 5 min\n", 3)


@pytest.mark.parametrize(
    "rest",
    ["SAVASANA 8 (last 2 min silence, bell)", "savasana 8 (last 2 min silent)", "Savasana 8 min (last 2 min silence)"],
)
def test_a_silence_in_the_bracket_of_a_rest_is_one(rest: str) -> None:
    plan = read_plan(f"Class 60 min\ncat cow x8\nsun A x4\n{rest}\n")
    assert [part.wishes.silent_last_s for part in plan.sections[-1].parts] == [120.0]
