"""The class drawn for the page, large and as the strip always in sight; both tell where a moment lies in them."""

from pairing.effort.planned import Planned
from pairing.model import SetList
from pairing.page.look import Look
from pairing.page.values import Json
from pairing.show import drawing, pieces
from pairing.show.glance import strip_picture
from pairing.show.rows import class_picture
from pairing.show.scene import Scene

SMOOTHED_S = 8.0  # as the music's curve of the picture


def set_pictures(setlist: SetList, known: Planned | None, look: Look) -> Json:
    """A class with its music."""
    return _drawn(Scene.of_set(setlist, known.timetable, known.arc) if known else Scene.of_set(setlist), look)


def plan_pictures(known: Planned, look: Look) -> Json:
    """A class that has no music yet."""
    return _drawn(_scene(known), look)


def plan_strip(known: Planned, look: Look) -> str:
    """The strip alone, while the plan is typed."""
    return strip_picture(_scene(known), look.strip)


def ghost(setlist: SetList) -> Json:
    """The music's energy in a set that might be: means of so many seconds each, for the page to draw."""
    curve = setlist.played_energy
    middles, means = drawing.thinned(curve, max(int(curve.size / SMOOTHED_S), 2))
    return {
        "step_s": 2 * float(middles[0]),
        "energy": [None if value != value else round(value, 3) for value in means.tolist()],
    }


def _drawn(scene: Scene, look: Look) -> Json:
    return {"picture": pieces.as_text(class_picture(scene, look.large)), "strip": strip_picture(scene, look.strip)}


def _scene(known: Planned) -> Scene:
    return Scene.of_plan(known.timetable, known.arc, known.plan.title)
