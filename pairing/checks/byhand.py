"""Advice against what the teacher did: who pinned a track or swapped it in isn't told to swap it."""

from collections.abc import Iterable, Iterator
from dataclasses import replace

from pairing.model import Finding, Pick, SetList, Swap


def is_by_hand(setlist: SetList, n: int) -> bool:
    """Whether the teacher pinned track `n` of the class, or swapped it in."""
    pick = _pick(setlist, n)
    return pick is not None and (pick.pinned or pick.fingerprint in setlist.options.swapped)


def without_swaps(setlist: SetList, findings: Iterable[Finding]) -> Iterator[Finding]:
    """The findings, none of which would have a track swapped that was put there by hand, unless it must be."""
    for finding in findings:
        chosen = [deed for deed in finding.deeds if isinstance(deed, Swap) and is_by_hand(setlist, deed.n)]
        if finding.level == "must" or not chosen:
            yield finding
            continue
        kept = tuple(deed for deed in finding.deeds if deed not in chosen)
        yield replace(finding, remedy=finding.remedy if kept else _leave(setlist, finding, chosen[0].n), deeds=kept)


def _leave(setlist: SetList, finding: Finding, n: int) -> str:
    pick = _pick(setlist, n)
    which = "this track" if pick is None or n in finding.where.tracks else f'"{pick.title}"'
    return f"You chose {which} yourself. If you want it there, leave it."


def _pick(setlist: SetList, n: int) -> Pick | None:
    return next((pick for pick in setlist.picks if pick.n == n), None)
