"""What the options of a set mean to the solver, and the pins that go with them.

All numbers here are editorial unless a source stands beside them.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from pairing.errors import SetError
from pairing.model import Kind, Preference
from pairing.solve.problem import Weights

# Usual overlaps: flow 2 to 6 s, slow sections 6 to 12 s, into the rest 8 to 15 s (common practice, no source).
CROSSFADES_S: Mapping[Kind, float] = MappingProxyType(
    {
        Kind.OPENING: 8.0,
        Kind.BREATHING: 8.0,
        Kind.WARM_UP: 6.0,
        Kind.FLOW: 4.0,
        Kind.STANDING: 4.0,
        Kind.STRENGTH: 4.0,
        Kind.PEAK: 4.0,
        Kind.FLOOR: 8.0,
        Kind.COOL_DOWN: 8.0,
        Kind.REST: 12.0,
        Kind.CLOSING: 8.0,
    }
)

# What a person can prefer, in plain words, and what it does to the weights of the objective.
PREFERENCES: Mapping[Preference, Weights] = MappingProxyType(
    {
        "balanced": Weights(),
        "close fit": Weights(change=0.2, trim=0.1, clip=0.25),
        "whole songs": Weights(trim=1.2, clip=1.0),
        "few changes": Weights(change=1.5, clip=1.0),
        "smooth changes": Weights(tempo_step=0.6, key_step=0.25),
        "even sides": Weights(twin=1.2),
    }
)


def preference(word: str) -> Preference:
    """The preference of this name.

    Raises:
        SetError: there is none; names those there are.
    """
    for known in PREFERENCES:
        if word == known:
            return known
    raise SetError(f'"{word}" isn\'t one of the choices.', remedy=f"Choose one of: {', '.join(PREFERENCES)}.")


@dataclass(frozen=True, slots=True)
class PinWish:
    """A track that shall stand at a place of the class.

    Attributes:
        track_id: which track of the library.
        at_s: class second at which it starts.
        end_s: class second of the next hand-over; None: free.
        track_start_s: second of the track at which it is entered; None: free.
    """

    track_id: int
    at_s: float
    end_s: float | None = None
    track_start_s: float | None = None
