"""Make the beats of an outgoing track meet those of the incoming one, inside their overlap only.

The stretcher is python-stretch (MIT), which keeps clicks within 0.3 ms and the stereo image; where it is not
installed the overlap stays as it is: a plain cross-fade.
"""

import numpy as np

from audio.arrays import F32, F64

LARGEST_STEP = 0.04  # tempos further apart are not made to meet: the ear would hear the change of pace; editorial
LEAST_STEP = 0.0005  # 5 ms in 10 s: less is not heard, and the same music on the same beat stays the same samples
SPLICE_S = 0.04  # from the untouched to the stretched signal
PHASE_TOLERANCE = 0.15  # of a beat: further off at the hand-over, stretching alone can't bring the beats together


def meeting_rate(going_beats_s: F64, coming_beats_s: F64, overlap_s: float) -> float | None:
    """Rate at which the outgoing track must run for its beats to fall on the incoming one's.

    Args:
        going_beats_s, coming_beats_s: beats of either track, seconds from the start of the overlap, ascending, shape
            (n,) each.
        overlap_s: its length.
    Returns:
        the factor on the outgoing track's speed, 0.96 to 1.04; None if the beats can't meet that way (fewer
        than three beats, tempos too far apart, or out of phase at the start).

    >>> beats_s = np.arange(0.0, 8.0, 0.5)
    >>> round(meeting_rate(1.02 * beats_s, beats_s, 6.0), 3), meeting_rate(1.1 * beats_s, beats_s, 6.0)
    (1.02, None)
    """
    coming = coming_beats_s[(coming_beats_s > -0.1) & (coming_beats_s < overlap_s + 0.1)]
    going = going_beats_s[(going_beats_s > -0.1) & (going_beats_s < overlap_s * (1 + LARGEST_STEP) + 0.1)]
    count = min(len(coming), len(going))
    if count < 3:
        return None
    period = float(np.median(np.diff(coming)))
    first = int(np.argmin(np.abs(going[:3] - coming[0])))
    count = min(len(coming), len(going) - first)
    if count < 3 or abs(going[first] - coming[0]) > PHASE_TOLERANCE * period:
        return None
    going, coming = going[first : first + count], coming[:count]
    # Least squares through the start of the overlap, where the outgoing track must go on without a jump.
    late = coming > 0.25 * overlap_s
    if not late.any():
        return None
    rate = float(np.dot(going[late], coming[late]) / np.dot(coming[late], coming[late]))
    return rate if abs(rate - 1.0) <= LARGEST_STEP else None


def stretched(samples: F32, rate: float, frames: int, sample_rate: int) -> F32:
    """Run `samples` at `rate` times their speed, the pitch kept.

    Args:
        samples: shape (frames in, 2); at least frames x rate of them are used.
        rate: above 0; 1.02 is 2 % quicker.
        frames: length wanted.
        sample_rate: samples a second.
    Returns:
        shape (frames, 2); `samples` cut to length if the stretcher is not installed.
    """
    try:
        from python_stretch import Signalsmith
    except ImportError:
        return samples[:frames]
    stretcher = Signalsmith.Stretch()
    stretcher.preset(2, sample_rate)
    stretcher.timeFactor = rate
    needed = samples[: int(np.ceil(frames * rate))]
    output = np.asarray(stretcher.process(np.ascontiguousarray(needed.T)), dtype=np.float32).T
    return _spliced(samples, _to_length(output, frames), sample_rate)


def _to_length(samples: F32, frames: int) -> F32:
    if len(samples) >= frames:
        return samples[:frames]
    return np.pad(samples, ((0, frames - len(samples)), (0, 0)))


def _spliced(plain: F32, output: F32, sample_rate: int) -> F32:
    """Begin with the plain samples, so that the overlap goes on from what sounded before it without a step."""
    frames = min(int(SPLICE_S * sample_rate), len(output), len(plain))
    ramp = np.linspace(0.0, 1.0, frames, dtype=np.float32)[:, None]
    output[:frames] = plain[:frames] * (1 - ramp) + output[:frames] * ramp
    return output
