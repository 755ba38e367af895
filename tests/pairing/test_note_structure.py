"""How notes are built: tables, clocks, headings, what stands before and behind a class; by line the seconds it may mean.

Invented; common practice, no source.
"""

import pytest

from pairing.effort.timetable import build_timetable
from pairing.plan.poses import pose_table
from pairing.plan.read import read_plan

Meant = tuple[str, float, float]
NO_TIME = 0.0, 0.0
BLANK = "", 0.0, 0.0


def note(title: str, *lines: Meant) -> tuple[str, tuple[Meant, ...]]:
    return title, lines


STROKES = [
    note("Power 60", ("# | pose | hold (per side) | sides | cue", *NO_TIME), ("1 | child | 2 min | - | block", 120, 120), ("2 | tree | 30s | R+L | wall", 60, 60), ("3 | boat | 5br | - |", 18, 30)),
    note("Yin mercredi 60 min", ("heure | min | posture | notes", *NO_TIME), ("18h30 | 5 | papillon | couverture", 300, 300), ("18h35 | 4 | sphinx | bras", 240, 240), ("18h39 | 6 | savasana |", 360, 360)),
    note("Flow 60", ("| time | pose | cue |", *NO_TIME), ("| 9:00 | child | breathe |", 300, 300), ("| 9:05 | cat cow | slow |", 180, 180), ("| 9:08 | tree r/l | |", 120, 120), ("| 9:10 | savasana | |", 0, 3600)),
    note("Hatha 60 Min", ("Übung | Dauer | Seite", *NO_TIME), ("Katze-Kuh | 2 Min | -", 120, 120), ("Baum | 1 Min | re/li", 60, 120), ("Savasana | 8 Min | -", 480, 480)),
    note("Clase 60 min", ("postura | min | notas", *NO_TIME), ("niño | 3 | manta", 180, 180), ("puente | 2 | bloque", 120, 120), ("savasana | 8 |", 480, 480)),
    note("Flow 60", ("pose | hold | side", *NO_TIME), ("warrior 2 | 30s | R+L", 60, 60), ("boat | 20s x3 | -", 60, 60), ("total | 2 | ", *NO_TIME)),
    note("Flow 60", ("# | pose | hold | side", *NO_TIME), ("1 | boat | 30s | -", 30, 30), ("2 | plank | 40s | -", 40, 40), ("3 | rpt 1-2 | |", 70, 70), ("4 | bow | 20s | -", 20, 20)),
    note("Flow 60", ("pose | hold | side", *NO_TIME), ("-- all the R, then L --", *NO_TIME), ("triangle | 30s | R+L", 60, 60), ("pyramid | 20s | R+L", 40, 40), ("half moon | 20s | R+L", 40, 40)),
]  # fmt: skip
BEFORE = [
    note("Flow tues 60", ("2 blankets, 2 blocks, chimes (find them)", *NO_TIME), BLANK, ("child 1 min", 60, 60), ("cat cow x6", 20, 80), ("tree 30s e/s", 60, 60), ("boat 30s", 30, 30)),
    note("Chair yoga 45 min", ("bolsters x8, chair covers, door code?? no twists", *NO_TIME), BLANK, ("neck rolls 1 min", 60, 60), ("sit to stand x5", 20, 75), ("relax 5 min", 300, 300), ("bell", 0, 30)),
    note("Pilates 45", ("focus obliques, dont rush the hundred!!", *NO_TIME), ("ring 12, mats 14", *NO_TIME), BLANK, ("roll up x6", 20, 80), ("hundred", 90, 110), ("saw x4", 20, 80), ("plank 30s", 30, 30), ("child 1 min", 60, 60), ("clam x15", 20, 80)),
    note("Yoga 45 Min", ("mitnehmen: Gurte, 12 Bälle, Stühle OHNE Rollen", *NO_TIME), BLANK, ("Kind 1 min", 60, 60), ("Katze-Kuh 1 min", 60, 60), ("Baum 30 s je Seite", 60, 60), ("Boot 30 s", 30, 30)),
    note("Power 60", ("peak: forearm balance. need the wall so leave a gap!", *NO_TIME), BLANK, ("child 1 min", 60, 60), ("plank 1 min", 60, 60), ("tree 30s e/s", 60, 60), ("boat 30s", 30, 30)),
    note("Slow flow 60", ("candles! lighter in my bag. no music first 10'", *NO_TIME), BLANK, ("child 1 min", 60, 60), ("plank 1 min", 60, 60), ("tree 30s e/s", 60, 60), ("boat 30s", 30, 30)),
    note("Slow flow 60", ("cat cow 1 min", 60, 60), ("child 2 min", 120, 120), BLANK, ("plank 1 min", 60, 60), ("tree 30s e/s", 60, 60), ("boat 30s", 30, 30), ("bow 20s", 20, 20), ("child 1 min", 60, 60)),
    note("Slow flow 60", ("cat cow, puppy, thread the needle", 20, 280), BLANK, ("plank 1 min", 60, 60), ("tree 30s e/s", 60, 60), ("boat 30s", 30, 30), ("bow 20s", 20, 20), ("child 1 min", 60, 60)),
]  # fmt: skip
AFTER = [
    note("Flow 60", ("child 1 min", 60, 60), ("savasana 8 min", 480, 480), BLANK, ("if late skip pigeon + the twists", *NO_TIME)),
    note("Hatha 60", ("child 1 min", 60, 60), ("savasana 8 min", 480, 480), BLANK, ("straps x12, spare batteries", *NO_TIME), ("ask about next terms dates", *NO_TIME)),
    note("Clase 60 min", ("niño 1 min", 60, 60), ("savasana 8 min", 480, 480), BLANK, ("si vamos tarde quitar paloma", *NO_TIME)),
    note("Cours 60 min", ("enfant 1 min", 60, 60), ("savasana 8 min", 480, 480), BLANK, ("si retard : sauter le chien", *NO_TIME)),
    note("Flow 60", ("child 1 min", 60, 60), ("savasana 8 min", 480, 480), ("remember my charger this week!!", *NO_TIME)),
    note("Flow 60", ("18:00 child", 300, 300), ("18:05 tree", 300, 300), ("18:10 savasana", 3000, 3000), ("19:00 out, choir waits in the hall", *NO_TIME), BLANK, ("bell cushion, batteries", *NO_TIME)),
    note("Flow 60", ("child 1 min", 60, 60), ("savasana 8 min", 480, 480), BLANK, ("legs up the wall 2 min", 120, 120)),
]  # fmt: skip
CLOCKED = [
    note("Flow 18.30-19.45", ("18.30 circle", 300, 300), ("18.35 cat cow", 600, 600), ("1845 squat at wall", 240, 240), ("18.49 child", 3360, 3360), ("19.45 tea + dates", *NO_TIME)),
    note("Hatha 75", ("5:30 lying down, 4 ct in / 6 ct out", 300, 300), ("5:35 cat cow", 240, 240), ("5:39 tree", 3900, 3900), ("6:44 sit, close. 6:45 done, on time", 60, 60)),
    note("Thurs power 60", ("6.00 child", 300, 300), ("6.05 chair / W3 / half moon / vinyasa, R/L", 300, 300), ("6.10 same again x2", 240, 240), ("6.14 boat", 60, 60), ("6.15 savasana", 2700, 2700), ("7.00 out - next lot wait", *NO_TIME)),
    note("Yoga 60 Min", ("18:00 Kind", 300, 300), ("18:05 Katze-Kuh", 300, 300), ("18:10 Baum re/li", 3000, 3000), ("19:00 raus", *NO_TIME)),
    note("Hatha 60", ("60  child", 180, 180), ("57  cat cow", 240, 240), ("53  tree r/l", 600, 600), ("43  savasana", 2580, 2580), (" 0  out", *NO_TIME)),
    note("Flow 60", ("9:00 child", 300, 300), ("9:05 low lunge 3br, W2 5br, vinyasa - R/L", 380, 460), ("    then quicker, 1 br each, R/L", 20, 100), ("9:13 boat", 60, 60), ("9:14 savasana", 100, 2760)),
    note("Flow 60", ("9:00 child", 300, 300), ("9:05 bridge 3 min", 180, 300), ("9:10 tree", 60, 60), ("9:11 savasana 10 min", 600, 600)),
]  # fmt: skip


@pytest.mark.parametrize(("title", "lines"), [*STROKES, *BEFORE, *AFTER, *CLOCKED])
def test_every_line_takes_what_it_means(title: str, lines: tuple[Meant, ...]) -> None:
    steps = build_timetable(read_plan("\n".join([title, *(text for text, _, _ in lines)])), pose_table()).steps
    spent = [sum(step.end_s - step.start_s for step in steps if step.line == at + 2) for at in range(len(lines))]
    wrong = [(text, took) for (text, lo, hi), took in zip(lines, spent, strict=True) if not lo - 1 <= took <= hi + 1]
    assert not wrong
