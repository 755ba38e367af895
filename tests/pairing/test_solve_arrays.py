"""The solver's plain call over arrays, and what a larger library may do to its answers."""

import re
from pathlib import Path

import numpy as np
import pytest
import solve_instances as instances

from pairing.solve.arrays import arrange, problem
from pairing.solve.costs import violations
from pairing.solve.search import solve

DOCS = Path(__file__).resolve().parents[2] / "docs" / "pairing.md"
NUMERIC = 1e-4  # single precision


def test_the_examples_of_the_docs_run(capsys: pytest.CaptureFixture[str]) -> None:
    names: dict[str, object] = {}
    for block in re.findall(r"```python\n(.*?)```", DOCS.read_text("utf-8"), re.DOTALL):
        exec(block, names)
    *picks, figures = [line.split() for line in capsys.readouterr().out.splitlines() if line[0].isdigit()]
    assert [int(pick[1]) for pick in picks] == [0, *(int(pick[2]) for pick in picks[:-1])]
    assert len({pick[0] for pick in picks}) == len(picks)
    assert float(figures[1]) <= float(figures[0]) <= 1.02 * float(figures[1])


def test_arrays_that_do_not_belong_together_are_named() -> None:
    curves, target = [np.full(90, 0.5)], np.full(60, 0.5)
    with pytest.raises(ValueError, match="track 0 aren't ascending seconds from 0 to 90"):
        problem(curves, target, enter_at=[[0, 95]])
    with pytest.raises(ValueError, match="2 lists of cut points for 1 curves"):
        problem(curves, target, leave_at=[[60], [60]])
    with pytest.raises(ValueError, match="costs and cut points differ"):
        problem(curves, target, enter_at=[[0, 8]], enter_cost=[[0.0]])


def test_silence_and_lists_are_taken_as_they_come() -> None:
    target = [0.5] * 60 + [float("nan")] * 20 + [0.2] * 60
    answer = arrange([[0.2] * 100, [0.5] * 100], target, cut_s=10)
    assert [(pick.track, pick.start, pick.end) for pick in answer.chosen] == [(1, 0, 60), (0, 80, 140)]
    assert answer.cost == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_more_music_never_makes_the_answer_worse_than_the_stated_gap(seed: int) -> None:
    """The optimum can only fall, and the answer stays within its own gap of it."""
    rng = np.random.default_rng(seed)
    library = instances.curves(rng, 24)
    target, _ = instances.arc(rng, 1200)
    bounds, costs = [], []
    for count in (16, 20, 24):
        asked = problem(library[:count], target, handover_s=4, shortest_s=64)
        answer = solve(asked)
        assert violations(asked, answer.chosen) == []
        bounds.append(answer.bound)
        costs.append(answer.cost)
    for fewer, more in ((0, 1), (1, 2), (0, 2)):
        # bound(more) <= optimum(more) <= optimum(fewer) <= cost(fewer)
        assert bounds[more] <= costs[fewer] * (1 + NUMERIC)
