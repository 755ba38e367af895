"""Notes in the habits of many teachers, each line with the seconds it may mean. Invented; common practice, no source."""

import pytest
from typed_notes import NO_TIME, Meant, amiss, note

from pairing.plan.read import read_plan

CLOCKS = [
    note("Tuesday flow (60')", ("18:15 arrive 3'", 180, 180), ("18:18 cat/cow 1'", 60, 60), ("down dog 5 br", 20, 40)),
    note("Dienstag Yoga (60')", ("9:00 Ankommen 4 Min", 240, 240), ("9:04 Kindhaltung 2 Min", 120, 120), ("Baum 30 s je Seite", 60, 60)),
    note("Evening class", ("19:00 seated breath 5 min", 300, 300), ("19:05 child 2 min", 120, 120), ("pigeon 2 min each side", 240, 240), ("19:20 savasana 8 min", 480, 480)),
    note("Evening class", ("19:00 child 5 min", 300, 300), ("19:10 pigeon 2 min each side", 240, 240), ("19:16 bridge", 240, 240), ("19:20 savasana 8 min", 480, 480)),
    note("Cours du soir", ("18:30 respiration 5 min", 300, 300), ("18:35 enfant 1 min", 60, 60), ("arbre 30 s par côté", 60, 60)),
]  # fmt: skip
LONG_POSES = [
    note("Restorative 90 min", ("legs up the wall 15", 900, 900), ("savasana 20", 1200, 1200)),
    note("Flow 60", ("pigeon 2' / 2'", 240, 240), ("lizard 5 br / 5 br", 40, 60), ("twist: 90s / 90s", 180, 180)),
    note("Yin 60", ("butterfly 4", 240, 240), ("legs up the wall 8", 480, 480), ("supported fish 5", 300, 300)),
    note("Restorative evening", ("supported bridge 8 mins, then knees to chest and rest 7 min", 880, 920),),
    note("Gentle flow 60", ("legs up the wall 5", 300, 300), ("svasana 7", 420, 420)),
    note("Restorative 75", ("supported twist 5 min R, 5 min L", 600, 600), ("twist over bolster 4 each side", 480, 480)),
    note("Yin yoga, full moon", ("supported child 6", 360, 360), ("savasana 10 min", 600, 600), ("slowly up, seated, close", 10, 60)),
]  # fmt: skip
TALK = [
    note("Flow 60", ("5 min arrival, talk about the moon", 300, 300)),
    note("Flow 60", ("welcome, 4 min", 240, 240), ("child 1 min", 60, 60)),
    note("Flow 60", ("water break 1 min", 60, 60), ("child 1 min", 60, 60)),
    note("Clase de yoga 60", ("Pausa para agua 1 min", 60, 60), ("postura del niño 1 min", 60, 60)),
    note("Flow 60", ("3 mins settle, intention", 180, 180), ("plank 30s", 30, 30)),
]
SCOPES = [
    note("POWER 45 min", ("1) sun A x2", 40, 200), ("2) STANDING SERIES - R first, then repeat on L", *NO_TIME), ("warrior two 5br", 20, 60), ("3) plank 45s", 45, 45)),
    note("Vinyasa (75')", ("FLOW (erst rechts, dann links, 2 Runden)", *NO_TIME), ("Krieger 1 3 Atemzüge", 25, 65), ("Vinyasa", 10, 120), ("Kindhaltung 1 min", 60, 60), ("Taube 2 min/Seite", 240, 240)),
    note("Flow 60", ("FLOW (right, then left)", *NO_TIME), ("warrior two 3 br", 14, 35), ("vinyasa", 10, 60), ("child's pose 1 min", 60, 60)),
    note("Flow 60", ("ROUND 1 slow (R)", *NO_TIME), ("low lunge 5 br", 20, 30), ("lizard 5 br", 20, 30), ("-> L side", 40, 60), ("ROUND 2: same again, one breath per movement, both sides", 15, 120)),
    note("Flow 60", ("4) BALANCES - L first then R", *NO_TIME), ("tree 5 br", 20, 60), ("5) boat 30 s", 30, 30)),
    note("Flow 60", ("Round 1", *NO_TIME), ("tree 5 br", 20, 30), ("Round 2: repeat, other side", 20, 60)),
]  # fmt: skip
COUNTS = [
    note("Power 45", ("crow 5br -> chaturanga, x 3", 60, 130)),
    note("Power 45", ("plank 20s -> down dog 10s, x4", 120, 120)),
    note("Power 45", ("boat 20s → low boat 10s, 3 times", 90, 90)),
    note("Chair yoga 40 min", ("march on the spot 20", 20, 90), ("leg extensions x 5 each", 15, 70), ("sit to stand x 8", 50, 130)),
    note("Chair yoga 40 min", ("neck rolls x 3 each way", 15, 60), ("head turns x 4 each side", 15, 60), ("sit to stand x 10", 60, 150)),
    note("Flow 45", ("goddess 5 br + pulses x 10", 25, 50)),
]  # fmt: skip
TABLES = [
    note(
        "Min\tExercise\tDuration",
        ("0\tbelly breathing\t5 min", 300, 300),
        ("5\tcat cow\t2 min", 120, 120),
        ("7\ttree\t3 min", 180, 180),
        ("10\tsavasana\t10 min", 600, 600),
    ),
    note(
        "Min\tÜbung\tSeite\tDauer",
        ("0\tKatze-Kuh\t\t2 Min", 120, 120),
        ("2\tBaum\tre/li\tje 1 Min", 120, 120),
        ("4\tDrehung\tre/li\tje 1 Min", 120, 120),
        ("6\tSavasana\t\t10 Min", 600, 600),
    ),
    note("Mins\tWhat\tNotes", ("5\tcat cow\tslow", 300, 300), ("3\ttree\t", 180, 180), ("10\tsavasana\t", 600, 600)),
    note(
        "Start\tMin\tWhat",
        ("0:00\t5\tchild", 300, 300),
        ("0:05\t5\tcat cow", 300, 300),
        ("0:10\t10\tsavasana", 600, 600),
    ),
    note(
        "Exercise\tReps\tMin", ("Roll up\t6\t2", 120, 120), ("Saw\t4/4\t2", 120, 120), ("Swimming\t2 x 30s\t1", 60, 60)
    ),
    note(
        "Übung\tWdh\tDauer",
        ("Rolle\t8\t2 Min", 120, 120),
        ("Brücke\t10\t1 Min", 60, 60),
        ("Kindhaltung\t\t1 Min", 60, 60),
    ),
    note("Ejercicio\tReps\tMinutos", ("puente\t10\t2", 120, 120), ("tijeras\t16\t1", 60, 60), ("niño\t\t1", 60, 60)),
    note(
        "Mins\tCount\tMove\tCue",
        ("2\t12\tbridge\tslow", 120, 120),
        ("1\t10 each\tclam\t", 60, 60),
        ("3\t\tchild\t", 180, 180),
    ),
    note("Pose\tSec\tReps", ("plank\t20\t3", 60, 60), ("boat\t30\t2", 60, 60), ("side plank\t15\t2", 30, 60)),
    note(
        "Time\tWhat",
        ("18:00\tchild", 300, 300),
        ("18:05\tcat cow", 180, 180),
        ("18:08\ttree", 240, 240),
        ("18:12\tsavasana", 0, 900),
    ),
    note(
        "Min\tPose", ("0\tchild", 240, 240), ("4\tcat cow", 180, 180), ("7\tpuppy", 120, 120), ("9\tsavasana", 0, 900)
    ),
]
INTERVALS = [
    note("POWER HOUR 60'", ("EMOM 8 min: burpees x 8", 480, 480), ("plank 1'", 60, 60)),
    note("POWER HOUR 60'", ("E2MOM x 5: 10 squats, 10 push ups", 600, 600)),
    note("POWER HOUR 60'", ("AMRAP 6 min: lunges, plank, mountain climbers", 360, 360)),
    note("POWER HOUR 60'", ("tabata x 8: squat jumps 20/10", 230, 240)),
    note("Core 30 min", ("EMOM 6: 10 sit ups, 10 push ups", 360, 360)),
    note("Breathwork 60 min", ("kapalabhati 3 rounds of 30, 30s rest btw", 100, 260)),
]
LABELS = [
    note("Barre 45", ("plies 1st position: 16 slow, 16 pulses, 8 hold", 50, 110)),
    note("Chair yoga 40 min", ("neck: look R, look L, 3 times", 20, 60)),
    note("Restorative (90)", ("reclined cobbler w/ straps 12", 720, 720), ("savasana w/ weights 20", 1200, 1200)),
    note("Breathwork & sound bath, 60 mins", ("belly breath 3 min", 180, 180)),
    note(
        "POWER HOUR 60'",
        ("CENTERING - 5 min", *NO_TIME),
        ("- child's pose 3 min", 180, 180),
        ("- cat cow 1 min", 60, 60),
    ),
]
CIRCUITS = [
    note("HIIT yoga 45", ("Block 1 (40s work/20s rest, 3 rounds)", *NO_TIME), ("- chair pulses", 180, 180), ("- boat", 180, 180)),
    note("HIIT yoga 45", ("Block 2 - 30/15 x 4", *NO_TIME), ("- mountain climbers", 180, 180), ("- boat", 180, 180)),
    note("HIIT yoga 45", ("Stations (45 on 15 off x 2)", *NO_TIME), ("- boat", 120, 120), ("- plank", 120, 120)),
    note("Sound journey 75 min", ("crystal bowls 20 min", 1200, 1200), ("gongs 10 min", 600, 600), ("bell x 3", 0, 60)),
    note("Flow 60", ("Right leg:", *NO_TIME), ("crescent 5 br", 20, 30), ("w2, triangle 3 br each", 20, 40), ("half moon 5 br", 20, 30), ("Left leg", 60, 100)),
    note("Flow 60", ("Warrior I R, Warrior II R, Triangle R - hold each 5 breaths, repeat left", 140, 170)),
]  # fmt: skip

