"""The smallest energy error that any choice of tracks under the hard rules can have."""

from dataclasses import replace

import numpy as np

from audio.arrays import F32
from pairing.solve import tables as tabled
from pairing.solve.candidates import only, shortlist
from pairing.solve.costs import stretches
from pairing.solve.grid import grid
from pairing.solve.picks import pin_picks
from pairing.solve.problem import ENERGY_ALONE, Problem
from pairing.solve.stage import first_prices


def energy_bound(problem: Problem, counted: slice = slice(None)) -> float:
    """Root of a proven lower bound on the unweighted mean squared error of the energy.

    The same cut points, bans, pins and forced changes hold; wishes with a finite cost don't count. The bound is of the
    tracks that matter for energy (`candidates.shortlist`), all of them in libraries of up to `candidates.ALL` tracks.

    Args:
        counted: the class seconds whose error counts; the others have music under the same rules.
    Returns:
        root mean square error, 0 to 1; 0 where no music is wanted, inf where the rules allow no chain at all.
    """
    seconds = np.count_nonzero(~np.isnan(problem.target[counted]))
    if not stretches(problem.target) or not seconds:
        return 0.0
    weight = np.zeros_like(problem.weight)
    weight[counted] = 1.0
    bare = replace(
        problem,
        weight=weight,
        over=np.ones_like(problem.over),
        zone_cost=_bans(problem.zone_cost),
        track_cost=_bans(problem.track_cost),
        weights=ENERGY_ALONE,
    )
    short = shortlist(bare)
    bare = only(bare, short.tracks)
    tracks = short.tracks
    laid = grid(bare)
    price = first_prices(short)
    slots = np.concatenate((tracks, [pin.track for pin in bare.pins])).astype(np.int64)
    table = tabled.priced(bare, laid, tracks, price)
    least = tabled.least_total(bare, table, slots, pin_picks(bare, laid, len(tracks))) - float(price.sum())
    table.done()
    return float(np.sqrt(max(0.0, least) / seconds))


def _bans(cost: F32) -> F32:
    return np.where(np.isinf(cost), cost, 0.0).astype(np.float32)
