"""The gain of the class as a whole, beside that of each pick: what shall not startle is held down.

Worked out on the loudness that the mix will have (`audio.render.forecast`), ten times a second, in this order: the
track before the rest comes down to it and sinks away; nothing is louder than the peak where the arc doesn't stand near
its top; the rest opens no louder than it goes on; no sudden rise in opening, cool-down and rest; then once more, with
what lost much by that played louder, and once more, with what is far louder than its neighbour played softer. All
numbers here are editorial; why there are limits says `audio.render.gain_ride`.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from audio.arrays import F64, Mask
from audio.constants import ABSOLUTE_GATE_LUFS, LOUDNESS_OFFSET_LU
from audio.render import gain_ride
from audio.render.forecast import forecast
from audio.render.span import Level, Span
from audio.render.tenths import PER_S
from pairing.model import Kind, SectionTime, SetList
from pairing.sets import mixdown
from pairing.sets.levels import is_asked, over_bed

SINK_BEFORE_S = 14.0  # in that time the music comes down to the rest
TAIL_S = 4.1  # what sounds on for less into the rest is a tail
UNDER_REST_LU = 1.0  # the tail lies so far below the loudest moment of the rest
OPENS_S, OPENS_LU = 20.0, 0.5  # so long the rest is at most so much louder than ever after
UNDER_PEAK_LU = 1.5  # the cool-down, and all that isn't near the arc's top, against the peak's loudest moment
NEAR_THE_TOP = 0.1  # of the arc
MOMENTARY = 4  # tenths of a second; EBU Tech 3341
SPREAD = 4  # a cap begins and ends so many tenths around what is too loud
UP_LU_PER_S, DOWN_LU_PER_S = 0.5, 3.0  # of the cap's gain
LEAD_S = 6.0  # before a section: a window of 3 s, and the 3 s within which a rise counts
MAY_SINK_S = 3.0  # before a section in which no fade-in is meant the gain may sink already: one window
NOTICED_LU, MOST_LIFT_LU = 1.0, 8.0  # a track that was held down by more is played louder, by at most so much
STEP_LU, MOST_SOFTER_LU = 1.4, 6.0  # neighbours that lie further apart come nearer; the louder one, by at most so much


def shaped(setlist: SetList, spans: Sequence[Span]) -> tuple[Span, ...]:
    """The spans of a set as they shall sound; reads their recordings.

    Raises:
        AudioError: a file can't be read.
    """
    made = mixdown.with_even_picks(setlist, spans)
    planned = _planned(setlist, made)
    lost = planned.lost()
    if max(lost, default=0.0) > NOTICED_LU:
        made = tuple(_louder(span, min(by, MOST_LIFT_LU)) for span, by in zip(made, lost, strict=True))
        planned = _planned(setlist, made)
    softer = planned.softer()
    if max(softer, default=0.0) > 0.0:
        planned = _planned(setlist, [_louder(span, -by) for span, by in zip(made, softer, strict=True)])
    return planned.spans()


def _planned(setlist: SetList, spans: Sequence[Span]) -> "_PlannedGains":
    class_ = _PlannedGains(setlist, _with_tail_sunk(setlist, spans))
    class_.cap_below_peak()
    class_.cap_opening_of_rest()
    class_.note()
    held = [each for each in setlist.sections if each.kind in mixdown.HELD_DOWN and each.end_s > each.start_s]
    # The gain that holds rises down lowers the rest by which its opening is judged, so once more.
    for section in (*held, *(each for each in held if each.kind is Kind.REST)):
        class_.hold_down(section)
        class_.cap_opening_of_rest()
    return class_


class _PlannedGains:
    """The spans of a set under gains that are planned one after the other, each on what the former leave.

    There is one gain for what begins before the rest, and one for the rest and what follows: a gain that comes back
    after the cool-down must not let the rest rise.
    """

    def __init__(self, setlist: SetList, spans: tuple[Span, ...]) -> None:
        self.setlist, self.made = setlist, spans
        self.origin_s, duration_s = mixdown.origin_s(setlist), mixdown.duration_s(setlist)
        later = [self._is_later(span) for span in spans]
        self.sides = [
            forecast([span for span, is_late in zip(spans, later, strict=True) if is_late == side], duration_s)
            for side in (False, True)
        ]
        self.gains = [np.zeros(len(self.sides[0])) for _ in self.sides]
        self.noted = list(self.gains)

    def _is_later(self, span: Span) -> bool:
        rest = self.setlist.rest
        return rest is not None and span.mix_start_s > rest.start_s - self.origin_s - 0.05

    def power(self) -> F64:
        """Of the mix so far."""
        before, later = (side * 10 ** (gain / 10) for side, gain in zip(self.sides, self.gains, strict=True))
        return np.asarray(before + later)

    def note(self) -> None:
        """Remember the gains up to here; see `lost`."""
        self.noted = list(self.gains)

    def lost(self) -> list[float]:
        """What each span has lost between its fades since `note`, LU."""
        found = []
        for span in self.made:
            side, shift = self._is_later(span), self.origin_s
            part = self.part(span.mix_start_s + span.fade_in_s + shift, span.mix_end_s - span.fade_out_s + shift)
            heard = [
                float(np.sum(self.sides[side][part] * 10 ** (gains[side][part] / 10)))
                for gains in (self.noted, self.gains)
            ]
            found.append(10 * np.log10(heard[0] / heard[1]) if min(heard) > 0 else 0.0)
        return found

    def softer(self) -> list[float]:
        """By how much each span has to be softer so that no neighbours lie too far apart unasked, LU."""
        level, picks = _lufs(self.power()), self.setlist.picks
        parts = [self.part(p.class_start_s + p.fade_in_s, p.class_end_s - p.fade_out_s) for p in picks]
        over = [over_bed(self.setlist, pick, level[part]) for pick, part in zip(picks, parts, strict=True)]
        aimed = list(over)
        there = [(n, n - 1) for n in range(1, len(picks))]
        back = [(n, n + 1) for n in range(len(picks) - 2, -1, -1)]
        for at, beside in (*there, *back):
            one, two = sorted((at, beside))
            step = aimed[two] - aimed[one]
            if aimed[at] - aimed[beside] > STEP_LU and not is_asked(self.setlist, picks[one], picks[two], step):
                aimed[at] = aimed[beside] + STEP_LU
        return [min(was - now, MOST_SOFTER_LU) if was > now else 0.0 for was, now in zip(over, aimed, strict=True)]

    def part(self, start_s: float, end_s: float) -> slice:
        """The steps between two class seconds."""
        first, last = (round((at - self.origin_s) * PER_S) for at in (start_s, end_s))
        return slice(max(first, 0), min(max(last, 0), len(self.sides[0])))

    def cap_below_peak(self) -> None:
        """Nothing as loud as the peak where the arc doesn't stand near its top, and nowhere in the cool-down."""
        level = momentary(self.power())
        peak = self._of_kind(Kind.PEAK)
        near_top = self._near_top()
        top = peak if peak.any() else near_top
        if not top.any() or level[top].max() <= ABSOLUTE_GATE_LUFS:
            return
        loudest = float(level[peak | near_top].max())
        cap = np.where(near_top | peak, np.inf, loudest - UNDER_PEAK_LU)
        cap[self._of_kind(Kind.COOL_DOWN)] = float(level[top].max()) - UNDER_PEAK_LU
        self._add(capped(level, cap))

    def cap_opening_of_rest(self) -> None:
        """In the first seconds of the rest nothing louder than the rest is afterwards."""
        rest = self.setlist.rest
        if rest is None:
            return
        level, border_s = momentary(self.power()), rest.start_s + OPENS_S
        after = level[self.part(border_s, rest.end_s - rest.silence_s)]
        if not len(after) or after.max() <= ABSOLUTE_GATE_LUFS:
            return
        cap = np.full(len(level), np.inf)
        cap[self.part(rest.start_s, border_s)] = after.max() + OPENS_LU
        self._add(capped(level, cap))

    def hold_down(self, section: SectionTime) -> None:
        """No sudden rise in a section, what sounds on from before and what crosses into it included."""
        part = self.part(section.start_s - LEAD_S, section.end_s)
        lead_s = (self.part(section.start_s, section.end_s).start - part.start) / PER_S
        begins = [span for span in self.made if abs(span.mix_start_s + self.origin_s - section.start_s) < 0.05]
        meant_s = max((span.fade_in_s for span in begins), default=0.0) if section.kind is not Kind.COOL_DOWN else 0.0
        early_s = max(lead_s - MAY_SINK_S, 0.0)
        from_s, still_s = (lead_s + meant_s, lead_s) if meant_s else (early_s, early_s)
        knots = gain_ride.ride(self.power()[part], from_s, still_s=still_s)
        if not knots.any():
            return
        gain = np.zeros(len(self.sides[0]))
        gain[part] = np.interp((np.arange(part.stop - part.start) + 0.5) / gain_ride.KNOT, np.arange(len(knots)), knots)
        after = np.arange(1, len(gain) - part.stop + 1) / PER_S
        gain[part.stop :] = np.minimum(knots[-1] + UP_LU_PER_S * after, 0.0)
        self._add(gain, to_rest=section.kind is Kind.REST)

    def spans(self) -> tuple[Span, ...]:
        """With the gains in their levels."""
        return tuple(_under(span, self.gains[self._is_later(span)]) for span in self.made)

    def _add(self, gain: F64, *, to_rest: bool = True) -> None:
        self.gains[0] = self.gains[0] + gain
        if to_rest:
            self.gains[1] = self.gains[1] + gain

    def _of_kind(self, kind: Kind) -> Mask:
        found = np.zeros(len(self.sides[0]), bool)
        for section in self.setlist.sections:
            if section.kind is kind:
                found[self.part(section.start_s, section.end_s)] = True
        return found

    def _near_top(self) -> Mask:
        arc = self.setlist.arc
        found = np.zeros(len(self.sides[0]), bool)
        if np.isfinite(arc).any():
            for second in np.flatnonzero(arc >= np.nanmax(arc) - NEAR_THE_TOP).tolist():
                found[self.part(second, second + 1)] = True
        return found & ~self._of_kind(Kind.COOL_DOWN) & ~self._of_kind(Kind.REST)