SHARED = [
    note("Flow for runners (60 min)", ("- Opening (5 min): seated, breath, neck", 300, 300), ("- Hips (10 min): pigeon, figure 4, frog", 600, 600), ("- Savasana (5 min)", 300, 300)),
    note("Flow 60", ("- Standing (15 min): w2, triangle, half moon, R+L", 900, 900), ("- Sun salutations (10 min): 3 A, 2 B", 600, 600)),
    note("Power 45", ("core (3 min): boat, plank, bicycle", 180, 180), ("abs 4 min: boat, low boat, bicycle", 240, 240)),
    note("Flow 60", ("w1 3br, w2 3br, triangle 3br, R & L", 85, 95), ("boat 30s", 30, 30)),
    note("Flow 60", ("crescent > w3 > standing split, 3br each, R then L", 85, 95),),
    note("Vinyasa (1h15)", ("Fente haute 5 resp > guerrier 3 5 resp > demi-lune 5 resp, à droite puis à gauche", 140, 170)),
    note("Flow 60", ("warrior 2 / side angle / triangle - 3 breaths each - both sides", 80, 130)),
    note("Yin/Yang 90", ("YIN 30", *NO_TIME), ("dragonfly 5", 300, 300), ("sleeping swan 5/5", 600, 600), ("YANG 35", *NO_TIME), ("tree 1 min each side", 120, 120)),
    note("Flow 60", ("malasana 1 min / crow 2 min", 180, 180), ("boat 30s / bow 30s", 60, 60)),
    note("Breathwork 45", ("kapalabhati 3 x 40, 1' rest in between", 140, 320), ("4-7-8 breathing x 6", 114, 114)),
    note("power vinyasa 60, peak = handstand", ("child 1 min", 60, 60)),
]  # fmt: skip
TOTALS = [
    note("Evening class, 60 min", ("gentle neck + shoulders, 3 min", 180, 180), ("silence, then bell", 0, 60)),
    note("Mobility & core (no music 1st 5 min) 40'", ("plank 30s", 30, 30)),
    note("Core 30 min", ("plank 3 x 20s, rest 10s", 80, 90), ("dead bug 3x10, 20s rest", 80, 220)),
    note("Clase de pilates suelo 50 min", ("Plancha 3 x 20 seg, descanso 10 seg", 80, 90)),
    note("Core 30 min", ("side plank 2x30s each", 120, 120), ("hollow hold 3 x 20s, rest 20s", 100, 120)),
    note("Flow 60", ("Supine: breath 3m, knees to chest 30s, twist 30s e/s", 270, 270)),
    note("Vinyasa Dienstag (60 Min)", ("I. Ankommen", *NO_TIME), ("Katze-Kuh 2 min", 120, 120), ("II. Sonnengrüße", *NO_TIME), ("Baum 1 min", 60, 60)),
    note("pilates intermediate 45min", ("5m warm up - roll downs x3, spine twist, cat", 300, 300), ("criss cross 10/10", 20, 90)),
    note("Gentle hatha 75", ("mountain -> forward fold -> mountain x 4", 40, 200), ("roll up to seat", 0, 60)),
]  # fmt: skip

