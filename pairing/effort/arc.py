"""Timetable to arc: demand and felt effort in METs, and from them the energy the music should have, at 1 Hz.

Demand is the mean of the steps' METs over each second. Felt effort follows it as heart rate follows work: first order,
33 s up and 55 s down (pairing.constants names the sources).

Target energy, in this order; every number is editorial:

1. *How high*: the highest minute of felt effort sets the top, on a line through 0.40 at 2.6 METs (a slow class's
   standing holds) and
   and 0.85 at 4.3 METs (a strong flow), kept between 0.25 and 0.90.
2. *Shape*: below the top the class's own range counts, from its least effort (0.17) to its highest.
3. *Purpose*: opening, breathing and closing stay low; a cool-down stays below the middle; a peak section, whose held
   balances cost less oxygen than a flow, is lifted to the top, and everything before it stays a little under and
   leans towards it.
4. *Pace*: smoothed over 45 s, then no faster than 0.01 a second.
5. *Rest and wishes*: the closing rest lies at 0.16 from its first second; "quiet", "steady", "driving" and "energy P%"
   hold exactly where they are written, and the curve beside them bends to meet them within a fade, 0.04 a second;
   where two of them meet, the higher gives way. No music and silence are NaN.
"""

import itertools
import math

import numpy as np

from audio.arrays import F64, Mask
from pairing.constants import EFFORT_FALL_TAU_S, EFFORT_RISE_TAU_S, RESTING_METS
from pairing.effort.wishes import handed_on
from pairing.model import Arc, Kind, SectionTime, Step, Timetable, Wishes
from pairing.temper import DRIVING

# All editorial.
TOP_AT_METS = ((2.6, 0.40), (4.3, 0.85))
TOP_RANGE = (0.25, 0.90)
LOW_ENERGY = 0.17
REST_ENERGY = 0.16
CAPS = {Kind.OPENING: 0.20, Kind.BREATHING: 0.22, Kind.CLOSING: 0.20}
SHARES = {  # of the way from low to top, where the class has a peak section; cool-down always
    Kind.WARM_UP: 0.75,
    Kind.FLOW: 0.92,
    Kind.STANDING: 0.92,
    Kind.STRENGTH: 0.92,
    Kind.FLOOR: 0.70,
    Kind.COOL_DOWN: 0.50,
}
QUIET_ENERGY = 0.22
DRIVING_SWELL = 0.12  # driving music still builds and falls with the class, so far above its least
LEAN_FROM = 0.80  # share of the way from low to where effort puts it, at the first second
SMOOTH_S = 45
RATE_PER_S = 0.01
HAND_OVER_RATE_PER_S = 0.04  # where one piece of music gives way to another: half the scale in a fade of 12 s


def make_arc(timetable: Timetable) -> Arc:
    """Compute the arc of a class, each curve of shape (ceil(duration_s),); an empty class gives curves without values.

    >>> from pairing.effort.planned import planned
    >>> from pairing.plan.read import read_plan
    >>> plan = read_plan("## Up: flow\\n- chair, 60 seconds\\n## Down: rest, 60 seconds\\n- savasana\\n")
    >>> arc = make_arc(planned(plan).timetable)
    >>> bool(arc.felt_mets[59] > arc.felt_mets[0]), bool(arc.target_energy[119] < arc.target_energy[59])
    (True, True)
    """
    seconds = math.ceil(timetable.duration_s)
    if seconds == 0:
        empty = np.zeros(0, np.float32)
        return Arc(empty, empty.copy(), empty.copy())
    demand = demand_curve(timetable.steps, timetable.duration_s)
    felt = felt_curve(demand)
    return Arc(
        demand_mets=demand.astype(np.float32),
        felt_mets=felt.astype(np.float32),
        target_energy=target_energy(felt, timetable).astype(np.float32),
    )


def demand_curve(steps: tuple[Step, ...], duration_s: float) -> F64:
    """Mean METs in each second of the class.

    Args:
        steps: without gap or overlap from 0 to `duration_s`; one without time counts for nothing.
    Returns:
        METs, shape (ceil(duration_s),); the last second may be a part of one.

    >>> easy = Step("pose", "easy seat", 0.0, 1.5, section=0, mets=1.0)
    >>> chair = Step("pose", "chair", 1.5, 3.0, section=0, mets=3.0)
    >>> demand_curve((easy, chair), 3.0).tolist()
    [1.0, 2.0, 3.0]
    """
    ends = np.array([0.0, *(step.end_s for step in steps)])
    work = np.concatenate(([0.0], np.cumsum(np.diff(ends) * np.array([step.mets for step in steps]))))
    clock = np.minimum(np.arange(math.ceil(duration_s) + 1, dtype=float), duration_s)
    done: F64 = np.interp(clock, ends, work)
    mean: F64 = np.diff(done) / np.diff(clock)
    return mean


