"""Cautions of the poses a class uses, gathered for the teacher.

The tags of the poses are common practice in the trade; what is published stands beside its words. None of it is
medical advice: the words defer to the person, to local rules and to licensed practice.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from pairing.model import Finding, Plan, Timetable, Where
from pairing.plan.poses import PoseTable

_SHOWN = 4  # poses named for one caution; more are counted

ADVICE = (
    "This plan is not medical advice. Each person works within their own range; pain, dizziness or breathlessness "
    "means stop and rest. Ask to be told about pregnancy, high blood pressure, glaucoma or other eye disease, "
    "heart disease, recent surgery or injury, osteoporosis; a licensed professional decides what is suitable."
)


@dataclass(frozen=True, slots=True)
class Caution:
    """One group of the pose table's caution tags, and what is usually offered."""

    code: str  # "caution-" and this is the code of the finding
    tags: frozenset[str]  # of the pose table
    about: str
    offer: str
    ground: str  # a published source, or common practice


CAUTIONS = (
    Caution(
        "wrists", frozenset({"wrists"}), "Weight on the hands",
        "Offer fists, forearms or a wedge to those with sore wrists.", "common practice, no source",
    ),
    Caution(
        "knees", frozenset({"knees"}), "Deeply bent or loaded knees",
        "Offer padding, a higher seat or a smaller bend; no pain in the knee.", "common practice, no source",
    ),
    Caution(
        "neck", frozenset({"neck"}), "Load or strain on the neck",
        "Make these optional, never required; offer a head-up or supported form.", "common practice, no source",
    ),
    Caution(
        "low-back", frozenset({"low back"}), "Strain on the low back",
        "Offer bent knees, a smaller range or hands on the legs.", "common practice, no source",
    ),
    Caution(
        "head-pressure", frozenset({"glaucoma", "high blood pressure"}),
        "Head below the heart, pressure in eyes and head",
        "Offer a head-up form to anyone with glaucoma or other eye disease, or high blood pressure.",
        "eye pressure rose from 17 to 28 mmHg in downward dog within a minute: "
        "Jasien et al., PLoS ONE 2015;10(12):e0144505",
    ),
    Caution(
        "pregnancy", frozenset({"pregnancy"}), "Lying on the belly or flat on the back, closed twists, falls",
        "Ask early; offer an open twist, a side-lying rest, support, and no pose with a risk of falling. What is "
        "suitable is for her and her midwife or doctor to say.",
        "modified practice was well tolerated in late pregnancy: Polis et al., Obstet Gynecol 2015 (second hand)",
    ),
    Caution(
        "falls", frozenset({"fall risk"}), "Balances with a risk of falling",
        "Offer a wall, a chair or a foot on the floor; leave room between mats.", "common practice, no source",
    ),
    Caution(
        "shoulders-and-hips", frozenset({"shoulders", "hips", "hamstrings", "ankles"}),
        "Load or long stretch of shoulders, hips, hamstrings or ankles",
        "Offer props and a smaller range; nobody is pushed further.", "common practice, no source",
    ),
)  # fmt: skip


CAUTION_CODES = ("caution-general", *(f"caution-{caution.code}" for caution in CAUTIONS))


def cautions(plan: Plan, timetable: Timetable, poses: PoseTable) -> Iterator[Finding]:
    """Give one finding for each caution that a pose of the class carries, and the general word before them.

    A class without poses gives none.
    """
    used = _used(timetable, poses)
    if not used:
        return
    where = Where(plan.file or plan.title)
    yield Finding("note", "caution-general", where, ADVICE)
    for caution in CAUTIONS:
        names = [name for name, tags in used.items() if tags & caution.tags]
        if names:
            message = f"{caution.about}: {_listed(names)} ({caution.ground})."
            yield Finding("note", f"caution-{caution.code}", where, message, caution.offer)


def _used(timetable: Timetable, poses: PoseTable) -> dict[str, frozenset[str]]:
    """Give the English names of the poses used, in order, each with its caution tags."""
    ids = dict.fromkeys(step.pose_id for step in timetable.steps if step.pose_id)
    known = (poses.poses[pose_id] for pose_id in ids if pose_id in poses.poses)
    return {pose.english: frozenset(pose.cautions) for pose in known}


def _listed(names: list[str]) -> str:
    shown = ", ".join(names[:_SHOWN])
    return shown if len(names) <= _SHOWN else f"{shown} and {len(names) - _SHOWN} more"