ENDS = [
    note("Prenatal 11:15-12:15", ("Arrive (10)", 600, 600), ("All fours (20)", 1200, 1200), ("pelvic floor + breath (15)", 900, 900), ("rest on your side (15)", 900, 900), ("total 60", *NO_TIME)),
    note("Flow 60 min", ("arrive 5", 300, 300), ("cat cow, puppy 10", 600, 600), ("sun A, sun B 15", 900, 900), ("pigeon r/l 10", 600, 600), ("bridge 8", 480, 480), ("savasana 12", 720, 720)),
    note("Hatha 45'", ("sitzen - 5", 300, 300), ("Sonnengruß - 15", 900, 900), ("Baum - 10", 600, 600), ("Endentspannung - 15", 900, 900)),
    note("Clase 50 min", ("respirar (5)", 300, 300), ("saludos al sol (20)", 1200, 1200), ("puente (10)", 600, 600), ("relajación (15)", 900, 900)),
    note("Flow 60 min", ("tree 5", 20, 60), ("eagle 5", 20, 60), ("boat 5", 15, 60), ("savasana 8", 480, 480)),
    note("Chair (40)", ("hello [5]", 300, 300), ("neck, shoulders [10]", 600, 600), ("sit to stand [15]", 900, 900), ("relax [10]", 600, 600)),
]  # fmt: skip
INDENTED = [
    note("Chair 45 min", ("0-10 hello", 600, 600), ("10-25 standing", 900, 900), ("   tree 20s each", *NO_TIME), ("   mini squats 2x8", *NO_TIME), ("25-45 relax in chair", 1200, 1200)),
    note("Prenatal, Sat 11:15-12:15", ("Circle (20)", 1200, 1200), ("Seated warm up (25)", 1500, 1500), ("  neck, shoulders", *NO_TIME), ("  wrists + ankles", *NO_TIME), ("savasana (15)", 900, 900)),
    note("Yoga doux 60 min", ("debout", *NO_TIME), ("  arbre 40 s par côté", 80, 80), ("  chaise 30 s", 30, 30), ("enfant 1 min", 60, 60)),
    note("PILATES 50 min", ("on your side RIGHT", *NO_TIME), ("  clam x20", 30, 80), ("  leg lifts x12", 15, 60), ("same on the LEFT", 45, 140), ("child 1 min", 60, 60)),
    note("Flow 60", ("Balances 6 min", 360, 360), ("  - tree r/l", *NO_TIME), ("  - eagle r/l", *NO_TIME), ("boat 30 s", 30, 30)),
    note("Flow 60", ("tree 5 br each side", 45, 70), ("   soft knees", *NO_TIME), ("boat 30 s", 30, 30)),
]  # fmt: skip
COUNTED = [
    note("Slow flow 60", ("1 child 1 min", 60, 60), ("2 cat cow 2 min", 120, 120), ("3 tree 1 min e/s", 120, 120), ("4 2+3 again", 240, 240), ("5 savasana 8 min", 480, 480)),
    note("Flow 60", ("1 boat 30s", 30, 30), ("2 plank 40s", 40, 40), ("3 bow 20s", 20, 20), ("4 repeat 1-3", 90, 90), ("5 bridge 1 min", 60, 60)),
    note("Flow 60", ("1. boat 30s", 30, 30), ("2. plank 40s", 40, 40), ("3. bow 20s", 20, 20), ("4. 1 to 3 once more", 90, 90), ("5. bridge 1 min", 60, 60)),
    note("Yoga 60 min", ("1 Boot 30 s", 30, 30), ("2 Brett 40 s", 40, 40), ("3 Bogen 20 s", 20, 20), ("4 1-3 wiederholen", 90, 90), ("5 Brücke 1 min", 60, 60)),
    note("Flow 60", ("WARM UP", *NO_TIME), ("1 child 1 min", 60, 60), ("2 cat cow 1 min", 60, 60), ("FLOW", *NO_TIME), ("3 plank 40 s", 40, 40), ("4 bow 20s", 20, 20)),
    note("Flow 60", ("1 boat 30s", 30, 30), ("2 plank 40s", 40, 40), ("3 bow 20s", 20, 20), ("4 repeat 2", 40, 40), ("5 do 1 again", 30, 30)),
]  # fmt: skip
BEHIND = [
    note("Flow 60", ("child 1 min", 60, 60), ("savasana 8 min", 480, 480), ("dont forget blankets!!", *NO_TIME)),
    note("Flow 60", ("child 1 min", 60, 60), ("savasana 8 min", 480, 480), ("biscuits after :)", *NO_TIME)),
    note("Flow 60", ("18:00 child", 300, 300), ("18:05 cat cow", 300, 300), ("18:10 savasana", 600, 600), ("18:20 END", *NO_TIME), ("lights off, key back", *NO_TIME)),
    note("Yoga 60 min", ("Kind 1 min", 60, 60), ("Endentspannung 8 min", 480, 480), ("Decken nicht vergessen", *NO_TIME)),
    note("Flow 60", ("child 1 min", 60, 60), ("savasana 8 min", 480, 480), ("nice work everybody", *NO_TIME)),
]  # fmt: skip
WORKS = [
    note("Strong 35 min", ("CIRCUIT 40/20, 3 rounds", *NO_TIME), ("- squats", 180, 180), ("- side plank, swap half way", 180, 180)),
    note("Strong 35 min", ("TABATA 20/10 x 8", *NO_TIME), ("- squat jumps", 240, 240)),
    note("Strong 35 min", ("Circuit 45/15", *NO_TIME), ("- bear hover", 60, 60), ("- push ups", 60, 60)),
    note("Strong 35 min", ("INTERVALS 30/30 2 rounds", *NO_TIME), ("- plank", 120, 120), ("- boat", 120, 120)),
    note("Strong 35 min", ("Stations 50/10 (2 rounds)", *NO_TIME), ("- plank", 120, 120), ("- clam, both sides", 120, 120)),
]  # fmt: skip


