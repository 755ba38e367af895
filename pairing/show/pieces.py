"""The few pieces of SVG 1.1 that the pictures are made of, as elements.

Nothing here sets a colour: every piece carries classes, so that the page can dress the same drawing for light, dark and
print. Nor has anything an id, so that a page may hold many drawings. What part of the class a piece stands for says its
`data-` attributes. Text is made harmless here and nowhere else.
"""

from collections.abc import Iterable, Sequence
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

from audio.arrays import F64
from audio.text import one_line
from pairing.show.drawing import Point


def text(x: float, y: float, content: str, style: str, *, anchor: str = "start", turned: bool = False) -> Element:
    """A text whose base line starts (or has its middle or end) at x, y; `turned` reads upwards."""
    made = Element("text", {"class": style, "x": f"{x:.1f}", "y": f"{y:.1f}"})
    made.text = one_line(content)
    if anchor != "start":
        made.set("text-anchor", anchor)
    if turned:
        made.set("transform", f"rotate(-90 {x:.1f} {y:.1f})")
    return made


def box(x: float, y: float, width: float, height: float, style: str) -> Element:
    """A rectangle."""
    measures = {"x": x, "y": y, "width": max(width, 0.0), "height": max(height, 0.0)}
    return Element("rect", {"class": style, **{name: f"{value:.1f}" for name, value in measures.items()}})


def oval(x: float, y: float, across: float, up: float, style: str) -> Element:
    """An ellipse around x, y with half axes `across` and `up`."""
    measures = {"cx": x, "cy": y, "rx": across, "ry": up}
    return Element("ellipse", {"class": style, **{name: f"{value:.1f}" for name, value in measures.items()}})


def path(d: str, style: str) -> Element:
    """Any line or outline."""
    return Element("path", {"class": style, "d": d})


def line(start: Point, end: Point, style: str) -> Element:
    """A straight line."""
    return path(f"M{xy(start)}L{xy(end)}", style)


def group(parts: Iterable[Element], style: str = "", **data: object) -> Element:
    """Parts that belong together; `data` is said of them in attributes `data-NAME`."""
    made = Element("g", {"class": style} if style else {})
    return _holding(told(made, **data), parts)


def told(made: Element, **data: object) -> Element:
    """Say of a piece, in attributes `data-NAME`, what it stands for; None is not said."""
    for name, value in data.items():
        if value is not None:
            made.set(f"data-{name.replace('_', '-')}", f"{value:.2f}" if isinstance(value, float) else str(value))
    return made


def whole(width: float, height: float, style: str, label: str, parts: Iterable[Element], **data: object) -> Element:
    """A whole drawing; `label` is what is said of it to those who don't see it."""
    made = Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "class": style,
            "viewBox": f"0 0 {width:.0f} {height:.0f}",
            "role": "img",
            "aria-label": one_line(label),
        },
    )
    return _holding(told(made, **data), parts)


def as_text(made: Element) -> str:
    """A drawing as it stands in a page or a file."""
    return ElementTree.tostring(made, encoding="unicode")


def _holding(made: Element, parts: Iterable[Element]) -> Element:
    made.extend(parts)
    return made


def curve(points: F64, style: str, floor: float | None = None) -> list[Element]:
    """An open line through `points`, in pieces where y is NaN; with `floor` the area between them and it instead."""
    pieces: list[list[Point]] = [[]]
    for x, y in points.tolist():
        if y != y:
            pieces.append([])
        else:
            pieces[-1].append((x, y))
    d = "".join(_piece(piece, floor) for piece in pieces if len(piece) > 1)
    return [path(d, style)] if d else []


def _piece(points: Sequence[Point], floor: float | None) -> str:
    d = "M" + "L".join(xy(point) for point in points)
    if floor is None:
        return d
    return f"{d}L{xy((points[-1][0], floor))}L{xy((points[0][0], floor))}Z"


def xy(point: Point) -> str:
    """A point as it stands in a path."""
    return f"{point[0]:.1f} {point[1]:.1f}"
