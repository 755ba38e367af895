"""What the class hears: the energy of the sounding picks, and how well it follows the arc."""

from collections.abc import Sequence

import numpy as np

from pairing.model import Curve, Pick

SAMPLES_A_SECOND = 10  # a fade is sampled so often; picks begin and end between whole seconds


def played_energy(picks: Sequence[Pick], energies: Sequence[Curve], class_s: float) -> Curve:
    """Sum of g² x energy over the sounding picks, g the amplitude factor of the fades; 0 in silence.

    Args:
        picks: sorted; fades follow a quarter of a sine, so that two in an overlap add up to 1 in power.
        energies: the energy curve of each pick's track, 0 to 1 at 1 Hz.
        class_s: length of the class.
    Returns:
        shape (ceil(class_s),); the mean over each second of the class.
    """
    seconds = int(np.ceil(class_s))
    total = np.zeros(seconds * SAMPLES_A_SECOND)
    times = (np.arange(len(total)) + 0.5) / SAMPLES_A_SECOND
    for pick, energy in zip(picks, energies, strict=True):
        first, last = times.searchsorted((pick.class_start_s, min(pick.class_end_s, class_s)))
        at = times[first:last]
        index = (pick.track_start_s + at - pick.class_start_s).astype(np.int64)
        total[first:last] += power(pick, at) * energy.take(index, mode="clip")
    inside = np.minimum(np.clip(class_s - np.arange(seconds), 0, 1) * SAMPLES_A_SECOND + 1e-9, SAMPLES_A_SECOND)
    count = np.maximum(np.round(inside), 1)
    return np.asarray(total.reshape(seconds, SAMPLES_A_SECOND).sum(axis=1) / count, np.float32)


def power(pick: Pick, at_s: np.ndarray) -> np.ndarray:
    """g², the power factor of a pick's fades at class seconds inside it, 0 to 1."""
    gains = np.ones(len(at_s))
    since, left = at_s - pick.class_start_s, pick.class_end_s - at_s
    rising = slice(0, int(since.searchsorted(pick.fade_in_s)))  # few of the seconds
    falling = slice(len(left) - int(left[::-1].searchsorted(pick.fade_out_s)), None)
    gains[rising] *= np.sin(since[rising] / max(pick.fade_in_s, 1e-9) * np.pi / 2)
    gains[falling] *= np.sin(left[falling] / max(pick.fade_out_s, 1e-9) * np.pi / 2)
    return gains**2


def rmse(played: Curve, target: Curve) -> float:
    """Root of the mean squared difference over the seconds that have both; 0 where there are none."""
    both = ~(np.isnan(played) | np.isnan(target))
    if not both.any():
        return 0.0
    return float(np.sqrt(np.mean((played[both].astype(np.float64) - target[both]) ** 2)))


def correlation(played: Curve, arc: Curve) -> float:
    """Pearson's correlation over the seconds that have both; 0 where either doesn't move."""
    both = ~(np.isnan(played) | np.isnan(arc))
    one, two = played[both].astype(np.float64), arc[both].astype(np.float64)
    if len(one) < 2 or one.std() < 1e-9 or two.std() < 1e-9:
        return 0.0
    return float(np.corrcoef(one, two)[0, 1])
