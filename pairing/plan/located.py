"""In which part of the class a line of a note stands: how a person finds it again."""

from collections.abc import Iterable
from dataclasses import replace

from pairing.model import Finding, Plan


def located(plan: Plan, findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """The findings, those about a line of the plan with the section that it stands in; lines above all have none."""
    return tuple(_located(plan, finding) for finding in findings)


def _located(plan: Plan, finding: Finding) -> Finding:
    where = finding.where
    if not where.line or where.file not in (plan.file, plan.title):
        return finding
    above = (section.name for section in reversed(plan.sections) if 0 < section.place.line <= where.line)
    return replace(finding, where=replace(where, section=next(above, "")))
