"""The teacher's own pace: learned from logs, said by hand, kept in its file, and what plans make of it.

The logs are of made-up teachers (taught_classes.py); there are none of real classes.
"""

import json
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

import msgspec
import pytest
from taught_classes import PLANS, logged, teacher, trial

from pairing.commands import main
from pairing.effort.manner import told_style
from pairing.effort.planned import planned
from pairing.effort.timetable import build_timetable
from pairing.model import Kind, KindPace
from pairing.pace import Change, ClassLog, KeptPace, Stay, learned, log_from_json, own_pace, taught_in
from pairing.plan.poses import pose_table
from pairing.plan.read import read_plan
from pairing.plan.style import style_named

FLOW = style_named("flow")


def test_three_classes_foretell_the_length_of_a_fourth_within_six_per_cent() -> None:
    trials = [trial(seed) for seed in range(1000, 1060)]
    assert sum(t.holds for t in trials) >= 0.9 * len(trials)
    assert max(t.width for t in trials) <= 0.0601
    off = sorted(abs(t.likely_s / t.real_s - 1.0) for t in trials)
    before = sorted(abs(t.unlearned_s / t.real_s - 1.0) for t in trials)
    assert off[len(off) // 2] < 0.4 * before[len(before) // 2]


def log(
    rates: list[tuple[str, int, float, float]], *, started: str = "2026-03-01T18:30:00+01:00", title: str = "Flow"
) -> ClassLog:
    """A log of (kind, round, breaths or 0 for a change of pose, seconds a breath or of the change)."""
    changes, clock = [], 0.0
    for kind, round_, breaths, rate in rates:
        line = 1 if breaths else 0
        changes.append(Change(clock, clock, kind, kind, round_, None, line, "tree" if line else None, breaths or None))
        clock += rate * (breaths or 1.0)
    changes.append(Change(clock, clock, "rest", "rest", 1, None, 9, "corpse", None))
    return ClassLog("arcbed-class-log", 1, title, started, tuple(changes), clock + 300)


def values(pace: KindPace) -> tuple[float | None, ...]:
    return pace.breath_s, pace.first_breath_s, pace.between_s


STEADY = [("flow", 1, 5, 8.0), ("flow", 1, 0, 12.0)] * 12 + [("flow", 2, 5, 6.0), ("flow", 2, 0, 12.0)] * 24


def classes(*logs: ClassLog) -> KeptPace:
    return learned(KeptPace(), logs)


def days(rates: list[tuple[str, int, float, float]], count: int) -> list[ClassLog]:
    return [log(rates, started=f"2026-03-{day:02}T18:30:00+01:00") for day in range(1, count + 1)]


def test_breath_first_pass_and_changes_are_learned() -> None:
    own = own_pace(classes(*days(STEADY, 3)), FLOW)
    assert own is not None
    flow = own.kinds[Kind.FLOW]
    assert flow.breath_s == pytest.approx(6.0, rel=0.02)
    assert flow.first_breath_s == pytest.approx(8.0, rel=0.03)
    assert flow.between_s == pytest.approx(12.0, rel=0.03)
    standing = own.kinds[Kind.STANDING]  # not seen: as much slower than usual as what was
    assert standing.breath_s == pytest.approx(FLOW.breath_s * 1.2, rel=0.03)


def test_little_seen_leaves_the_value_near_the_usual_one() -> None:
    little = own_pace(classes(log([("flow", 1, 5, 10.0)])), FLOW)
    assert little is not None
    assert FLOW.breath_s < (little.kinds[Kind.FLOW].breath_s or 0.0) < 8.5


def test_an_odd_evening_an_interruption_and_a_stopped_clock_have_no_weight() -> None:
    usual = own_pace(classes(*days(STEADY, 3)), FLOW)
    odd = log(
        [(kind, round_, breaths, 3 * rate) for kind, round_, breaths, rate in STEADY], started="2026-03-09T18:30:00Z"
    )
    with_odd = own_pace(classes(*days(STEADY, 3), odd), FLOW)
    assert usual is not None
    assert with_odd is not None
    for kind in Kind:
        assert values(with_odd.kinds[kind]) == pytest.approx(values(usual.kinds[kind]), rel=0.01)
    alarm = [*STEADY[:4], ("flow", 2, 5, 200.0), *STEADY[4:]]
    assert taught_in(log(alarm)).seen == taught_in(log(STEADY)).seen
    once = log(STEADY)
    stopped = replace(once, stays=(Stay(1.0, 600.0),))
    assert taught_in(stopped).seen["flow"].first_breaths == taught_in(once).seen["flow"].first_breaths - 5


def test_the_same_log_twice_counts_once() -> None:
    once, twice = classes(log(STEADY)), classes(log(STEADY), log(STEADY))
    assert once.taught == twice.taught == learned(once, [log(STEADY)]).taught


def test_yin_and_flow_have_each_their_own_pace() -> None:
    pace = classes(*(replace(each, title="Yin") for each in days(STEADY, 3)))
    assert own_pace(pace, FLOW) is None
    assert own_pace(pace, style_named("yin")) is not None


def test_what_is_said_by_hand_goes_before_what_was_learned() -> None:
    pace = classes(*days(STEADY, 3))
    own = own_pace(replace(pace, said={"flow": KindPace(breath_s=4.0)}), FLOW)
    assert own is not None
    assert own.kinds[Kind.FLOW].breath_s == 4.0
    assert own.kinds[Kind.FLOW].first_breath_s == pytest.approx(4.0 * 8 / 6, rel=0.05)
    assert own.kinds[Kind.FLOOR] == own_pace(pace, FLOW).kinds[Kind.FLOOR]  # type: ignore[union-attr]


def test_every_change_can_be_taken_back() -> None:
    first = classes(log(STEADY))
    second = first.changed(said={"flow": KindPace(breath_s=4.0)})
    assert second.undone().said == {}  # type: ignore[union-attr]
    assert second.undone().undone().taught == ()  # type: ignore[union-attr]
    assert second.undone().undone().undone() is None  # type: ignore[union-attr]


def test_a_plan_takes_the_pace_unless_it_states_its_breath() -> None:
    plan, pace = read_plan(PLANS[0], file="one.md"), classes(*days(STEADY, 3))
    own = replace(plan, own_pace=own_pace(pace, told_style(plan).style))
    timetable = build_timetable(own, pose_table())
    assert timetable.duration_s > 1.05 * build_timetable(plan, pose_table()).duration_s
    assert timetable.longest_s == pytest.approx(1.06 * timetable.duration_s, rel=0.002)
    assert timetable.shortest_s == pytest.approx(0.94 * timetable.duration_s, rel=0.002)
    assert any("your own pace, learned from 3 classes" in said for said in timetable.assumptions)
    stated = replace(
        read_plan(PLANS[0].replace("\n", "\nbreath: 5 seconds\n", 1), file="one.md"), own_pace=own.own_pace
    )
    assert planned(stated).timetable == planned(replace(stated, own_pace=None)).timetable


def test_a_log_that_is_none_is_told_from_one() -> None:
    good = msgspec.json.encode(log(STEADY))
    assert log_from_json(good) == log(STEADY)
    for bad in (
        b"",
        b"[]",
        b"{}",
        good.replace(b'"version":1', b'"version":2'),
        good.replace(b'"planned_s":0.0', b'"planned_s":-1'),
    ):
        with pytest.raises(msgspec.DecodeError):
            log_from_json(bad)


# ---- the command -------------------------------------------------------------------------------------------------


class Done(NamedTuple):
    """What a command said."""

    returncode: int
    stdout: str
    stderr: str


Arcbed = Callable[..., Done]


@pytest.fixture
def arcbed(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Arcbed:
    """Type a command."""

    def typed(*words: str | Path) -> Done:
        monkeypatch.setattr(sys, "argv", ["arcbed", *map(str, words)])
        with pytest.raises(SystemExit) as ended:
            main()
        said = capsys.readouterr()
        return Done(int(ended.value.code or 0), said.out, said.err)

    return typed


@pytest.fixture
def logs(tmp_path: Path) -> list[Path]:
    real, table = teacher(5), pose_table()
    paths = []
    for day, text in enumerate(PLANS[:3], 1):
        plan = read_plan(text, file="class.md")
        path = tmp_path / f"class-{day}.json"
        path.write_bytes(msgspec.json.encode(logged(build_timetable(plan, table), plan, real, day)))
        paths.append(path)
    return paths


def test_the_command_learns_shows_says_and_takes_back(logs: list[Path], tmp_path: Path, arcbed: Arcbed) -> None:
    note = tmp_path / "four.md"
    note.write_text(PLANS[3])
    assert "No pace of your own" in arcbed("pace").stdout
    before = json.loads(arcbed("plan", note, "--json").stdout)["duration_s"]
    done = arcbed("pace", "--learn", *logs)
    assert done.returncode == 0, done.stderr
    assert "flow: a breath takes" in done.stdout
    assert "arcbed pace --undo" in done.stderr
    assert json.loads(arcbed("pace", "--json").stdout)["classes"] == 3
    after = json.loads(arcbed("plan", note, "--json").stdout)
    assert after["duration_s"] != pytest.approx(before, rel=0.02)
    said = arcbed("pace", "flow", "breath=4,5", "between=")
    assert said.returncode == 0, said.stderr
    assert json.loads(arcbed("pace", "--json").stdout)["kinds"]["flow"]["breath_s"] == 4.5
    arcbed("pace", "--undo")
    arcbed("pace", "--undo")
    assert json.loads(arcbed("plan", note, "--json").stdout)["duration_s"] == before


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["pace", "flow", "breth=5"], "says nothing about a pace"),
        (["pace", "flow", "breath=abc"], "says nothing about a pace"),
        (["pace", "tango", "breath=5"], "no kind of section"),
        (["pace", "flow", "breath=900"], "the pace of a class"),
        (["pace", "--undo"], "nothing to undo"),
        (["pace", "--learn", "nowhere.json"], "can't be read"),
        (["pace", "--learn", __file__], "the log of a class"),
    ],
)
def test_what_is_wrong_is_told_and_nothing_is_kept(words: list[str], told: str, arcbed: Arcbed) -> None:
    done = arcbed(*words)
    assert done.returncode == 2
    assert told in done.stderr
    assert "Traceback" not in done.stderr
    assert json.loads(arcbed("pace", "--json").stdout) == {"classes": 0, "kinds": {}, "said": []}
