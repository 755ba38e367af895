"""Compiled loops over the graph of the picks worth keeping.

A junction is a moment at which one pick ends and the next starts. An arrival is (junction, slot): the last pick was of
that slot; a departure is the same for the next pick. A slot is a track, or a pin. Between an arrival and a departure
stands the cost of their being neighbours (infinite for a slot after itself). Costs are float64.
"""

import numpy as np

from pairing.solve.compiling import F8, F82, I4, I8, compiled

_B1 = "b1[::1]"
_GRAPH = (I8, I4, I8, I4, I8, I4, F8, F82, _B1)
"""arrival_offset (J + 1,), arrival_slot, departure_offset (J + 1,), departure_slot, pick_offset (D + 1,), pick_arrival
(M,), pick_cost (M,), pair (S, S), quiet (J,): no neighbours there"""


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


@compiled(*_GRAPH, F8, "f8", F8, F8, I4, I4)
def chain_forward(  # type: ignore[no-untyped-def]
    arrival_offset, arrival_slot, departure_offset, departure_slot, pick_offset, pick_arrival, pick_cost, pair, quiet,
    price, dearest, best, depart, by_pick, before,
):  # fmt: skip
    """Least priced cost of a chain to each arrival (`best`) and to each departure, its price included (`depart`).

    Neighbours are counted, repeats allowed unless next to each other. `by_pick` is the last pick of the chain to an
    arrival, `before` the arrival before a departure (-1: the start).
    """
    best[:] = np.inf
    near = np.empty(max(1, price.shape[0]), dtype=np.int64)
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


@compiled(*_GRAPH, F8, "f8", F8, F8)
def chain_backward(  # type: ignore[no-untyped-def]
    arrival_offset, arrival_slot, departure_offset, departure_slot, pick_offset, pick_arrival, pick_cost, pair, quiet,
    price, dearest, ahead, best,
):  # fmt: skip
    """Least priced cost from each departure to the end (`ahead`), and from each arrival (`best`)."""
    best[:] = np.inf
    near = np.empty(max(1, price.shape[0]), dtype=np.int64)
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


_LABELS = (F8, F8, I4, I4, I4, "u8[:,::1]", I4)
"""cost, key, arrival, parent, pick, used (L, W), count (J,); the labels of junction j stand from j * width on"""


@compiled(F8, F8, I4, "u8[:,::1]", "u8[::1]", "i8", "i8", "f8", "f8", "i8", "u8[::1]", gives="b1")
def _dominated(cost, key, arrival, used, alive, first, count, own_cost, own_key, own_arrival, own_used):  # type: ignore[no-untyped-def]
    """Whether a label is there that leaves at least the same choice for no more."""
    for k in range(first, first + count):
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


@compiled(*_GRAPH, I4, F8, F8, F82, F82, "u8[:,::1]", "f8", "f8", "i8", *_LABELS)
def beam(  # type: ignore[no-untyped-def]
    arrival_offset, arrival_slot, departure_offset, departure_slot, pick_offset, pick_arrival, pick_cost, pair, quiet,
    arrival_junction, price, onward, need, longest, alive, repeat, limit, width,
    cost, key, arrival, parent, pick, used, count,
):  # fmt: skip
    """Chains without repeats, junction by junction, keeping at each the `width` labels of least key.

    A label's key is its cost, the prices of what it has used, and the least priced cost onward from its arrival: a
    bound on every chain that goes on from it. Labels are dropped whose key is above `limit`, or that can't fill what
    is left of the class: `need` (J, R) is how many seconds are left for each set of tracks, `longest` (S, R) the
    longest pick of each. `repeat` is the cost of using a slot again, inf if it may not be.
    """
    slots = price.shape[0]
    words = used.shape[1]
    mine = np.empty(words, dtype=np.uint64)
    rules = need.shape[1]
    total = np.zeros(rules)
    left = np.empty(rules)
    for s in range(slots):
        for r in range(rules):
            total[r] += longest[s, r]
    one = np.uint64(1)
    count[:] = 0
    count[0] = 1
    cost[0], key[0], arrival[0], parent[0], pick[0] = 0.0, 0.0, -1, -1, -1
    used[0, :] = 0
    for j in range(quiet.shape[0] - 1):
        for at in range(j * width, j * width + count[j]):
            came = arrival[at]
            for r in range(rules):
                left[r] = total[r]
            if repeat == np.inf:
                for s in range(slots):
                    if used[at, s >> 6] >> np.uint64(s & 63) & one:
                        for r in range(rules):
                            left[r] -= longest[s, r]
            for d in range(departure_offset[j], departure_offset[j + 1]):
                slot = departure_slot[d]
                word, bit = slot >> 6, one << np.uint64(slot & 63)
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
                if again:
                    base += repeat
                    priced += repeat
                else:
                    priced += price[slot]
                for w in range(words):
                    mine[w] = used[at, w]
                mine[word] |= bit
                for p in range(pick_offset[d], pick_offset[d + 1]):
                    to = pick_arrival[p]
                    own_key = priced + pick_cost[p] + onward[to]
                    if own_key > limit or own_key == np.inf:
                        continue
                    e = arrival_junction[to]
                    first, have = e * width, count[e]
                    if have == width and own_key >= key[first + width - 1]:
                        continue
                    short = False
                    for r in range(rules):
                        gone = 0.0 if again else longest[slot, r]
                        if left[r] - gone < need[e, r]:
                            short = True
                    if short and repeat == np.inf:
                        continue
                    own_cost = base + pick_cost[p]
                    if _dominated(cost, key, arrival, used, alive[e], first, have, own_cost, own_key, to, mine):
                        continue
                    place = first + min(have, width - 1)
                    while place > first and key[place - 1] > own_key:
                        cost[place], key[place], arrival[place] = cost[place - 1], key[place - 1], arrival[place - 1]
                        parent[place], pick[place] = parent[place - 1], pick[place - 1]
                        for w in range(words):
                            used[place, w] = used[place - 1, w]
                        place -= 1
                    cost[place], key[place], arrival[place], parent[place], pick[place] = own_cost, own_key, to, at, p
                    for w in range(words):
                        used[place, w] = mine[w]
                    count[e] = min(have + 1, width)
