"""Classes whose drawings are looked at: an invented one with its music, and the examples of the docs."""

from functools import cache
from pathlib import Path

from show_class import a_class, a_set, an_arc

from pairing.effort.planned import planned
from pairing.plan.read import read_plan
from pairing.show.scene import Scene

SVG = "{http://www.w3.org/2000/svg}"
EXAMPLES = sorted((Path(__file__).parents[2] / "pairing" / "plan" / "examples").glob("*.md"))


@cache
def hour():
    """The times of an invented class of an hour."""
    return a_class(60)


@cache
def hour_with_music():
    """That class with fourteen tracks."""
    arc = an_arc(hour())
    return Scene.of_set(a_set(hour(), arc, tracks=14), hour(), arc)


@cache
def scene_of(file):
    """A class that is written in a file, without music."""
    known = planned(read_plan(file.read_text("utf-8"), file=file.name))
    return Scene.of_plan(known.timetable, known.arc, known.plan.title)
