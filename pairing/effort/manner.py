"""In what manner each section of a plan is taken: breath, usual holds, time between poses, the taught first pass.

What the note states counts; where it says nothing the style of the section's name or of the class does. A plan that
states its breath is taken at its word: nothing is added to it, neither between poses nor for a first pass.
"""

from dataclasses import dataclass
from typing import Literal

from pairing.model import Kind, KindPace, OwnPace, Plan
from pairing.plan.poses import Pose
from pairing.plan.style import LONG_HOLD_BREATHS, Style, StyleFound, style_in_words, style_named, style_of

# Styles that one part of a class of another style may have, where its heading says so; editorial.
STYLES_OF_PARTS = frozenset({"restorative", "yin", "mat", "barre"})
HELD_HOLD_BREATHS = 2.0  # a pose whose usual hold is so long is a held one; editorial


@dataclass(frozen=True, slots=True)
class Manner:
    """The pace of one section, where its lines don't say otherwise."""

    breath_s: float  # of a full breath
    salute_s: float  # of a full breath in salutations, which move wherever they stand
    holds: Literal["flow", "slow"]
    least_breaths: float = 0.0  # of a held pose
    stay_s: float | None = None  # in a pose with a long usual hold
    between_s: float | None = None  # stated: from one held pose into the next
    change_s: float = 0.0  # assumed: out of one thing that is stayed in and into the next
    first_pass: float = 1.0  # how much longer what is moved through takes in the taught round
    first_breath: float = 1.0  # and each breath: the teacher's own pace

    def usual_breaths(self, pose: Pose) -> float:
        """Breaths of a pose without a length."""
        usual = pose.hold_breaths_flow if self.holds == "flow" else pose.hold_breaths_slow
        return max(usual, self.least_breaths) if usual >= HELD_HOLD_BREATHS else usual

    def stays_long_in(self, pose: Pose) -> bool:
        """Say whether a pose without a length takes the long stay of its style."""
        return self.stay_s is not None and pose.rep_breaths is None and pose.hold_breaths_slow >= LONG_HOLD_BREATHS


def assumes_changes(plan: Plan) -> bool:
    """Say whether time between poses is assumed: where the plan states neither it nor its breath."""
    return plan.between_s is None and plan.breath_s is None


def told_style(plan: Plan) -> StyleFound:
    """Give the style of a plan: the one it names, else the one that its title or its poses tell."""
    return StyleFound(style_named(plan.style), "it is said") if plan.style else style_of(plan)


def manners(plan: Plan) -> tuple[Manner, ...]:
    """Give the manner of each section."""
    style = told_style(plan).style
    return tuple(_manner(plan, _style_of_part(section.name) or style, section.kind) for section in plan.sections)


def _style_of_part(name: str) -> Style | None:
    named = style_in_words(name)
    return named if named and named.name in STYLES_OF_PARTS else None


def _manner(plan: Plan, style: Style, kind: Kind) -> Manner:
    own = plan.own_pace.kinds.get(kind) if plan.own_pace and plan.breath_s is None else None
    usual = KindPace(style.breath_in(kind), None, style.between_s)
    paced = own or usual
    breath_s = plan.breath_s or paced.breath_s or style.breath_in(kind)
    return Manner(
        breath_s=breath_s,
        salute_s=breath_s if own or plan.breath_s else style.breath_s,
        holds=plan.holds or style.holds,
        least_breaths=0.0 if plan.holds else style.least_breaths,
        stay_s=None if plan.holds else style.stay_s,
        between_s=plan.between_s,
        change_s=(paced.between_s or 0.0) if assumes_changes(plan) else 0.0,
        first_pass=1.0 if own or plan.breath_s else style.first_pass,
        first_breath=paced.first_breath_s / breath_s if paced.first_breath_s else 1.0,
    )


def style_words(plan: Plan) -> tuple[str, ...]:
    """Say which style was taken, why, and what follows from it; () where the note states everything itself."""
    told = told_style(plan)
    style = told.style
    said = []
    if plan.own_pace and plan.breath_s is None:
        said.append(_own_words(plan.own_pace))
    elif plan.breath_s is None:
        still = "" if style.still_breath_s == style.breath_s else f" ({style.still_breath_s:g} s where it is still)"
        said.append(f"a full breath takes {style.breath_s:g} s{still}")
    if assumes_changes(plan) and not plan.own_pace:
        said.append(f"{style.between_s:g} s to move from one pose to the next")
    if plan.holds is None and style.stay_s:
        said.append(f"a long hold without a length takes {style.stay_s / 60:g} minutes")
    taken = [
        f"taken as {style.says} ({told.why}): {', '.join(said)}; to change that, write breath:, between: or holds:"
    ]
    if plan.between_s is None and not assumes_changes(plan):
        taken.append('moving from one held pose to the next takes no time ("between: 15 seconds" gives it some)')
    return tuple(taken if said else taken[1:])


def _own_words(own: OwnPace) -> str:
    classes = f", learned from {own.classes} class{'es' if own.classes > 1 else ''}" if own.classes else ""
    return f"at your own pace{classes} (arcbed pace shows it)"
