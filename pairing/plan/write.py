"""Plan -> a note in the canonical form of the plan language; reading it gives the same plan, places and text aside."""

import re
from collections.abc import Iterator

from pairing.model import Element, Group, Length, OwnPose, Plan, Section, Wishes
from pairing.plan.poses import pose_table
from pairing.plan.words import show_length, show_number, show_seconds

DEEPEST = 6  # signs of a heading


def write_plan(plan: Plan) -> str:
    """Give the plan as a note that a teacher can read and change; lines end with a line feed.

    Lengths are written without loss; `file`, `text` and `taken_as` are not written.
    """
    lines = [f"# {plan.title}", "", *_top(plan)]
    for section in plan.sections:
        lines += ["", *_group(section, 2)]
    if plan.own_poses:
        lines += ["", "## Own poses", *map(_own_pose, plan.own_poses)]
    return "\n".join(lines) + "\n"


def _top(plan: Plan) -> Iterator[str]:
    seconds = {
        "slot": plan.slot_s,
        "settle": plan.settle_s,
        "leave": plan.leave_s,
        "breath": plan.breath_s,
        "between": plan.between_s,
        "before": plan.before_s,
        "after": plan.after_s,
    }
    said = {
        name: show_seconds(value) for name, value in seconds.items() if value or (name == "between" and value == 0.0)
    }
    if plan.breath_range_s and plan.breath_s:
        said["breath"] = show_length(Length("seconds", plan.breath_s, *plan.breath_range_s))
    yield from (f"{name}: {value}" for name, value in said.items())
    if plan.holds:
        yield f"holds: {plan.holds}"
    if plan.start:
        yield f"start: {plan.start}"
    wishes = ", ".join(_wishes(plan.wishes))
    if wishes:
        yield f"music: {wishes}"
    yield from (f"{name}: {text}" for name, text in plan.facts)


def _group(group: Group, level: int) -> Iterator[str]:
    kind = [group.kind.value] if isinstance(group, Section) else []
    attributes = ", ".join([*kind, *_attributes(group), *_wishes(group.wishes)])
    colon = ":" if isinstance(group, Section) or (group.name and attributes) else ""
    yield f"{'#' * level} {group.name}{colon} {attributes}".rstrip().replace(" :", ":")
    yield from (f"> {line}" for line in group.note.split("\n") if line)
    inside = False  # a group ends only where another heading begins
    for part in () if group.repeats else group.parts:
        if isinstance(part, Group):
            yield ""
            yield from _group(part, level + 1)
        elif inside and level < DEEPEST:
            yield from ("", f"{'#' * (level + 1)} part", write_element(part))
        else:
            yield write_element(part)
        inside = isinstance(part, Group)


def _attributes(group: Group) -> Iterator[str]:
    if group.repeats:
        yield f"repeat {group.repeats}"
    if group.rounds > 1 or group.repeats:
        yield f"{group.rounds} round{'s' if group.rounds > 1 else ''}"
    if group.quicker or group.repeats:
        yield f"each round {show_number(round(group.quicker * 100, 6))}% quicker"
    if group.both_sides:
        yield "both sides"
    if group.first_side == "left" or (group.repeats and group.both_sides):
        yield f"{group.first_side} first"
    if group.minutes:
        yield show_length(group.minutes)
    if group.what_is_left:
        yield "what is left"
    if group.at_least_s is not None:
        yield f"at least {show_seconds(group.at_least_s)}"
    if group.breath_s is not None:
        yield f"breath {show_seconds(group.breath_s)}"
    if group.between_s is not None:
        yield f"between {show_seconds(group.between_s)}"
    if group.optional:
        yield "optional"


def _wishes(wishes: Wishes) -> Iterator[str]:
    if wishes.level:
        yield wishes.level
    if wishes.energy is not None:
        yield f"energy {show_number(round(wishes.energy * 100, 4))}%"
    if wishes.no_music:
        yield "no music"
    if wishes.no_voice:
        yield "no voice"
    if wishes.clear_talk:
        yield "no singing while I speak"
    if wishes.same_music:
        yield "same music"
    if wishes.rises_into:
        yield "rises into"
    if wishes.breaks_at:
        yield "breaks at"
    if wishes.folder is not None:
        yield f'from "{wishes.folder}"'
    if wishes.beat_bpm is not None:
        yield f"beat {'-'.join(dict.fromkeys(map(show_number, wishes.beat_bpm)))}"
    if wishes.silent_last_s is not None:
        yield f"silent last {show_seconds(wishes.silent_last_s)}"


def write_element(element: Element) -> str:
    """Give one line of the canonical form."""
    name = {"silence": "silence", "bell": "bell", "gap": "gap:", "pose": _pose_name(element)}.get(
        element.what, f"{element.what}: {element.name}"
    )
    said = [" or ".join([name.rstrip(": "), *element.alternatives])] if element.what != "gap" else []
    if element.length:
        said.append(show_length(element.length))
    if element.times is not None:
        said.append(f"x{element.times}")
    said += ["each side"] if element.each_side else []
    said += filter(None, (element.side, element.once))
    said += _rounds(element)
    flags = {
        "no hold": element.no_hold,
        "supported": element.supported,
        "every time": element.every_time,
        "optional": element.optional,
    }
    said += [word for word, holds in flags.items() if holds]
    said += _wishes(element.wishes)
    note = element.note if element.what != "gap" else re.sub(r"[()\[\]]", "", element.name)
    start = "gap: " if element.what == "gap" else ""
    return f"- {start}{', '.join(said)}{f' ({note})' if note else ''}"


def _pose_name(element: Element) -> str:
    """The name as typed, where it leads to the pose by itself; else the pose's own."""
    table, pose_id = pose_table(), element.pose_id or ""
    match = table.look_up(element.name)
    if pose_id not in table.poses or (match.pose is not None and match.pose.id == pose_id and not match.extra):
        return element.name
    return table.get(pose_id).english.lower().removesuffix(" pose")


def _rounds(element: Element) -> Iterator[str]:
    first, last = element.from_round, element.to_round
    if last == first:
        yield f"round {first}"
    elif last is not None and first > 1:
        yield f"rounds {first}-{last}"
    elif last is not None:
        yield f"until round {last}"
    elif first > 1:
        yield f"from round {first}"
    if element.last_round:
        yield "last round" if element.last_round == "only" else "not last round"


def _own_pose(own: OwnPose) -> str:
    like = pose_table().poses.get(own.like or "")
    said = (
        [f"like {like.english.lower() if like else (own.like or '').removeprefix('own_').replace('_', ' ')}"]
        if own.like
        else []
    )
    said += [f"{show_number(own.mets)} METs"] if own.mets is not None else []
    said += ["one side" if own.sided else "no side"]
    return f"- {own.name}: {', '.join(said)}"
