"""The frame of a picture: its measures, and where times, energies and METs lie in it."""

from dataclasses import dataclass

from pairing.constants import VIGOROUS_METS


@dataclass(frozen=True, slots=True)
class Size:
    """The measures of one width of the drawing, in its own units."""

    id: str  # in front of the ids inside, since a page may hold several drawings
    width: float
    left: float  # margins
    right: float
    plot: float  # heights: of the curves,
    effort: float  # of the effort below them,
    strip: float  # of the tracks
    titles: bool  # whether the strip names the tracks, or only numbers them
    minutes: int  # between two labels of the time axis, at least

    @property
    def wide(self) -> bool:
        """Whether there is room for more than numbers."""
        return self.width > 500


WIDE = Size("w", 1000, 62, 14, 200, 62, 96, True, 5)
PAPER = Size("p", 1000, 62, 14, 170, 50, 28, False, 5)
NARROW = Size("n", 372, 34, 8, 180, 56, 30, False, 10)


@dataclass(frozen=True, slots=True)
class Frame:
    """Where things lie: class seconds across, and heights from the top, in the units of `size`."""

    size: Size
    start_s: float  # at the left edge
    end_s: float
    top: float  # of the section names
    with_effort: bool
    with_strip: bool
    names: float = 42.0  # height of the section names

    def x(self, at_s: float) -> float:
        """Where a moment lies across."""
        share = (at_s - self.start_s) / (self.end_s - self.start_s)
        return self.size.left + share * (self.size.width - self.size.left - self.size.right)

    @property
    def plot_top(self) -> float:
        """Where the curves may begin, below the names."""
        return self.top + self.names

    @property
    def floor(self) -> float:
        """Where energy 0 lies."""
        return self.plot_top + self.size.plot

    @property
    def effort_floor(self) -> float:
        """Where 0 METs lie; the floor itself without the effort panel."""
        return self.floor + (self.size.effort + 8 if self.with_effort else 0)

    @property
    def strip_top(self) -> float:
        """Upper edge of the tracks."""
        return self.effort_floor + 24

    @property
    def bottom(self) -> float:
        """Height of the whole drawing."""
        return self.strip_top + (self.size.strip + 4 if self.with_strip else 2)

    def energy(self, value: float) -> float:
        """Where an energy of 0 to 1 lies."""
        return self.floor - value * (self.size.plot - 6)

    def mets(self, value: float) -> float:
        """Where an effort lies; the panel ends where vigorous begins."""
        return self.effort_floor - (value / VIGOROUS_METS) * self.size.effort
