"""Whole classes to begin from, each with its length and style; their notes lie in `pairing/plan/examples`."""

from dataclasses import dataclass
from functools import cache
from importlib import resources

from pairing.effort.planned import planned
from pairing.errors import PlanError
from pairing.model import Kind
from pairing.plan.read import read_plan
from pairing.plan.style import style_of


@dataclass(frozen=True, slots=True)
class Example:
    """A class to begin from, as one chooses it."""

    id: str  # "yin-60"
    title: str
    minutes: int  # of its slot
    style: str  # a name of `styles.toml`
    says: str  # "a yin class"
    level: str  # for whom, in the note's own words
    rest_minutes: int


@cache
def examples() -> tuple[Example, ...]:
    """All of them, the shortest first."""
    found = [_example(name.removesuffix(".md")) for name in _names()]
    return tuple(sorted(found, key=lambda each: (each.minutes, each.style, each.id)))


def example_text(name: str) -> str:
    """The note of an example.

    Raises:
        PlanError: there is none of this name.
    """
    if f"{name}.md" not in _names():
        raise PlanError(f'there is no example "{name[:60]}".', ())
    return resources.files("pairing.plan").joinpath("examples", f"{name}.md").read_text("utf-8")


@cache
def _names() -> tuple[str, ...]:
    folder = resources.files("pairing.plan").joinpath("examples")
    return tuple(sorted(each.name for each in folder.iterdir() if each.name.endswith(".md")))


def _example(name: str) -> Example:
    plan = read_plan(example_text(name), file=f"{name}.md")
    style, table = style_of(plan).style, planned(plan).timetable
    rest_s = sum(part.end_s - part.start_s for part in table.sections if part.kind is Kind.REST)
    return Example(
        id=name,
        title=plan.title,
        minutes=round((plan.slot_s or table.duration_s) / 60),
        style=style.name,
        says=style.says,
        level=dict(plan.facts).get("level", ""),
        rest_minutes=round(rest_s / 60),
    )
