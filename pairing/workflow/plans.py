"""What the commands about plans do."""

from dataclasses import dataclass, replace
from pathlib import Path

from audio.files.whole import whole_file, write_text
from pairing.checks.plan import check_plan
from pairing.checks.slot import SlotCheck, check_slot
from pairing.checks.whole import check_whole
from pairing.effort.planned import Planned, planned
from pairing.errors import PlanError
from pairing.model import Edit, Finding, Plan, SetList
from pairing.plan.edit import apply_edits, clear_edits
from pairing.plan.encoding import encoding_of
from pairing.plan.located import located
from pairing.plan.poses import Pose, pose_table
from pairing.plan.read import load_plan, plan_text, read_beside, read_plan
from pairing.plan.spreadsheet import plan_from_csv
from pairing.plan.starter import MINUTES, starting_plan
from pairing.plan.write import write_plan
from pairing.workflow.pace import paced


@dataclass(frozen=True, slots=True, eq=False)
class Outline(Planned):
    """A class as planned, looked over."""

    slot: SlotCheck
    findings: tuple[Finding, ...]  # of the slot, of the class, and the liberties taken in reading


@dataclass(frozen=True, slots=True)
class Changed:
    """A plan file that was changed: which lines, and what for."""

    path: Path
    edits: tuple[Edit, ...]
    what: str


def outline(path: Path) -> Outline:
    """Read a plan and compute its timetable, arc and findings.

    Raises:
        PlanError: the plan can't be read; carries every finding of the file.
    """
    return outline_of(paced(load_plan(path)))


def outline_of(plan: Plan) -> Outline:
    """Timetable, arc and findings of a plan."""
    it = planned(plan)
    slot = check_slot(plan, it.timetable, it.poses)
    findings = (
        *plan.questions,
        *slot.findings,
        *check_whole(plan, it.timetable),
        *check_plan(plan, it.timetable, it.poses),
        *plan.taken_as,
    )
    return Outline(plan, it.poses, it.timetable, it.arc, slot, located(plan, findings))


def poses_beside(plan: Path) -> str:
    """The own poses of the plan's folder, as text; empty where there are none."""
    beside = plan.with_name("poses.md")
    return plan_text(beside) if beside.is_file() and beside != plan else ""


def planned_of_set(setlist: SetList) -> Planned:
    """The class a set was made for, as its plan had it then."""
    return planned(_plan_of(setlist))


def outline_of_set(setlist: SetList) -> Outline:
    """The same, looked over."""
    return outline_of(_plan_of(setlist))


def _plan_of(setlist: SetList) -> Plan:
    plan = read_plan(setlist.plan.text, file=setlist.plan.path, folder_poses=setlist.plan.poses)
    return replace(plan, own_pace=setlist.plan.own_pace)


def new_plan(path: Path, minutes: int, *, replace: bool = False) -> None:
    """Write a commented starting plan; see `new_plan_text`."""
    write_text(path, new_plan_text(minutes), replace=replace)


def new_plan_text(minutes: int) -> str:
    """A commented starting plan for a slot of so many minutes.

    Raises:
        PlanError: there is none of this length.
    """
    if minutes not in MINUTES:
        lengths = ", ".join(map(str, MINUTES))
        raise PlanError(f"there is no starting plan of {minutes} minutes; there are {lengths}.", ())
    return starting_plan(minutes)


def plan_from_spreadsheet(table: Path, out: Path, *, replace: bool = False) -> None:
    """Write the plan that stands in a spreadsheet saved as CSV."""
    write_text(out, plan_from_csv(plan_text(table), title=table.stem), replace=replace)


def apply_remedy(path: Path, asked: str) -> Changed:
    """Apply one remedy of the slot check, by its number in the list or its code; nothing else of the note changes.

    Raises:
        PlanError: there is no such remedy now.
    """
    remedies = outline(path).slot.remedies
    remedy = next((each for n, each in enumerate(remedies, 1) if asked in (each.id, str(n))), None)
    if remedy is None:
        have = f"there are {len(remedies)}, from 1 on" if remedies else "nothing is offered for this plan now"
        raise PlanError(f'there is no remedy "{asked}"; {have}.', (), where=path.name)
    edit_plan(path, remedy.edits)
    return Changed(path, remedy.edits, remedy.text)


def correct(path: Path) -> Changed:
    """Apply every correction that has one clear meaning, and changes no other, to the plan file."""
    plan = load_plan(path)
    edits = clear_edits(plan, lambda text: read_beside(text, path))
    if edits:
        edit_plan(path, edits)
    return Changed(path, edits, "corrections")


def tidy(path: Path, out: Path, *, replace: bool = False) -> None:
    """Write a note in the canonical form of the plan language; the class is the same, line by line.

    Raises:
        PlanError: the note can't be read.
    """
    write_text(out, write_plan(load_plan(path)), replace=replace)


def open_questions(setlist: SetList) -> tuple[Finding, ...]:
    """What the plan of a set leaves open: its gaps, and lines that may mean something else."""
    return _plan_of(setlist).questions


def edit_plan(path: Path, edits: tuple[Edit, ...]) -> None:
    """Make edits in a plan's file; its encoding, line endings and all other lines stay as they are."""
    data = path.read_bytes()
    encoding = encoding_of(data)
    changed = encoding.written(apply_edits(encoding.read(data), edits))
    with whole_file(path) as temporary:
        temporary.write_bytes(changed)


def find_poses(word: str) -> list[Pose]:
    """The poses whose names hold the word; all for an empty one."""
    return pose_table().search(word)
