"""Change one pick and keep the arc: ranked replacements with their effect in words, pins, undo."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from audio.track import Track
from pairing.alignment import frame, marks
from pairing.alignment.refine import Exact
from pairing.alignment.sedative import judge
from pairing.alignment.task import Task
from pairing.deeds import command
from pairing.errors import SetError
from pairing.model import LookUp, Pick, SetList, Swap
from pairing.sets import why
from pairing.sets.history import changed
from pairing.sets.redo import leaving_out, on_grid, remade, task_of
from pairing.solve.costs import evaluate
from pairing.solve.polish import alternatives as replacements
from pairing.solve.problem import Answer, Chosen
from pairing.temper import A_LITTLE, livelier_by

SHORTLIST = 300  # tracks that are priced; a larger library is first thinned by mean energy
NOTICED_S = 5

Wish = Literal["quieter", "livelier", "longer"]


@dataclass(frozen=True, slots=True, eq=False)
class Alternative:
    """A replacement for one pick.

    Attributes:
        track: what would play instead.
        setlist: the whole set after the change; its total is the same to the second.
        effect: what changes, in words.
        rmse_change, correlation_change: of the fit; above 0 is a larger error, a closer course.
        cost_change: of the whole objective; the order of the list.
    """

    track: Track
    setlist: SetList
    effect: str
    rmse_change: float
    correlation_change: float
    cost_change: float


def alternatives(
    setlist: SetList,
    n: int,
    tracks: Sequence[Track],
    *,
    wish: Wish | None = None,
    limit: int = 12,
    offers: Callable[[Track], bool] = lambda _: True,
) -> tuple[Alternative, ...]:
    """Replacements for pick `n`, best first; neighbours may be trimmed anew, everything else stays.

    Args:
        setlist: the set.
        n: number of the pick, from 1.
        tracks: the library.
        wish: only tracks that are quieter, livelier, or played for longer than this one.
        limit: how many at most.
        offers: whether a track can be had now.
    Raises:
        SetError: there is no such pick.
    """
    pick_of(setlist, n)
    bench = _bench(setlist, n, tracks)
    meant: list[tuple[float, tuple[Chosen, ...]]] = []
    for most in (limit if wish is None else 10 * limit, len(bench.task.tracks)):
        priced = bench.priced(most, wish)
        meant = [each for each in priced if offers(bench.track(each[1])) and _meets(bench, each[1], wish)]
        if len(meant) >= limit or len(priced) < most:
            break
    found = [_alternative(setlist, bench, chosen, cost, wish) for cost, chosen in meant[:limit]]
    return tuple(sorted(found, key=lambda each: each.cost_change))


def swap(setlist: SetList, n: int, track_id: int, tracks: Sequence[Track], wish: Wish | None = None) -> SetList:
    """Put a track of the library in the place of pick `n`, as it is offered under a wish; swapping back restores the
    picks.

    Raises:
        SetError: no such pick or track, or the track can't stand there; says why.
    """
    pick = pick_of(setlist, n)
    track = next((each for each in tracks if each.id == track_id), None)
    if track is None:
        raise SetError(
            f"none of your tracks has the number {track_id}.",
            remedy="Look it up among your tracks.",
            command=command(LookUp()),
        )
    if track.fingerprint == pick.fingerprint:
        return setlist
    before, left_out = setlist, set(setlist.options.exclude)
    if track_id in left_out:  # asked for by name: it is let back
        setlist = leaving_out(setlist, left_out - {track_id})
    earlier = _earlier(setlist, n, track, wish)
    if earlier is not None:
        return changed(before, earlier, _what(n))
    bench = _bench(setlist, n, tracks, track)
    best = next((chosen for _, chosen in bench.priced(1, wish, alone=track)), None)
    if best is None:
        raise SetError(_why_not(setlist, pick, track), remedy="See what can.", command=command(Swap(n)))
    return changed(before, _after(setlist, bench, best), _what(n))


def pin(setlist: SetList, n: int) -> SetList:
    """Keep pick `n` through every later change."""
    return _pinned(setlist, n, True, f"pinning track {n}")


def unpin(setlist: SetList, n: int) -> SetList:
    """Let pick `n` be changed again."""
    return _pinned(setlist, n, False, f"unpinning track {n}")


@dataclass(frozen=True, slots=True, eq=False)
class _Bench:
    """A set laid out for the solver, with one pick to replace."""

    setlist: SetList
    task: Task
    exact: dict[int, Exact]
    chosen: tuple[Chosen, ...]
    index: int

    def track(self, chosen: Sequence[Chosen]) -> Track:
        """The track that a chain has in the place of the pick."""
        return self.task.tracks[chosen[self.index].track]

    def priced(
        self, limit: int, wish: Wish | None, *, alone: Track | None = None
    ) -> list[tuple[float, tuple[Chosen, ...]]]:
        """Cheapest first: cost against now, and the whole chain; of one track alone, or of all."""
        track = None if alone is None else self.task.index(alone.fingerprint)
        if alone is not None and track is None:
            return []
        now = sum(evaluate(self.task.problem, self.chosen).values())
        answer = Answer(self.chosen, now, 0.0, {}, (), False)
        old = self.chosen[self.index]
        least_s = old.end - old.start + NOTICED_S if wish == "longer" else 0
        found = replacements(self.task.problem, answer, self.index, limit=limit, alone=track, least_s=least_s)
        return [(each.cost_change, each.chosen) for each in found]

    def gap(self, chosen: tuple[Chosen, ...]) -> float:
        """How far the set with a chain lies over its bound, which stays where it is: the class is the same."""
        now, then = (sum(evaluate(self.task.problem, each).values()) for each in (self.chosen, chosen))
        if not (now > 0 and np.isfinite(then)):
            return self.setlist.fit.gap
        return round(max(float((1 + self.setlist.fit.gap) * then / now - 1), 0.0), 5)

    def as_it_was(self, earlier: SetList, offered: tuple[Chosen, ...], cost: float) -> tuple[tuple[Chosen, ...], float]:
        """The chain of an earlier state and its cost against now; what is offered where that can't be told."""
        former = on_grid(self.task, earlier.picks)
        total = sum(evaluate(self.task.problem, former).values())
        if not np.isfinite(total):
            return offered, cost
        return former, float(total - sum(evaluate(self.task.problem, self.chosen).values()))