def felt_curve(demand: F64) -> F64:
    """What the body feels of the demand: a first-order lag, at rest before the first second.

    Args:
        demand: METs, shape (seconds,).
    Returns:
        METs, same shape.

    >>> felt = felt_curve(np.repeat([1.0, 4.0], [60, 180]))  # a minute of rest, then work of 4 METs
    >>> [round(float(felt[second]), 2) for second in (59, 90, 239)]
    [1.0, 2.83, 3.99]
    """
    rise, fall = (1.0 - math.exp(-1.0 / tau) for tau in (EFFORT_RISE_TAU_S, EFFORT_FALL_TAU_S))
    level = RESTING_METS
    felt = []
    for asked in demand.tolist():
        level += (asked - level) * (rise if asked > level else fall)
        felt.append(level)
    return np.array(felt)


def target_energy(felt: F64, timetable: Timetable) -> F64:
    """Energy the music should have; see the head of this module.

    Args:
        felt: METs, shape (seconds,), at least one.
        timetable: the class in which they are felt.
    Returns:
        0 to 1, same shape, NaN where no music shall sound.
    """
    top = top_energy(felt)
    curve = _shape(felt, top)
    kinds = {kind: _during(timetable, kind, len(felt)) for kind in Kind}
    curve = _follow_purpose(curve, kinds, top)
    curve = limit_rate(_smooth(curve, SMOOTH_S), RATE_PER_S)
    fixed = np.where(kinds[Kind.REST], REST_ENERGY, np.nan)
    silent = np.zeros(len(felt), bool)
    for start, end, wishes in _wished(timetable):
        span = _seconds(start, end, timetable)
        if span.stop > span.start:
            _fix(fixed, span, curve, wishes)
            silent[span] |= wishes.no_music
    for start, end in _silences(timetable):
        silent[int(start) : math.ceil(end)] = True
    fixed = _parted(fixed, HAND_OVER_RATE_PER_S)
    curve = np.clip(meet(curve, fixed, HAND_OVER_RATE_PER_S), 0.0, 1.0)
    curve[silent] = np.nan
    return curve


def top_energy(felt: F64) -> float:
    """How high the energy may go, 0.25 to 0.90, from the highest minute of felt effort (all of it if shorter).

    Args:
        felt: METs, second by second, shape (seconds,), at least one.

    >>> top_energy(np.full(90, 1.0)), top_energy(np.full(90, 8.0))
    (0.25, 0.9)
    """
    minute = min(60, len(felt))
    highest = float(np.convolve(felt, np.full(minute, 1.0 / minute), "valid").max())
    (slow, low), (strong, high) = TOP_AT_METS
    return float(np.clip(low + (highest - slow) * (high - low) / (strong - slow), *TOP_RANGE))


def _shape(felt: F64, top: float) -> F64:
    least, most = float(felt.min()), float(felt.max())
    share = (felt - least) / max(most - least, 0.5)  # half a MET: a class without a range stays level
    return LOW_ENERGY + (top - LOW_ENERGY) * share


def _follow_purpose(curve: F64, kinds: dict[Kind, Mask], top: float) -> F64:
    caps = dict(CAPS)
    has_peak = bool(kinds[Kind.PEAK].any())
    for kind, share in SHARES.items():
        if has_peak or kind == Kind.COOL_DOWN:
            caps[kind] = LOW_ENERGY + share * (top - LOW_ENERGY)
    curve = _lean(curve, kinds[Kind.PEAK])
    for kind, cap in caps.items():
        curve[kinds[kind]] = np.minimum(curve[kinds[kind]], cap)
    curve[kinds[Kind.PEAK]] = top
    curve[kinds[Kind.REST]] = REST_ENERGY
    return curve


def _lean(curve: F64, peak: Mask) -> F64:
    """Lower the curve early in the class and less and less towards its climax, so that it builds."""
    climax = int(np.argmax(peak if peak.any() else curve))
    share = np.ones(len(curve))
    share[:climax] = np.linspace(LEAN_FROM, 1.0, climax, endpoint=False)
    return LOW_ENERGY + (curve - LOW_ENERGY) * share


