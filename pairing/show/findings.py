"""Findings as a person reads them on screen and paper: the gravest first, alike ones together, commands as typed."""

import itertools
from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path

from pairing.deeds import remedy_words
from pairing.model import Finding
from pairing.show.tables import quoted

LEVELS = ("must", "should", "note")


@dataclass(frozen=True, slots=True)
class Told:
    """A finding in words; `where` and `remedy` empty where there are none."""

    level: str
    code: str
    where: str
    message: str
    remedy: str


def told(finding: Finding, set_file: Path | None = None, plan: Path | None = None) -> Told:
    """Word a finding; the files' names go into the commands that help."""
    names = {"set_file": quoted(set_file)} if set_file else {}
    names |= {"plan": quoted(plan)} if plan else {}
    remedy = remedy_words(finding, **names) or ""
    return Told(finding.level, finding.code, str(finding.where), finding.message, remedy)


def in_order(findings: Iterable[Told]) -> list[Told]:
    """Sort by how grave they are; where several say the same of different places and want the same, join them."""
    graded = sorted(findings, key=lambda finding: LEVELS.index(finding.level))
    rows: dict[tuple[str, ...], list[Told]] = {}
    for number, finding in enumerate(graded):
        alone = () if finding.remedy else (str(number),)
        rows.setdefault((finding.level, finding.code, finding.remedy, *alone), []).append(finding)
    return list(itertools.chain.from_iterable(map(_joined, rows.values())))


def _joined(alike: list[Told]) -> list[Told]:
    """One finding for several that differ in place and message only."""
    first = alike[0]
    if len(alike) < 2:
        return alike
    places = [finding.where for finding in alike]
    if len(set(places)) == 1:
        return [replace(first, message=" ".join(finding.message for finding in alike))]
    said = " ".join(f"{f.where}: {f.message}" if f.where else f.message for f in alike)
    return [replace(first, where="", message=said)]


def is_caution(finding: Finding | Told) -> bool:
    """Whether it warns of what poses can do to a body, and so stands apart."""
    return finding.code.startswith("caution")
