"""What only a hand on the page asks for: a wish for energy, who serves a section, a stretch of the mix to hear."""

import re
from collections.abc import Iterator, Sequence
from pathlib import Path

from audio.files.whole import write_text
from audio.render.bell import bell_at
from audio.render.master import Mix
from audio.render.mixer import MIX_RATE, Sound
from audio.track import Track
from pairing.errors import PlanError
from pairing.model import Edit, Plan
from pairing.plan.edit import apply_edits
from pairing.plan.lines import split_lines
from pairing.plan.read import load_plan, read_plan
from pairing.sets import frame, mixdown, serving
from pairing.sets.serving import Service
from pairing.workflow.music import opened
from pairing.workflow.plans import Changed, Outline
from pairing.workflow.sets import SetFile

_LEVEL = re.compile(r"\benergy\s*:?\s*\d+\s*%|\b(?:quiet|steady|driving)(?:\s+music)?\b", re.IGNORECASE)


def ask_energy(path: Path, section: int, percent: int) -> Changed:
    """Write into the plan how lively the music of a section shall be; nothing else of the note changes.

    Args:
        section: index into the plan's sections. percent: 0 to 100.
    Raises:
        PlanError: the plan can't be read, or its heading takes no such wish.
    """
    plan = load_plan(path)
    edit = next(_with_energy(plan, section, percent), None)
    if edit is None:
        raise PlanError(
            f'"{plan.sections[section].name}" takes no wish for energy; write it into the plan.', (), where=path.name
        )
    write_text(path, apply_edits(plan.text, [edit]))
    return Changed(path, (edit,), f"energy {percent}% in {plan.sections[section].name}")


def sound_of(found: SetFile) -> Mix:
    """The mix of a set, to be heard in parts.

    Raises:
        SetError: a recording is nowhere to be found; names it.
    """
    setlist, base = found.setlist, found.path.absolute().parent
    return Mix(
        spans=mixdown.spans(setlist, base, found.tracks),
        duration_s=mixdown.duration_s(setlist),
        sounds=tuple(Sound(at_s, bell_at(level, MIX_RATE)) for at_s, level in mixdown.bells(setlist)),
    )


def serving_tracks(found: SetFile, section: int) -> tuple[Service, ...]:
    """The library in the order in which its tracks serve a section of a set."""
    setlist = found.setlist
    rules = [rule for rule in frame.of_set(setlist).rules if rule.section == section]
    place = serving.place_of(setlist.sections[section], setlist.target_energy, rules)
    return serving.ranked(found.tracks, place)


def serving_plan(known: Outline, tracks: Sequence[Track], section: int) -> tuple[Service, ...]:
    """The same for a plan that has no set yet."""
    place = serving.place_of(known.timetable.sections[section], known.arc.target_energy)
    return serving.ranked(tracks, place)


def last_uses(library: Path | None) -> dict[str, str]:
    """When each recording was last played in a class (ISO 8601), by fingerprint."""
    with opened(library) as known:
        return {fingerprint: when for when, _, played in known.uses() for fingerprint in played}


def _with_energy(plan: Plan, section: int, percent: int) -> Iterator[Edit]:
    """Changes of the section's heading after which the plan says just this energy there."""
    number = plan.sections[section].place.line
    raw = split_lines(plan.text)[number - 1].rstrip("\r\n")
    wish = f"energy {percent}%"
    tried = [_LEVEL.sub(wish, raw, count=1)] if _LEVEL.search(raw) else []
    for new in (*tried, f"{raw.rstrip()}, {wish}", f"{raw.rstrip()}: {wish}"):
        edit = Edit(number, new)
        try:
            after = read_plan(apply_edits(plan.text, [edit]), file=plan.file)
        except PlanError:
            continue
        same = [each.name for each in after.sections] == [each.name for each in plan.sections]
        if same and after.sections[section].wishes.energy == percent / 100:
            yield edit
