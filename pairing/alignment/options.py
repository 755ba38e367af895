"""What a teacher can ask of a set, apart from the plan itself.

All numbers here are editorial unless a source stands beside them; each can be set by the caller.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType

from pairing.errors import SetError
from pairing.model import Kind
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
PREFERENCES: Mapping[str, Weights] = MappingProxyType(
    {
        "balanced": Weights(),
        "close fit": Weights(change=0.2, trim=0.1, clip=0.25),
        "whole songs": Weights(trim=1.2, clip=1.0),
        "few changes": Weights(change=1.5, clip=1.0),
        "smooth changes": Weights(tempo_step=0.6, key_step=0.25),
        "even sides": Weights(twin=1.2),
    }
)


@dataclass(frozen=True, slots=True)
class Levels:
    """The bed: how loud the music of each kind of section is, as integrated loudness."""

    bed_lufs: float = -20.0
    opening_lu: float = -4.0
    rest_lu: float = -8.0

    def bed(self, kind: Kind) -> float:
        """The bed of a section, LUFS."""
        if kind is Kind.REST or kind is Kind.CLOSING:
            return self.bed_lufs + self.rest_lu
        return self.bed_lufs + (self.opening_lu if kind in (Kind.OPENING, Kind.BREATHING) else 0.0)


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


@dataclass(frozen=True, slots=True)
class PairOptions:
    """How to choose: frozen, and stored with the set so that later changes follow the same rules."""

    prefer: str = "balanced"
    fresh: bool = False
    allow_repeats: bool = False
    exclude: tuple[int, ...] = ()
    pins: tuple[PinWish, ...] = ()
    levels: Levels = Levels()
    crossfades_s: Mapping[Kind, float] = field(default_factory=lambda: CROSSFADES_S)
    rest_silence_s: float | None = None  # None: what the plan says
    bells_s: tuple[float, ...] | None = None  # class seconds; None: what the plan says

    def __post_init__(self) -> None:
        if self.prefer not in PREFERENCES:
            known = ", ".join(PREFERENCES)
            raise SetError(f'"{self.prefer}" is no preference.', remedy=f"Choose one of: {known}.")

    @property
    def weights(self) -> Weights:
        """The weights of the objective under this preference."""
        return PREFERENCES[self.prefer]

    def as_dict(self) -> dict[str, object]:
        """Plain values for the set file; `from_dict` reads them back."""
        return {
            "prefer": self.prefer,
            "fresh": self.fresh,
            "allow_repeats": self.allow_repeats,
            "exclude": list(self.exclude),
            "levels": {
                "bed_lufs": self.levels.bed_lufs,
                "opening_lu": self.levels.opening_lu,
                "rest_lu": self.levels.rest_lu,
            },
            "crossfades_s": {str(kind): self.crossfades_s[kind] for kind in Kind},
            "rest_silence_s": self.rest_silence_s,
            "bells_s": None if self.bells_s is None else list(self.bells_s),
        }


def with_rest(options: PairOptions, silence_s: float | None, bells_s: tuple[float, ...] | None) -> PairOptions:
    """The same options with another end of the rest; None keeps what was said."""
    return replace(
        options,
        rest_silence_s=options.rest_silence_s if silence_s is None else silence_s,
        bells_s=options.bells_s if bells_s is None else bells_s,
    )
