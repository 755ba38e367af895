"""From a plan to what is computed of it, and checks that register themselves."""

from pathlib import Path

import pytest
from page_desk import fill_library

from pairing.checks.register import Register
from pairing.effort.planned import planned
from pairing.model import Finding, PairOptions, Where
from pairing.plan.read import load_plan
from pairing.workflow import checks, outputs, sets
from pairing.workflow.plans import planned_of_set
from pairing.workflow.sets import open_set

POSES = "## Own poses\n- heron stand: 3 METs\n"
PLAN = "# Heron\n\n## Sit: opening, 3 minutes\n- easy seat\n\n## Move: flow, 12 minutes\n- heron stand\n\n## Float: rest, 5 minutes\n- savasana\n"


def test_a_set_carries_the_own_poses_of_its_folder_with_it(tmp_path: Path) -> None:
    plan, out, library = tmp_path / "heron.md", tmp_path / "heron.json", tmp_path / "library.sqlite"
    (tmp_path / "poses.md").write_text(POSES, "utf-8")
    plan.write_text(PLAN, "utf-8")
    fill_library(library, tmp_path / "music", 40, sounds=False)
    sets.pair_plan(plan, out, library, PairOptions())
    asked = planned(load_plan(plan)).timetable
    (tmp_path / "poses.md").unlink()  # the set alone was carried to another machine
    found = open_set(out, library)
    assert planned_of_set(found.setlist).timetable == asked
    outputs.write_sheet(found, tmp_path / "heron.html", audio=None)
    outputs.write_picture(found, tmp_path / "heron.svg")
    assert "no-pose" not in {finding.code for finding in checks.check(out, library).findings}


def test_a_check_that_finds_what_it_is_not_registered_with_is_refused() -> None:
    register = Register[int]()

    @register.finds("odd")
    def _odd(n: int):
        yield Finding("note", "odd" if n < 5 else "large", Where(), f"{n} is odd.")

    assert register.codes == {"odd"}
    assert [finding.code for finding in register.findings(3)] == ["odd"]
    with pytest.raises(ValueError, match="_odd isn't registered with 'large'"):
        list(register.findings(7))
