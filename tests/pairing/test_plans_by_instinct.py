"""Plans typed by instinct, in many styles, before the reader of plans was seen at work on them.

Beside each plan stands `NAME.meant`: what its author meant by each line, written at the same time as the plan. A line
counts as understood where the plan read from it says just that. Invented plans; the share is our own bar (95 %).
"""

from pathlib import Path

import pytest

from pairing.model import Element, Group, Length, Plan, Section, Wishes
from pairing.plan.edit import apply_edits
from pairing.plan.read import read_plan

PLANS = Path(__file__).parent / "plans"
NAMES = sorted(path.stem for path in PLANS.glob("*.meant"))
BAR = 0.95


def plan_text(name: str) -> str:
    return next(path for path in PLANS.glob(f"{name}.*") if path.suffix != ".meant").read_text(encoding="utf-8")


def meant(name: str) -> dict[int, str]:
    rows = (PLANS / f"{name}.meant").read_text(encoding="utf-8").splitlines()
    return {int(row.split(" ", 1)[0]): row.split(" ", 1)[1].strip() for row in rows if row.strip()}


def number(value: float) -> str:
    return f"{value:g}"


def shown_length(length: Length | None) -> str:
    if length is None:
        return ""
    ends = dict.fromkeys((number(length.shortest), number(length.longest)))
    return "-".join(ends) + ("b" if length.unit == "breaths" else "s")


def shown_wishes(wishes: Wishes) -> list[str]:
    said = [wishes.level or ""]
    said += ["novoice" if wishes.no_voice else "", "nomusic" if wishes.no_music else ""]
    said += ["same" if wishes.same_music else ""]
    said += [f"energy={number(wishes.energy * 100)}" if wishes.energy is not None else ""]
    said += [f"beat={'-'.join(dict.fromkeys(map(number, wishes.beat_bpm)))}" if wishes.beat_bpm else ""]
    said += [f"silent={number(wishes.silent_last_s)}" if wishes.silent_last_s else ""]
    said += [f"from={wishes.folder}" if wishes.folder else ""]
    return said


def shown_element(element: Element) -> str:
    last = element.to_round
    said = [
        element.pose_id or element.what,
        shown_length(element.length),
        f"x{element.times}" if element.times else "",
        "each" if element.each_side else "",
        element.side or "",
        f"once={element.once.split()[0]}" if element.once else "",
        "optional" if element.optional else "",
        f"from={element.from_round}" if element.from_round > 1 else "",
        f"to={last}" if last else "",
        f"last={element.last_round}" if element.last_round else "",
        "nohold" if element.no_hold else "",
        "supported" if element.supported else "",
        "every" if element.every_time else "",
        "alt" if element.alternatives else "",
        *shown_wishes(element.wishes),
    ]
    return " ".join(filter(None, said))


def shown_group(group: Group) -> str:
    said = [
        "section" if isinstance(group, Section) else "group",
        group.kind.value if isinstance(group, Section) else "",
        f"rounds={group.rounds}" if group.rounds > 1 else "",
        f"quicker={number(round(group.quicker * 100, 6))}" if group.quicker else "",
        "both" if group.both_sides else "",
        "leftfirst" if group.first_side == "left" else "",
        f"minutes={shown_length(group.minutes)[:-1]}" if group.minutes else "",
        "left" if group.what_is_left else "",
        f"atleast={number(group.at_least_s)}" if group.at_least_s else "",
        f"breath={number(group.breath_s)}" if group.breath_s else "",
        f"between={number(group.between_s)}" if group.between_s else "",
        "optional" if group.optional else "",
        f"repeats={group.repeats}" if group.repeats else "",
        *shown_wishes(group.wishes),
    ]
    return " ".join(filter(None, said))


def shown_parts(group: Group) -> dict[int, str]:
    shown = {group.place.line: shown_group(group)}
    for part in group.parts if not group.repeats else ():
        if part.place.line == group.place.line:  # the savasana of a rest without lines
            continue
        shown.update(shown_parts(part) if isinstance(part, Group) else {part.place.line: shown_element(part)})
    return shown


def shown_top(plan: Plan) -> list[str]:
    keys = {
        "slot": plan.slot_s,
        "settle": plan.settle_s,
        "leave": plan.leave_s,
        "breath": plan.breath_s,
        "between": plan.between_s,
        "before": plan.before_s,
        "after": plan.after_s,
    }
    said = [f"{key} {number(value)}" for key, value in keys.items() if value]
    said += [f"holds {plan.holds}", f"start {plan.start}", f"fact {' '.join(key for key, _ in plan.facts)}", "title"]
    return [*said, " ".join(["music", *filter(None, shown_wishes(plan.wishes))]), "rule"]


def shares(plan: Plan, wanted: dict[int, str]) -> dict[int, tuple[str, str]]:
    """Give the lines that were not understood as meant: what was meant, what was read."""
    shown: dict[int, str] = {}
    for section in plan.sections:
        shown.update(shown_parts(section))
    top = shown_top(plan)
    return {
        line: (words, shown.get(line, "-"))
        for line, words in wanted.items()
        if not agrees(words, shown.get(line, ""), top)
    }


def agrees(words: str, shown: str, top: list[str]) -> bool:
    if words in top or (words.startswith("fact ") and any(words.split()[1] in row for row in top)):
        return True
    first, _, rest = words.partition(" ")
    got, _, got_rest = shown.partition(" ")
    wanted, read = sorted(rest.split()), sorted(got_rest.split())
    same = len(wanted) == len(read) and all(one in other.split("|") for one, other in zip(read, wanted, strict=True))
    return got in first.split("|") and same


def understood(name: str) -> tuple[int, int, dict[int, tuple[str, str]]]:
    wanted = meant(name)
    plan = read_plan(plan_text(name), file=name)
    asked = {line.line: (wanted.get(line.line, ""), line.says) for line in plan.lines if not line.sure}
    lost = {**shares(plan, wanted), **asked}
    return len(wanted) - len(lost), len(wanted), lost


@pytest.mark.parametrize("name", NAMES)
def test_a_plan_typed_by_instinct_is_understood_as_meant(name: str) -> None:
    right, lines, lost = understood(name)
    assert right >= BAR * lines, f"{right} of {lines} lines; not as meant: {lost}"


@pytest.mark.parametrize("name", NAMES)
def test_every_line_of_a_plan_is_written_down_as_meant_once(name: str) -> None:
    filled = {n for n, line in enumerate(plan_text(name).splitlines(), 1) if line.strip()}
    assert filled == set(meant(name))


def test_corrections_keep_the_other_lines_as_they_are() -> None:
    text = "# A\r\n\r\n## B: flow\r\n- krow, 2 breth\r\n- tree\r\n"
    edits = [edit for finding in read_plan(text).questions for edit in finding.edits]
    assert apply_edits(text, edits) == "# A\r\n\r\n## B: flow\r\n- crow, 2 breaths\r\n- tree\r\n"
