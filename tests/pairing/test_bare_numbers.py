"""Bare numbers, counted breaths, rests and titles as teachers type them, in several languages. Invented lines.

The seconds are those of the note's own words; where the pose table gives a length, a wide range. Common practice, no source.
"""

import pytest

from pairing.effort.timetable import build_timetable
from pairing.plan.poses import pose_table
from pairing.plan.read import read_plan


def spent(title: str, line: str, *, below: str = "down dog 5 br") -> float:
    """Seconds of the line below a title, rests within it included."""
    steps = build_timetable(read_plan(f"{title}\n\n{line}\n{below}"), pose_table()).steps
    return sum(step.end_s - step.start_s for step in steps if step.line == 3)


@pytest.mark.parametrize(
    ("title", "minutes"),
    [
        ("Prenatal yoga - 2nd & 3rd tri - 60 minutes", 60),
        ("Pregnancy yoga, 3rd trimester, 75 mins", 75),
        ("3rd Thursday vinyasa: crow & side crow, 45 min", 45),
        ("Hatha - Dreieck und Baum - 90 Minuten", 90),
        ("Yoga suave, árbol y triángulo, 60 minutos", 60),
        ("Cours de yoga - arbre, guerrier 2 - 75 min", 75),
    ],
)
def test_a_first_line_with_a_slot_is_the_title(title: str, minutes: int) -> None:
    plan = read_plan(f"{title}\nchild 1 min\nsavasana 5 min")
    assert plan.slot_s == 60 * minutes
    assert spent(title, "child 1 min") == 60


@pytest.mark.parametrize("line", ["savasana 20 min", "legs up the wall 20 min", "Totenstellung 20 Minuten"])
def test_a_first_line_that_is_stayed_in_is_no_title(line: str) -> None:
    assert read_plan(f"{line}\nchild 1 min").slot_s is None


@pytest.mark.parametrize(
    ("line", "low", "high"),
    [
        # a stated length wins over a counted pattern
        ("box breathing 4-4-4-4, 2 minutes", 120, 120), ("box breath (4-4-4-4) 3 min", 180, 180),
        ("4-7-8 breath, 2 min", 120, 120), ("Box-Atmung 4-4-4-4, 2 Minuten", 120, 120),
        ("square breathing 5-5-5-5 for 4 mins", 240, 240), ("respiration 4-7-8, 3 min", 180, 180),
        # sets of quick ones with a rest between
        ("kapalabhati 3 x 20, rest 30s between", 100, 160), ("kapalabhati 2 x 30, 20 sec rest between", 60, 110),
        ("skull shining breath 3 x 30, 30 s rest between", 120, 200), ("Kapalabhati 3 x 20, 30 Sek Pause dazwischen", 100, 160),
        ("kapalabhati 3 x 20, 30 s entre series", 100, 160),
        ("kapalabhati 2 rounds x 40, 30 s rest between", 90, 150), ("push ups 2 x 10, 20 s rest between", 40, 90),
        ("crunches 3 x 20, 15 s rest between", 70, 160), ("kapalabhati 3 x 20", 40, 100), ("crunches 2 x 20", 35, 80),
        # a rest between exercises
        ("plank 1 min, rest 10, side plank 30 R 30 L", 130, 130), ("boat 30 s, rest 15, boat 30 s", 75, 75),
        ("plank 45 sec, pause 20, plank 45 sec", 110, 110), ("Brett 1 Min, Pause 10, Brett 1 Min", 130, 130),
        ("planche 1 min, pause 10, planche 1 min", 130, 130), ("plank 40, rest 20, side plank 20 ea", 100, 100),
        ("plancha 30 s, descanso 15, plancha lateral 20 der 20 izq", 85, 85), ("boat 45, pause 15, boat 45", 105, 105),
        ("Planke 40 Sek, Pause 20, Seitstütz 30 re 30 li", 120, 120), ("squats x 15, rest 20, squats x 15", 60, 140),
        # a talk that shares its minutes
        ("circle + check in - 8 min", 480, 480), ("1. circle & welcome - 5 min", 300, 300),
        ("circle + intention, 4 min", 240, 240), ("circle & theme talk 6 min", 360, 360), ("circle + notices - 3 min", 180, 180),
        # minutes behind things joined by a plus
        ("neck rolls + shoulder rolls - 3 min", 180, 180), ("cat cow + puppy - 4 min", 240, 240),
        ("Katze Kuh + Kindhaltung - 3 Minuten", 180, 180), ("gato vaca + postura del niño - 4 min", 240, 240),
        ("child & puppy (2 min)", 120, 120), ("child + puppy - 1 min each", 120, 120), ("tree + eagle - 30 s each side", 120, 120),
        # salutations by their letter
        ("A's x4", 90, 300), ("B's x3", 120, 350), ("As x 4", 90, 300), ("5 B's", 200, 550), ("3 A's", 60, 250),
        ("5 As, 3 Bs", 250, 650), ("4 A's + 2 B's", 180, 500), ("A's & B's x 3", 200, 550), ("Sonnengruß A's x3", 90, 250),
        ("surya A's 5", 150, 350), ("Sun A's x 4", 120, 300),
    ],
)  # fmt: skip
def test_a_line_takes_what_its_numbers_mean(line: str, low: float, high: float) -> None:
    assert low - 1 <= spent("Evening class", line) <= high + 1


@pytest.mark.parametrize(
    ("line", "meant"),
    [
        ("childs 1", 60),
        ("twist 1 ea", 120),
        ("happy baby 2", 120),
        ("Kindhaltung 2", 120),
        ("crocodile 1", 60),
        ("enfant 1", 60),
        ("postura del niño 2", 120),
    ],
)
def test_a_small_number_behind_a_pose_that_is_rested_in_is_minutes(line: str, meant: float) -> None:
    assert spent("Power class", line) == meant


@pytest.mark.parametrize(("line", "below"), [("childs 3", "cobra 3"), ("child 2", "tree 5"), ("twist 3", "boat 3")])
def test_beside_bare_breaths_it_is_breaths(line: str, below: str) -> None:
    assert spent("Power class", line, below=below) < 40


@pytest.mark.parametrize(
    "line",
    [
        "rebound on belly 2",
        "rebound 2",
        "rebound on back, 2",
        "nachspüren 2",
        "ressentir 2",
        "saddle 0.5 ea, rebound 1",
        "pause 2",
    ],
)
def test_a_rebound_of_a_yin_class_has_minutes(line: str) -> None:
    assert spent("Yin 60", line) == 120


@pytest.mark.parametrize("line", ["tree 3 times 0", "warrior two x3 (0)", "boat 0 x 5", "pigeon 0", "cat cow 0x0 0"])
def test_a_nought_anywhere_is_read_or_asked_about(line: str) -> None:
    for note in (f"Tide\n{line}\n", f"## Tide: flow\n- {line}\n"):
        assert read_plan(note).lines
