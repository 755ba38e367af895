"""Findings as a person is shown them: the gravest first, alike ones together, commands with the real file name."""

import itertools
import re
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

from pairing.model import Finding
from pairing.show.tables import quoted

LEVELS = ("must", "should", "note")
# How the checks write a command, since they know no file; a full stop after it would be typed along with it.
_SET = re.compile(r"(?<=arcbed )(rest|swap) SET\b((?: \d+)?\.$)?")


def in_order(findings: Iterable[Finding]) -> list[Finding]:
    """Sort by how grave they are; where several say the same of different places and want the same, join them."""
    graded = sorted(findings, key=lambda finding: LEVELS.index(finding.level))
    rows: dict[tuple[str, ...], list[Finding]] = {}
    for number, finding in enumerate(graded):
        alone = () if finding.remedy else (str(number),)
        rows.setdefault((finding.level, finding.code, finding.remedy or "", *alone), []).append(finding)
    return list(itertools.chain.from_iterable(map(_joined, rows.values())))


def _joined(alike: list[Finding]) -> list[Finding]:
    """One finding for several that differ in place and message only."""
    first = alike[0]
    if len(alike) < 2:
        return alike
    places = [finding.where for finding in alike]
    if len(set(places)) == 1:
        return [replace(first, message=" ".join(finding.message for finding in alike))]
    said = " ".join(f"{f.where}: {f.message}" if f.where else f.message for f in alike)
    return [replace(first, where="", message=said)]


def with_file(finding: Finding, set_file: Path | None) -> Finding:
    """Put the name of the set's file where a finding's commands have a word for it."""
    if set_file is None:
        return finding
    name = quoted(set_file)

    def filled(text: str) -> str:
        return _SET.sub(lambda match: f"{match[1]} {name}{(match[2] or '').rstrip('.')}", text)

    return replace(
        finding, message=filled(finding.message), remedy=filled(finding.remedy) if finding.remedy else finding.remedy
    )


def is_caution(finding: Finding) -> bool:
    """Whether it warns of what poses can do to a body, and so stands apart."""
    return finding.code.startswith("caution")