def _bench(setlist: SetList, n: int, tracks: Sequence[Track], asked: Track | None = None) -> _Bench:
    """The set laid out for one pick among the same tracks for a list and for one that is asked for.

    What may stand where, and where a track can be cut, depends on the tracks that there are.
    """
    shape = frame.of_set(setlist)
    others = [pick for pick in setlist.picks if pick.pinned and pick.n != n]
    first, last = setlist.picks[max(n - 2, 0)], setlist.picks[min(n, len(setlist.picks) - 1)]
    only = shape.grid(first.class_start_s), shape.grid(last.class_end_s)
    task, exact = task_of(setlist, shape, _thinned(setlist, n, tracks, asked), setlist.picks, others, only=only)
    return _Bench(setlist, task, exact, on_grid(task, setlist.picks), n - 1)


def _thinned(setlist: SetList, n: int, tracks: Sequence[Track], asked: Track | None) -> Sequence[Track]:
    """The tracks of a large library whose mean energy is nearest to what the pick's place asks for."""
    if len(tracks) <= SHORTLIST:
        return tracks
    pick = setlist.picks[n - 1]
    target = setlist.target_energy[max(int(pick.class_start_s), 0) : max(int(pick.class_end_s), 1)]
    wanted = float(np.nanmean(target)) if np.isfinite(target).any() else 0.3
    here = {pick.fingerprint for pick in setlist.picks}
    usable = [track for track in tracks if track.fingerprint not in here]
    usable.sort(key=lambda track: (abs(marks.mean_energy(track) - wanted), track.id))
    near = usable[:SHORTLIST]
    if asked is not None and asked.fingerprint not in here and asked not in near:
        near.append(asked)
    return [*(track for track in tracks if track.fingerprint in here), *near]


def pick_of(setlist: SetList, n: int) -> Pick:
    """Pick `n`, from 1.

    Raises:
        SetError: there is no such pick.
    """
    if not 1 <= n <= len(setlist.picks):
        raise SetError(f"there is no track {n} in this class.", remedy=f"It has tracks 1 to {len(setlist.picks)}.")
    return setlist.picks[n - 1]


def _meets(bench: _Bench, chosen: Sequence[Chosen], wish: Wish | None) -> bool:
    old, new = bench.chosen[bench.index], chosen[bench.index]
    if wish is None:
        return True
    if wish == "longer":
        return new.end - new.start >= old.end - old.start + NOTICED_S
    change = _mean_energy(bench, new) - _mean_energy(bench, old)
    return change >= A_LITTLE if wish == "livelier" else change <= -A_LITTLE


def _mean_energy(bench: _Bench, pick: Chosen) -> float:
    first = int(bench.task.problem.offset[pick.track]) + pick.enter
    return float(bench.task.problem.energy[first : first + pick.end - pick.start].mean())


def _alternative(
    setlist: SetList, bench: _Bench, chosen: tuple[Chosen, ...], cost: float, wish: Wish | None
) -> Alternative:
    """What taking a track would make of the set: as it was before, if that only takes a swap back."""
    track = bench.track(chosen)
    earlier = _earlier(setlist, bench.index + 1, track, wish)
    if earlier is not None:
        chosen, cost = bench.as_it_was(earlier, chosen, cost)
    after = earlier or _after(setlist, bench, chosen)
    return Alternative(
        track=track,
        setlist=changed(setlist, after, _what(bench.index + 1)),
        effect=_effect(bench, chosen, after),
        rmse_change=round(after.fit.rmse - setlist.fit.rmse, 5),
        correlation_change=round(after.fit.correlation - setlist.fit.correlation, 5),
        cost_change=round(cost, 4),
    )


