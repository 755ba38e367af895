"""Lines as teachers whom the program never met type them, with the seconds they may mean. Invented; common practice, no source."""

import pytest

from pairing.effort.timetable import build_timetable
from pairing.model import LineRead
from pairing.plan.poses import pose_table
from pairing.plan.read import read_plan

TITLES = {
    "en": "Evening class 60 min",
    "de": "Abendkurs Yoga 60 Min",
    "es": "Clase de la tarde 60 min",
    "fr": "Cours du soir 60 min",
}
AMONG = {
    "en": "child 1 min",
    "de": "Kindhaltung 1 min",
    "es": "postura del niño 1 min",
    "fr": "posture de l'enfant 1 min",
}


def told(line: str, spoken: str = "en", *, first: bool = False, last: bool = False) -> tuple[float, LineRead]:
    """Seconds of a line within a class, above or below it, and how it was read."""
    rest = "savasana 6 min"
    above = [TITLES[spoken], *(() if first else (AMONG[spoken],)), *((rest,) if last else ())]
    note = [*above, line, *((AMONG[spoken],) if first else ()), *(() if last else (rest,))]
    plan, number = read_plan("\n".join(note) + "\n"), len(above) + 1
    steps = build_timetable(plan, pose_table()).steps
    return sum(step.end_s - step.start_s for step in steps if step.line == number), plan.lines[number - 1]


def each(lines: dict[str, str]) -> list[tuple[str, str]]:
    """Lines by language, one a row of its text, as (language, line)."""
    return [(spoken, line.strip()) for spoken, text in lines.items() for line in text.strip().splitlines()]


REMINDERS = {
    "en": """
        ask about the half term dates
        tell them about the new mats
        if late: skip the wheel
        run out of time -> skip the wheel
        homework: hip flexors on the sofa
        remember to get the blue strap back
        NB no class next week
        in case it rains: mats inside
        """,
    "de": """
        falls es knapp wird: Taube weglassen
        wer nicht mag, bleibt in der Kindhaltung
        Hausaufgabe: Hüftbeuger
        fragen wer schwanger ist
        """,
    "es": """
        si vamos tarde quitar la paloma
        ojo embarazadas: nada boca abajo
        pedir mantas nuevas
        quien no quiera se queda sentada
        """,
    "fr": """
        si retard : sauter le pigeon
        penser à prévenir pour les vacances
        pour ceux qui ont mal au dos : rester en enfant
        """,
}


@pytest.mark.parametrize(("spoken", "line"), each(REMINDERS))
def test_reminders_take_no_time(spoken: str, line: str) -> None:
    seconds, read = told(line, spoken)
    assert seconds == 0
    assert read.sure


LEAVING = {
    "en": """
        out by 20.50, choir waits
        off the grass by 8.42, football
        -> 12.45 OUT, spin are waiting
        must leave at 9.30 sharp
        """,
    "de": "20:45 raus, Saal belegt",
    "es": "20:45 fuera, sala ocupada",
}


@pytest.mark.parametrize(("spoken", "line"), each(LEAVING))
def test_leaving_the_room_takes_no_time(spoken: str, line: str) -> None:
    assert told(line, spoken, last=True)[0] == 0


@pytest.mark.parametrize(
    ("spoken", "line"),
    each(
        {
            "en": "if energy left: plank 30 s x3\nif needed child 2 min\noptional: wheel x3\nfor those who want it crow 5 br",
            "de": "wer mag, Brett 30 s",
        }
    ),
)
def test_what_may_be_done_keeps_its_length(spoken: str, line: str) -> None:
    assert told(line, spoken)[0] >= 10


LAID_OUT = {
    "en": """
        2 blankets, 2 blocks, bell (find the stick)
        bolsters x8, straps, wall free?
        zafu x12, spare batteries
        white blanket, gong!, mallet in the car
        strap + 2 blocks each
        """,
    "de": "2 Decken, Gurt, Block\nmitnehmen: Gurte, Decken",
    "es": "mantas, 2 bloques, antifaz",
    "fr": "plaids, 2 briques, sangle",
}


@pytest.mark.parametrize(("spoken", "line"), each(LAID_OUT))
def test_what_is_laid_out_takes_no_time(spoken: str, line: str) -> None:
    assert told(line, spoken, first=True)[0] == 0


