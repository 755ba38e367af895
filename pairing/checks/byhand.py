"""Advice against what the teacher did: who pinned a track or swapped it in isn't told to swap it."""

from collections.abc import Iterable, Iterator
from dataclasses import replace

from pairing.model import Finding, SetList, Swap

KEPT = "You chose this track yourself. If you want it there, leave it."


def is_by_hand(setlist: SetList, n: int) -> bool:
    """Whether the teacher pinned track `n` of the class, or swapped it in."""
    pick = next((pick for pick in setlist.picks if pick.n == n), None)
    return pick is not None and (pick.pinned or pick.fingerprint in setlist.options.swapped)


def without_swaps(setlist: SetList, findings: Iterable[Finding]) -> Iterator[Finding]:
    """The findings, none of which would have a track swapped that was put there by hand, unless it must be."""
    for finding in findings:
        kept = tuple(deed for deed in finding.deeds if not (isinstance(deed, Swap) and is_by_hand(setlist, deed.n)))
        if finding.level == "must" or kept == finding.deeds:
            yield finding
        else:
            yield replace(finding, remedy=finding.remedy if kept else KEPT, deeds=kept)
