"""The strip: every breath, side, section and track at its place to the pixel, nothing on anything else."""

import re
from collections import Counter
from dataclasses import replace
from xml.etree import ElementTree

import numpy as np
import pytest
from drawn_classes import EXAMPLES, SVG, hour, hour_with_music, scene_of
from show_class import HOSTILE, a_set, an_arc, hostile_set

from pairing.model import Arc, Kind
from pairing.show.drawing import text_width
from pairing.show.glance import NAME_SIZE, SMALL_SIZE, strip_picture
from pairing.show.scene import Scene

WIDTHS = (280, 390, 820, 1440)


@pytest.fixture(scope="module")
def timetable():
    return hour()


@pytest.fixture(scope="module")
def scene():
    return hour_with_music()


class Strip:
    """A strip as a page reads it."""

    def __init__(self, scene, width):
        self.root = ElementTree.fromstring(strip_picture(scene, width))
        self.said = {
            name: float(self.root.get(f"data-{name}"))
            for name in ("left", "right", "start-s", "end-s", "top", "bottom", "breaths")
        }

    def x(self, at_s):
        share = (at_s - self.said["start-s"]) / (self.said["end-s"] - self.said["start-s"])
        return self.said["left"] + share * (self.said["right"] - self.said["left"])

    def all(self, style):
        return [e for e in self.root.iter() if style in e.get("class", "").split()]


def points(element):
    numbers = [float(word) for word in re.findall(r"-?\d+\.?\d*", element.get("d"))]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


@pytest.mark.parametrize("width", WIDTHS)
def test_each_round_and_side_has_its_waves_where_it_happens(scene, timetable, width):
    strip = Strip(scene, width)
    drawn = strip.all("waves")
    assert len(drawn) == len(scene.stretches)
    for waves, stretch in zip(drawn, scene.stretches, strict=True):
        xs = [x for x, _ in points(waves)]
        assert min(xs) == pytest.approx(strip.x(stretch.start_s), abs=0.1)
        assert max(xs) == pytest.approx(strip.x(stretch.end_s), abs=0.1)
        breaths = (stretch.end_s - stretch.start_s) / stretch.breath_s
        assert int(waves.get("data-count")) == max(1, round(breaths / strip.said["breaths"]))
        assert (stretch.side or "both") in waves.get("class").split()
    tide = [e for e in drawn if e.get("data-section") == "3"]
    assert [(e.get("data-round"), e.get("data-side")) for e in tide] == [
        (str(passage.round), passage.side) for passage in timetable.sections[3].passes
    ]


def test_poses_done_on_each_side_show_their_sides(scene, timetable):
    ebb = [(s.side, s.start_s) for s in scene.stretches if s.section == 5]
    pigeon = [step for step in timetable.steps if step.name == "Pigeon"]
    assert ebb[:2] == [("right", timetable.sections[5].start_s), ("left", pigeon[1].start_s)]
    assert Counter(side for side, _ in ebb) == {"right": 2, "left": 2, None: 1}


def test_a_crest_is_as_high_as_the_effort_and_never_leaves_its_room(scene):
    strip = Strip(scene, 1440)
    highest = {}
    for waves in strip.all("waves"):
        ys = [y for _, y in points(waves)]
        assert strip.said["top"] - 0.1 <= min(ys)
        highest.setdefault(int(waves.get("data-section")), []).append(min(ys))
    means = [np.mean(scene.effort_mets[int(s.start_s) : int(s.end_s)]) for s in scene.sections]
    crests = [np.mean(highest[index]) for index in range(len(means))]
    assert list(np.argsort(means)) == list(np.argsort(crests)[::-1])


def test_the_ribbon_goes_from_track_to_track_without_a_gap_and_is_tied_at_each_change(scene):
    strip = Strip(scene, 1440)
    tracks = [e for e in strip.all("music") if e.tag == f"{SVG}g"]
    assert [int(e.get("data-n")) for e in tracks] == [pick.n for pick in scene.picks]
    ribbons = [next(e for e in track if e.get("class") == "ribbon") for track in tracks]
    ends = [(min(x for x, _ in points(r)), max(x for x, _ in points(r))) for r in ribbons]
    knots = [e for e in strip.all("knot") if e.tag == f"{SVG}ellipse"]
    overlaps = [
        (one.class_end_s, two.class_start_s) for one, two in zip(scene.picks[:-1], scene.picks[1:], strict=True)
    ]
    for before, after, knot, (end, start) in zip(ends[:-1], ends[1:], knots, overlaps, strict=True):
        assert before[1] == after[0] == float(knot.get("cx")) == pytest.approx(strip.x((end + start) / 2), abs=0.1)
    assert ends[-1][1] == pytest.approx(strip.x(3540), abs=4)  # the last minute is silent