RESTS = [
    note("Core 30 min", ("plank 3 x 20 s (10 s rest)", 80, 90), ("boat 30s x2 rest 10s", 70, 80)),
    note("Rückenfit 45 Min", ("Unterarmstütz 3 x 20 Sek (10 Sek Pause)", 80, 90), ("Brett 2 x 30 Sek, 15 Sek Pause", 75, 90)),
    note("Pilates suelo 50 min", ('plancha 30" x3 descanso 15"', 118, 140), ("puente 2 x 20 seg (descanso 10 seg)", 50, 60)),
    note("Mobility 40", ("deep squat hold 1 min x2 [rest 30 sec]", 148, 182), ("bear hover 20s x4 [break 10s]", 110, 122)),
    note("Gainage 30 min", ("planche 3 x 20 s (pause 10 s)", 80, 90),),
]  # fmt: skip
TOGETHER = [
    note("Barre 40", ("march + arms 2 min", 120, 120), ("plank 30s", 30, 30)),
    note("Flow 60", ("sit 2 min then neck and shoulders 1 min", 180, 180), ("boat 30s", 30, 30)),
    note("Flow 60", ("cat cow + child 3 min", 180, 180), ("tree & eagle 2 min", 120, 120)),
    note("Yoga 60 min", ("Katze + Kind 2 min", 120, 120), ("Boot 30 s", 30, 30)),
    note("Flow 60", ("w1 + w2 5 br", 40, 65), ("child & puppy 1 min each", 120, 120)),
    note("Flow 60", ("roll down + squat + fold 3 min", 180, 180), ("bridge 1 min", 60, 60)),
]  # fmt: skip
SETS = [
    note("Barre 40", ("side leg lift 12, pulse 12, hold 8 - x3", 100, 200), ("bridge 10, pulse 10 - x2", 40, 110)),
    note("Power 45", ("plank 20s, boat 20s - x3", 120, 120), ("squats 10, lunges 10 - 2x", 60, 220)),
    note("Barre 40", ("clam 15, pulse 15 — x2 then same on the left", 120, 300), ("bridge 1 min", 60, 60)),
    note("Power 45", ("bow 15 s, locust 15 s - 3 rounds", 90, 90), ("child 1 min", 60, 60)),
    note("Power 45", ("plank 30s, side plank 20s each - x2", 140, 140), ("child 1 min", 60, 60)),
]  # fmt: skip
HELD = [
    note("Pilates 45", ('bridge x10 + hold 20"', 50, 130), ("plank 30s", 30, 30)),
    note("Pilates suelo 45 min", ('puente x10 + mantener 20"', 50, 130), ("plancha 30 seg", 30, 30)),
    note("Pilates 45", ("squats x12 + hold 15s", 40, 110), ("plank 30s", 30, 30)),
    note("Pilates 45", ("clam x15, hold 10s", 30, 110), ("plank 30s", 30, 30)),
    note("Rückenfit 45 Min", ("Schulterbrücke 8x + 15 Sek halten", 40, 110), ("Brett 30 s", 30, 30)),
    note("Slow flow 60", ("bridge x3", 25, 120), ("camel x 3", 25, 120), ("wheel x2", 15, 80)),
]  # fmt: skip
NAMES = [
    note("Flow 45", ("table top cat cow 1 min, bird dog 5 each side", 85, 150), ("boat 30s", 30, 30)),
    note("Flow 45", ("childs pose puppy 1 min, thread the needle 5br each side", 105, 150), ("boat 30s", 30, 30)),
    note("Slow flow 60", ("all 4s - cat cow x6", 30, 80), ("All fours: cat cow x6", 30, 80)),
    note("Flow 60", ("SA x3", 90, 260), ("SB x2", 70, 260), ("3 SA", 90, 260), ("plank 30 s", 30, 30)),
    note("Pilates 45", ("the hundred", 90, 110), ("Hundred", 90, 110), ("plank 30 s", 30, 30)),
    note("Pilates suelo 45 min", ("el cien", 90, 110), ("sirena 3 por lado", 30, 100), ("estiramiento una pierna x16", 18, 65)),
]  # fmt: skip
LEGS = [
    note("Flow 45", ("sit 2 min", 120, 120), ("down dog 1 min", 60, 60), ("now r leg, build it up", 0, 60), ("lunge 3 br, twist 3 br", 25, 45), ("all that l leg", 25, 100)),
    note("Flow 45", ("child 2 min", 120, 120), ("lunge R 5 br", 20, 30), ("lizard 5 br", 20, 30), ("all of it on the left", 40, 60)),
    note("Flow 45", ("child 2 min", 120, 120), ("right: warrior 2 5 br", 20, 30), ("triangle 5 br", 20, 30), ("everything left", 40, 60)),
    note("Flow 45", ("child 2 min", 120, 120), ("warrior 1 r 5 br", 20, 30), ("warrior 3 5 br", 20, 30), ("whole thing L", 40, 60)),
    note("Flow 45", ("child 2 min", 120, 120), ("L leg: crescent 5 br", 20, 30), ("half moon 5 br", 20, 30), ("repeat all r leg", 40, 60)),
]  # fmt: skip
UP = [
    note("Yin 75", ("savasana 8 min", 480, 480), ("slow sit, tea", 10, 60)),
    note("Slow flow 60", ("1 child 1 min", 60, 60), ("2 boat 30s", 30, 30), ("3 savasana 8 min", 480, 480), ("4 sit up, close", 10, 60)),
    note("Yin 75", ("savasana 8 min", 480, 480), ("easy seat, thanks", 10, 60)),
    note("Yin 75", ("savasana 8 min", 480, 480), ("roll to the side, seat", 10, 90)),
    note("Yin 75", ("easy seat", 120, 200), ("savasana 8 min", 480, 480)),
]  # fmt: skip
FRONTS = [
    note("POWER YOGA 60", ("5 - breath", 300, 300), ("25 - sun A x5, sun B x5", 1500, 1500), ("20 - standing flow 1 & 2", 1200, 1200), ("10 - sava", 600, 600)),
    note("Gentle 60 min", ("10 arrive", 600, 600), ("20 cat cow, tree", 1200, 1200), ("15 seated twist", 900, 900), ("15 savasana", 900, 900)),
    note("Gentle class 10-11am", ("arrive 10", 600, 600), ("joints 10 (ankles, wrists)", 600, 600), ("standing 25: tree, eagle", 1500, 1500), ("relax 15", 900, 900)),
    note("Hatha 45 Min", ("5: Ankommen", 300, 300), ("20: Sonnengruß", 1200, 1200), ("10: Baum, Adler", 600, 600), ("10: Endentspannung", 600, 600)),
    note("Yin 60 min", ("butterfly :: 15", 900, 900), ("dragon :: 10", 600, 600), ("twist :: 15", 900, 900), ("savasana :: 20", 1200, 1200)),
    note("Vinyasa 75 min", ("Centering (5 min)", 300, 300), ("   - child", *NO_TIME), ("   - 3 breaths", *NO_TIME), ("Savasana 8 min", 480, 480)),
]  # fmt: skip
EACHES = [
    note("Flow 60", ("R: lunge, lizard, half split - 3 br each", 40, 60), ("L: repeat", 40, 60)),
    note("Flow 60", ("L: warrior 2, triangle - 5 br each", 45, 65), ("R: same", 45, 65)),
    note("Flow 60", ("right leg: crescent, warrior 3 - 20 s each", 40, 40), ("left leg: repeat", 40, 40)),
    note("Flow 60", ("cobra, locust, bow - 20 s each", 60, 60), ("boat 30 s", 30, 30)),
    note("Flow 60", ("R: lunge, lizard, 3 br each", 28, 40), ("boat 30 s", 30, 30)),
]  # fmt: skip
TIMES_OF = [
    note("Flow 60", ("chair x 5 breaths", 20, 30), ("boat 30s", 30, 30)),
    note("Flow 60", ("down dog x5 br", 20, 30), ("tree x 30 s each side", 60, 60)),
    note("Flow 60", ("chair 5 br, twist R 3, twist L 3", 45, 65), ("boat 30s", 30, 30)),
    note("Yin 75 mins", ("dragon 3 + 3", 360, 360), ("half butterfly: 4+4", 480, 480), ("shoelace 5 + 5", 600, 600)),
    note("Flow 60", ("pigeon 2 min p/s", 240, 240), ("tree 30 s p/s", 60, 60), ("lizard 5 br p / s", 40, 60)),
]  # fmt: skip
OVER_ALL = [
    note("Rücken-Yoga 60 Min", ("Hund 5 AZ, Brett 3 AZ, Kobra 3 AZ -> 3 Durchgänge", 150, 220), ("Boot 30 s", 30, 30)),
    note("Flow 60", ("plank 20s, boat 20s -> x3", 120, 120), ("sun As 5 rounds", 200, 320), ("child 1 min", 60, 60)),
    note("Flow 60", ("boat 10 br x 3 w/ 5 br rest", 190, 230), ("salutes 3 rounds", 110, 220), ("child 1 min", 60, 60)),
    note("Hatha 60", ("Sonnengruß 3 Runden", 90, 200), ("plank 20s x3 10s rest", 80, 90), ("Kind 1 min", 60, 60)),
    note("Core 30", ("hollow body 3 x 20 sec on / 10 off", 80, 90), ("plank 30 s on / 15 s off x 2", 75, 90)),
    note("Rücken-Yoga 60 Min", ("K1, K2, Dreieck - je 4 AZ, beide Seiten", 140, 170), ("Boot 30 s", 30, 30)),
]  # fmt: skip
CLOSED = [
    note("Strong 40", ("circuit, 3 rounds:", *NO_TIME), ("plank 30 s", 90, 90), ("boat 20 s", 60, 60), ("lie down 2 min", 120, 120)),
    note("Strong 40", ("Circuit B - 3 rounds, no rest", *NO_TIME), ("bear hold 20s", 60, 60), ("plank 20 s", 60, 60), ("couch stretch 90s e/s", 180, 180)),
    note("Strong 40", ("CORE 2 rounds", *NO_TIME), ("plank 30 s", 60, 60), ("boat 20 s", 40, 40), ("rest 1 min", 60, 60), ("child 1 min", 60, 60)),
    note("Kraft 40 Min", ("Zirkel, 3 Runden:", *NO_TIME), ("Brett 30 Sek", 90, 90), ("Boot 20 Sek", 60, 60), ("Kindhaltung 2 Min", 120, 120)),
    note("Strong 40", ("STATIONS (2 rounds)", *NO_TIME), ("plank 30 s", 60, 60), ("boat 30 s", 60, 60), ("savasana 5 min", 300, 300)),
]  # fmt: skip
SO_OFTEN = [
    note("Flow 60", ("plank 30 sec, dd 30 sec, x2", 120, 120), ("squats 10, lunges 10, x3", 90, 330)),
    note("Flow 60", ("boat 20 s, low boat 10 s, 3 times", 90, 90), ("child 1 min", 60, 60)),
    note("Clase 50 min", ("Torsión tumbada 1 min y medio por lado", 180, 180), ("puente 1 minuto y medio", 90, 90)),
    note("Cours 60 min", ("torsion 1 min et demie de chaque côté", 180, 180), ("pont 2 minutes et demie", 150, 150)),
    note("Flow 60", ("twist 1 minute and a half each side", 180, 180), ("plank 20s, cobra 20s, x4", 160, 160)),
]  # fmt: skip
FILLED = [
    note("Clase 60 min", ("DE PIE (15 min)", *NO_TIME), ("Triángulo (dcha / izda)", 300, 600), ("Guerrero II (dcha / izda)", 300, 600), ("SUELO", *NO_TIME), ("Esfinge 2 min", 120, 120)),
    note("Prenatal 60 min", ("STANDING (10 min)", *NO_TIME), ("warrior 2 R/L", 150, 450), ("goddess", 100, 350), ("REST", *NO_TIME), ("savasana 10 min", 600, 600)),
    note("Cours 60 min", ("Accueil allongé, respiration : 5 min", 300, 300), ("Genoux à la poitrine 1 min", 60, 60), ("Chien tête en bas 1 min", 60, 60)),
    note("Flow 60", ("BALANCES (8 min)", *NO_TIME), ("tree r/l", 200, 280), ("eagle r/l", 200, 280), ("REST", *NO_TIME), ("savasana 6 min", 360, 360)),
    note("Yoga 60 min", ("STEHEN (6 Min)", *NO_TIME), ("Baum re/li", 120, 240), ("Krieger 2 re/li", 120, 240), ("BODEN", *NO_TIME), ("Kind 1 Min", 60, 60)),
]  # fmt: skip
HEADED = [
    note("Flow 60", ("Hips: 10 min, R side then L side", *NO_TIME), ("1. lizard 2 min", 240, 240), ("2. pigeon 2 min", 240, 240)),
    note("Flow 60", ("Flow 1: R then L, 2 min", *NO_TIME), ("1) crescent 5 br", 40, 75), ("2) w2 5 br", 40, 75), ("Flow 2: 2 min, both sides", *NO_TIME), ("3) triangle 5 br", 40, 75), ("4) half moon 5 br", 40, 75)),
    note("Cours 60 min", ("Équilibres : D puis G, 4 min", *NO_TIME), ("1. arbre 1 min", 120, 120), ("2. aigle 1 min", 120, 120)),
    note("Yoga 60 Min", ("Hüften: 8 Min, rechts dann links", *NO_TIME), ("Taube 2 Min", 240, 240), ("Baum 1 Min", 120, 120)),
    note("Flow 60", ("A) Breath: 5 min", *NO_TIME), ("1. easy seat 4 min", 240, 240), ("2. om x3", 5, 60), ("B) Standing: R then L, twice, 8 min", *NO_TIME), ("3. triangle 1 min", 240, 240), ("4. w2 1 min", 240, 240), ("C) Floor: 4 min", *NO_TIME), ("5. boat 1 min", 60, 60), ("6. bridge 2 min", 120, 120)),
    note("Hatha 60", ("6:30 Settle: 4 min", *NO_TIME), ("1. child - 2 min", 120, 120), ("2. puppy - 2 min", 120, 120), ("6:34 All fours: 3 min", *NO_TIME), ("3. cat cow - 2 min", 120, 120), ("4. child - 1 min", 60, 60), ("6:37 Rest: 8 min", *NO_TIME), ("5. legs up the wall - 2 min", 120, 120), ("6. savasana - 6 min", 360, 360)),
    note("Flow 60", ("Core: 3 min", *NO_TIME), ("plank 1 min", 60, 60), ("boat 1 min", 60, 60), ("Legs + twist: 5 min", *NO_TIME), ("bridge 1 min", 60, 60), ("twist 2 min each side", 240, 240), ("Floor: 4 min", *NO_TIME), ("pigeon 1 min each side", 120, 120), ("seated fold 2 min", 120, 120)),
    note("Yin 60", ("Hips: 12 min, R side then L side", *NO_TIME), ("dragon 2 min", 120, 120), ("sleeping swan 4 min", 240, 240), ("all of it on L 6 min", 360, 360)),
    note("Flow 60\n#\tPose\tSides\tHow long", ("Flow:\t\tR then L\t4 min", *NO_TIME), ("1\tLow lunge\t\t1 min", 120, 120), ("2\tWarrior 2\t\t1 min", 120, 120), ("Floor:\t\t\t3 min", *NO_TIME), ("3\tBoat\t\t1 min", 60, 60), ("4\tBridge\t\t2 min", 120, 120)),
    note("Flow 60", ("Core: 2 min, twice", *NO_TIME), ("plank 30 s", 60, 60), ("boat 30 s", 60, 60), ("Savasana: 8 min", 480, 480), ("sit up 1 min", 60, 60)),
]  # fmt: skip
UNHEADED = [
    note("Flow 60", ("Child: 2 min", 120, 120), ("Cat cow: 1 min", 60, 60), ("Boat: 1 min", 60, 60)),
    note("Flow 60", ("Seated breath: 5 min", 300, 300), ("cat cow 30 s", 30, 30), ("child 30 s", 30, 30)),
]  # fmt: skip
HABITS = [
    *(HEADED + UNHEADED),
    *(CLOSED + SO_OFTEN + FILLED),
    *OVER_ALL,
    *(FRONTS + EACHES + TIMES_OF),
    *(RESTS + TOGETHER + SETS + HELD + NAMES + LEGS + UP + ENDS + INDENTED + COUNTED + BEHIND + WORKS + TOTALS + SHARED),
    *(CIRCUITS + TABLES + INTERVALS + LABELS + CLOCKS + LONG_POSES + TALK + SCOPES + COUNTS),
]  # fmt: skip


@pytest.mark.parametrize(("title", "lines"), HABITS)
def test_every_line_takes_what_it_means(title: str, lines: tuple[Meant, ...]) -> None:
    assert not amiss(title, lines)


@pytest.mark.parametrize("empty", ["   10. ", "   (5)", "   - ", "  7)", "   ..."])
def test_an_empty_line_set_in_below_a_name_ends_nothing(empty: str) -> None:
    assert read_plan(f"Flow 60 min\nstanding\n{empty}\nchild 1 min\nboat 30 s\n").sections
