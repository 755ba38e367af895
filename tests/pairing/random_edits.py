"""Random edits of a plan and of its set, as a teacher makes them over a week; every promise is kept or named.

What was decided by hand is looked up in the set before each step, and looked for in the set after it: its tracks by
their sound data, its flags, its part of the class.
"""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

import invented_music
import numpy as np

from audio.errors import ArcbedError
from audio.track import Track
from pairing.errors import NotEnoughMusic, PlanError
from pairing.model import PairOptions, Pick, SetList
from pairing.plan.read import read_plan
from pairing.sets.pair import pair
from pairing.sets.redo import leaving_out
from pairing.sets.rest import rebuild_rest
from pairing.sets.swap import alternatives, pin, swap, unpin
from pairing.workflow.plans import outline_of

PLAN = """# Harbour evening
slot: 26 minutes
start: 18:30

## Arrive: opening, 3 minutes
- easy seat

## Salutes: warm-up, 3 rounds
- sun salutation A

## Tide: flow, both sides, 2 rounds
- three-legged dog, 2 breaths
- warrior two, 5 breaths
- triangle, 4 breaths

## Crest: peak
- crow, 10 breaths
- side plank, 12 breaths

## Ebb: cool-down, 4 minutes
- seated forward fold

## Float: rest, 5 minutes, silent last 1 minute
- savasana
- bell
"""
NUMBERED = re.compile(r"(\d+) (breaths|minutes|rounds)")


@dataclass
class Week:
    """A set, its plan and its library on their way through random edits; `lost` gathers what was dropped unsaid."""

    seed: int
    tracks: list[Track] = field(default_factory=list)
    text: str = PLAN
    lost: list[str] = field(default_factory=list)
    named: int = 0
    kept: int = 0

    def __post_init__(self) -> None:
        self.rng = np.random.default_rng(self.seed)
        self.tracks = invented_music.library(26, seed=self.seed)
        self.setlist = self.paired(None, None)

    def paired(self, keep: SetList | None, promised: SetList | None) -> SetList:
        known = outline_of(read_plan(self.text, file="harbour.md"))
        return pair(known.plan, known.timetable, known.arc, self.tracks, PairOptions(), keep=keep, promised=promised)

    def step(self) -> str:
        """One edit; gives what it was."""
        name = str(self.rng.choice(list(EDITS), p=WEIGHTS))
        before, text = self.setlist, self.text
        try:
            EDITS[name](self)
        except (ArcbedError, NotEnoughMusic, PlanError):  # refused in words: nothing was changed
            self.setlist, self.text = before, text
            return f"{name}: refused"
        if name in ANEW:
            self.lost += [f"seed {self.seed}, {name}: {what}" for what in self._lost(before)]
        return name

    def any_pick(self) -> Pick:
        return self.setlist.picks[int(self.rng.integers(len(self.setlist.picks)))]

    def _lost(self, before: SetList) -> Iterator[str]:
        now, said = self.setlist, " ".join(f"{each.where} {each.message}" for each in self.setlist.findings)
        for pick in before.picks:
            swapped = pick.fingerprint in before.options.swapped
            if not (pick.pinned or swapped):
                continue
            held = any(new.fingerprint == pick.fingerprint and new.pinned >= pick.pinned for new in now.picks)
            held = held and (pick.fingerprint in now.options.swapped) >= swapped
            self.kept += held
            if not held and pick.title not in said:
                yield f'"{pick.title}" ({"pinned" if pick.pinned else "swapped in"}) went without a word'
            self.named += not held
        gone = set(before.options.exclude) & {pick.track_id for pick in now.picks}
        if gone or not set(before.options.exclude) <= set(now.options.exclude):
            yield f"tracks {gone} were left out and are back"
        yield from self._lost_rest(before, said)

    def _lost_rest(self, before: SetList, said: str) -> Iterator[str]:
        wish, rest = before.options.rest, self.setlist.rest
        assert rest is not None
        if wish.silence_s is not None and abs(rest.silence_s - wish.silence_s) > 1 and "silence" not in said:
            yield f"a silence of {wish.silence_s:.0f} s became {rest.silence_s:.0f} s"
        if wish.bells is not None:
            asked = {"start": rest.start_s, "end": rest.end_s}
            if [round(at) for at in rest.bells_s] != [round(asked[word]) for word in wish.bells]:
                yield f"bells at {wish.bells} became {rest.bells_s}"
        length = rest.end_s - rest.start_s
        if wish.minutes is not None and abs(length - 60 * wish.minutes) > 1 and "You had made it" not in said:
            yield f"a rest of {wish.minutes} minutes became one of {length / 60:.1f}"