def test_the_ribbon_is_as_deep_as_what_plays_is_lively(scene):
    strip = Strip(scene, 1440)
    ribbons = list(strip.all("ribbon"))
    assert max(y for r in ribbons for _, y in points(r)) <= strip.said["bottom"] + 0.1
    depth = [max(y for _, y in points(r)) for r in ribbons]
    energy = [np.nanmax(scene.played[int(p.class_start_s) : int(p.class_end_s)]) for p in scene.picks]
    assert np.corrcoef(depth, energy)[0, 1] > 0.98


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("file", EXAMPLES, ids=lambda file: file.stem)
def test_names_lie_in_the_frame_and_on_nothing_else(file, width):
    scene = scene_of(file)
    strip = Strip(scene, width)
    boxes = []
    for text in strip.root.iter(f"{SVG}text"):
        size = NAME_SIZE if text.get("class") == "name" else SMALL_SIZE
        wide = text_width(text.text, size)
        shift = {"middle": wide / 2, "end": wide}.get(text.get("text-anchor"), 0)
        left, base = float(text.get("x")) - shift, float(text.get("y"))
        boxes.append((left, left + wide, base - size * 0.75, base + size * 0.22))
    for index, (left, right, top, base) in enumerate(boxes):
        assert left >= 0
        assert right <= width
        assert top >= 0
        assert base <= 135.7  # three rows of names
        for other in boxes[index + 1 :]:
            assert right <= other[0] or other[1] <= left or base <= other[2] or other[3] <= top
    lowest_name = max(float(e.get("y")) for e in strip.all("name"))
    assert lowest_name < strip.said["top"]
    if width >= 1440:
        assert len(strip.all("name")) == len(scene.sections)
    for group in strip.all("section"):
        for name in group.iter(f"{SVG}text"):
            assert scene.sections[int(group.get("data-section"))].name.startswith(name.text.rstrip("…"))


@pytest.mark.parametrize("width", [390, 1440])
def test_peak_and_rest_are_always_named(width):
    for file in EXAMPLES:
        scene = scene_of(file)
        named = {e.get("data-section") for e in Strip(scene, width).all("section") if e.find(f"{SVG}text") is not None}
        wanted = {str(i) for i, s in enumerate(scene.sections) if s.kind in (Kind.PEAK, Kind.REST)}
        assert wanted <= named


def test_hostile_text_is_text_and_nothing_has_an_id(timetable):
    arc = an_arc(timetable)
    root = ElementTree.fromstring(strip_picture(Scene.of_set(hostile_set(timetable, arc), timetable, arc), 390))
    assert {e.tag.removeprefix(SVG) for e in root.iter()} <= {"svg", "g", "path", "rect", "ellipse", "text"}
    names = {name for e in root.iter() for name in e.attrib}
    assert not [name for name in names if name == "id" or name.startswith("on") or "href" in name]
    assert root.get("aria-label").startswith(HOSTILE[0])


@pytest.mark.parametrize("seconds", [0, 1, 30])
def test_tiny_classes_have_a_strip_too(timetable, seconds):
    empty = np.zeros(seconds, dtype=np.float32)
    short = replace(timetable, duration_s=float(seconds), sections=(), steps=())
    strip_picture(Scene.of_plan(short, Arc(empty, empty.copy(), empty.copy()), ""), 390)


def test_music_before_and_after_the_class_hangs_beside_the_waves(timetable, scene):
    arc = an_arc(timetable)
    setlist = a_set(timetable, arc)
    early = replace(setlist.picks[0], class_start_s=-600.0)
    late = replace(setlist.picks[-1], class_end_s=setlist.class_s + 300)
    strip = Strip(Scene.of_set(replace(setlist, picks=(early, *setlist.picks[1:-1], late)), timetable, arc), 820)
    assert (strip.said["start-s"], strip.said["end-s"]) == (-600, round(setlist.class_s + 300, 2))
    assert min(x for x, _ in points(strip.all("ribbon")[0])) == strip.said["left"]
    assert min(x for e in strip.all("waves") for x, _ in points(e)) == pytest.approx(strip.x(0), abs=0.1)
