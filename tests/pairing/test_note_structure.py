"""How notes are built: tables, clocks, headings, what stands before and behind a class; by line the seconds it may mean.

Invented; common practice, no source.
"""

import pytest
from typed_notes import BLANK, NO_TIME, Meant, amiss, note

from pairing.plan.read import read_plan

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

LETTERS = [
    note("Mobility 45", BLANK, ("A) 2 rounds", *NO_TIME), ("A1 plank 20s", 40, 40), ("A2 boat 30s", 60, 60), BLANK, ("B) hips, 3 rounds", *NO_TIME), ("B1 bridge 20s", 60, 60), ("B2 bow 10s", 30, 30), ("30s between rounds", 60, 60)),
    note("HIIT 40", BLANK, ("A - 3 rounds", *NO_TIME), ("plank 30s", 90, 90), ("boat 20s", 60, 60), BLANK, ("B - 40s work 20s change, x2", *NO_TIME), ("squats", 120, 120), ("lunges", 120, 120), BLANK, ("C - finisher, 3 rounds", *NO_TIME), ("bow 20s", 60, 60)),
    note("Kraft 40 Min", BLANK, ("A) 2 Runden", *NO_TIME), ("A1 Brett 20 s", 40, 40), ("A2 Boot 30 s", 60, 60), BLANK, ("B) 3 Runden", *NO_TIME), ("B1 Brücke 20 s", 60, 60), ("B2 Bogen 10 s", 30, 30)),
    note("Flow 60", ("1) Standing - R then L:", *NO_TIME), ("   a. crescent 5 br", 20, 30), ("   b. warrior 2 5br", 20, 30), ("   c. vinyasa", 5, 30), ("2) same again, 1 breath per move, both sides", 20, 80), ("3) child 1 min", 60, 60)),
    note("Vinyasa 60 min", ("1/ assise 2 mn", 120, 120), ("2/ chat-vache x6", 20, 80), ("3/ enfant 1 mn", 60, 60)),
    note("Core 40", ("CORE, 2 rounds", *NO_TIME), ("plank 30s", 60, 60), ("side plank 20s each", 80, 80), ("(30 s rest between rounds)", 30, 30), ("child 1 min", 60, 60)),
    note("Gainage 40 min", ("** gainage, 2 tours **", *NO_TIME), ("planche 30 s", 60, 60), ("bateau 20 s", 40, 40), ("(30 s de pause entre les tours)", 30, 30), ("enfant 1 min", 60, 60)),
    note("Flow 60", ("W1 5 br", 20, 30), ("W2 5 br", 20, 30), ("W3 5 br", 20, 30), ("child 1 min", 60, 60)),
]  # fmt: skip
BLOCKS = [
    note("stiff backs weds 60", BLANK, ("floor warm up 7", *NO_TIME), ("knee to chest 45s each", 90, 90), ("bridge 2 min", 120, 120), ("child 3 min", 180, 180), BLANK, ("hips on the floor 10 (main bit)", *NO_TIME), ("pigeon 2 min each", 240, 240), ("frog 3 min", 180, 180)),
    note("Flow 60", BLANK, ("arrive 5", 300, 300), ("feet up on wall, breathe, phones off", *NO_TIME), BLANK, ("standing bits 12-13", *NO_TIME), ("low lunge 1 min r/l", 120, 120), ("horse stance 4 min", 240, 240), ("chair 3 min", 180, 180)),
    note("Mat 45", BLANK, ("Front of body (6)", *NO_TIME), ("plank 1 min", 60, 60), ("boat 2 min", 120, 120), ("bow 2 min", 120, 120), BLANK, ("child 1 min", 60, 60)),
    note("kids yoga 40 min", BLANK, ("OUR ADVENTURE (12 mins or till they lose it)", 720, 720), ("- tree wakes up", *NO_TIME), ("- cobra, hiss", *NO_TIME), ("- frog jumps x10", *NO_TIME), BLANK, ("child 2 min", 120, 120)),
    note("Yin 60", BLANK, ("butterfly 5", 300, 300), ("dragon 3", 180, 180), BLANK, ("child 4", 240, 240), ("seal 2", 120, 120)),
    note("Flow 60", BLANK, ("PUSHUP LADDER (knees totally fine)", *NO_TIME), ("plank 30 s", 30, 30), ("boat 30 s", 30, 30), BLANK, ("STANDING BEHIND CHAIR, (joints bad = stay sat)", *NO_TIME), ("tree 30 s each side", 60, 60), ("heel raises x10", 15, 60)),
    note("Pilates suelo 45 min", ("Calentar de pie", *NO_TIME), ("roll down x4", 20, 90), ("SERIE LATERAL lado der", *NO_TIME), ("almeja x12", 20, 60), ("plancha lateral 20 seg", 20, 20), ("igual izq", 40, 80)),
]  # fmt: skip
NO_HEADS = [
    note("Barre 40", ("plank 30 s", 30, 30), ("pulse 16 @ top", 8, 40), ("boat 30 s", 30, 30)),
    note("Yin 75", ("butterfly 4", 240, 240), ("dragon 3", 180, 180), ("melt on belly 2", 110, 130), ("child 3", 180, 180)),
    note("Flow 60", ("savasana 5 min", 300, 300), ("sit, 1 om", 8, 60)),
    note("Hatha 60", ("tree 30 s e/s", 60, 60), ("sit 2 min, eyes shut", 120, 120), ("child 1 min", 60, 60)),
    note("HIIT 40", ("Block 2 - 40/20, x2", *NO_TIME), ("squats", 120, 120), ("lunges", 120, 120), BLANK, ("1 min off", 60, 60), ("child 1 min", 60, 60)),
]  # fmt: skip
AGAIN = [
    note("Power 60", ("Wave R: high lunge 3br, twist 3br, W2 3br", 35, 60), ("Wave L", 35, 60), ("Wave x2 R+L, breath = beat", 35, 90), ("child 1 min", 60, 60)),
    note("Power 60", ("Rd 1 - hold everything 3br, R side:", *NO_TIME), ("- crescent", 12, 18), ("- W2", 12, 18), ("- triangle", 12, 18), ("then L", 36, 54), ("Rd 2 - 1br each pose, R + L", 20, 40)),
    note("Flow 60", ("warrior 2 R 5 br", 20, 30), ("triangle 5 br", 20, 30), ("both sides again, 1 breath = 1 move", 12, 30), ("child 1 min", 60, 60)),
    note("Yoga 60 Min", ("Krieger 2 re 5 AZ", 20, 30), ("Dreieck 5 AZ", 20, 30), ("beide Seiten nochmal, 1 Atemzug = 1 Bewegung", 12, 30), ("Kind 1 min", 60, 60)),
    note("Yin 75", ("1) sleeping swan R 4'", 240, 240), ("   swan L", 240, 240), ("2) child 2'", 120, 120)),
    note("Restorative 90", ("1) build the nest 3'", 170, 190), ("     in it 12'", 720, 720), ("2) roll over, child 5'", 290, 320)),
    note("Nidra 45", ("1. journey: lake at night, boat - 7 min", 420, 420), ("   silence 4 min", 240, 240), ("2. child 1 min", 60, 60)),
]  # fmt: skip
COLUMN = [
    note("Desk stretch 12:35 - 1pm", ("mins", *NO_TIME), BLANK, ("1  settle, laptops shut", 60, 60), ("2  breathing, hand on belly", 120, 120), ("1.5  neck, chin tucks", 90, 90), ("1 each side  twist", 120, 120), ("45s ea  quad", 90, 90), ("2x10  desk push ups", 30, 110), ("1  chest", 60, 60)),
    note("Chair 20 min", ("2  child", 120, 120), ("3  cat cow", 180, 180), ("1.5 each  tree", 180, 180), ("2.5  twist", 150, 150), ("4  neck, wrists", 240, 240), ("6  relax", 360, 360)),
    note("Flow 20 min", ("2  child", 120, 120), ("3  cat cow", 180, 180), ("1 per leg  tree", 120, 120), ("3  twist", 180, 180), ("4  neck, wrists", 240, 240), ("6  savasana", 360, 360)),
    note("Full moon flow 75", ("[7] supported reclined bound angle", 420, 420), ("[3] seated circles, neck", 180, 180), ("table: cat cow x6", 20, 80), ("wide fold [4]", 240, 240), ("pigeon [4] r [4] l", 480, 480), ("savasana [10] moon track", 600, 600)),
    note("Hatha 45 Min", ("[5] Kindhaltung", 300, 300), ("Katze-Kuh x6", 20, 80), ("Drehung [3]", 180, 180), ("[10] Savasana", 600, 600)),
    note("Flow 60", ("child 1 min", 60, 60), ("24ish all in, 1 for questions", *NO_TIME), ("tot = ?? count again, was 4 over", *NO_TIME)),
]  # fmt: skip
PLAYED = [
    note("Candlelit power 60", ("♪ rain (already on)", *NO_TIME), ("child 2 min", 120, 120), ("♪ first beat, vol 5", *NO_TIME), ("plank 1 min", 60, 60), ("♪ singing bowls, 8 mins, set alarm", *NO_TIME), ("boat 30 s", 30, 30), ("bow 30 s", 30, 30)),
    note("Power 60", ("♫ drums, track 4, 5:50", *NO_TIME), ("child 2 min", 120, 120), ("plank 1 min", 60, 60), ("♫ cut it. silence.", *NO_TIME), ("boat 30 s", 30, 30)),
]  # fmt: skip


