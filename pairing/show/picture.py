"""The picture of a class as a file of its own: SVG 1.1 that stands by itself, and PNG.

Inside a page a drawing takes whatever colours the page has; by itself it carries the page's light colours.
"""

import re
from functools import cache
from importlib.resources import as_file, files
from xml.etree.ElementTree import Element

from audio.text import one_line
from pairing.show import pieces
from pairing.show.rows import class_picture
from pairing.show.scene import Scene


def picture_svg(scene: Scene, width: float = 1000.0) -> str:
    """Draw a class as an SVG that stands by itself."""
    made = class_picture(scene, width, heading=True)
    title, style = Element("title"), Element("style")
    title.text, style.text = one_line(scene.title) or "A class", _style()
    made.insert(0, title)
    made.insert(1, style)
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + pieces.as_text(made)


def picture_png(svg: str, width: int = 1600) -> bytes:
    """Turn one of our SVGs into a PNG `width` pixels wide, with letters of the font that is in the package.

    Letters that the font lacks (other scripts, emoji) come from the fonts of the machine, where it has them.
    """
    import resvg_py

    with as_file(files("pairing.show") / "fonts") as fonts:
        return bytes(
            resvg_py.svg_to_bytes(
                svg_string=svg,
                width=width,
                background="#ffffff",
                font_dirs=[str(fonts)],
                font_family="Atkinson Hyperlegible",
                sans_serif_family="Atkinson Hyperlegible",
            )
        )


@cache
def _style() -> str:
    """The page's style of pictures with its light colours put in, since not every viewer knows CSS variables."""
    templates = files("pairing.show") / "templates"
    light = (templates / "page.css").read_text(encoding="utf-8").partition("}")[0]
    colours = dict(re.findall(r"(--[a-z]+):(#[0-9a-f]+)", light))
    style = (templates / "picture.css").read_text(encoding="utf-8")
    font = '.pc text{font-family:"Atkinson Hyperlegible","Segoe UI","Helvetica Neue",Roboto,Arial,sans-serif}\n'
    return font + re.sub(r"var\((--[a-z]+)\)", lambda match: colours[match[1]], style)