@pytest.mark.parametrize(
    "line",
    [
        "♪ first beat, vol 5",
        "♪ vol 7, a faster one",
        "♫ big drop at the peak, about 1 min in",
        "♪ cut it. silence",
        "♪ singing bowls, 8 mins, loops",
    ],
)
def test_what_begins_with_a_sign_for_music_takes_no_time(line: str) -> None:
    assert told(line)[0] == 0


THEMES = {
    "en": "focus obliques, dont rush\ntheme letting go",
    "de": "Thema Schulter und Nacken\nFokus Hüfte, keine tiefen Beugen",
    "es": "tema caderas",
    "fr": "thème : lâcher prise",
}


@pytest.mark.parametrize(("spoken", "line"), each(THEMES))
def test_a_theme_above_the_class_takes_no_time(spoken: str, line: str) -> None:
    assert told(line, spoken, first=True)[0] == 0


NAMED = {
    "bikes 30 s": "bicycle_crunch",
    "peaceful 5 br": "reverse_warrior",
    "life nerve 1 min r": "life_nerve",
    "bound tri 5 br": "bound_triangle",
    "knee taps x20": "hover_taps",
    "tri dips x12": "triceps_dip",
    "cossacks x8": "side_lunge",
    "lat stretch 1 min": "side_stretch_child",
    "dead hang 30 s": "bar_hang",
    "prone ytw x5": "prone_letters",
    "biceps 1 min": "arm_weights",
    "jaw circles 30 s": "face_stretches",
    "Igelball unterm Fuß 1 Min": "foot_massage",
    "Schultern heben 5x": "joint_circles",
    "Ohr zur Schulter 30 s": "neck_release",
    "Beine abwechselnd strecken 10x": "seated_leg_extension",
    "halber Hund an der Lehne 5 AZ": "wall_dog",
    "chien bas 5 resp": "downward_dog",
    "genou poitrine 5 resp": "wind_relieving",
    "oreille à l'épaule 30 s": "neck_release",
    "assis debout x8": "sit_to_stand",
    "báscula de pelvis x10": "pelvic_tilt",
    "patada adelante atrás x12": "side_kick_front_back",
    "encoger hombros x8": "joint_circles",
    "marcha en el lugar 1 min": "marching",
}


@pytest.mark.parametrize(("line", "pose_id"), NAMED.items())
def test_names_that_teachers_use_are_known(line: str, pose_id: str) -> None:
    plan = read_plan(f"{TITLES['en']}\n{line}\nsavasana 6 min\n")
    steps = build_timetable(plan, pose_table()).steps
    assert {step.pose_id for step in steps if step.line == 2} == {pose_id}


CUT_SHORT = {
    "paschimott. 5": "seated_forward_fold",
    "paścimott . . . . . 5": "seated_forward_fold",
    "ūrdhva dhanur 5 br": "wheel",
    "upavistha kon 5 br": "wide_seated_fold",
    "sarvang 10 br": "shoulderstand",
    "karnapid 10 br": "knee_to_ear",
    "purvott . . . . . 5": "reverse_plank",
    "piṇḍ 10": "inverted_embryo",
    "sup twist 8 br": "supine_twist",
    "supta twist 1 min": "supine_twist",
    "sgl leg stretch x10": "single_leg_stretch",
    "dbl leg stretch x10": "double_leg_stretch",
    "three part breath 3 min": "three_part_breath",
}


@pytest.mark.parametrize(("line", "pose_id"), CUT_SHORT.items())
def test_names_cut_short_are_known(line: str, pose_id: str) -> None:
    plan = read_plan(f"{TITLES['en']}\n{line}\nsavasana 6 min\n")
    steps = build_timetable(plan, pose_table()).steps
    assert {step.pose_id for step in steps if step.line == 2} == {pose_id}


@pytest.mark.parametrize("how", ["slooow", "sloooowly", "slowww", "slow", "slooowly"])
def test_words_drawn_out_are_the_same_words(how: str) -> None:
    assert told(f"cat cow {how} x6")[0] == told("cat cow slow x6")[0]


