"""Compiled loops over the graph of the picks worth keeping.

A junction is a moment at which one pick ends and the next starts. An arrival is (junction, slot): the last pick was of
that slot; a departure is the same for the next pick. A slot is a track, or a pin. Between an arrival and a departure
stands the cost of their being neighbours (infinite for a slot after itself). Costs are float64.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from audio.arrays import F64, I32
from pairing.solve.compiling import F8, F82, I4, I8, compiled, struct

_GRAPH = struct(I8, I4, I4, I8, I4, I8, I4, F8, F82, "b1[::1]")
"""arrival_offset (J + 1,), arrival_slot, arrival_junction, departure_offset (J + 1,), departure_slot, pick_offset (D +
1,), pick_arrival (M,), pick_cost (M,), pair (S, S), quiet (J,): no neighbours there"""


@compiled(F8, "i8", "i8", "f8", I8, gives="i8")
def _near(cost, first, end, reach, near):  # type: ignore[no-untyped-def]
    """Those of cost[first:end] within `reach` of the second least: no other can be the best neighbour of any slot."""
    least, second = np.inf, np.inf
    for k in range(first, end):
        if cost[k] < least:
            least, second = cost[k], least
        elif cost[k] < second:
            second = cost[k]
    count = 0
    for k in range(first, end):
        if cost[k] < np.inf and cost[k] <= second + reach:
            near[count] = k
            count += 1
    return count


@compiled(_GRAPH, F8, "f8", I8, F8, F8, I4, I4)
def chain_forward(graph, price, dearest, near, best, depart, by_pick, before):  # type: ignore[no-untyped-def]
    """Least priced cost of a chain to each arrival and to each departure.

    Neighbours are counted, repeats allowed unless next to each other.

    Args:
        price: of each slot, shape (S,).
        dearest: the largest finite value of `pair`.
        near: room, shape (S,).
        best: shape (A,), written: cost up to an arrival, inf where there is no way.
        depart: shape (D,), written: cost up to a departure, its own price included.
        by_pick: shape (A,), written: the last pick of the chain to an arrival.
        before: shape (D,), written: the arrival before a departure (-1: the start).
    """
    arrival_offset, arrival_slot, _, departure_offset, departure_slot = graph[:5]
    pick_offset, pick_arrival, pick_cost, pair, quiet = graph[5:]
    best[:] = np.inf
    for j in range(quiet.shape[0]):
        count = _near(best, arrival_offset[j], arrival_offset[j + 1], dearest, near)
        for d in range(departure_offset[j], departure_offset[j + 1]):
            slot = departure_slot[d]
            least, at = np.inf, -1
            if j == 0:
                least = 0.0
            for c in range(count):
                k = near[c]
                step = pair[arrival_slot[k], slot]
                if quiet[j] and step < np.inf:
                    step = 0.0
                if best[k] + step < least:
                    least, at = best[k] + step, k
            before[d] = at
            depart[d] = least + price[slot]
            if least < np.inf:
                for p in range(pick_offset[d], pick_offset[d + 1]):
                    if depart[d] + pick_cost[p] < best[pick_arrival[p]]:
                        best[pick_arrival[p]] = depart[d] + pick_cost[p]
                        by_pick[pick_arrival[p]] = p


@compiled(_GRAPH, F8, "f8", I8, F8, F8)
def chain_backward(graph, price, dearest, near, ahead, best):  # type: ignore[no-untyped-def]
    """Least priced cost from each departure, and from each arrival, to the end.

    Args:
        price, dearest, near: as `chain_forward` has them.
        ahead: shape (D,), written: from a departure on.
        best: shape (A,), written: from an arrival on, inf where there is no way.
    """
    arrival_offset, arrival_slot, _, departure_offset, departure_slot = graph[:5]
    pick_offset, pick_arrival, pick_cost, pair, quiet = graph[5:]
    best[:] = np.inf
    last = quiet.shape[0] - 1
    for k in range(arrival_offset[last], arrival_offset[last + 1]):
        best[k] = 0.0
    for j in range(last - 1, -1, -1):
        for d in range(departure_offset[j], departure_offset[j + 1]):
            least = np.inf
            for p in range(pick_offset[d], pick_offset[d + 1]):
                least = min(least, pick_cost[p] + best[pick_arrival[p]])
            ahead[d] = least + price[departure_slot[d]]
        count = _near(ahead, departure_offset[j], departure_offset[j + 1], dearest, near)
        for k in range(arrival_offset[j], arrival_offset[j + 1]):
            slot = arrival_slot[k]
            for c in range(count):
                step = pair[slot, departure_slot[near[c]]]
                if quiet[j] and step < np.inf:
                    step = 0.0
                best[k] = min(best[k], step + ahead[near[c]])


class Labels(NamedTuple):
    """Chains so far, at most L / J of a junction, of least key first; those of junction j begin at j * L / J."""

    cost: F64  # (L,)
    key: F64  # (L,)
    arrival: I32  # (L,) the last one
    parent: I32  # (L,) the label before it; -1: none
    pick: I32  # (L,) the pick between them
    used: NDArray[np.uint64]  # (L, W) the slots of the chain, as bits
    kept: I32  # (J,) how many there are


_LABELS = struct(F8, F8, I4, I4, I4, "u8[:,::1]", I4)


def no_labels(junctions: int, slots: int, width: int) -> Labels:
    """Room for `width` labels at each junction."""
    room = junctions * width
    cost, key = np.empty(room), np.empty(room)
    arrival, parent, pick = (np.empty(room, dtype=np.int32) for _ in range(3))
    used = np.zeros((room, (slots + 63) // 64), dtype=np.uint64)
    return Labels(cost, key, arrival, parent, pick, used, np.zeros(junctions, dtype=np.int32))


@compiled(_LABELS, "i8", "i8", "f8", "f8", "i8", "u8[::1]", "u8[::1]", gives="b1")
def _dominated(labels, first, have, own_cost, own_key, own_arrival, own_used, alive):  # type: ignore[no-untyped-def]
    """Whether a label is there that leaves at least the same choice for no more."""
    cost, key, arrival, _, _, used, _ = labels
    for k in range(first, first + have):
        if key[k] > own_key:
            break
        if arrival[k] == own_arrival and cost[k] <= own_cost:
            inside = True
            for w in range(own_used.shape[0]):
                if (used[k, w] & alive[w]) & ~own_used[w]:
                    inside = False
                    break
            if inside:
                return True
    return False


@compiled(F8, F82, "u8[:,::1]", "i8", F8)
def _subtract_used(fill, longest, used, label, left):  # type: ignore[no-untyped-def]
    """How many seconds of each set of tracks the slots can fill that a label hasn't used."""
    for r in range(left.shape[0]):
        left[r] = fill[r]
    for s in range(longest.shape[0]):
        if used[label, s >> 6] >> np.uint64(s & 63) & np.uint64(1):
            for r in range(left.shape[0]):
                left[r] -= longest[s, r]


