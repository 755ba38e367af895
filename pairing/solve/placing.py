"""The compiled loop behind `orders`: tracks offered one after the other, each heard once at its best or not at all."""

import numpy as np

from pairing.solve.compiling import F8, F82, I4, I8, I42, I82, compiled

NONE, BARE = -1, -2  # codes of a node that a step left alone, and of one reached without music
FAR = np.inf


@compiled(F8, F8, F8, I4, "i8", "f8", "i4", I4)
def _heard(value, level, best, room, length, cost, code, codes):  # type: ignore[no-untyped-def]
    """Lower the cost of the node at which a pick of `length` ends, wherever it has room."""
    for s in range(best.shape[0] - length):
        total = value[s] + level[s + length] + cost
        better = (length <= room[s]) & (total < best[s + length])
        best[s + length] = total if better else best[s + length]
        codes[s + length] = code if better else codes[s + length]


@compiled(F8, F8, I82, F8, I4)
def _onward(best, bare, pins, pin_cost, codes):  # type: ignore[no-untyped-def]
    """What needs no track: seconds without music, at their cost, and pins."""
    x = 0
    for s in range(best.shape[0] - 1):
        while x < pins.shape[0] and pins[x, 0] <= s:
            if pins[x, 0] == s and best[s] + pin_cost[x] < best[pins[x, 1]]:
                best[pins[x, 1]] = best[s] + pin_cost[x]
                codes[pins[x, 1]] = x
            x += 1
        if best[s] + bare[s] < best[s + 1]:
            best[s + 1] = best[s] + bare[s]
            codes[s + 1] = BARE


@compiled(I8, "i8", I8, I8, F8, I42, I4, F82, F8, F8, I82, F8, F8, I4, F82, I42, I42)
def place(  # type: ignore[no-untyped-def]
    order,
    first,
    length_offset,
    length,
    cost,
    reach,
    reach_row,
    level,
    start,
    bare,
    pins,
    pin_cost,
    value,
    room,
    best,
    heard,
    onward,
):
    """Least cost of covering the class up to each node with the tracks of an order, each in its turn or not at all.

    Args:
        order: (K,) slots; those before place `first` are taken as placed, as the rows of a former call say.
        length_offset, length, cost: nodes for which a slot can be heard, ascending, and what that costs; slot by slot.
        reach, reach_row: the last node to which a slot may play from each node.
        level: (S, n + 1) cost of a slot's music up to each node; start: (n + 1,) of a hand-over.
        bare: (n,) cost of a node without music, inf if there must be some; pins: (X, 2) ascending by start.
        value, room: room, (n + 1,) each.
        best: (K + 1, n + 1) least costs after each turn; row 0 is before any track.
        heard, onward: the same shape: the length (its place in `length`), or the pin, that reaches a node; else a code.
    """
    nodes = best.shape[1] - 1
    if first == 0:
        best[0, :] = FAR
        best[0, 0] = 0
        onward[0, :] = NONE
        _onward(best[0], bare, pins, pin_cost, onward[0])
    for k in range(first, order.shape[0]):
        slot = order[k]
        heard[k + 1, :] = NONE
        onward[k + 1, :] = NONE
        for s in range(nodes + 1):
            best[k + 1, s] = best[k, s]
            value[s] = best[k, s] + start[s] - level[slot, s]
            room[s] = reach[reach_row[slot], s] - s
        for x in range(length_offset[slot], length_offset[slot + 1]):
            _heard(value, level[slot], best[k + 1], room, length[x], cost[x], x, heard[k + 1])
        _onward(best[k + 1], bare, pins, pin_cost, onward[k + 1])