MEANT = {
    # counts of one breath or repetition are no length of all of it
    "lie down 3 min, in 4 out 6": (180, 180),
    "breath 2 min, inhale 4 / exhale 4": (120, 120),
    "seated breath 3 min - in for 4, out for 8": (180, 180),
    "box breath 4 in 4 out, 2 min": (120, 120),
    "belly breathing, 4 counts in 6 counts out, 3 min": (180, 180),
    "one minute breath: 20 in 20 hold 20 out, 3 rounds": (170, 190),
    "belly breath in 4 hold 4 out 8, x6": (90, 102),
    # a side alone behind a run is one of all of it
    "lunge 3br > W2 3br > triangle 3br // R + L": (70, 130),
    "warrior one, warrior two, triangle, 5br each. R/L": (110, 190),
    "lunge R > W2 5 br > triangle 5 br > pyramid 5 br / then L": (140, 240),
    "w1 3br, w2 3br, pyramid 3br / L + R": (70, 130),
    "w1 w2 triangle 1 breath each, 3 rounds each side": (60, 130),
    "crescent 5br, warrior 3 5br, pyramid 5br, both sides": (120, 190),
    # what holds for all of several
    "cobra x2, locust x2, bow x2, all 5br": (120, 200),
    "bow, camel, bridge, all 30 s": (90, 90),
    "boat 30s/low boat 10s x3": (120, 120),
    "plank 20s / side plank 10s x4, child 30 s": (150, 150),
    "crow 20s > chaturanga > x3": (60, 100),
    "10s 20s 30s plank x2": (120, 120),
    "boat 5br, 5br x2": (80, 120),
    "sun salute x4 - arms up, fold, half lift, up": (80, 300),
    "wide 2nd 30 sec hold, 30 sec pulse, heels up for last 10": (60, 60),
    # words that only go with what stands before them
    "step touch + arms 4 x 8": (16, 110),
    "garland 1 min, rock": (60, 66),
    "mermaid 30 s each side w twist": (60, 70),
    "hand massage w the lavender cream 2 mins": (120, 120),
    "twist to R 5 breaths, twist to L 5 breaths": (40, 70),
}


@pytest.mark.parametrize(("line", "meant"), MEANT.items())
def test_a_line_takes_what_it_means(line: str, meant: tuple[float, float]) -> None:
    lo, hi = meant
    assert lo - 1 <= told(line)[0] <= hi + 1


SURE = {
    "en": """
        hands on belly 4 min
        body scan, sounds, fingers 2 min
        feedback forms 5 min
        lie flat, eyes closed 2 min
        circle, names + how are you 10 min
        write in your notebook 3 min
        """,
    "de": "Hände auf den Bauch, spüren 3 Min\nAustausch zu zweit 5 Min",
    "es": "sentir el cuerpo 3 min\nesperar ahí, ojos cerrados 1 min",
    "fr": "écouter les bruits 2 min\nmains sur le ventre 3 min",
}


@pytest.mark.parametrize(("spoken", "line"), each(SURE))
def test_minutes_without_a_pose_need_no_question(spoken: str, line: str) -> None:
    seconds, read = told(line, spoken)
    assert seconds >= 60
    assert read.sure


@pytest.mark.parametrize(
    ("line", "meant"),
    [
        ("talk: the shoulder blade, 15 mins. Questions later!", 900),
        ("talk in twos 5 mins, then whole group 10 mins", 900),
        ("demo bind with strap 2 min, they all fudge it", 120),
        ("read the poem, 3 min, slowly", 180),
        ("welcome, why we sit, 4 min", 240),
        ("try it in pairs, 3 goes each - 10 min altogether", 600),
    ],
)
def test_talk_takes_the_minutes_that_its_line_tells(line: str, meant: float) -> None:
    assert told(line)[0] == pytest.approx(meant, abs=1)


@pytest.mark.parametrize(
    ("line", "lo", "hi"),
    [
        ("sufi grinds 1/1", 120, 120),
        ("shldr shrugs 1", 60, 60),
        ("spinal flex 2", 120, 120),
        ("life nerve 1/1", 120, 120),
        ("frogs 26", 50, 160),
        ("breath of fire 3", 180, 180),
    ],
)
def test_bare_numbers_of_a_kriya_are_minutes_or_many_times(line: str, lo: float, hi: float) -> None:
    plan = read_plan(f"Kriya for the spine, 60 min\nsit 2 min\n{line}\nsavasana 8 min\n")
    steps = build_timetable(plan, pose_table()).steps
    assert lo - 1 <= sum(step.end_s - step.start_s for step in steps if step.line == 3) <= hi + 1
