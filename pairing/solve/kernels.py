"""The compiled inner loops, over plain arrays.

A diagonal is one alignment of a track with the class: class second minus track second is the same along it. The summed
error along all diagonals of a track at its cut points (`summed`) gives the error of every pick of it as a difference
of two numbers, and loops over neighbouring diagonals read neighbouring numbers, so that the processor does eight at a
time. Compiled once (see `compiling`), then loaded.

Picks of `plain` nodes and more cost nothing for their length. Of these only the cheapest start so far (or the cheapest
end, backwards) is carried along each diagonal, so that a track costs its cut points, not the pairs of them. That is
exact since bans and borders part the class into blocks: where a pick can't go on, no earlier one on its diagonal can.

A group is the cut points of one track that can meet on the grid (all of them where the step is 1). `groups` (G, 10) has
the columns named below, `enters` and `leaves` are (row of the group's sums, nodes from its first cut point). The picks
of a group are numbered, enter by enter and leave by leave.
"""

import numpy as np

from pairing.solve.compiling import F4, F8, F42, I4, I8, I42, I82, compiled, struct

FIRST_ENTER, END_ENTER, FIRST_LEAVE, END_LEAVE = 0, 1, 2, 3  # rows of the tables of cut points
SUMS, COLUMNS, SHIFT = 4, 5, 6  # place of the sums, alignments, column of node 0 at the group's first cut point
REACH, ZONE, SLOT = 7, 8, 9  # rows of the tables of bans, of zone costs (row 0: none), of neighbours

LANES = 32  # nodes done together; a fixed number, so that the loop over them becomes a few wide instructions
FAR = np.float32(np.inf)
ROUNDED = 1e-3  # of costs summed up in another order, a generous share


@compiled("f4", "f4", F4, F4, F4, F4, F4)
def _add_second(energy, spread, target, low, high, slope, sums):  # type: ignore[no-untyped-def]
    """Add what one second of a track costs for its energy, at every alignment, to the sums."""
    for j in range(target.shape[0]):
        error = energy - target[j]
        above, below = high[j], low[j]  # both read before one is taken: else each second is done by itself
        weight = above if error > 0 else below
        sums[j] += weight * (error * error + spread) + slope[j] * energy


@compiled(I82, F4, F42, "i8", "i8", F4)
def _add_meetings(meet, meet_cost, apart, second, phase, sums):  # type: ignore[no-untyped-def]
    """Add what it costs that this second of a track is heard at a meeting, at the one alignment at which it is."""
    for m in range(meet.shape[0]):
        if meet[m, 0] == phase:
            sums[meet[m, 1]] += meet_cost[m] * apart[meet[m, 2], second]


@compiled(F4, F4)
def _copy(one, two):  # type: ignore[no-untyped-def]
    """Write the first over the second."""
    for j in range(one.shape[0]):
        two[j] = one[j]


@compiled(F4, F4)
def _add(one, two):  # type: ignore[no-untyped-def]
    """Add the first to the second."""
    for j in range(one.shape[0]):
        two[j] += one[j]


@compiled("f4", F4, F4)
def _add_times(factor, one, two):  # type: ignore[no-untyped-def]
    """Add the first, times a factor, to the second."""
    for j in range(one.shape[0]):
        two[j] += factor * one[j]


@compiled(F4, F4)
def _least(one, two):  # type: ignore[no-untyped-def]
    """Lower the second to the first where that is less."""
    for j in range(one.shape[0]):
        two[j] = one[j] if one[j] < two[j] else two[j]


@compiled(F4, F4, F4, I4, "i4", "f4")
def _lower(one, error, two, room, length, cost):  # type: ignore[no-untyped-def]
    """Lower `two` to one + error + cost where a pick of `length` has room."""
    for lane in range(LANES):
        total = one[lane] + error[lane] + cost
        old = two[lane]
        two[lane] = total if (length <= room[lane]) & (total < old) else old


@compiled(F4, F4, F4, I4, I4, "i4", "f4", "i4")
def _improve(one, error, two, code, room, length, cost, pick):  # type: ignore[no-untyped-def]
    """The same, and note the pick."""
    for lane in range(LANES):
        total = one[lane] + error[lane] + cost
        old = two[lane]
        better = (length <= room[lane]) & (total < old)
        two[lane] = total if better else old
        code[lane] = pick if better else code[lane]


