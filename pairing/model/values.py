"""Ranges that values of a class keep, in words that a set file is read and described by."""

from typing import Annotated, Literal

from msgspec import Meta

from audio.arrays import F32

Curve = F32
Side = Literal["right", "left"]

DAY_S = 24 * 3600.0
MOST_STATES = 50  # of a set, kept to be taken back to
Seconds = Annotated[float, Meta(ge=0, le=DAY_S)]  # a length, or a time inside the class
ClassTime = Annotated[float, Meta(ge=-DAY_S, le=2 * DAY_S)]  # music before and after the class included
Interval = tuple[ClassTime, ClassTime]  # start, end
Share = Annotated[float, Meta(ge=0, le=1)]
Text = Annotated[str, Meta(max_length=10_000)]
Bpm = Annotated[float, Meta(ge=1, le=1000)]  # beats a minute
TrackId = Annotated[int, Meta(ge=0, le=2**63 - 1)]
