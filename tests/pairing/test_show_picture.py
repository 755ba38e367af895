"""The large picture: every breath, side, section and track in its row at its place, legible, harmless."""

import io
import re
import struct
from collections import Counter
from dataclasses import replace
from importlib.resources import files
from xml.etree import ElementTree

import av
import numpy as np
import pytest
from drawn_classes import EXAMPLES, SVG, hour, hour_with_music, scene_of
from show_class import HOSTILE, a_class, an_arc, hostile_set

from pairing.model import Arc
from pairing.show import pieces
from pairing.show.drawing import fitted, text_width, thinned, wrapped
from pairing.show.glance import NAME_SIZE
from pairing.show.lane import shares
from pairing.show.picture import picture_png, picture_svg
from pairing.show.rows import TITLE_SIZE, class_picture
from pairing.show.scene import Scene
from pairing.show.text import title_of

SIZES = {"name": NAME_SIZE, "song": TITLE_SIZE, "small": 13.0, "title": 20.0}
WIDTHS = (340, 820, 1000, 1440)


@pytest.fixture(scope="module")
def timetable():
    return hour()


@pytest.fixture(scope="module")
def scene():
    return hour_with_music()


def drawn(scene, width, **more):
    return ElementTree.fromstring(pieces.as_text(class_picture(scene, width, **more)))


class Row:
    """A row as a page reads it."""

    def __init__(self, group):
        self.group = group
        for name in ("start-s", "end-s", "left", "right", "top", "ground", "ribbon", "bottom", "low"):
            setattr(self, name.replace("-", "_"), float(group.get(f"data-{name}")))

    def x(self, at_s):
        return self.left + (at_s - self.start_s) / (self.end_s - self.start_s) * (self.right - self.left)

    def at(self, x):
        return self.start_s + (x - self.left) / (self.right - self.left) * (self.end_s - self.start_s)


def rows(root):
    return [Row(group) for group in root.iter(f"{SVG}g") if group.get("class") == "row"]


def styled(root, style):
    return [e for e in root.iter() if style in e.get("class", "").split()]


def points(element):
    numbers = [float(word) for word in re.findall(r"-?\d+\.?\d*", element.get("d"))]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


@pytest.mark.parametrize("width", WIDTHS)
def test_rows_follow_one_another_and_hold_the_whole_class(scene, width):
    found = rows(drawn(scene, width))
    assert found[0].start_s == scene.start_s
    assert found[-1].end_s >= scene.end_s
    assert all(one.end_s == two.start_s and one.low < two.top for one, two in zip(found[:-1], found[1:], strict=True))


@pytest.mark.parametrize("width", WIDTHS)
def test_every_breath_has_its_wave_in_its_row_at_its_place(scene, width):
    root = drawn(scene, width)
    breaths = int(root.get("data-breaths"))
    assert breaths == 1 or width < 500
    counted = Counter()
    for row in rows(root):
        for waves in styled(row.group, "waves"):
            key = tuple(waves.get(f"data-{name}") for name in ("section", "round", "side"))
            counted[key] += int(waves.get("data-count"))
            spans = [s for s in scene.stretches if (str(s.section), str(s.round), s.side) == key]
            begin, end = (row.at(x) for x in (min(p[0] for p in points(waves)), max(p[0] for p in points(waves))))
            assert any(s.start_s - 1 <= begin and end <= s.end_s + 1 for s in spans)
            one = spans[0].breath_s * breaths
            assert begin >= row.start_s - 1
            assert end <= row.end_s + 2 * one
    for stretch in scene.stretches:
        counted[(str(stretch.section), str(stretch.round), stretch.side)] -= max(
            1, round((stretch.end_s - stretch.start_s) / (stretch.breath_s * breaths))
        )
    assert not +counted
    assert not -counted


@pytest.mark.parametrize("width", WIDTHS)
def test_the_ribbon_is_whole_over_all_rows(scene, width):
    parts = []
    root = drawn(scene, width)
    for row in rows(root):
        for track in styled(row.group, "music"):
            xs = [x for e in track if e.get("class") == "ribbon" for x, _ in points(e)]
            if xs:
                parts.append((row.at(min(xs)), row.at(max(xs)), int(track.get("data-n"))))
    for (_, end, before), (start, _, after) in zip(parts[:-1], parts[1:], strict=True):
        assert end == pytest.approx(start, abs=1.5)
        assert after in (before, before + 1)
    for pick, start_s, end_s in list(shares(scene.picks))[:-1]:
        mine = [(start, end) for start, end, n in parts if n == pick.n]
        assert (mine[0][0], mine[-1][1]) == (pytest.approx(start_s, abs=1.5), pytest.approx(end_s, abs=1.5))
    assert sorted(int(knot.get("data-n")) for knot in styled(root, "knot") if knot.get("data-n")) == list(range(2, 15))


