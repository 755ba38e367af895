"""Findings and questions as the terminal shows them: grouped by how grave they are, each with what to do."""

import itertools
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from audio.text import one_line
from pairing.errors import PlanError
from pairing.model import Finding, SetList
from pairing.show.findings import GENERAL, Told, in_order, is_caution, told
from pairing.show.screen import can_draw, rendered, safe
from pairing.show.tables import indented, quoted, titled
from pairing.show.text import counted, title_of
from pairing.show.words import GRADES

_STYLES = {"must": "bold red", "should": "bold yellow", "note": "dim"}


def findings_text(
    findings: Iterable[Finding],
    set_file: Path | None = None,
    plan: Path | None = None,
    *,
    setlist: SetList | None = None,
    numbered: Mapping[str, int] | None = None,
    brief: bool = False,
) -> str:
    """Show what was found, the gravest first, each with what to do, then the cautions; one line if nothing was.

    Args:
        set_file, plan: their names go into the commands that help.
        setlist: the class whose tracks are named by their titles, and whose plan is meant where none is given.
        numbered: the numbers under which a plan's remedies are listed, by their codes.
        brief: name what the cautions are about, and where they stand in full.
    """
    titles = titles_of(setlist) if setlist else {}
    if plan is None and set_file and setlist and setlist.plan.path:
        plan = set_file.parent / setlist.plan.path
    everything = [told(finding, set_file, plan, titles=titles, numbered=numbered) for finding in findings]
    cautions = [finding for finding in everything if is_caution(finding)]
    found = in_order(finding for finding in everything if finding not in cautions)
    parts = [_graded(level, alike) for level, alike in itertools.groupby(found, key=lambda finding: finding.level)]
    if not found:
        parts = ["Nothing to mend."]
    if cautions:
        path = plan or set_file
        said = _caution_names(cautions, path) if brief and path else "\n".join(map(_caution, cautions))
        parts.append(titled("To keep everyone safe", said))
    return "\n\n".join(parts)


def titles_of(setlist: SetList) -> dict[int, str]:
    """The titles of a class's tracks by their number; two of one title are told apart by it."""
    titles = {pick.n: title_of(pick, 80) for pick in setlist.picks}
    said = list(titles.values())
    return {n: title if said.count(title) == 1 else f"{title} (track {n})" for n, title in titles.items()}


def _graded(level: str, alike: Iterable[Told]) -> str:
    lines = [rendered(safe(f"{GRADES[level].capitalize()}:", _STYLES[level]))]
    for finding in alike:
        lines.append(indented(_said(finding), "  ", "  "))
        lines += [indented(f"{_arrow()}{finding.remedy}", "    ", "      ")] if finding.remedy else []
    return "\n".join(lines)


def _caution(finding: Told) -> str:
    return indented(f"{finding.message} {finding.remedy}", "  ", "    ")


def _caution_names(cautions: Sequence[Told], path: Path) -> str:
    general = next((finding for finding in cautions if finding.code == GENERAL), None)
    about = [finding.message.partition(":")[0].lower() for finding in cautions if finding is not general]
    lines = [general.message] if general else []
    lines.append(f"In this class, mind: {'; '.join(about)}. What to offer: arcbed check {quoted(path)}")
    return "\n".join(indented(line, "  ", "  ") for line in lines)


def plan_error_text(error: PlanError, path: Path | None = None) -> str:
    """Show everything that keeps a plan from being read, line by line, and how to mend it.

    Args:
        path: the plan as it was typed; else the name that the error gives.
    """
    if not error.findings:
        return "\n".join(one_line(line) for line in str(error).split("\n"))
    lines: list[str] = []
    for finding in map(told, error.findings):
        lines.append(one_line(_said(finding)))
        lines += [f"  {one_line(finding.remedy)}"] if finding.remedy else []
    name = one_line(error.where or "the plan")
    mendable = sum(1 for finding in error.findings if finding.edits)
    if mendable and error.where:
        which = f"{mendable} of them" if mendable < len(error.findings) else "all of them" if mendable > 1 else "it"
        lines.append(f"arcbed plan {quoted(path or Path(error.where))} --correct mends {which}.")
    lines.append(f"{counted(len(error.findings), 'problem', 'problems')} in {name}; nothing was written.")
    return "\n".join(lines)


def _said(finding: Told) -> str:
    if not finding.where or finding.message.startswith(finding.where):
        return finding.message
    return f"{finding.where}: {finding.message}"


def _arrow() -> str:
    return "→ " if can_draw() else "-> "


def gaps_text(questions: Sequence[Finding]) -> str:
    """Name the lines that a plan leaves open."""
    lines = [indented(_said(told(finding)), "  ", "    ") for finding in questions]
    what = "One line of the plan is" if len(lines) == 1 else f"{len(lines)} lines of the plan are"
    return "\n".join([f"{what} still a question; the music plays on through it:", *lines])