def _during(timetable: Timetable, kind: Kind, seconds: int) -> Mask:
    mask = np.zeros(seconds, bool)
    for section in timetable.sections:
        if section.kind == kind:
            mask[_seconds(section.start_s, section.end_s, timetable)] = True
    return mask


def _seconds(start_s: float, end_s: float, timetable: Timetable) -> slice:
    """The seconds of a stretch; a second that two stretches share belongs to the later one."""
    return slice(int(start_s), int(end_s) if end_s < timetable.duration_s else math.ceil(end_s))


def _smooth(curve: F64, window_s: int) -> F64:
    """Weighted mean over a window centred on each second; the ends see themselves repeated."""
    window = np.hanning(min(window_s, 2 * len(curve) - 1) + 2)[1:-1]
    half = len(window) // 2
    padded = np.pad(curve, (half, len(window) - 1 - half), mode="edge")
    smooth: F64 = np.convolve(padded, window / window.sum(), "valid")
    return smooth


def limit_rate(curve: F64, rate: float) -> F64:
    """The curve, no steeper than `rate` a second: midway between its tightest cover from below and from above.

    Args:
        curve: at 1 Hz, shape (seconds,).
    Returns:
        shape (seconds,).

    >>> limit_rate(np.array([0.0, 0.0, 1.0, 1.0]), 0.25).tolist()
    [0.25, 0.375, 0.625, 0.75]
    """
    return (_cover_below(curve, rate) - _cover_below(-curve, rate)) / 2


def _cover_below(curve: F64, rate: float) -> F64:
    """Highest curve below `curve` that is no steeper than `rate` a second; inf counts as no bound."""
    ramp = rate * np.arange(len(curve))
    rising = np.minimum.accumulate(curve - ramp) + ramp
    falling = np.minimum.accumulate((rising + ramp)[::-1])[::-1] - ramp
    cover: F64 = np.minimum(rising, falling)
    return cover


def meet(curve: F64, fixed: F64, rate: float) -> F64:
    """Bend a curve so that it meets fixed seconds without a step.

    Args:
        curve: energy in each second, shape (T,).
        fixed: the same shape, NaN where nothing is fixed.
        rate: energy a second by which it may rise or fall beside a fixed second.

    >>> meet(np.full(5, 0.2), np.array([np.nan, np.nan, 0.6, np.nan, np.nan]), 0.1).round(2).tolist()
    [0.4, 0.5, 0.6, 0.5, 0.4]
    """
    held = ~np.isnan(fixed)
    if not held.any():
        return curve
    above = _cover_below(np.where(held, fixed, np.inf), rate)
    below = -_cover_below(np.where(held, -fixed, np.inf), rate)
    bent = np.where(below > above, (below + above) / 2, np.clip(curve, below, above))
    met: F64 = np.where(held, fixed, bent)
    return met


def _parted(fixed: F64, rate: float) -> F64:
    """Where two fixed stretches meet, let the higher give way, so that no second is steeper than a hand-over."""
    return np.where(np.isnan(fixed), np.nan, _cover_below(np.where(np.isnan(fixed), np.inf, fixed), rate))


def _wished(timetable: Timetable) -> list[tuple[float, float, Wishes]]:
    """Give the stretches under the same wishes in the same section."""
    timed = [step for step in timetable.steps if step.end_s > step.start_s]
    stretches = []
    for (_, wishes), run in itertools.groupby(timed, key=lambda step: (step.section, handed_on(step.wishes))):
        steps = list(run)
        stretches.append((steps[0].start_s, steps[-1].end_s, wishes))
    return stretches


def _fix(fixed: F64, span: slice, curve: F64, wishes: Wishes) -> None:
    if wishes.energy is not None:
        fixed[span] = wishes.energy
    elif wishes.level == "quiet":
        fixed[span] = np.minimum(np.where(np.isnan(fixed[span]), curve[span], fixed[span]), QUIET_ENERGY)
    elif wishes.level == "driving":
        swell = (curve[span] - curve[span].min()) / max(float(np.ptp(curve[span])), DRIVING_SWELL)
        fixed[span] = np.maximum(curve[span], DRIVING + DRIVING_SWELL * swell)
    elif wishes.level == "steady":
        fixed[span] = curve[span].mean()


def _silences(timetable: Timetable) -> list[tuple[float, float]]:
    spans = [(step.start_s, step.end_s) for step in timetable.steps if step.what == "silence"]
    places: list[Step | SectionTime] = [*timetable.steps, *timetable.sections]
    for place in places:
        last_s = place.wishes.silent_last_s
        if last_s is not None:
            spans.append((max(place.start_s, place.end_s - last_s), place.end_s))
    return spans