def momentary(power: F64) -> F64:
    """Momentary loudness at the end of every tenth of a second, LUFS, -70 at least."""
    return _lufs(np.convolve(power, np.full(MOMENTARY, 1 / MOMENTARY))[: len(power)])


def _lufs(power: F64) -> F64:
    with np.errstate(divide="ignore"):
        return np.asarray(np.maximum(LOUDNESS_OFFSET_LU + 10 * np.log10(power), ABSOLUTE_GATE_LUFS))


def capped(level: F64, cap: F64) -> F64:
    """The gain, dB at each step, that keeps a level below a cap: down in time and slowly back; 0 where it needn't."""
    too_loud = np.minimum(cap - level, 0.0)
    wide = np.pad(too_loud, SPREAD + MOMENTARY)
    gain = np.lib.stride_tricks.sliding_window_view(wide, 2 * (SPREAD + MOMENTARY) + 1).min(axis=1)
    up, down = (np.arange(len(gain)) * slope / PER_S for slope in (UP_LU_PER_S, DOWN_LU_PER_S))
    gain = np.minimum.accumulate(gain - up) + up  # from each step on it comes back no faster than that
    return np.asarray(np.minimum.accumulate((gain + down)[::-1])[::-1] - down)


def _louder(span: Span, by_lu: float) -> Span:
    return replace(span, levels=tuple(Level(level.at_s, level.gain_db + by_lu) for level in span.levels))


