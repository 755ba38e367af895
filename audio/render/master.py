"""Mixes into finished files whose true peak stays below the ceiling, in the files as they are written.

Nothing is clipped and nothing is limited: if a peak is too high, all that is written together comes down by the same
amount, and where it shall be loud, all of it goes up by one. A lossy encoder moves peaks (the endurance run of
tests/benchmarks/mix.py says by how much), so a file whose samples come near the ceiling is decoded and measured, and
written again, lower, if it must be. What was too loud is never seen under the name that was asked for.
"""

from collections.abc import Iterable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import ExitStack
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from audio.errors import AudioError, OutputError
from audio.files.decode import Decoder
from audio.files.encode import FORMATS, Chapter, Encoder, refuse_other_kinds
from audio.files.fingerprint import fingerprint
from audio.measure.loudness import Loudness, Meter, PeakMeter
from audio.progress import Progress
from audio.render.mixer import BLOCK_FRAMES, MIX_RATE, Sound, render
from audio.render.span import Span
from audio.text import shown

CEILING_DBTP = -1.0  # EBU R 128: the highest permitted true peak
MARGIN_DB = 0.05  # a mix that comes down lands this far below the ceiling; further each time, since encoders waver
MOST_PASSES = 6  # so often a mix may come down before it is refused; editorial


@dataclass(frozen=True, slots=True)
class Mix:
    """Everything that goes into one file."""

    spans: tuple[Span, ...]
    duration_s: float
    sounds: tuple[Sound, ...] = ()
    chapters: tuple[Chapter, ...] = ()
    title: str = ""
    cover_png: bytes | None = None
    artist: str = ""
    album: str = ""
    comment: str = ""


@dataclass(frozen=True, slots=True)
class FinishedFile:
    """A finished file: its true peak as measured, and by how much the mix came down for it, or was raised on wish."""

    path: Path
    true_peak_dbtp: float
    gain_db: float  # on the whole of it: 0 as it was made, below 0 for the sake of its peaks
    sound: Loudness = field(compare=False)  # of the samples as they were handed to the encoder


class _TooLoud(Exception):
    """Ends a pass without leaving a file; `over_db` is what has to come down."""

    def __init__(self, over_db: float) -> None:
        super().__init__(over_db)
        self.over_db = over_db


def write_mix(
    mix: Mix, path: Path, *, replace: bool = True, loud: bool = False, progress: Progress | None = None
) -> FinishedFile:
    """Render a mix and write it whole, with a true peak of -1 dBTP at most.

    Args:
        replace, loud, progress: as `write_mixes` has them.
    Raises:
        AudioError: a track can't be read.
        OutputError: the file can't be written, or exists.
        ValueError: three spans would sound at once.

    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     file = write_mix(Mix(spans=(), duration_s=2.0, title="Silence"), Path(folder, "mix.wav"))
    >>> file.path.name, file.true_peak_dbtp
    ('mix.wav', -inf)
    """
    return write_mixes([(mix, path)], replace=replace, loud=loud, progress=progress)[0]


def write_mixes(
    mixes: Sequence[tuple[Mix, Path]],
    *,
    replace: bool = True,
    loud: bool = False,
    progress: Progress | None = None,
) -> tuple[FinishedFile, ...]:
    """Write several mixes that belong together: all of them or none, and all at one level.

    Args:
        mixes: what to write and where; the ending names the format.
        replace: whether files that stand there may be replaced.
        loud: raise all of it by one gain, as far as the ceiling lets it; nothing is limited.
        progress: told seconds done, seconds in all, and what is being done.
    Raises:
        AudioError: a track can't be read. OutputError: a file can't be written, or exists.
    """
    refuse_unwritable([path for _, path in mixes], replace=replace)
    total = sum(_blocks(mix) for mix, _ in mixes)
    gain_db = _headroom(mixes, _Counter(progress, total)) if loud else 0.0
    for attempt in range(1, MOST_PASSES + 1):
        try:
            with ExitStack() as stack:
                heard = _pass(stack, mixes, gain_db, replace, _Counter(progress, total))
            return tuple(
                FinishedFile(path, peak, gain_db, sound) for (_, path), (peak, sound) in zip(mixes, heard, strict=True)
            )
        except _TooLoud as error:
            gain_db -= error.over_db + MARGIN_DB * attempt**2
    raise OutputError(
        f"its peaks stayed above {CEILING_DBTP:g} dBTP after {MOST_PASSES} tries.",
        where=str(mixes[0][1]),
        remedy="Write a .flac or .wav instead.",
    )