def test_seconds_without_music_leave_a_gap(scene):
    played = scene.played.copy()
    played[600:840] = np.nan
    found = rows(drawn(replace(scene, played=played), 1000))
    inside = list(styled(found[0].group, "ribbon"))
    xs = sorted(x for e in inside for x, y in points(e) if y > found[0].ribbon)
    gap = max(zip(xs[:-1], xs[1:], strict=True), key=lambda pair: pair[1] - pair[0])
    assert [found[0].at(x) for x in gap] == pytest.approx([600, 840], abs=9)


def boxes(root):
    """Where texts lie: left, right, top, bottom."""
    found = []
    for text in root.iter(f"{SVG}text"):
        size = SIZES[text.get("class")]
        wide = text_width(text.text, size)
        left = float(text.get("x")) - {"end": wide}.get(text.get("text-anchor"), 0)
        base = float(text.get("y"))
        found.append((left, left + wide, base - size * 0.72, base + size * 0.2, text.text))
    return found


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("which", [None, *EXAMPLES], ids=lambda which: which.stem if which else "with music")
def test_words_lie_inside_the_frame_on_no_other_words_and_on_no_wave(scene, width, which):
    if which:
        scene = scene_of(which)
    root = drawn(scene, width, heading=True)
    high = float(root.get("viewBox").split()[3])
    found = boxes(root)
    for index, (left, right, top, bottom, words) in enumerate(found):
        assert left >= 0, words
        assert right <= width + 0.1, words
        assert top >= 0, words
        assert bottom <= high, words
        for other in found[index + 1 :]:
            assert right <= other[0] or other[1] <= left or bottom <= other[2] or other[3] <= top, (words, other[4])
    for row in rows(root):
        for name in styled(row.group, "name"):
            assert float(name.get("y")) < row.top
        for song in styled(row.group, "song"):
            assert float(song.get("y")) - TITLE_SIZE * 0.72 > row.low
    names = Counter(name.text for name in styled(root, "name"))
    assert names == Counter(section.name for section in scene.sections) or width < 500


@pytest.mark.parametrize("width", [820, 1000, 1440])
def test_each_track_is_named_once_and_whole(scene, width):
    root = drawn(scene, width)
    for pick in scene.picks:
        words = " ".join(e.text for e in styled(root, "song") if e.get("data-n") == str(pick.n))
        assert words in (f"{pick.n}. {title_of(pick)}", str(pick.n))
    whole = [e for e in styled(root, "song") if "…" in e.text]
    assert whole == []


RIGHT_TO_LEFT = (
    "\u05d0\u05d5\u05e8 \u05e2\u05dc \u05d4\u05de\u05d9\u05dd",
    "\u0636\u0648\u0621 \u0639\u0644\u0649 \u0627\u0644\u0645\u0627\u0621",
)  # "light on the water", twice


def test_titles_from_right_to_left_stay_whole(scene):
    picks = tuple(replace(pick, title=RIGHT_TO_LEFT[pick.n % 2]) for pick in scene.picks)
    for width in (1000, 1440):
        root = drawn(replace(scene, picks=picks), width)
        said = {n: " ".join(e.text for e in styled(root, "song") if e.get("data-n") == str(n)) for n in (1, 2, 4)}
        assert said == {n: f"{n}. {RIGHT_TO_LEFT[n % 2]}" for n in (1, 2, 4)}


def test_hostile_text_is_text_and_nothing_has_an_id(timetable):
    arc = an_arc(timetable)
    scene = Scene.of_set(hostile_set(timetable, arc), timetable, arc)
    for svg in (picture_svg(scene), pieces.as_text(class_picture(scene, 340))):
        root = ElementTree.fromstring(svg)
        tags = {e.tag.removeprefix(SVG) for e in root.iter()}
        assert tags <= {"svg", "g", "path", "rect", "ellipse", "text", "title", "style"}
        names = {name for e in root.iter() for name in e.attrib}
        assert not [name for name in names if name == "id" or name.startswith("on") or "href" in name]
    assert ElementTree.fromstring(picture_svg(scene)).find(f"{SVG}title").text == HOSTILE[0]


def test_the_png_is_the_same_drawing_as_large_as_asked_and_the_same_each_time(scene):
    svg = picture_svg(scene)
    png = picture_png(svg, 800)
    assert png[:8] == b"\x89PNG\r\n\x1a\n"  # PNG specification (third edition), 5.2
    width, height = struct.unpack(">II", png[16:24])  # IHDR, 11.2.1
    _, _, view_width, view_height = map(float, re.search('viewBox="([^"]+)"', svg)[1].split())
    assert width == 800
    assert height == pytest.approx(800 * view_height / view_width, abs=1)
    assert picture_png(svg, 800) == png
    assert len(png) < 250_000


