"""The picture: right places, one drawing for two formats, legible colours, harmless text."""

import io
import re
import struct
from dataclasses import replace
from importlib.resources import files
from xml.etree import ElementTree

import av
import numpy as np
import pytest
from show_class import HOSTILE, a_class, a_set, an_arc, hostile_set, lengths_of

from pairing.model import Arc
from pairing.show.axes import NARROW, WIDE
from pairing.show.drawing import fitted, text_width, thinned, wrapped
from pairing.show.picture import picture_png, picture_svg, plan_drawing, set_drawing, standing

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def timetable():
    return a_class(60)


@pytest.fixture(scope="module")
def arc(timetable):
    return an_arc(timetable)


@pytest.fixture(scope="module")
def setlist(timetable, arc):
    return a_set(timetable, arc)


def texts(root, style):
    return [e for e in root.iter(f"{SVG}text") if style in e.get("class", "").split()]


def test_sections_minutes_and_tracks_stand_at_their_time(setlist, arc):
    root = ElementTree.fromstring(picture_svg(setlist, felt_mets=arc.felt_mets).encode())
    across = WIDE.width - WIDE.left - WIDE.right
    names = {e.text: float(e.get("x")) for e in texts(root, "name")}
    for section in setlist.sections:
        assert names[section.name] == pytest.approx(WIDE.left + across * section.start_s / 3600 + 5, abs=0.2)
    tracks = [e for e in root.iter(f"{SVG}path") if "track" in e.get("class", "").split()]
    assert len(tracks) == len(setlist.picks)
    for path, pick in zip(tracks, setlist.picks, strict=True):
        x = [float(pair.split()[0]) for pair in re.split("[MLZ]", path.get("d")) if pair]
        assert min(x) == pytest.approx(WIDE.left + across * pick.class_start_s / 3600, abs=0.2)
        assert max(x) == pytest.approx(WIDE.left + across * pick.class_end_s / 3600, abs=0.2)
        assert sorted(x)[1] > min(x) or not pick.fade_in_s  # a fade shows as a slanted edge
    assert [e.text for e in texts(root, "no")] == [str(p.n) for p in setlist.picks]


def test_a_trim_shows_as_the_played_part_of_the_whole_track(setlist):
    root = ElementTree.fromstring(picture_svg(setlist, lengths_s=lengths_of(setlist)).encode())
    whole = [e for e in root.iter(f"{SVG}rect") if e.get("class") == "whole"]
    used = [e for e in root.iter(f"{SVG}rect") if e.get("class") == "used"]
    assert len(whole) == len(used) == len(setlist.picks)
    for pick, outer, inner in zip(setlist.picks, whole, used, strict=True):
        start = (float(inner.get("x")) - float(outer.get("x"))) / float(outer.get("width"))
        assert start == pytest.approx(pick.track_start_s / lengths_of(setlist)[pick.track_id], abs=0.02)


def test_seconds_without_music_leave_a_gap(setlist):
    played = setlist.played_energy.copy()
    played[600:900] = np.nan
    root = ElementTree.fromstring(picture_svg(replace(setlist, played_energy=played)).encode())
    (edge,) = (e for e in root.iter(f"{SVG}path") if e.get("class") == "musicedge")
    assert edge.get("d").count("M") == 2


@pytest.mark.parametrize("size", [WIDE, NARROW])
def test_hostile_text_is_text_in_a_well_formed_picture(timetable, arc, size):
    svg = set_drawing(hostile_set(timetable, arc), size, heading=True, felt_mets=arc.felt_mets)
    root = ElementTree.fromstring(svg)
    tags = {e.tag.removeprefix(SVG) for e in root.iter()}
    assert tags <= {"svg", "title", "desc", "defs", "pattern", "path", "rect", "text"}
    assert not [name for e in root.iter() for name in e.attrib if name.startswith("on") or "href" in name]
    assert root.find(f"{SVG}title").text == HOSTILE[0]


def test_every_text_of_the_wide_strip_fits_its_block(setlist):
    root = ElementTree.fromstring(picture_svg(setlist).encode())
    blocks = [(float(m[0]), float(m[1])) for m in (_extent(e) for e in root.iter(f"{SVG}path") if _is_track(e))]
    for song in texts(root, "song"):
        x, width = float(song.get("x")), text_width(song.text, 12.5)
        if song.get("transform"):  # reads upwards
            assert any(left <= x - 12.5 and x <= right for left, right in blocks), song.text
            assert width <= WIDE.strip - 20
        else:
            assert any(left <= x and x + width <= right + 1 for left, right in blocks), song.text


def test_names_of_sections_are_whole_and_lie_above_the_curves(setlist, arc):
    names = (
        "At the gate",
        "Down the other side",
        "The first field",
        "Over the stile",
        "Crest",
        "Morning boats",
        "Home",
    )
    sections = tuple(replace(s, name=name) for s, name in zip(setlist.sections, names, strict=True))
    root = ElementTree.fromstring(picture_svg(replace(setlist, sections=sections)).encode())
    shown = texts(root, "name")
    assert " ".join(e.text for e in shown) == " ".join(names)
    full = min(_y(e) for e in root.iter(f"{SVG}path") if e.get("class") == "grid")  # energy 1
    arc_top = min(float(y) for e in root.iter(f"{SVG}path") if e.get("class") == "arc" for _, y in _points(e))
    for name in shown:
        assert float(name.get("y")) < min(full, arc_top)


def _points(element):
    return [pair.split() for pair in re.split("[MLZ]", element.get("d")) if pair]