def _anew(week: Week) -> None:
    keep = week.rng.random() < 0.7
    week.setlist = week.paired(week.setlist if keep else None, None if keep else week.setlist)


def _line(week: Week) -> None:
    found = list(NUMBERED.finditer(week.text))
    one = found[int(week.rng.integers(len(found)))]
    number = max(int(one[1]) + int(week.rng.integers(-2, 3)), 1)
    week.text = f"{week.text[: one.start()]}{number} {one[2]}{week.text[one.end() :]}"
    _anew(week)


def _slot(week: Week) -> None:
    week.text = re.sub(r"slot: \d+", f"slot: {int(week.rng.integers(20, 40))}", week.text)
    _anew(week)


def _start(week: Week) -> None:
    week.text = re.sub(r"start: [\d:]+", f"start: {int(week.rng.integers(7, 21))}:15", week.text)
    _anew(week)


def _energy(week: Week) -> None:
    heads = [line for line in week.text.splitlines() if line.startswith("## ")]
    head = str(week.rng.choice(heads))
    bare = re.sub(r", energy \d+%", "", head)
    week.text = week.text.replace(head, f"{bare}, energy {int(week.rng.integers(1, 10))}0%")
    _anew(week)


def _rename(week: Week) -> None:
    old, new = (str(word) for word in week.rng.choice(["Tide", "Crest", "Ebb", "Swell", "Race", "Slack"], 2))
    if f"## {new}:" not in week.text:
        week.text = week.text.replace(f"## {old}:", f"## {new}:")
    _anew(week)


def _pin(week: Week) -> None:
    week.setlist = pin(week.setlist, week.any_pick().n)


def _unpin(week: Week) -> None:
    week.setlist = unpin(week.setlist, week.any_pick().n)


def _swap(week: Week) -> None:
    n = week.any_pick().n
    offered = alternatives(week.setlist, n, week.tracks, limit=3)
    if offered:
        choice = offered[int(week.rng.integers(len(offered)))]
        week.setlist = swap(week.setlist, n, choice.track.id, week.tracks)


def _drop(week: Week) -> None:
    swapped = week.setlist.options.swapped
    free = [pick for pick in week.setlist.picks if not (pick.pinned or pick.fingerprint in swapped)]
    if free and len(week.setlist.options.exclude) < 4:
        dropped = free[int(week.rng.integers(len(free)))]
        without = leaving_out(week.setlist, {*week.setlist.options.exclude, dropped.track_id})
        week.setlist = week.paired(None, without)


def _rest(week: Week) -> None:
    minutes = float(week.rng.choice([4.0, 6.0])) if week.rng.random() < 0.3 else None
    silence = float(week.rng.choice([0.0, 60.0, 90.0])) if week.rng.random() < 0.5 else None
    bells = ["end"] if week.rng.random() < 0.5 else None
    week.setlist = rebuild_rest(week.setlist, week.tracks, minutes=minutes, silence_s=silence, bells=bells)


EDITS: dict[str, Callable[[Week], None]] = {
    "a line": _line,
    "the slot": _slot,
    "the hour": _start,
    "a wish for energy": _energy,
    "a part's name": _rename,
    "the rest": _rest,
    "leaving out": _drop,
    "a pin": _pin,
    "a swap": _swap,
    "unpinning": _unpin,
}
WEIGHTS = np.array([3, 1, 1, 2, 1, 2, 1, 4, 4, 1]) / 20
ANEW = ("a line", "the slot", "the hour", "a wish for energy", "a part's name", "the rest", "leaving out")
