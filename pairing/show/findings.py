"""Findings as a person reads them on screen and paper: the gravest first, alike ones together, commands as typed."""

import itertools
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path, PurePath

from pairing.deeds import remedy_words
from pairing.model import Apply, Deed, Finding, Where
from pairing.show.tables import quoted

GENERAL = "caution-general"  # of the word that stands before all cautions
LEVELS = ("must", "should", "note")
NAMED_PLACES = {  # by the names of what has no section and no track
    "library": "Your music",
    "set": "",
    "the end": "At the end",
    "rest": "In the rest",
    "the rest": "In the rest",
    "silence": "In the silence",
    "spreadsheet": "In the spreadsheet",
}
NOTES = ("", ".md", ".txt", ".markdown")  # endings of plans: what is about the whole of one names no place


@dataclass(frozen=True, slots=True)
class Told:
    """A finding in words; `where` and `remedy` empty where there are none."""

    level: str
    code: str
    where: str
    message: str
    remedy: str


def told(
    finding: Finding,
    set_file: Path | None = None,
    plan: Path | None = None,
    *,
    titles: Mapping[int, str] | None = None,
    numbered: Mapping[str, int] | None = None,
) -> Told:
    """Word a finding.

    Args:
        set_file, plan: their names go into the commands that help.
        titles: of the class's tracks, by their number.
        numbered: the numbers under which a plan's remedies are listed, by their codes.
    """
    names = {"set_file": quoted(set_file)} if set_file else {}
    names |= {"plan": quoted(plan)} if plan else {}
    deeds = tuple(_by_number(deed, numbered or {}) for deed in finding.deeds)
    remedy = remedy_words(replace(finding, deeds=deeds), **names) or ""
    return Told(finding.level, finding.code, place(finding.where, titles or {}), finding.message, remedy)


def place(where: Where, titles: Mapping[int, str] | None = None) -> str:
    """Where something was found, as one says it; "" where it is about the whole.

    >>> place(Where("saturday.md", 14, section="Tide")), place(Where(tracks=(2,)), {2: "Kiln"}), place(Where("a.md"))
    ('In Tide', 'Kiln', '')
    """
    if where.tracks:
        return " and ".join((titles or {}).get(n) or f"track {n}" for n in where.tracks)
    if where.section:
        return f"In {where.section}"
    if where.line:
        return f"In {where.file}, line {where.line}"
    if where.name:
        return NAMED_PLACES.get(where.name, where.name)
    return "" if PurePath(where.file).suffix.lower() in NOTES else where.file


def _by_number(deed: Deed, numbered: Mapping[str, int]) -> Deed:
    if isinstance(deed, Apply) and deed.remedy in numbered:
        return Apply(str(numbered[deed.remedy]))
    return deed


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
    said = [
        (place, " ".join(finding.message for finding in there))
        for place, there in itertools.groupby(alike, lambda finding: finding.where)
    ]
    if len(said) == 1:
        return [replace(first, message=said[0][1])]
    words = " ".join(f"{place}: {message}" if place else message for place, message in said)
    return [replace(first, where="", message=words)]


def is_caution(finding: Finding | Told) -> bool:
    """Whether it warns of what poses can do to a body, and so stands apart."""
    return finding.code.startswith("caution")
