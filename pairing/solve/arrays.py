"""The solver for anyone who has arrays: energy curves, cut points with their costs, a target, weights.

>>> import numpy as np
>>> calm, lively = np.full(120, 0.2), np.full(120, 0.8)
>>> target = np.concatenate((np.full(100, 0.25), np.full(80, 0.75)))
>>> answer = arrange([lively, calm], target, handover_s=4, cut_s=4)
>>> [(pick.track, pick.start, pick.end) for pick in answer.chosen]
[(1, 0, 100), (0, 100, 180)]
>>> round(answer.cost, 2), answer.cost - answer.bound < 1e-3
(0.45, True)
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from audio.arrays import F32, I64, offsets
from pairing.solve.problem import ENERGY_ALONE, Answer, Problem, Weights
from pairing.solve.search import solve

Cuts = Sequence[ArrayLike]


def arrange(
    curves: Sequence[ArrayLike],
    target: ArrayLike,
    *,
    handover_s: int = 1,
    cut_s: int = 8,
    shortest_s: int = 1,
    enter_at: Cuts | None = None,
    leave_at: Cuts | None = None,
    enter_cost: Cuts | None = None,
    leave_cost: Cuts | None = None,
    weights: Weights = ENERGY_ALONE,
    **arrays: object,
) -> Answer:
    """Choose, order and trim distinct tracks so that their energy follows a target, second by second.

    Args: as `problem` has them.
    Returns:
        the chain of picks, its cost in error² x seconds, and a lower bound on the cost of any chain.
    Raises:
        Infeasible: no chain of distinct tracks covers the target.
        ValueError: the arrays don't belong together, or no second of the target wants music.
    """
    return solve(
        problem(
            curves,
            target,
            handover_s=handover_s,
            cut_s=cut_s,
            shortest_s=shortest_s,
            enter_at=enter_at,
            leave_at=leave_at,
            enter_cost=enter_cost,
            leave_cost=leave_cost,
            weights=weights,
            **arrays,
        )
    )


def problem(
    curves: Sequence[ArrayLike],
    target: ArrayLike,
    *,
    handover_s: int = 1,
    cut_s: int = 8,
    shortest_s: int = 1,
    enter_at: Cuts | None = None,
    leave_at: Cuts | None = None,
    enter_cost: Cuts | None = None,
    leave_cost: Cuts | None = None,
    weights: Weights = ENERGY_ALONE,
    **arrays: object,
) -> Problem:
    """A problem of these arrays, with plain values for all that isn't said.

    Args:
        curves: the energy of each track at 1 Hz, 0 to 1, shape (seconds of the track,) each.
        target: the energy wanted in each second of the class, 0 to 1, shape (T,); NaN where no music shall play.
        handover_s: tracks hand over at multiples of this class second only; not used where `change_cost` is given.
        cut_s: tracks are entered and left at multiples of this second of their own; not used where cuts are given.
        shortest_s: no track is heard for less; not used where `length_cost` is given.
        enter_at, leave_at: for each track, the whole seconds at which it can be entered, and left, ascending.
        enter_cost, leave_cost: the same shapes: what each costs, times the weight of a trim; 0 by default.
        weights: of the terms; by default the squared error counts 1 and all others 0.
        arrays: any other field of `Problem`, by its name.
    Raises:
        ValueError: the arrays don't belong together.

    >>> two = problem([np.full(90, 0.3), np.full(60, 0.7)], np.full(120, 0.5), handover_s=10)
    >>> two.offset.tolist(), two.leave_at[:3].tolist(), int(np.isfinite(two.change_cost).sum())
    ([0, 90, 150], [0, 8, 16], 13)
    """
    wanted = np.asarray(target, dtype=np.float32)
    library = [np.asarray(curve, dtype=np.float32) for curve in curves]
    enters, leaves = _cuts(enter_at, library, cut_s), _cuts(leave_at, library, cut_s)
    change, length = np.full(len(wanted) + 1, np.inf), np.zeros(len(wanted) + 1)
    change[::handover_s] = 0.0
    length[:shortest_s] = np.inf
    none = np.full(len(library), -1)
    plain: dict[str, object] = {
        "weight": np.ones(len(wanted)),
        "over": np.ones(len(wanted)),
        "change_cost": change,
        "must_change": np.empty(0),
        "length_cost": length,
        "zone": np.zeros(len(wanted)),
        "zone_cost": np.zeros((1, len(library))),
        "track_cost": np.zeros(len(library)),
        "tempo_bpm": np.full(len(library), np.nan),
        "key": none,
        "artist": none,
    }
    typed = {name: _typed(name, value) for name, value in (plain | arrays).items()}
    return Problem(
        target=wanted,
        energy=_joined(library).astype(np.float32),
        offset=_ends(library),
        enter_at=_joined(enters).astype(np.int64),
        enter_cost=_costs(enter_cost, enters),
        enter_offset=_ends(enters),
        leave_at=_joined(leaves).astype(np.int64),
        leave_cost=_costs(leave_cost, leaves),
        leave_offset=_ends(leaves),
        weights=weights,
        **typed,  # type: ignore[arg-type]
    )


def _cuts(given: Cuts | None, library: list[F32], cut_s: int) -> list[I64]:
    if given is None:
        return [np.arange(0, len(curve) + 1, cut_s) for curve in library]
    cuts = [np.asarray(at, dtype=np.int64) for at in given]
    if len(cuts) != len(library):
        raise ValueError(f"{len(cuts)} lists of cut points for {len(library)} curves")
    for number, (at, curve) in enumerate(zip(cuts, library, strict=True)):
        if len(at) and (at[0] < 0 or at[-1] > len(curve) or (np.diff(at) <= 0).any()):
            raise ValueError(f"the cut points of track {number} aren't ascending seconds from 0 to {len(curve)}")
    return cuts


def _costs(given: Cuts | None, cuts: list[I64]) -> F32:
    costs = [np.zeros(len(at)) for at in cuts] if given is None else [np.asarray(cost) for cost in given]
    if [len(cost) for cost in costs] != [len(at) for at in cuts]:
        raise ValueError("costs and cut points differ in number")
    return _joined(costs).astype(np.float32)


def _typed(name: str, value: object) -> object:
    if not isinstance(value, np.ndarray | list):
        return value
    return np.asarray(value, dtype=np.int64 if name in ("must_change", "zone", "key", "artist") else np.float32)


def _joined(parts: Sequence[NDArray[np.generic]]) -> NDArray[np.generic]:
    return np.concatenate([*parts, np.empty(0)])


def _ends(parts: Sequence[NDArray[np.generic]]) -> I64:
    return offsets([len(part) for part in parts])
