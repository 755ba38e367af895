"""A mix into one finished file whose true peak stays below the ceiling, in the file as it is written.

Nothing is clipped and nothing is limited: if a peak is too high, the whole mix comes down. A lossy encoder moves peaks
(by up to about 1 dB at the rates used here), so a file whose samples come near the ceiling is decoded and measured, and
written again, lower, if it must be.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from audio.errors import OutputError
from audio.files.decode import Decoder
from audio.files.encode import Chapter, Encoder
from audio.measure.loudness import PeakMeter
from audio.render.mixer import BLOCK_FRAMES, MIX_RATE, Sound, render
from audio.render.span import Span

CEILING_DBTP = -1.0  # EBU R 128: the highest permitted true peak
NEAR_DB = (
    2.0  # samples this near the ceiling are worth a look at the file; editorial, above what encoders were seen to add
)
MOST_PASSES = 4

Progress = Callable[[int, int, str], None]


@dataclass(frozen=True, slots=True)
class Mix:
    """Everything that goes into one file."""

    spans: tuple[Span, ...]
    duration_s: float
    sounds: tuple[Sound, ...] = ()
    chapters: tuple[Chapter, ...] = ()
    title: str = ""
    cover_png: bytes | None = None


@dataclass(frozen=True, slots=True)
class Written:
    """A finished file: its true peak as measured, and by how much the mix came down for it."""

    path: Path
    true_peak_dbtp: float
    lowered_db: float


def write_mix(mix: Mix, path: Path, *, replace: bool = True, progress: Progress | None = None) -> Written:
    """Render a mix and write it whole, with a true peak of -1 dBTP at most.

    Args:
        mix: what to write.
        path: its ending names the format.
        replace: whether a file that stands there may be replaced.
        progress: told seconds done, seconds in all, and what is being done.
    Raises:
        AudioError: a track can't be read. OutputError: the file can't be written, or exists.
    """
    lowered_db = 0.0
    for attempt in range(MOST_PASSES):
        peak = _write(mix, path, -lowered_db, replace or attempt > 0, progress)
        if peak > CEILING_DBTP - NEAR_DB:
            peak = _peak_of_file(path)
        if peak <= CEILING_DBTP:
            return Written(path, peak, lowered_db)
        lowered_db += peak - CEILING_DBTP + 0.05
    path.unlink(missing_ok=True)
    raise OutputError(
        f"its peaks stayed above {CEILING_DBTP:g} dBTP after {MOST_PASSES} tries.",
        where=str(path),
        remedy="Write a .flac or .wav instead.",
    )


def check_readable(spans: Sequence[Span]) -> None:
    """Open every track once, so that a missing or broken one stops the work before it starts.

    Raises:
        AudioError: names the first track that can't be read.
    """
    for path in dict.fromkeys(span.path for span in spans):
        with Decoder(path):
            pass


def _write(mix: Mix, path: Path, gain_db: float, replace: bool, progress: Progress | None) -> float:
    meter = PeakMeter(2)
    total = max(round(mix.duration_s * MIX_RATE / BLOCK_FRAMES), 1)
    with Encoder(
        path, rate=MIX_RATE, title=mix.title, chapters=mix.chapters, cover_png=mix.cover_png, replace=replace
    ) as encoder:
        blocks = render(mix.spans, mix.duration_s, sounds=mix.sounds, gain_db=gain_db)
        for done, block in enumerate(blocks, 1):
            meter.feed(block)
            encoder.write(block)
            if progress:
                progress(min(done, total), total, path.name)
    return meter.read_dbtp()


def _peak_of_file(path: Path) -> float:
    with Decoder(path) as decoder:
        meter = PeakMeter(decoder.channels)
        for block in decoder.blocks():
            meter.feed(block.samples)
    return meter.read_dbtp()