LADDERS = [
    note("Power 60", BLANK, ("push ups 1-2-3-4-5-4-3-2-1, plank 2br between", 90, 240), ("sit ups 2-4-6-8-10, 5s hollow in between", 60, 180), ("child 1 min", 60, 60)),
    note("Power 60", BLANK, ("PUSHUP LADDER", *NO_TIME), ("1-2-3-4-3-2-1, plank 2 br btw", 60, 200), ("child 1 min", 60, 60)),
    note("Core 40", ("squats 5-10-15-20", 60, 260), ("box breath 4-4-4-4 x4", 60, 75)),
    note("Ladder 60", ("add-on flow, every rung R+L", *NO_TIME), BLANK, ("rung 1: low lunge 3br", 24, 36), ("rung 2: + W2 3br", 48, 72), ("rung 3: + half moon 3br", 72, 110), ("rung 4: whole thing no holds, both sides", 20, 60), ("child 1 min", 60, 60), ("boat 30 s", 30, 30), ("savasana 5 min", 300, 300)),
    note("Pyramid 60", ("lvl 1: low lunge", 3, 30), ("lvl 2: + W2", 6, 40), ("lvl 3: + W3", 9, 60), ("child 1 min", 60, 60)),
]  # fmt: skip
SHOUTED = [
    note("Yoga 60 Min", BLANK, ("FLOW x2", *NO_TIME), ("Krieger 2 5 AZ", 40, 60), ("Dreieck 5 AZ", 40, 60), BLANK, ("Kind 1 min", 60, 60)),
    note("Flow 60", ("CORE x3", *NO_TIME), ("boat 20s", 60, 60), ("plank 20s", 60, 60), ("child 2 min", 120, 120)),
    note("Cours 60 min", ("RENFO x2 (sans pause)", *NO_TIME), ("planche 30 s", 60, 60), ("bateau 20 s", 40, 40), BLANK, ("enfant 1 min", 60, 60)),
    note("Flow 60", ("SUN A x4", 120, 320), ("SUN B x2", 100, 260)),
    note("HIIT 40", ("Block 3 - 20s each straight thru, whole thing x2", *NO_TIME), ("squats", 40, 40), ("plank", 40, 40)),
    note("HIIT 40", ("Block 1 - 30 on 10 off, 3 rnds", *NO_TIME), ("squats", 120, 120), ("plank", 120, 120), ("60 sec water btwn rounds", 110, 190)),
    note("Strong 35 min", ("FINISHER 30s each, 2 rounds", *NO_TIME), ("squats", 60, 60), ("plank", 60, 60)),
]  # fmt: skip
ASIDES = [
    note("Yin 75", ("butterfly 5", 300, 300), ("> rebound on back 1", 60, 60), ("dragon 3", 180, 180), (">> silence 1 min", 60, 60), ("> breathe, soften", *NO_TIME)),
    note("Workshop 2-4.30pm", ("2.00", *NO_TIME), ("circle, 15 mins", 900, 900), ("3.15 BREAK 15 min", 900, 900), ("3.30", *NO_TIME), ("child 1 min", 60, 60)),
    note("Stretch weds 60", ("low lunge 1 min r/l", 120, 120), ("same again grab back foot if you can, 30s r/l", 60, 60), ("child 1 min", 60, 60)),
    note("Stretch weds 60", ("pigeon 2 min each side", 240, 240), ("repeat, hands on blocks, 1 min each side", 120, 120), ("child 1 min", 60, 60)),
    note("Flow 60", ("tree 30 s e/s", 60, 60), ("boat 30 s", 30, 30), ("bow 20 s", 20, 20), ("plank 30 s", 30, 30), ("cobra 20 s", 20, 20), ("child 1 min", 60, 60), ("send flyer to reception friday", *NO_TIME)),
    note("Yin reins. Mercredi 18h30-19h45", ("heure | min | posture |", *NO_TIME), ("18h30 | 5 | papillon |", 300, 300), ("18h35 | 60 | dragon |", 3600, 3600), ("19h35 |  | savasana |", 600, 600)),
    note("Power 75 // sat // hot room so keep moving", ("6.00 child", 300, 300), ("6.05 tree", 3600, 3600), ("7.05 savasana", 600, 600)),
]  # fmt: skip
PARTS_AGAIN = [
    note("Flow 60", ("STANDING A", *NO_TIME), ("warrior 2 R 5 br", 20, 30), BLANK, ("STANDING B", *NO_TIME), ("warrior 3 R 5 br", 20, 30), BLANK, ("Repeat A + B at 1 br per pose", 8, 12), ("child 1 min", 60, 60)),
    note("Flow 60", ("WAVE 1 (each side)", *NO_TIME), ("crescent 5 br", 40, 60), ("W2 5 br", 40, 60), BLANK, ("WAVE 2 (each side)", *NO_TIME), ("chair 5 br", 40, 60), BLANK, ("put it together: wave 1 + 2, 1 br each, both sides", 20, 40), ("child 1 min", 60, 60)),
    note("Flow 60", ("FLOW 1", *NO_TIME), ("plank 30s", 30, 30), BLANK, ("FLOW 2", *NO_TIME), ("boat 20s", 20, 20), BLANK, ("flow 1 and 2 again", 50, 50), ("child 1 min", 60, 60)),
    note("Yoga 60 Min", ("FLOW A", *NO_TIME), ("Brett 30 s", 30, 30), BLANK, ("FLOW B", *NO_TIME), ("Boot 20 s", 20, 20), BLANK, ("A + B wiederholen", 50, 50), ("Kind 1 min", 60, 60)),
    note("Clase 60 min", ("SERIE A", *NO_TIME), ("plancha 30 seg", 30, 30), BLANK, ("SERIE B", *NO_TIME), ("barco 20 seg", 20, 20), BLANK, ("repetir A + B", 50, 50), ("niño 1 min", 60, 60)),
]  # fmt: skip
LISTED = [
    note("Pilates 50", BLANK, ("Side lying R", *NO_TIME), ("1. clams x15", 15, 60), ("2. side plank 20s", 20, 20), ("Side lying L - same", 35, 80), BLANK, ("child 30 sec", 30, 30)),
    note("strong 45 - core", BLANK, ("set 1 x3", *NO_TIME), ("  plank 45s", 135, 135), ("  rest 45s", 135, 135), BLANK, ("set 2 x2", *NO_TIME), ("  boat 30s", 60, 60), ("  bow 20s", 40, 40), ("child 1 min", 60, 60)),
    note("Yoga sanft 60 Min", ("1. Standhaltungen je 5 AZ, re + li", *NO_TIME), ("   Krieger 1", 40, 68), ("   Krieger 2", 40, 68), ("2. Kind 1 min", 60, 60)),
    note("Hatha 60", ("Standing poses, 30 s each", *NO_TIME), ("   chair", 30, 30), ("   goddess", 30, 30), ("child 1 min", 60, 60)),
    note("Circuit Sat 9am 45'", BLANK, ("C1 40/20 x 2", *NO_TIME), ("squats", 120, 120), ("plank taps", 120, 120), BLANK, ("rest 1'", 60, 60), BLANK, ("C2 (2 rounds, 45s each)", *NO_TIME), ("plank", 90, 90), ("boat", 90, 90)),
    note("Cours 60 min", ("Accueil 10'", 600, 600), ("  - tour de parole", *NO_TIME), ("  - météo du corps", *NO_TIME), ("Enfant 1 min", 60, 60)),
    note("Flow L1", ("WARM-UP (10')", *NO_TIME), ("easy seat 2'", 120, 120), ("cat/cow 8x", 30, 100), ("dd 5 br", 20, 30), ("SAVASANA 8'", 480, 480)),
    note("Vinyasa 75 min", ("Part 1: arrive & warm", *NO_TIME), ("child 2 min", 120, 120), ("Part 2: build", *NO_TIME), ("boat 30 s", 30, 30)),
    note("HATHA 75 Mi 18:00", ("18:00 Kind", 300, 300), ("18:05 Baum", 3660, 3660), ("19:06 SAVASANA", 540, 540), ("19:15 Ende", *NO_TIME)),
    note("Restorative, Fri 8pm, 60", ("1 - legs up wall - 10", 600, 600), ("2 - child - 8", 480, 480), ("3 - supported fish - 12", 720, 720), ("4 - savasana + bowls - 25", 1500, 1500)),
    note("Min  What", ("3    settle, breath", 180, 180), ("4    cat cow, child", 240, 240), ("8    sun A x3, sun B x2", 480, 480), ("4    twists", 240, 240), ("8    savasana", 480, 480)),
    note("***VINYASA***", ("60 min, 20 people at most", *NO_TIME), BLANK, ("-child 2m", 120, 120), ("-cc x8", 20, 80), ("-sav 6m", 360, 360), ("-om", 10, 40)),
]  # fmt: skip
SUMMED = [
    note("Teen yoga thurs 4pm 50 mins", BLANK, ("check in: high of the week (5)", 300, 300), ("game: yogi says (5)", 300, 300), ("suns: 5 rounds, they lead the last one", 20, 400), ("boat for two, double dog (10)", 600, 600), ("inversion corner (8)", 480, 480), ("legs up wall (7)", 420, 420), ("savasana (5)", 300, 300)),
    note("Kids 40 min", BLANK, ("hello (5)", 300, 300), ("animal walks (10)", 600, 600), ("tree 30 s each side", 60, 60), ("story (10)", 600, 600), ("relax (5)", 300, 300)),
    note("CLASS PLAN: Flow", ("Date: 12 May   Time: 18:30   Length: 60 min", *NO_TIME), BLANK, ("child 1 min", 60, 60), ("boat 30 s", 30, 30), ("bow 20 s", 20, 20), ("savasana 5 min", 300, 300)),
    note("Barre 45", ("THIGHS", *NO_TIME), ("1. wide plie", *NO_TIME), ("   hold 20s", 20, 20), ("   pulse 10s", 10, 10), ("2. chair", *NO_TIME), ("   hold 30s", 30, 30), ("   pulse 10s", 10, 10), ("Repeat 1+2", 60, 80), BLANK, ("child 1 min", 60, 60)),
    note("Mobility 45", BLANK, ("A) hips. 2x through", *NO_TIME), ("A1 bridge 20s", 40, 40), ("A2 boat 10s", 20, 20), BLANK, ("B) T spine.  2x through", *NO_TIME), ("B1 plank 20s", 40, 40), ("B2 bow 10s", 20, 20)),
]  # fmt: skip
NUMBERED = [
    note("Wed 45 min chair class", ("1. Seated warm up", *NO_TIME), ("neck turns x5 each side", 20, 90), ("2. Arms w bands (2 sets of 10)", *NO_TIME), ("march 1 min", 60, 60), ("3. Standing balance", *NO_TIME), ("tree 20s each leg", 40, 40), ("4. Cool down", *NO_TIME), ("relax 5 min", 300, 300)),
    note("Mat 45", ("1. Kniend", *NO_TIME), ("Brett 30 s", 30, 30), ("2. Auf der Matte", *NO_TIME), ("Boot 20 s", 20, 20), ("3. Seitlich re", *NO_TIME), ("Seitstütz 20 s", 20, 20)),
    note("Flow 60", ("1. child 1 min", 60, 60), ("2. plank 30 s", 30, 30), ("soft elbows", 0, 30), ("3. boat 20 s", 20, 20), ("4. bow 20 s", 20, 20)),
    note("Yin + nidra, Sun 5-6.30pm", ("Butterfly - 5", 300, 300), ("Child - 2", 120, 120), ("Legs up wall - 8", 480, 480), ("Nidra - 30", 1800, 1800), ("   intention", *NO_TIME), ("   body scan", *NO_TIME), ("Sit, close - 5", 300, 300)),
    note("yoga doux / 60'", ("0-5 accueil", 300, 300), ("5-10 enfant", 300, 300), ("10-58 relaxation", 2880, 2880), ("58-60 retour", 120, 120)),
    note("pilates ball class", ("back 6 mins", *NO_TIME), ("swan x6", 20, 80), ("swimming 30s x2", 60, 60), BLANK, ("stretch 5 mins", 300, 300)),
]  # fmt: skip
CLASSES = [
    *(STROKES + BEFORE + AFTER + CLOCKED),
    *(LETTERS + BLOCKS + NO_HEADS + AGAIN + COLUMN + PLAYED),
    *(LADDERS + SHOUTED + ASIDES + PARTS_AGAIN + LISTED + SUMMED + NUMBERED),
]


@pytest.mark.parametrize(("title", "lines"), CLASSES)
def test_every_line_takes_what_it_means(title: str, lines: tuple[Meant, ...]) -> None:
    assert not amiss(title, lines)


@pytest.mark.parametrize(
    ("title", "minutes"),
    [
        ("Power 75 // sat 9a // hot room", 75),
        ("HATHA 75 Mi 18:00", 75),
        ("vinyasa mi abend 60 - peak seitkrähe", 60),
        ("hatha flow weds arvo 60 - hips - typed up", 60),
        ("pilates mat jueves 19h 55min", 55),
        ("Yoga prénatal samedi 10h30 - 1h", 60),
        ("LUNCH POWER 45 !! keep to time !!", 45),
    ],
)
def test_a_title_tells_the_slot(title: str, minutes: int) -> None:
    plan = read_plan(f"{title}\n\nchild 1 min\nboat 30 s\ntree 30 s each side\n")
    assert (plan.title, plan.slot_s) == (title, 60.0 * minutes)