def _with_tail_sunk(setlist: SetList, spans: Sequence[Span]) -> tuple[Span, ...]:
    """The track before the rest comes down to it, and from its start on only sinks."""
    rest = setlist.rest
    if rest is None:
        return tuple(spans)
    at_s, duration_s = rest.start_s - mixdown.origin_s(setlist), mixdown.duration_s(setlist)
    after = momentary(forecast([span for span in spans if span.mix_start_s > at_s - 0.05], duration_s))
    after = after[round((at_s + OPENS_S) * PER_S) : round((at_s + rest.end_s - rest.start_s) * PER_S)]
    if not len(after) or after.max() <= ABSOLUTE_GATE_LUFS:
        return tuple(spans)
    return tuple(
        _sunk(span, at_s, float(after.max()) - UNDER_REST_LU, duration_s)
        if span.mix_start_s < at_s - 1.0 and at_s < span.mix_end_s <= at_s + TAIL_S
        else span
        for span in spans
    )


def _sunk(span: Span, at_s: float, most_lufs: float, duration_s: float) -> Span:
    power = forecast([span], duration_s)
    first, last = round(at_s * PER_S), round(span.mix_end_s * PER_S)
    level = momentary(power)
    # What comes after the border is lowered to what was before it and to the rest; the fade does the greater part.
    tail = np.minimum.accumulate(np.concatenate(([min(level[first - 1], most_lufs)], level[first : last + 1])))[1:]
    gain = np.zeros(len(level))
    gain[first : last + 1] = np.minimum(tail - level[first : last + 1], 0.0)
    down = min(most_lufs - level[max(first - 3, 0) : first].max(), 0.0)
    lasts = round(min(SINK_BEFORE_S, (at_s - span.mix_start_s) / 2) * PER_S)
    gain[first - lasts : first] = np.linspace(0.0, down, lasts)
    gain[first : last + 1] = np.minimum(gain[first : last + 1], down)
    gain[first : last + 1] = np.minimum.accumulate(gain[first : last + 1])
    gain[last + 1 :] = gain[last] if last < len(gain) else 0.0
    return _under(span, gain)


def _under(span: Span, gain: F64) -> Span:
    """The span with a gain, dB at each step of the mix, added to its levels."""
    own = slice(int(span.mix_start_s * PER_S), int(np.ceil(span.mix_end_s * PER_S)) + 1)
    if not gain[own].any():
        return span
    at = (np.arange(len(gain)) + 0.5)[own] / PER_S
    bends = np.abs(np.diff(gain[own], n=2, prepend=np.nan, append=np.nan))
    kept = ~(bends < 1e-6)
    own_at, own_db = np.array([(level.at_s, level.gain_db) for level in span.levels]).T
    knots = np.union1d(at[kept], own_at)
    knots = knots[(knots >= span.mix_start_s) & (knots <= span.mix_end_s)]
    total = np.interp(knots, own_at, own_db) + np.interp(knots, at, gain[own])
    return replace(span, levels=tuple(Level(float(second), float(db)) for second, db in zip(knots, total, strict=True)))