def _y(element):
    return float(_points(element)[0][1])


def test_titles_read_upwards_in_narrow_blocks_and_every_block_of_a_minute_has_its_number(timetable, arc):
    many = a_set(timetable, arc, tracks=24)
    root = ElementTree.fromstring(picture_svg(many).encode())
    upwards = [song for song in texts(root, "song") if song.get("transform")]
    assert len(upwards) > 12
    numbers = {int(e.text) for e in texts(root, "no")}
    assert {pick.n for pick in many.picks if pick.class_end_s - pick.class_start_s >= 66} <= numbers


def _is_track(element):
    return "track" in element.get("class", "").split()


def _extent(element):
    x = [float(pair.split()[0]) for pair in re.split("[MLZ]", element.get("d")) if pair]
    return min(x), max(x)


def test_the_png_is_the_same_drawing_as_large_as_asked_and_the_same_each_time(setlist, arc):
    svg = picture_svg(setlist, felt_mets=arc.felt_mets)
    png = picture_png(svg, 800)
    assert png[:8] == b"\x89PNG\r\n\x1a\n"  # PNG specification (third edition), 5.2
    width, height = struct.unpack(">II", png[16:24])  # IHDR, 11.2.1
    _, _, view_width, view_height = map(float, re.search('viewBox="([^"]+)"', svg)[1].split())
    assert width == 800
    assert height == pytest.approx(800 * view_height / view_width, abs=1)
    assert picture_png(svg, 800) == png
    assert len(png) < 150_000


def test_the_png_shows_the_music_where_the_svg_says(setlist):
    with av.open(io.BytesIO(picture_png(picture_svg(setlist), 1000))) as file:
        pixels = next(file.decode(video=0)).to_ndarray(format="rgb24")
    root = ElementTree.fromstring(picture_svg(setlist).encode())
    floor = max(_y(e) for e in root.iter(f"{SVG}path") if e.get("class") == "grid")  # energy 0
    x = WIDE.left + (WIDE.width - WIDE.left - WIDE.right) * 0.5  # in Tide, the music is lively there
    wanted = palettes()["light"]["music"]
    assert "#" + bytes(pixels[int(floor - 30), int(x)]).hex() == wanted


def test_a_plan_without_music_has_a_picture_too(timetable, arc):
    root = ElementTree.fromstring(standing(plan_drawing(timetable, arc, "Harbour <b>", WIDE, heading=True)).encode())
    assert [e.text for e in texts(root, "title")] == ["Harbour <b>"]
    assert not texts(root, "no")


@pytest.mark.parametrize("seconds", [0, 1, 30])
def test_tiny_classes_do_not_break_it(timetable, seconds):
    empty = np.zeros(seconds, dtype=np.float32)
    short = replace(timetable, duration_s=float(seconds), sections=(), steps=())
    ElementTree.fromstring(plan_drawing(short, Arc(empty, empty.copy(), empty.copy()), "", WIDE).encode())


# WCAG 2.2, success criterion 1.4.3 (contrast, minimum) asks 4.5:1 for text; 1.4.11 asks 3:1 for graphics.
# Relative luminance and contrast ratio as in its glossary.
TEXT_ON = [
    ("ink", "paper"), ("ink", "band"), ("ink", "restpaper"), ("ink", "track"), ("ink", "trackodd"), ("ink", "button"),
    ("soft", "paper"), ("soft", "band"), ("soft", "restpaper"), ("warm", "paper"), ("warm", "band"),
    ("warm", "restpaper"), ("grave", "paper"), ("onmusic", "music"), ("paper", "ink"),
]  # fmt: skip
LINE_ON = [("ink", "music"), ("ink", "paper"), ("deep", "paper"), ("warm", "paper"), ("edge", "paper")]


def palettes():
    css = (files("pairing.show") / "templates" / "page.css").read_text()
    light, dark, night = (
        dict(re.findall(r"--([a-z]+):(#[0-9a-f]{3,6})", block))
        for block in re.findall(r":root[^{]*\{([^}]*--onmusic[^}]*)\}", css)
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
    assert not {pair: contrast(palette[pair[0]], palette[pair[1]]) for pair in TEXT_ON
                if contrast(palette[pair[0]], palette[pair[1]]) < 4.5}  # fmt: skip
    assert not {pair: contrast(palette[pair[0]], palette[pair[1]]) for pair in LINE_ON
                if contrast(palette[pair[0]], palette[pair[1]]) < 3}  # fmt: skip


def test_curves_differ_in_more_than_colour(setlist, arc):
    style = standing(set_drawing(setlist, WIDE, felt_mets=arc.felt_mets))
    assert re.search(r"\.effort\{[^}]*stroke-dasharray", style)
    widths = {
        name: float(re.search(rf"\.{name}\{{[^}}]*stroke-width:([\d.]+)", style)[1]) for name in ("arc", "effort")
    }
    assert widths["arc"] > 1.3 * widths["effort"]
    assert "var(" not in style


def test_thinning_keeps_the_mean():
    values = np.random.default_rng(5).random(3600).astype(np.float32)
    _, means = thinned(values, 450)
    assert means.size == 450
    assert float(means.mean()) == pytest.approx(float(values.mean()), abs=1e-5)


def test_words_are_cut_to_their_room():
    assert wrapped("Running the long wall at dusk", 12.5, 80, 2) == ["Running the", "long wall at…"]
    assert fitted("Salutations", 14, 40).endswith("…")
    assert fitted("Salutations", 14, 5) == ""