def refuse_unwritable(paths: Iterable[Path], *, replace: bool) -> None:
    """Refuse names that can't become a mix, before any work is done for them.

    Raises:
        AudioError: an ending names no kind that can be written. OutputError: a file exists and may not be replaced.
    """
    for path in paths:
        refuse_other_kinds(path)
        if not replace and path.exists():
            raise OutputError(
                "exists already.",
                where=str(path),
                remedy="Give another name, or let it be replaced.",
                command="--force",
            )


def check_readable(tracks: Iterable[tuple[Path, str]], *, progress: Progress | None = None) -> None:
    """Read every track once, so that a missing, broken or changed one stops the work before it starts.

    Args:
        tracks: files, and the fingerprint that each must have; empty where it isn't known.
        progress: told files done, files in all, and which one is being read.
    Raises:
        AudioError: names the first track that can't be read, or isn't the recording it was.
    """
    wanted = dict.fromkeys(tracks)
    for done, (path, expected) in enumerate(wanted):
        if progress:
            progress(done, len(wanted), f"checking {path.name}")
        with Decoder(path):
            pass
        if expected and fingerprint(path) != expected:
            raise AudioError(
                "is damaged, or not the recording that was chosen.",
                where=shown(path),
                remedy="Put the old file back; or scan its folder again and choose another track.",
            )


class _Counter:
    """Counts seconds over several files."""

    def __init__(self, progress: Progress | None, total: int) -> None:
        self._progress, self._total, self._done = progress, total, 0

    def tick(self, what: str) -> None:
        self._done += 1
        if self._progress:
            self._progress(min(self._done, self._total), self._total, what)


def _blocks(mix: Mix) -> int:
    return max(-(-round(mix.duration_s * MIX_RATE) // BLOCK_FRAMES), 1)


def _headroom(mixes: Sequence[tuple[Mix, Path]], counter: _Counter) -> float:
    """By how much all of the mixes can be raised together, dB; 0 for silence."""
    meter = PeakMeter(2)
    for mix, _ in mixes:
        for block in render(mix.spans, mix.duration_s, sounds=mix.sounds):
            meter.feed(block)
            counter.tick("listening for the highest peak")
    peak = meter.read_dbtp()
    return CEILING_DBTP - MARGIN_DB - peak if np.isfinite(peak) else 0.0


def _pass(
    stack: ExitStack, mixes: Sequence[tuple[Mix, Path]], gain_db: float, replace: bool, counter: _Counter
) -> list[tuple[float, Loudness]]:
    """Write every mix at that gain, to be put in place when the stack is left; the true peak of each in its file, dBTP,
    and how it sounds."""
    heard = [_write(stack, mix, path, gain_db, replace, counter) for mix, path in mixes]
    highest = max((peak for peak, _ in heard), default=CEILING_DBTP)
    if highest > CEILING_DBTP:
        raise _TooLoud(highest - CEILING_DBTP)
    return heard


def _write(
    stack: ExitStack, mix: Mix, path: Path, gain_db: float, replace: bool, counter: _Counter
) -> tuple[float, Loudness]:
    encoder = stack.enter_context(
        Encoder(
            path,
            rate=MIX_RATE,
            title=mix.title,
            artist=mix.artist,
            album=mix.album,
            comment=mix.comment,
            chapters=mix.chapters,
            cover_png=mix.cover_png,
            replace=replace,
        )
    )
    meter, in_vain = Meter(MIX_RATE, (1.0, 1.0)), False
    with ThreadPoolExecutor(1, thread_name_prefix="meter") as beside:  # measured while the next second is rendered
        measured: Future[None] = Future()
        measured.set_result(None)
        for block in render(mix.spans, mix.duration_s, sounds=mix.sounds, gain_db=gain_db):
            measured.result()
            measured = beside.submit(meter.feed, block)
            # Once a sample is too high, this pass only has to find out by how much.
            in_vain = in_vain or bool(np.abs(block).max(initial=0.0) > 10 ** (CEILING_DBTP / 20))
            if not in_vain:
                encoder.write(block)
            counter.tick(path.name)
        measured.result()
    sound = meter.read()
    peak = sound.true_peak_dbtp
    if peak > CEILING_DBTP:
        return peak, sound
    written = encoder.finish()
    near = peak > CEILING_DBTP - FORMATS[path.suffix.lower()].adds_db
    return _peak_of_file(written) if near else peak, sound


def _peak_of_file(path: Path) -> float:
    with Decoder(path) as decoder:
        meter = PeakMeter(decoder.channels)
        for block in decoder.blocks():
            meter.feed(block.samples)
    return meter.read_dbtp()