def test_the_png_shows_music_and_both_sides_where_the_drawing_says(scene):
    svg = picture_svg(scene)
    with av.open(io.BytesIO(picture_png(svg, 1000))) as file:
        pixels = next(file.decode(video=0)).to_ndarray(format="rgb24")
    light = palettes()["light"]
    found = rows(ElementTree.fromstring(svg))

    def shown(at_s, above):
        row = next(row for row in found if row.start_s <= at_s < row.end_s)
        return "#" + bytes(pixels[round(row.ground) - above, round(row.x(at_s))]).hex()

    tide = scene.sections[3]
    right, left = ((p.start_s + p.end_s) / 2 for p in tide.passes[:2])
    assert shown(right, -9) == light["music"]
    assert (shown(right, 6), shown(left, 6)) == (light["deep"], light["paper"])


def test_a_plan_without_music_has_a_picture_too(timetable):
    root = ElementTree.fromstring(picture_svg(Scene.of_plan(timetable, an_arc(timetable), "Harbour <b>")))
    assert [e.text for e in styled(root, "title")] == ["Harbour <b>"]
    assert not styled(root, "song")
    assert not styled(root, "ribbon")


@pytest.mark.parametrize("seconds", [0, 1, 30])
def test_tiny_classes_do_not_break_it(timetable, seconds):
    empty = np.zeros(seconds, dtype=np.float32)
    short = replace(timetable, duration_s=float(seconds), sections=(), steps=())
    ElementTree.fromstring(picture_svg(Scene.of_plan(short, Arc(empty, empty.copy(), empty.copy()), "")))


def test_a_standing_picture_brings_its_colours():
    timetable = a_class(60)
    assert "var(" not in picture_svg(Scene.of_plan(timetable, an_arc(timetable), ""))


# WCAG 2.2, success criterion 1.4.3 (contrast, minimum) asks 4.5:1 for text; 1.4.11 asks 3:1 for graphics.
# Relative luminance and contrast ratio as in its glossary.
TEXT_ON = [
    ("ink", "paper"), ("ink", "band"), ("ink", "restpaper"), ("ink", "track"), ("ink", "button"),
    ("soft", "paper"), ("soft", "band"), ("soft", "restpaper"), ("warm", "paper"), ("warm", "band"),
    ("warm", "restpaper"), ("grave", "paper"), ("paper", "ink"),
]  # fmt: skip
LINE_ON = [
    ("ink", "music"),
    ("ink", "paper"),
    ("deep", "paper"),
    ("warm", "paper"),
    ("edge", "paper"),
    ("deep", "track"),
    ("grave", "paper"),
    ("soft", "paper"),
]


def palettes():
    css = (files("pairing.show") / "templates" / "page.css").read_text()
    light, dark, night = (
        dict(re.findall(r"--([a-z]+):(#[0-9a-f]{3,6})", block))
        for block in re.findall(r":root[^{]*\{([^}]*--track[^}]*)\}", css)
    )
    return {"light": light, "dark": dark, "night": night}


def luminance(colour):
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one, other):
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def test_the_ratio_is_computed_as_published():
    assert contrast("#000000", "#ffffff") == pytest.approx(21)  # WCAG 2.2, glossary: "1:1 to 21:1"
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)  # the well-known limit grey


@pytest.mark.parametrize("scheme", ["light", "dark", "night"])
def test_text_and_lines_stand_out(scheme):
    palette = palettes()[scheme]
    assert not {
        pair: contrast(palette[pair[0]], palette[pair[1]])
        for pair in TEXT_ON
        if contrast(palette[pair[0]], palette[pair[1]]) < 4.5
    }
    assert not {
        pair: contrast(palette[pair[0]], palette[pair[1]])
        for pair in LINE_ON
        if contrast(palette[pair[0]], palette[pair[1]]) < 3
    }


def test_thinning_keeps_the_mean():
    values = np.random.default_rng(5).random(3600).astype(np.float32)
    _, means = thinned(values, 450)
    assert means.size == 450
    assert float(means.mean()) == pytest.approx(float(values.mean()), abs=1e-5)


def test_words_are_cut_to_their_room():
    assert wrapped("Running the long wall at dusk", 12.5, 80, 2) == ["Running the", "long wall at…"]
    assert fitted("Salutations", 14, 40).endswith("…")
    assert fitted("Salutations", 14, 5) == ""


@pytest.mark.parametrize("text", ["Salutations", "mmmm iiii", "e\u0301" * 9, "日本 flow", " a b c "])
def test_as_much_of_a_word_is_kept_as_has_room(text):
    """Against cutting one letter after the other, which takes a minute for a name of ten thousand."""
    for width in np.arange(0, 150, 0.7):
        kept = text
        while kept and text_width(kept + "…", 14) > width:
            kept = kept[:-1]
        shorter = kept.rstrip() + "…" if len(kept) >= 2 else ""
        assert fitted(text, 14, width) == (text if text_width(text, 14) <= width else shorter)
    assert fitted("long " * 20_000, 14, 60) == fitted("long " * 20, 14, 60)
