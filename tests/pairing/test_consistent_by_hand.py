"""Values of a set that can't be beside each other, each just possible and just not."""

from dataclasses import replace

import numpy as np
import pytest
from test_set_checks import a_set

from pairing.model import Rule, SetFrame, SetList
from pairing.sets.consistent import faults

# The set: 1,200 s; tracks from 0 to 304, 300 to 604, 600 to 850, 840 to 1140 s; the rest from 840 to its end.


def places(setlist: SetList) -> list[str]:
    return [place for place, _ in faults(setlist)]


def with_pick(n: int, /, **changes: object) -> SetList:
    setlist = a_set()
    return replace(setlist, picks=tuple(replace(p, **changes) if p.n == n else p for p in setlist.picks))  # type: ignore[arg-type]


def test_a_sound_set_has_no_fault() -> None:
    assert places(a_set()) == []
    assert places(replace(a_set(), rest=None, picks=())) == []


PICKS = [
    (1, {"n": 5}, ["picks[0].n"]),
    (2, {"path": "/music/\0.flac"}, ["picks[1].path"]),
    (2, {"path": "/music/\ud800.flac"}, ["picks[1].path"]),
    (2, {"path": "/music/\udce4.flac"}, []),  # a byte that isn't UTF-8 (PEP 383)
    (4, {"class_end_s": 840.0, "fade_in_s": 0.0, "fade_out_s": 0.0}, []),
    (
        4,
        {"class_end_s": 839.9, "fade_in_s": 0.0, "fade_out_s": 0.0},
        ["picks[3].class_end_s", "picks[3].fade_in_s", "picks[3].fade_out_s"],
    ),
    (1, {"fade_in_s": 304.0, "fade_out_s": 304.009}, []),
    (1, {"fade_in_s": 304.02}, ["picks[0].fade_in_s"]),
    (1, {"fade_out_s": 304.02}, ["picks[0].fade_out_s"]),
    (3, {"class_start_s": 304.0}, []),
    (3, {"class_start_s": 299.9}, ["picks[0].class_end_s", "picks[2].class_start_s"]),
    (1, {"class_end_s": 600.009}, []),
    (1, {"class_end_s": 600.02}, ["picks[0].class_end_s"]),
    (3, {"class_end_s": 5000.0}, []),
]


@pytest.mark.parametrize(("n", "changes", "wrong"), PICKS)
def test_a_pick(n: int, changes: dict[str, object], wrong: list[str]) -> None:
    assert places(with_pick(n, **changes)) == wrong


RESTS = [
    ({"end_s": 1200.009}, []),
    ({"end_s": 1200.02}, ["rest.end_s"]),
    ({"end_s": 840.0, "silence_s": 0.0}, []),
    ({"end_s": 839.9, "silence_s": 0.0}, ["rest.end_s", "rest.silence_s"]),
    ({"start_s": 1200.0, "end_s": 1200.0, "silence_s": 0.0}, []),
    ({"start_s": 1200.005, "end_s": 1200.009, "silence_s": 0.0}, ["rest.start_s"]),
    ({"silence_s": 360.009}, []),
    ({"silence_s": 360.02}, ["rest.silence_s"]),
    ({"bells_s": (1200.009, 1200.02)}, ["rest.bells_s[1]"]),
]


@pytest.mark.parametrize(("changes", "wrong"), RESTS)
def test_the_rest(changes: dict[str, object], wrong: list[str]) -> None:
    setlist = a_set()
    assert setlist.rest is not None
    assert places(replace(setlist, rest=replace(setlist.rest, **changes))) == wrong  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("start_s", "end_s", "wrong"),
    [
        (840.0, 1200.009, []),
        (840.0, 1200.02, [".end_s"]),
        (840.0, 840.0, []),
        (840.0, 839.9, [".end_s"]),
        (1200.0, 1200.0, []),
        (1200.005, 1200.009, [".start_s"]),
    ],
)
def test_a_section_and_its_passes(start_s: float, end_s: float, wrong: list[str]) -> None:
    setlist = a_set()
    last = setlist.sections[2]
    moved = replace(last, start_s=start_s, end_s=end_s)
    assert places(replace(setlist, sections=(*setlist.sections[:2], moved))) == [f"sections[2]{name}" for name in wrong]
    passing = replace(last, passes=(replace(last.passes[0], start_s=start_s, end_s=end_s),))
    found = places(replace(setlist, sections=(*setlist.sections[:2], passing)))
    assert found == [f"sections[2].passes[0]{name}" for name in wrong]


@pytest.mark.parametrize("name", ["arc", "target_energy", "played_energy"])
@pytest.mark.parametrize(
    ("class_s", "seconds", "wrong"), [(1200.0, 1199, True), (1200.0, 1201, True), (1199.5, 1200, False)]
)
def test_a_curve_has_a_value_for_every_second_begun(name: str, class_s: float, seconds: int, wrong: bool) -> None:
    setlist = replace(a_set(), class_s=class_s, rest=None, sections=(), frame=SetFrame())
    assert places(replace(setlist, **{name: np.zeros(seconds, np.float32)})) == ([name] if wrong else [])


@pytest.mark.parametrize(
    ("silent", "wrong"),
    [
        (((0.0, 1200.0),), True),
        (((0.0, 1199.0),), True),
        (((0.0, 1198.9),), False),
        (((1.0, 1200.0),), True),
        (((1.1, 1200.0),), False),
        (((600.0, 1200.0), (0.0, 599.0)), True),
        (((600.0, 1200.0), (0.0, 598.9)), False),
        (((0.0, 1200.0), (10.0, 20.0)), True),
        ((), False),
    ],
)
def test_some_of_the_class_has_music(silent: tuple[tuple[float, float], ...], wrong: bool) -> None:
    setlist = a_set()
    found = places(replace(setlist, frame=replace(setlist.frame, silent_s=silent)))
    assert found == (["frame.silent_s"] if wrong else [])


@pytest.mark.parametrize(
    ("rule", "wrong"),
    [
        (Rule(5.0, 5.0, 3), []),
        (Rule(5.0, 4.9, 0), ["frame.rules[0].end_s"]),
        (Rule(5.0, 9.0, 4), ["frame.rules[0].section"]),
    ],
)
def test_a_rule_has_a_stretch_and_a_section(rule: Rule, wrong: list[str]) -> None:
    setlist = a_set()
    assert places(replace(setlist, frame=replace(setlist.frame, rules=(rule,)))) == wrong