@compiled(F4, F4, F4, "f4", F4)
def _start(ready, change, error, cost, value):  # type: ignore[no-untyped-def]
    """Cost of having entered a track: `error` is what its sums already hold at the cut."""
    for lane in range(value.shape[0]):
        value[lane] = ready[lane] + change[lane] - error[lane] + cost


@compiled(F4, F4, F4, "f4", "i8", I4, F4, I4)
def _join_starts(ready, change, error, cost, start, oldest, run, since):  # type: ignore[no-untyped-def]
    """Let picks from nodes `start` on join the cheapest on their diagonals, or replace one that can go no further."""
    for lane in range(run.shape[0]):
        value = ready[lane] + change[lane] - error[lane] + cost
        better = (value < run[lane]) | (since[lane] < oldest[lane])
        run[lane] = value if better else run[lane]
        since[lane] = start + lane if better else since[lane]


@compiled(F4, I4, F4, "f4", I4, F4)
def _end(run, since, error, cost, oldest, best):  # type: ignore[no-untyped-def]
    """Lower the cost of the nodes at which the cheapest picks on their diagonals end, where they may play to there."""
    for lane in range(run.shape[0]):
        total = run[lane] + error[lane] + cost
        best[lane] = total if (since[lane] >= oldest[lane]) & (total < best[lane]) else best[lane]


@compiled(F4, F4, "f4", "i8", I4, F4, I4)
def _join_ends(behind, error, cost, end, reach, run, since):  # type: ignore[no-untyped-def]
    """Let picks to nodes `end` on join the cheapest on their diagonals, or replace one that no earlier one reaches.

    `reach` begins one node before: how far a pick from there may play.
    """
    for lane in range(run.shape[0]):
        value = behind[lane] + error[lane] + cost
        better = (value < run[lane]) | (since[lane] > reach[lane])
        run[lane] = value if better else run[lane]
        since[lane] = end + lane if better else since[lane]


@compiled(F4, I4, I4, F4)
def _carried(run, since, reach, value):  # type: ignore[no-untyped-def]
    """Cost of the cheapest picks on their diagonals from nodes on; inf where none can be reached."""
    for lane in range(run.shape[0]):
        value[lane] = run[lane] if since[lane] <= reach[lane] else FAR


@compiled(F4, "f4", F4, "b1")
def _lower_all(best, own, step, quiet):  # type: ignore[no-untyped-def]
    """Lower each to own + step, or to own where it is quiet and the step is no ban."""
    for i in range(best.shape[0]):
        total = own if quiet & (step[i] < FAR) else own + step[i]
        best[i] = total if total < best[i] else best[i]


@compiled(F42, "i8", F42, "f4", "b1", F42, F42, "i8")
def _meet(cost, j, pair, dearest, quiet, beside, met, to):  # type: ignore[no-untyped-def]
    """Least cost[k, j] + pair[k, i] for each slot i, into met[i, to]; pairs count only as bans where it is quiet.

    Only costs within the dearest pair of the second least can be the best for any slot.
    """
    slots = cost.shape[0]
    own, best = beside[0], beside[1]  # each in one piece, as `cost` isn't
    best[:] = FAR
    least, second = FAR, FAR
    for k in range(slots):
        own[k] = cost[k, j]
        if own[k] < least:
            least, second = own[k], least
        elif own[k] < second:
            second = own[k]
    for k in range(slots):
        if own[k] < FAR and own[k] <= second + dearest:
            _lower_all(best, own[k], pair[k], quiet)
    for i in range(slots):
        met[i, to] = best[i]


@compiled(F4, F4, "f4", gives="i4")
def _within(one, two, limit):  # type: ignore[no-untyped-def]
    """How many of one + two are at most `limit`."""
    count = np.int32(0)  # as wide as the costs, so that as many are counted at once
    for lane in range(one.shape[0]):
        count += np.int32(one[lane] + two[lane] <= limit)
    return count


