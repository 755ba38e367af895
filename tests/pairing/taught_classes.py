"""Made-up teachers and the classes they teach, to learn a pace from: there are no logs of real classes.

Each teacher has a breath (usual value x 0.75 to 1.5, a little apart by kind of section), a first, taught pass 1.2 to 1.9
times slower, time between poses (x 0.4 to 2.2), a noise of 30 % on every breath, 40 % on every change, a mood of 2 % a
class, holds given in seconds kept within 5 %, and now and then an interruption. The real class is walked through step by
step from the planned one with these, not computed by the program's pace.
"""

import random
from dataclasses import dataclass, replace

from pairing.effort.manner import told_style
from pairing.effort.timetable import build_timetable
from pairing.model import Kind, Plan, Timetable
from pairing.pace import Change, ClassLog, KeptPace, Stay, learned, own_pace
from pairing.plan.poses import pose_table
from pairing.plan.read import read_plan

PLANS = [
    """# Flow one
## Arrive: opening
- child's pose, 8 breaths
- cat-cow x6
- downward dog, 8 breaths
## Salutes: warm-up
- sun salutation A x4
- sun salutation B x2
## Tide: flow, both sides, 3 rounds
- three-legged dog
- low lunge
- warrior two, 3 breaths
- reverse warrior
- extended side angle, 3 breaths
- vinyasa
## Ebb: cool-down
- pigeon, 2 minutes each side
- seated forward fold, 10 breaths
- supine twist, 6 breaths each side
## Rest: rest
- savasana, 6 minutes
""",
    """# Vinyasa two
## Wake: warm-up
- cat-cow x8
- thread the needle, 5 breaths each side
- downward dog, 6 breaths
- half sun salutation x4
## Crest: flow, both sides, 2 rounds
- high lunge, 4 breaths
- warrior one
- warrior two, 4 breaths
- triangle, 5 breaths
- half moon, 3 breaths
- vinyasa
## Balance: peak
- tree, 6 breaths each side
- eagle, 5 breaths each side
- crow, 5 breaths
## Floor: floor
- bridge, 5 breaths x3
- happy baby, 8 breaths
- supine twist, 1 minute each side
## Rest: rest
- savasana, 7 minutes
""",
    """# Flow three
## Sit: opening
- easy seat, 10 breaths
- seated side bend, 4 breaths each side
## Suns: warm-up
- sun salutation A x5
- sun salutation B x3
## Standing: standing
- triangle, 5 breaths each side
- extended side angle, 5 breaths each side
- wide-legged fold, 6 breaths
- pyramid, 5 breaths each side
## River: flow, both sides, 2 rounds
- three-legged dog
- knee to nose x3
- warrior two, 5 breaths
- side plank, 2 breaths
- vinyasa
## Down: cool-down
- seated forward fold, 10 breaths
- head to knee, 8 breaths each side
- reclined figure four, 8 breaths each side
## Rest: rest
- savasana, 6 minutes
""",
    """# Flow four
## Land: opening
- child's pose, 10 breaths
- puppy, 6 breaths
## Warm: warm-up
- cat-cow x6
- downward dog, 6 breaths
- sun salutation A x3
## Main: flow, both sides, 3 rounds
- low lunge, 3 breaths
- high lunge
- warrior three, 3 breaths
- warrior two
- triangle, 4 breaths
- vinyasa
## Top: peak
- camel, 5 breaths x2
- wheel, 4 breaths x3
- dancer, 5 breaths each side
## Soft: cool-down
- pigeon, 12 breaths each side
- bound angle, 10 breaths
- supine twist, 8 breaths each side
## Rest: rest
- savasana, 7 minutes
""",
]


@dataclass(frozen=True)
class Teacher:
    """Someone who doesn't exist."""

    breath: dict[Kind, float]  # of the usual breath
    first: float
    between: float
    chance: random.Random

    def taught(self, timetable: Timetable) -> tuple[list[float], list[Stay]]:
        """Real seconds of every step, and the interruptions seen."""
        mood = self.chance.gauss(1.0, 0.02)
        rounds = [max(p.round for p in section.passes) for section in timetable.sections]
        taken, stays, clock = [], [], 0.0
        for step in timetable.steps:
            seconds = step.end_s - step.start_s
            kind = timetable.sections[step.section].kind
            if step.line == 0:
                seconds *= self.between * mood * self.chance.lognormvariate(0.0, 0.4)
            elif step.breaths:
                seconds = step.breaths * timetable.sections[step.section].breath_s * self.breath[kind] * mood
                seconds *= self.first if rounds[step.section] > 1 and step.round == 1 else 1.0
                seconds *= self.chance.lognormvariate(0.0, 0.3 / max(1.0, step.breaths) ** 0.5)
            else:
                seconds *= self.chance.gauss(1.0, 0.05)
            if self.chance.random() < 0.002:
                stays.append(Stay(clock + 1.0, 120.0))
                seconds += 120.0
            taken.append(seconds)
            clock += seconds
        return taken, stays


def teacher(seed: int) -> Teacher:
    """Make a teacher up."""
    chance = random.Random(seed)
    pace = chance.uniform(0.75, 1.5)
    return Teacher(
        {kind: pace * chance.uniform(0.9, 1.1) for kind in Kind},
        chance.uniform(1.2, 1.9),
        chance.uniform(0.4, 2.2),
        chance,
    )


def logged(timetable: Timetable, plan: Plan, real: Teacher, day: int) -> ClassLog:
    """The log that a class taught by this teacher leaves."""
    taken, stays = real.taught(timetable)
    changes, clock = [], 0.0
    for step, seconds in zip(timetable.steps, taken, strict=True):
        section = timetable.sections[step.section]
        changes.append(
            Change(step.start_s, clock, section.kind.value, section.name, step.round, step.side, step.line,
                   step.name if step.line else None, step.breaths)
        )  # fmt: skip
        clock += seconds
    return ClassLog(
        "arcbed-class-log", 1, plan.title, f"2026-03-{day:02}T18:30:00+01:00", tuple(changes), clock, stays=tuple(stays)
    )


@dataclass(frozen=True)
class Trial:
    """One teacher's fourth class: seconds."""

    real_s: float
    unlearned_s: float
    likely_s: float
    shortest_s: float
    longest_s: float

    @property
    def holds(self) -> bool:
        return self.shortest_s <= self.real_s <= self.longest_s

    @property
    def width(self) -> float:
        """The larger way from the likely length to an end of the range."""
        return max(self.longest_s - self.likely_s, self.likely_s - self.shortest_s) / self.likely_s


def trial(seed: int) -> Trial:
    """Teach three of the plans, learn, and foretell the one left over."""
    real, table = teacher(seed), pose_table()
    plans = [read_plan(text, file="class.md") for text in PLANS]
    left = plans.pop(seed % len(plans))
    logs = [logged(build_timetable(plan, table), plan, real, day) for day, plan in enumerate(plans, 1)]
    unlearned = build_timetable(left, table)
    taken, stays = real.taught(unlearned)
    own = own_pace(learned(KeptPace(), logs), told_style(left).style)
    known = build_timetable(replace(left, own_pace=own), table)
    lost = sum(stay.length_s for stay in stays)  # no plan foresees an interruption
    return Trial(sum(taken) - lost, unlearned.duration_s, known.duration_s, known.shortest_s, known.longest_s)
