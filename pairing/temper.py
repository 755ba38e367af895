"""How lively music is, in words: the one scale that all of the program speaks of.

Energy is 0 to 1, as `audio.measure.energy` fits it to how lively listeners call a piece. Where one word gives way to
the next is editorial.
"""

# From this energy on, the word. Music for a rest lies at 0.16, a strong peak at 0.85 (`pairing.effort.arc`).
STILL, CALM, STEADY, LIVELY, DRIVING = 0.0, 0.25, 0.40, 0.55, 0.70
TEMPERS = ((DRIVING, "driving"), (LIVELY, "lively"), (STEADY, "steady"), (CALM, "calm"), (STILL, "still"))

# Differences of energy. A third of the way from one word to the next is hardly heard beside a class; a whole step is.
A_LITTLE, PLAINLY, MUCH = 0.05, 0.10, 0.20
APART = ((MUCH, "much "), (PLAINLY, ""), (A_LITTLE, "a little "))


def temper(energy: float) -> str:
    """A word for how lively music is.

    >>> [temper(energy) for energy in (0.1, 0.3, 0.5, 0.6, 0.8)]
    ['still', 'calm', 'steady', 'lively', 'driving']
    """
    return next((word for least, word in TEMPERS if energy >= least), TEMPERS[-1][1])


def livelier_by(difference: float) -> str | None:
    """A difference of energy in words; None where nobody would notice it.

    >>> livelier_by(0.07), livelier_by(-0.3), livelier_by(0.02)
    ('a little livelier', 'much calmer', None)
    """
    degree = next((words for least, words in APART if abs(difference) >= least), None)
    return None if degree is None else f"{degree}{'livelier' if difference > 0 else 'calmer'}"