@compiled(I4, "i8", "i8", F4, I4, gives="i8")
def _rooms(reach, at, end, ready, room):  # type: ignore[no-untyped-def]
    """How many nodes a pick may last from each node of a tile at which one can start; gives the most."""
    longest = 0
    room[:] = 0
    for j in range(at, end):
        if ready[j] < FAR:
            room[j - at] = reach[j] - j
            longest = max(longest, reach[j] - j)
    return longest


_MUSIC = struct(F4, F4, F42, F42, F42, F42, I82, F4, F42)
"""`Grid.music`: energy, spread, target, low, high, slope, meet, meet_cost, apart"""


@compiled(_MUSIC, I82, I8, I8, I8, F42, F4, F4)
def lay(music, groups, group_energy, row_offset, row_at, zone, total, sums):  # type: ignore[no-untyped-def]
    """Error, meetings and zone cost of every group, summed up to its cut points, at every alignment.

    Args:
        group_energy: (G,) where the energy of a group's track begins.
        row_offset, row_at: (G + 1,) and the seconds of the rows of sums, group by group.
        zone: (rows, n + 1) zone cost before each node; row 0: none.
        total: room, as long as the most columns.
        sums: written; those of a group stand from its SUMS on, COLUMNS to a row.
    """
    energy, spread, target, low, high, slope, meet, meet_cost, apart = music
    step, nodes = target.shape
    for g in range(groups.shape[0]):
        columns, shift, place = groups[g, COLUMNS], groups[g, SHIFT], groups[g, SUMS]
        total[:columns] = 0
        k = row_at[row_offset[g]]
        rest = k % step
        first = k // step
        for row in range(row_offset[g], row_offset[g + 1]):
            while k < row_at[row]:
                p, q = (k - rest) % step, shift - ((k - rest) // step - first)
                second = group_energy[g] + k
                hidden = spread[second] if spread.shape[0] > 1 else np.float32(0)
                _add_second(energy[second], hidden, target[p], low[p], high[p], slope[p], total[q : q + nodes])
                _add_meetings(meet, meet_cost, apart, second, p, total[q : q + nodes])
                k += 1
            q = shift - ((k - rest) // step - first)
            _copy(total[:columns], sums[place : place + columns])
            if groups[g, ZONE] > 0:
                _add(zone[groups[g, ZONE]], sums[place + q : place + q + nodes + 1])
            place += columns


_TABLES = struct(I82, I82, F4, I82, F4, I4, F4, F4, I42, I42, F4, "i8", F4, I42)
"""`Tables.arguments`: groups, enters, enter_cost, leaves, leave_cost, pick (number of an enter's first pick), price,
sums, reach, oldest (P, n + 2: the first node from which a pick may play to each), length, plain, change (n + 1 +
LANES,), stretch"""


@compiled(F4, "i8", gives="b1")
def _any_below(length, plain):  # type: ignore[no-untyped-def]
    """Whether picks of fewer nodes than `plain` may be."""
    least = FAR
    for m in range(1, min(plain, length.shape[0])):
        least = min(least, length[m])
    return least < FAR


@compiled(I8, I82, F4, "f4", F4, I4, F4, F4, "i8", "i8", "i8", "i8", "i8", F4, I4, gives="i8")
def _join_starts_before(  # type: ignore[no-untyped-def]
    group, enters, enter_cost, price, sums, oldest, change, ready, start, width, latest, into, own, run, since,
):  # fmt: skip
    """Let the plain picks that enter a track at `latest` or before join, for starts from `start` on.

    Args:
        into: the first enter of the group that hasn't joined yet.
        own: place of the group's diagonals in `run` and `since`.
    Returns:
        the new `into`.
    """
    while into < group[END_ENTER] and enters[into, 1] <= latest:
        c = start + group[SHIFT] - enters[into, 1]
        q = group[SUMS] + enters[into, 0] * group[COLUMNS] + c
        _join_starts(
            ready[start : start + width],
            change[start : start + width],
            sums[q : q + width],
            enter_cost[into] + price,
            start,
            oldest[start + 1 : start + 1 + width],
            run[own + c : own + c + width],
            since[own + c : own + c + width],
        )
        into += 1
    return into


@compiled(I8, I82, F4, F4, I4, F4, "i8", F4, "i8", "i8", "i8", "i8", "i8", F4, I4, gives="i8")
def _join_ends_after(  # type: ignore[no-untyped-def]
    group, leaves, leave_cost, sums, reach, length, plain, behind, at, end, enter, out, own, run, since,
):  # fmt: skip
    """Let the plain picks that leave a track at least `plain` nodes after `enter` join, for starts from `at` to `end`.

    Args:
        out: the last leave of the group that hasn't joined yet.
        own: place of the group's diagonals in `run` and `since`.
    Returns:
        the new `out`.
    """
    first = at + plain
    width = min(end, reach.shape[0] - plain) - at  # no pick ends after the class
    while out >= group[FIRST_LEAVE] and leaves[out, 1] - plain >= enter:
        if width > 0:
            c = first + group[SHIFT] - leaves[out, 1]
            q = group[SUMS] + leaves[out, 0] * group[COLUMNS] + c
            _join_ends(
                behind[first : first + width],
                sums[q : q + width],
                leave_cost[out] + length[plain],
                first,
                reach[first - 1 : first - 1 + width],
                run[own + c : own + c + width],
                since[own + c : own + c + width],
            )
        out -= 1
    return out


_PAIRS = struct(F42, "f4", I42, F4)
"""pair (S, S) cost of one slot before another, the dearest finite one; extra picks (X, 3) as start node, end node,
slot, ascending by start, and their costs without the change"""
_ROOM = struct(F4, I4, F4, I4, F42)
"""Room to write to: run and since, as long as all groups have columns; value and room (LANES,); beside (2, S)"""


@compiled(_TABLES, _PAIRS, "i8", _ROOM, F42, F42)
def forward(tables, pairs, tile, work, best, ready):  # type: ignore[no-untyped-def]
    """Least cost of covering the class up to each node, neighbours counted, repeats allowed unless side by side.

    Args:
        tile: nodes done together; no pick is shorter.
        best: (S, n + 1 + LANES) the last pick is of that slot.
        ready: (S, n + 1 + LANES) the next pick will be of that slot, the change left out.
    """
    groups, enters, enter_cost, leaves, leave_cost, _, price, sums = tables[:8]
    reach, oldest, length, plain, change, stretch = tables[8:]
    pair, dearest, extra, extra_cost = pairs
    run, since, value, room, beside = work
    run[:], since[:] = FAR, -1
    short = _any_below(length, plain)
    best[:] = FAR
    ready[:] = FAR
    x = 0
    for k in range(stretch.shape[0]):
        at, last = stretch[k, 0], stretch[k, 1]
        if k > 0:
            _meet(best, stretch[k - 1, 1], pair, dearest, True, beside, ready, at)
        else:
            ready[:, at] = 0
        while at < last:
            if at > stretch[k, 0]:
                _meet(best, at, pair, dearest, False, beside, ready, at)
            while x < extra.shape[0] and extra[x, 0] <= at:
                if extra[x, 0] == at:
                    slot, to = extra[x, 2], extra[x, 1]
                    best[slot, to] = min(best[slot, to], ready[slot, at] + change[at] + extra_cost[x])
                x += 1
            end = min(at + tile, last)
            if x < extra.shape[0]:
                end = min(end, extra[x, 0])
            own = 0
            for g in range(groups.shape[0]):
                first = max(at + 1, plain)  # no plain pick ends before
                width, start = end + 1 - first, first - plain
                slot, early = groups[g, SLOT], oldest[groups[g, REACH]]
                into = groups[g, FIRST_ENTER]
                for b in range(groups[g, FIRST_LEAVE], groups[g, END_LEAVE] if width > 0 else 0):
                    into = _join_starts_before(
                        groups[g], enters, enter_cost, price[g], sums, early, change, ready[slot], start, width,
                        leaves[b, 1] - plain, into, own, run, since,
                    )  # fmt: skip
                    if into > groups[g, FIRST_ENTER]:
                        c = first + groups[g, SHIFT] - leaves[b, 1]
                        q = groups[g, SUMS] + leaves[b, 0] * groups[g, COLUMNS] + c
                        _end(
                            run[own + c : own + c + width],
                            since[own + c : own + c + width],
                            sums[q : q + width],
                            leave_cost[b] + length[plain],
                            early[first : first + width],
                            best[slot, first : first + width],
                        )
                own += groups[g, COLUMNS]
            for j in range(at + 1, end):
                _meet(best, j, pair, dearest, False, beside, ready, j)
            for g in range(groups.shape[0] if short else 0):
                slot = groups[g, SLOT]
                longest = _rooms(reach[groups[g, REACH]], at, end, ready[slot], room)
                for a in range(groups[g, FIRST_ENTER], groups[g, END_ENTER] if longest > 0 else 0):
                    column = groups[g, SUMS] + at + groups[g, SHIFT] - enters[a, 1]
                    entered = False
                    for b in range(groups[g, FIRST_LEAVE], groups[g, END_LEAVE]):
                        m = leaves[b, 1] - enters[a, 1]
                        if m > longest or m >= plain:
                            break
                        if m <= 0 or length[m] == FAR:
                            continue
                        if not entered:
                            q = column + enters[a, 0] * groups[g, COLUMNS]
                            _start(
                                ready[slot, at : at + LANES],
                                change[at : at + LANES],
                                sums[q : q + LANES],
                                enter_cost[a] + price[g],
                                value,
                            )
                            entered = True
                        q = column + leaves[b, 0] * groups[g, COLUMNS]
                        there = best[slot, at + m : at + m + LANES]
                        _lower(value, sums[q : q + LANES], there, room, m, leave_cost[b] + length[m])
            at = end


@compiled(_TABLES, _PAIRS, "i8", _ROOM, F42, F42)
def backward(tables, pairs, tile, work, best, behind):  # type: ignore[no-untyped-def]
    """Least cost of covering the class from each node on.

    Args:
        pairs: the other way round: (slot after, slot before).
        best: (S, n + 1 + LANES) the next pick is of that slot.
        behind: (S, n + 1 + LANES) the last pick was of that slot.
    """
    groups, enters, enter_cost, leaves, leave_cost, _, price, sums = tables[:8]
    reach, _, length, plain, change, stretch = tables[8:]
    pair, dearest, extra, extra_cost = pairs
    nodes = change.shape[0] - 1 - LANES
    run, since, value, room, beside = work
    run[:], since[:] = FAR, nodes + 1
    short = _any_below(length, plain)
    best[:] = FAR
    behind[:] = FAR
    behind[:, nodes] = 0
    x = extra.shape[0] - 1
    for k in range(stretch.shape[0] - 1, -1, -1):
        first, end = stretch[k, 0], stretch[k, 1]
        if k + 1 < stretch.shape[0]:
            _meet(best, stretch[k + 1, 0], pair, dearest, True, beside, behind, end)
        while end > first:
            while x >= 0 and extra[x, 0] >= end:
                x -= 1
            at = max(end - tile, first)
            if x >= 0:
                at = max(at, extra[x, 0])
            own = 0
            for g in range(groups.shape[0]):
                slot, far = groups[g, SLOT], reach[groups[g, REACH]]
                longest = 0
                room[:] = 0
                for j in range(at, end):
                    room[j - at] = far[j] - j
                    longest = max(longest, far[j] - j)
                out = groups[g, END_LEAVE] - 1
                for a in range(groups[g, END_ENTER] - 1, groups[g, FIRST_ENTER] - 1, -1):
                    out = _join_ends_after(
                        groups[g], leaves, leave_cost, sums, far, length, plain, behind[slot], at, end, enters[a, 1],
                        out, own, run, since,
                    )  # fmt: skip
                    if longest <= 0:
                        continue
                    column = groups[g, SUMS] + at + groups[g, SHIFT] - enters[a, 1]
                    c = own + at + groups[g, SHIFT] - enters[a, 1]
                    value[:] = FAR
                    _carried(run[c : c + end - at], since[c : c + end - at], far[at:end], value)
                    for b in range(groups[g, FIRST_LEAVE], groups[g, END_LEAVE] if short else 0):
                        m = leaves[b, 1] - enters[a, 1]
                        if m > longest or m >= plain:
                            break
                        if m <= 0 or length[m] == FAR:
                            continue
                        q = column + leaves[b, 0] * groups[g, COLUMNS]
                        there = behind[slot, at + m : at + m + LANES]
                        _lower(there, sums[q : q + LANES], value, room, m, leave_cost[b] + length[m])
                    q = column + enters[a, 0] * groups[g, COLUMNS]
                    _start(value, change[at : at + LANES], sums[q : q + LANES], enter_cost[a] + price[g], value)
                    _least(value[: end - at], best[slot, at:end])
                own += groups[g, COLUMNS]
            for j in range(end - 1, at, -1):
                _meet(best, j, pair, dearest, False, beside, behind, j)
            while x >= 0 and extra[x, 0] == at:
                slot = extra[x, 2]
                best[slot, at] = min(best[slot, at], change[at] + extra_cost[x] + behind[slot, extra[x, 1]])
                x -= 1
            if at > first:
                _meet(best, at, pair, dearest, False, beside, behind, at)
            end = at


@compiled(_TABLES, F42, F42, "f4", "f4", _ROOM, struct(F42, I42, I8, "b1[::1]", F4), I8, I42, F4, gives="i8")
def collect(tables, ready, behind, limit, width, work, by_length, histogram, found, cost):  # type: ignore[no-untyped-def]
    """Picks through which a chain of at most `limit` can go, the best cut for each track, start and length.

    Counts them by that chain's cost in bins of `width` below the limit (the last bin is the dearest), writes as many
    as fit into `found` (M, 2), as start node and number of the pick, and the cost into `cost`; gives how many.
    `ready` and `behind` are (S, n + 1 + LANES), as forward and backward make them. `by_length` is room: least and code
    (L + 1, LANES), lengths and is_known (L + 1,), with L the largest SHIFT; onward (LANES,).
    """
    groups, enters, enter_cost, leaves, leave_cost, pick, price, sums = tables[:8]
    reach, _, length, plain, change, _ = tables[8:]
    nodes = change.shape[0] - 1 - LANES
    run, since, value, room, _ = work
    least, code, lengths, is_known, onward = by_length
    run[:], since[:], least[:], is_known[:], known = FAR, nodes + 1, FAR, False, 0
    within = np.float32(limit + ROUNDED * (1 + abs(limit)))
    count = 0
    for at in range((nodes - 1) // LANES * LANES, -1, -LANES):
        end = min(at + LANES, nodes)
        own = 0
        for g in range(groups.shape[0]):
            slot, far = groups[g, SLOT], reach[groups[g, REACH]]
            longest = _rooms(far, at, end, ready[slot], room)
            lowest = FAR
            for j in range(at, end):
                lowest = min(lowest, ready[slot, j] + change[j])
            possible = lowest + price[g] <= limit and longest > 0
            out = groups[g, END_LEAVE] - 1
            for a in range(groups[g, END_ENTER] - 1, groups[g, FIRST_ENTER] - 1, -1):
                out = _join_ends_after(
                    groups[g], leaves, leave_cost, sums, far, length, plain, behind[slot], at, end, enters[a, 1], out,
                    own, run, since,
                )  # fmt: skip
                if not possible:
                    continue
                column = groups[g, SUMS] + at + groups[g, SHIFT] - enters[a, 1]
                q = column + enters[a, 0] * groups[g, COLUMNS]
                _start(
                    ready[slot, at : at + LANES],
                    change[at : at + LANES],
                    sums[q : q + LANES],
                    enter_cost[a] + price[g],
                    value,
                )
                c = own + at + groups[g, SHIFT] - enters[a, 1]
                onward[:] = FAR
                _carried(run[c : c + end - at], since[c : c + end - at], far[at:end], onward)
                last = longest if _within(value, onward, within) > 0 else min(longest, plain - 1)
                for b in range(groups[g, FIRST_LEAVE], groups[g, END_LEAVE]):
                    m = leaves[b, 1] - enters[a, 1]
                    if m > last:
                        break
                    if m <= 0 or length[m] == FAR:
                        continue
                    if not is_known[m]:
                        lengths[known], is_known[m] = m, True
                        known += 1
                    q = column + leaves[b, 0] * groups[g, COLUMNS]
                    _improve(
                        value,
                        sums[q : q + LANES],
                        least[m],
                        code[m],
                        room,
                        m,
                        leave_cost[b] + length[m],
                        pick[a] + b - groups[g, FIRST_LEAVE],
                    )
            for m in lengths[:known]:
                there = behind[slot, at + m : at + m + LANES]
                if _within(least[m], there, limit) > 0:
                    for lane in range(LANES):
                        total = least[m, lane] + there[lane]
                        if total <= limit:
                            bin_ = histogram.shape[0] - 1 - int((limit - total) / width)
                            histogram[max(0, bin_)] += 1
                            if count < found.shape[0]:
                                found[count, 0] = at + lane
                                found[count, 1] = code[m, lane]
                                cost[count] = total
                            count += 1
                least[m] = FAR
                is_known[m] = False
            known = 0
            own += groups[g, COLUMNS]
    return count


@compiled(F4, F4, F4, F4, F4, F8)
def _add_errors(energy, target, low, high, slope, sums):  # type: ignore[no-untyped-def]
    """Add what each of some seconds costs to a sum of its own, in full precision."""
    for lane in range(sums.shape[0]):
        error = np.float64(energy[lane]) - np.float64(target[lane])
        above, below = np.float64(high[lane]), np.float64(low[lane])
        weight = above if error > 0 else below
        sums[lane] += weight * error * error + np.float64(slope[lane]) * np.float64(energy[lane])


@compiled(_MUSIC, I8, I8, I8, F8, F8)
def measure(music, start, length, place, sums, cost):  # type: ignore[no-untyped-def]
    """What single picks cost for their energy and the meetings in them, in full precision.

    Args:
        start, length: nodes, shape (M,) each.
        place: index into `energy` of the first second, shape (M,).
        sums: room, shape (LANES,).
        cost: shape (M,), written.
    """
    energy, _, target, low, high, slope, meet, meet_cost, apart = music
    step = target.shape[0]
    for x in range(start.shape[0]):
        k, j, end = place[x], start[x], start[x] + length[x]
        sums[:] = 0.0
        while step == 1 and j + LANES <= end:
            to = j + LANES
            _add_errors(energy[k : k + LANES], target[0, j:to], low[0, j:to], high[0, j:to], slope[0, j:to], sums)
            j, k = to, k + LANES
        total = sums.sum()
        while j < end:
            for p in range(step):
                error = np.float64(energy[k]) - np.float64(target[p, j])
                total += (high[p, j] if error > 0 else low[p, j]) * error * error + slope[p, j] * energy[k]
                k += 1
            j += 1
        for m in range(meet.shape[0]):
            after = meet[m, 1] - start[x]
            if 0 <= after < length[x]:
                total += np.float64(meet_cost[m]) * apart[meet[m, 2], place[x] + after * step + meet[m, 0]]
        cost[x] = total


@compiled(F4, F4, "f4", F4)
def _entered(ready, sums, cost, value):  # type: ignore[no-untyped-def]
    """Cost of having entered a track at each node."""
    for j in range(ready.shape[0]):
        value[j] = ready[j] - sums[j] + cost


@compiled(F4, I4, F4, I4)
def _may_leave(value, oldest, run, since):  # type: ignore[no-untyped-def]
    """Let the picks entered at node j join the cheapest on their diagonals, or replace one that can't go on past j."""
    for j in range(value.shape[0]):
        better = (value[j] < run[j]) | (since[j] < oldest[j + 1])
        run[j] = value[j] if better else run[j]
        since[j] = j if better else since[j]


@compiled(F4, I4, F4, F4, I4, "f4", F4)
def _left(run, since, sums, behind, oldest, cost, best):  # type: ignore[no-untyped-def]
    """Cost of the best chain whose pick ends at each node."""
    for j in range(behind.shape[0]):
        total = run[j] + sums[j] + behind[j] + cost
        better = (since[j] >= oldest[j]) & (total < best[j])
        best[j] = total if better else best[j]


_CUTS = struct(I8, I8, F4, I8, I8, F4, I8)
"""offset, enter_at, enter_cost, enter_offset, leave_at, leave_cost, leave_offset, as `Problem` has them, weighted"""


@compiled(
    _MUSIC, _CUTS, struct(F42, F42), struct(I42, I4), F4, I8, F4, F4, "i8", I8, struct(F4, F4, I4, F42, F4, F4), F42
)
def price_tracks(music, cut_points, zones, bans, track_cost, who, ready, behind, shortest, bin_of, work, best):  # type: ignore[no-untyped-def]
    """Least cost of a chain through each track of `who`, by the bin of the node at which its pick ends.

    A diagonal at a time in the track's length: the cheapest start so far is carried along it, so that a track costs its
    cut points plus its seconds, not the pairs of its cut points. Costs of length are left out; picks below `shortest`
    seconds too.

    Args:
        zones: zone_cost and zone_seconds, as `Grid` has them.
        bans: oldest (P, n + 2), the first node from which a pick may play to a node, and the row of each track.
        ready: (n + 1,) least cost up to a node, the change there included.
        behind: (n + 1,) least cost from a node on.
        work: room: total, run and since, (n + 2 + L,) with L the most nodes of a track; value, a row for each enter of
            a track and one more, least and zone, (n + 1,) each.
        best: (len(who), bins).
    """
    energy, spread, target, low, high, slope, meet, meet_cost, apart = music
    offset, enter_at, enter_cost, enter_offset, leave_at, leave_cost, leave_offset = cut_points
    zone_cost, zone_seconds = zones
    oldest, oldest_row = bans
    step, nodes = target.shape
    total, run, since, value, least, zone = work  # in the last row of `value`: what lies behind, with zones
    cuts = value.shape[0] - 1
    for w in range(who.shape[0]):
        i = who[w]
        least[:] = FAR
        costly = False
        for z in range(zone_cost.shape[0]):
            costly = costly or zone_cost[z, i] != 0
        if costly:
            zone[:] = 0
            for z in range(zone_cost.shape[0]):
                _add_times(zone_cost[z, i], zone_seconds[z], zone)
        first_in, end_in = enter_offset[i], enter_offset[i + 1]
        first_out, end_out = leave_offset[i], leave_offset[i + 1]
        early = oldest[oldest_row[i]]
        for rest in range(step if end_in > first_in and end_out > first_out and track_cost[i] < FAR else 0):
            meets = False
            for a in range(first_in, end_in):
                meets = meets or (enter_at[a] - rest) % step == 0
            if not meets:
                continue
            shift = max(0, leave_at[end_out - 1] - rest) // step
            total[: shift + nodes + 1] = 0
            run[: shift + nodes + 1] = FAR
            since[: shift + nodes + 1] = -1
            a, ready_a, b = first_in, first_in, first_out
            for k in range(enter_at[first_in], leave_at[end_out - 1] + 1):
                on_node = (k - rest) % step == 0
                q = shift - (k - rest) // step
                if a < end_in and enter_at[a] == k:
                    if on_node:
                        sums = total[q : q + nodes + 1]
                        _entered(ready, sums, enter_cost[a] + track_cost[i], value[a - first_in])
                        if costly:
                            _add_times(-1.0, zone, value[a - first_in])
                    a += 1
                while b < end_out and leave_at[b] <= k:
                    if leave_at[b] == k and on_node:
                        while ready_a < a and enter_at[ready_a] <= k - shortest:
                            if (enter_at[ready_a] - rest) % step == 0:
                                s = shift - (enter_at[ready_a] - rest) // step
                                _may_leave(
                                    value[ready_a - first_in], early, run[s : s + nodes + 1], since[s : s + nodes + 1]
                                )
                            ready_a += 1
                        if costly:
                            _copy(behind, value[cuts])
                            _add(zone, value[cuts])
                        _left(
                            run[q : q + nodes + 1],
                            since[q : q + nodes + 1],
                            total[q : q + nodes + 1],
                            value[cuts] if costly else behind,
                            early,
                            leave_cost[b],
                            least,
                        )
                    b += 1
                if k < leave_at[end_out - 1]:
                    second = offset[i] + k
                    hidden = spread[second] if spread.shape[0] > 1 else np.float32(0)
                    p = (k - rest) % step
                    _add_second(energy[second], hidden, target[p], low[p], high[p], slope[p], total[q : q + nodes])
                    _add_meetings(meet, meet_cost, apart, second, p, total[q : q + nodes])
        for j in range(nodes + 1):
            if least[j] < best[w, bin_of[j]]:
                best[w, bin_of[j]] = least[j]