@compiled(F8, F82, "i8", F82, "i8", gives="b1")
def _short(left, longest, slot, need, junction):  # type: ignore[no-untyped-def]
    """Whether less than is needed from a junction on is left once a slot is used."""
    for r in range(left.shape[0]):  # noqa: SIM110 (numba compiles no generator)
        if left[r] - longest[slot, r] < need[junction, r]:
            return True
    return False


@compiled(_LABELS, "i8", "i8", "f8", gives="i8")
def _make_room(labels, first, end, own_key):  # type: ignore[no-untyped-def]
    """Move the labels before `end` whose key is above another's one place on, over the one that stands there."""
    cost, key, arrival, parent, pick, used, _ = labels
    place = end
    while place > first and key[place - 1] > own_key:
        cost[place], key[place], arrival[place] = cost[place - 1], key[place - 1], arrival[place - 1]
        parent[place], pick[place] = parent[place - 1], pick[place - 1]
        for w in range(used.shape[1]):
            used[place, w] = used[place - 1, w]
        place -= 1
    return place


@compiled(_GRAPH, struct(F8, F8), struct(F82, F82, F8, "u8[:,::1]"), "f8", "f8", "i8", struct(F8, "u8[::1]"), _LABELS)
def beam(graph, prices, rules, repeat, limit, width, work, labels):  # type: ignore[no-untyped-def]
    """Chains without repeats, junction by junction, keeping at each the `width` labels of least key.

    A label's key is its cost, the prices of what it has used, and the least priced cost onward from its arrival: a
    bound on every chain that goes on from it. Labels are dropped whose key is above `limit`, or that can't fill what
    is left of the class.

    Args:
        prices: price (S,), onward (A,).
        rules: need (J, R), how many seconds are left for each set of tracks; longest (S, R), the longest pick of each,
            and fill (R,), their sum; alive (J, W), slots that can still be picked, as bits.
        repeat: cost of using a slot again, inf if it may not be.
        work: room: left (R,), mine (W,).
    """
    _, arrival_slot, arrival_junction, departure_offset, departure_slot = graph[:5]
    pick_offset, pick_arrival, pick_cost, pair, quiet = graph[5:]
    price, onward = prices
    need, longest, fill, alive = rules
    cost, key, arrival, parent, pick, used, count = labels
    words = used.shape[1]
    left, mine = work
    count[:] = 0
    count[0] = 1
    cost[0], key[0], arrival[0], parent[0], pick[0] = 0.0, 0.0, -1, -1, -1
    used[0, :] = 0
    for j in range(quiet.shape[0] - 1):
        for at in range(j * width, j * width + count[j]):
            came = arrival[at]
            if repeat == np.inf:
                _subtract_used(fill, longest, used, at, left)
            for d in range(departure_offset[j], departure_offset[j + 1]):
                slot = departure_slot[d]
                word, bit = slot >> 6, np.uint64(1) << np.uint64(slot & 63)
                again = used[at, word] & bit != 0
                if again and repeat == np.inf:
                    continue
                step = 0.0
                if came >= 0:
                    step = pair[arrival_slot[came], slot]
                    if quiet[j] and step < np.inf:
                        step = 0.0
                base = cost[at] + step
                priced = key[at] - (onward[came] if came >= 0 else 0.0) + step
                base += repeat if again else 0.0
                priced += repeat if again else price[slot]
                for w in range(words):
                    mine[w] = used[at, w]
                mine[word] |= bit
                for p in range(pick_offset[d], pick_offset[d + 1]):
                    to = pick_arrival[p]
                    own_cost, own_key = base + pick_cost[p], priced + pick_cost[p] + onward[to]
                    if own_key > limit or own_key == np.inf:
                        continue
                    e = arrival_junction[to]
                    first, have = e * width, count[e]
                    if have == width and own_key >= key[first + width - 1]:
                        continue
                    if repeat == np.inf and _short(left, longest, slot, need, e):
                        continue
                    if _dominated(labels, first, have, own_cost, own_key, to, mine, alive[e]):
                        continue
                    place = _make_room(labels, first, first + min(have, width - 1), own_key)
                    cost[place], key[place], arrival[place], parent[place], pick[place] = own_cost, own_key, to, at, p
                    for w in range(words):
                        used[place, w] = mine[w]
                    count[e] = min(have + 1, width)