def _effect(bench: _Bench, chosen: Sequence[Chosen], after: SetList) -> str:
    old, new = bench.chosen[bench.index], chosen[bench.index]
    change = _mean_energy(bench, new) - _mean_energy(bench, old)
    apart = livelier_by(change)
    words = [f"{apart} than now" if apart else "as lively as now"]
    error = after.fit.rmse - bench.setlist.fit.rmse
    words.append("follows the class as well" if abs(error) < 0.002 else f"follows the class {_closer(error)}")
    was, now = why.met(bench.task, old), why.met(bench.task, new)
    words += [said for said in now if said not in was] + [f"no longer {said}" for said in was if said not in now]
    longer = (new.end - new.start) - (old.end - old.start)
    if abs(longer) >= NOTICED_S:
        words.append(f"plays {abs(longer)} s {'longer' if longer > 0 else 'shorter'}")
    moved = sorted({"before" if i < bench.index else "after" for i in _moved(bench, chosen)}, key="before after".find)
    several = "s" if len(moved) > 1 else ""
    trimmed = f"the track{several} {' and '.join(moved)} {'are' if several else 'is'} cut differently"
    words.append(trimmed if moved else "the tracks around it stay as they are")
    return ", ".join(words)


def _closer(error: float) -> str:
    return "more closely" if error < 0 else "a little less closely" if error < 0.01 else "less closely"


def _moved(bench: _Bench, chosen: Sequence[Chosen]) -> list[int]:
    pairs = enumerate(zip(bench.chosen, chosen, strict=True))
    return [index for index, (one, two) in pairs if index != bench.index and one != two]


def _after(setlist: SetList, bench: _Bench, chosen: tuple[Chosen, ...]) -> SetList:
    """The set with a chain that the solver offers in its place."""
    whys = {pick.fingerprint: pick.why for pick in setlist.picks}
    new = chosen[bench.index]
    whys[bench.track(chosen).fingerprint] = why.reason(bench.task, new)
    pinned = frozenset(pick.fingerprint for pick in setlist.picks if pick.pinned and pick.n != bench.index + 1)
    exact = {second: known for second, known in bench.exact.items() if second in _starts(chosen)}
    went, came = bench.setlist.picks[bench.index].fingerprint, bench.track(chosen).fingerprint
    swapped = (*(mark for mark in setlist.options.swapped if mark not in (went, came)), came)
    setlist = replace(setlist, options=replace(setlist.options, swapped=swapped))
    made = remade(setlist, bench.task, chosen, exact, whys, pinned)
    return replace(made, fit=replace(made.fit, gap=bench.gap(chosen)))


def _starts(chosen: Sequence[Chosen]) -> set[int]:
    return {pick.start for pick in chosen}


def _why_not(setlist: SetList, pick: Pick, track: Track) -> str:
    standing = next((each for each in setlist.picks if each.fingerprint == track.fingerprint), None)
    if standing is not None:
        return f'"{track.title}" is track {standing.n} already, and no track plays twice.'
    rest = setlist.rest
    if rest is not None and rest.start_s - 0.01 <= pick.class_start_s < rest.end_s:
        candidate = judge(track)
        if not candidate.fit:
            return f'"{track.title}" doesn\'t suit a rest: {", ".join(candidate.reasons)}.'
    length = pick.class_end_s - pick.class_start_s
    if track.analysis.duration_s < length:
        return f'"{track.title}" is too short for this place, even if the tracks around it are cut differently.'
    return f'"{track.title}" can\'t play there: the plan asks for other music (voice, folder or beat).'


def _earlier(setlist: SetList, n: int, track: Track, wish: Wish | None) -> SetList | None:
    """The set as it was before, if swapping in this track only takes a swap back."""
    if wish == "longer":
        return None
    wanted = [pick.fingerprint for pick in setlist.picks]
    wanted[n - 1] = track.fingerprint
    for was in (former.was for former in reversed(setlist.previous)):
        same = was.rest == setlist.rest and was.frame == setlist.frame and was.plan == setlist.plan
        if same and [pick.fingerprint for pick in was.picks] == wanted:
            return replace(was, picks=_pinned_as_now(was.picks, setlist.picks), options=setlist.options)
    return None


def _pinned_as_now(picks: Sequence[Pick], now: Sequence[Pick]) -> tuple[Pick, ...]:
    return tuple(replace(pick, pinned=other.pinned) for pick, other in zip(picks, now, strict=True))


def _pinned(setlist: SetList, n: int, value: bool, what: str) -> SetList:
    pick = pick_of(setlist, n)
    swapped = setlist.options.swapped
    if not value:
        swapped = tuple(mark for mark in swapped if mark != pick.fingerprint)
    if pick.pinned == value and swapped == setlist.options.swapped:
        return setlist
    picks = (*setlist.picks[: n - 1], replace(pick, pinned=value), *setlist.picks[n:])
    after = replace(setlist, picks=picks, options=replace(setlist.options, swapped=swapped))
    return changed(setlist, after, what)


def _what(n: int) -> str:
    return f"swapping track {n}"
