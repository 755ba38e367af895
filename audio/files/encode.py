"""Blocks of samples into one file: wav, flac, mp3, m4a, ogg or opus by its ending, with chapters, tags and cover.

A file is written whole or not at all. The same samples give the same bytes for wav and flac.
"""

import contextlib
import io
from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import ExitStack
from dataclasses import dataclass, field
from fractions import Fraction
from functools import partial
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any, Self

import numpy as np

from audio.arrays import F32
from audio.errors import AudioError, OutputError
from audio.files.mp3 import Mp3Packets
from audio.files.tags import Chapter, write_chapters_and_cover, write_tags
from audio.files.whole import whole_file, write_text
from audio.text import one_line
from audio.track import Tags

if TYPE_CHECKING:
    import soxr

__all__ = ["ENDINGS", "FORMATS", "Chapter", "Encoder", "Format", "cue_sheet", "endings_text", "refuse_other_kinds"]


@dataclass(frozen=True, slots=True)
class Format:
    """How one kind of file is written, and what that does to a peak."""

    container: str  # FFmpeg's names, here and below
    codec: str
    sample_format: str
    bits: int | None = None  # a second, of stereo; None: as many as it takes
    container_options: Mapping[str, str] = field(default_factory=dict)
    codec_options: Mapping[str, str] = field(default_factory=dict)
    # So near to a ceiling the file itself is measured: about twice what the encoder was seen to add to music that is
    # hard on it (docs/mix-and-rest.md); rounding to 24 bits for the first two.
    adds_db: float = 0.01


# Every kind that can be written, by ending, the usual ones first; all that lists them reads this table. Rates are
# editorial: music in a room of moving people isn't told from the original. LAME (`Mp3Packets`) and FFmpeg's AAC encoder
# are asked for their quick ways (faster, and at these rates nearer to the samples: tests/benchmarks/mix.py).
FORMATS: Mapping[str, Format] = {
    ".mp3": Format("mp3", "libmp3lame", "fltp", 256_000, adds_db=1.5),
    ".m4a": Format("ipod", "aac", "fltp", 192_000, {"movflags": "+faststart"}, {"aac_coder": "fast"}, adds_db=6.0),
    ".flac": Format("flac", "flac", "s32"),
    ".wav": Format("wav", "pcm_s24le", "s32", None, {"rf64": "auto"}),
    ".ogg": Format("ogg", "vorbis", "flt", adds_db=2.5),  # by libsndfile, which takes its own options
    ".opus": Format("opus", "libopus", "flt", 128_000, adds_db=6.0),
}
ENDINGS = tuple(FORMATS)
_VORBIS_COMPRESSION = 0.4  # libsndfile counts from 0 (best) to 1: quality 6, about 192 kbit/s
_OPUS_RATE = 48_000  # RFC 6716: the rate that all its modes are defined at
_PIECE = 1 << 14  # frames handed over at once; libsndfile's Vorbis writer holds each piece on its stack
_MOST_CUE_TRACKS = 99
# FFmpeg writes no chapters to FLAC, and moves those of Opus to whole seconds.
_CHAPTERS_AS_COMMENTS = (".flac", ".ogg", ".opus")
_CHAPTERS_IN_CONTAINER = (".mp3", ".m4a")
# Not mp3: mutagen would sort the chapters anew, by the length of their titles.
_COVER_AFTERWARDS = (".flac", ".ogg", ".opus", ".m4a")


class Encoder:
    """Writes samples to one file of the kind its ending names.

    Args:
        path: ends in one of `ENDINGS`.
        rate: samples a second of what is written to it; Opus files always hold 48,000.
        channels: 1 or 2.
        comment: free text among the tags.
        chapters: in order; kept in the file, or in a .cue file beside it for wav.
        cover_png: a picture for the kinds that can hold one (all but wav).
        replace: whether a file that stands there may be replaced.
    Raises:
        AudioError: the ending is none of the six.
        OutputError: it can't be written there, or the disk is full; then there is no file, or the one from before.

    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     with Encoder(Path(folder, "mix.flac"), title="Harbour") as encoder:
    ...         encoder.write(np.zeros((44_100, 2), np.float32))
    ...     [path.name for path in Path(folder).iterdir()]
    ['mix.flac']
    """

    def __init__(
        self,
        path: Path,
        *,
        rate: int = 44100,
        channels: int = 2,
        title: str = "",
        artist: str = "",
        album: str = "",
        comment: str = "",
        chapters: Sequence[Chapter] = (),
        cover_png: bytes | None = None,
        replace: bool = True,
    ) -> None:
        refuse_other_kinds(path)
        self.path, self.rate, self.channels = path, rate, channels
        self.tags = Tags(one_line(title), one_line(artist), one_line(album))
        self.comment = one_line(comment)
        self.chapters = tuple(chapters)
        self.cover_png = cover_png
        self.replace = replace
        self._stack = ExitStack()
        self._resampler: soxr.ResampleStream | None = None
        self._finished = False

    def __enter__(self) -> Self:
        self._refuse_to_replace_the_cue()
        temporary = self._stack.enter_context(whole_file(self.path, replace=self.replace))
        try:
            self._writer = self._open(temporary)
        except BaseException as error:
            self._stack.__exit__(type(error), error, error.__traceback__)
            raise
        self._temporary = temporary
        return self

    def write(self, samples: F32) -> None:
        """Add float32 samples of shape (frames, channels).

        What is beyond full scale is clipped, and what is no number becomes silence: LAME would end the process on it.

        Raises:
            OutputError: it can't be written, as when the disk is full.
        """
        if len(samples) and not np.abs(samples).max() <= 1.0:
            samples = np.clip(np.nan_to_num(samples, nan=0.0), -1.0, 1.0)
        if self._resampler is not None:
            samples = self._resampler.resample_chunk(np.ascontiguousarray(samples, np.float32))
        self._add(samples)

    def finish(self) -> Path:
        """End the file, which can be read at the path given back, under another name yet; leaving `with` puts it in
        place, and leaving it by an error takes it away.

        Raises:
            AudioError: the file takes no tags.
            OutputError: it can't be written, as when the disk is full.
        """
        if not self._finished:
            self._finish()
            self._finished = True
        return self._temporary

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if error is None:
            try:
                self.finish()
            except BaseException as late:
                self._stack.__exit__(type(late), late, late.__traceback__)
                raise
        elif not self._finished:
            self._writer.abandon()
        self._stack.__exit__(kind, error, trace)
        if error is None and self._cue is not None and self.chapters:
            write_text(self._cue, cue_sheet(self.path.name, self.tags, self.chapters), replace=self.replace)

    @property
    def _cue(self) -> Path | None:
        return self.path.with_suffix(".cue") if self.path.suffix.lower() == ".wav" else None

    def _refuse_to_replace_the_cue(self) -> None:
        if self._cue is not None and self.chapters and self._cue.exists() and not self.replace:
            raise OutputError(
                "exists already.",
                where=str(self._cue),
                remedy="Give another name, or let it be replaced.",
                command="--force",
            )

    def _open(self, temporary: Path) -> "_Writer":
        kind = self.path.suffix.lower()
        if kind == ".ogg":
            return _VorbisWriter(temporary, self.rate, self.channels)
        rate = self.rate
        if kind == ".opus" and rate != _OPUS_RATE:
            import soxr

            self._resampler = soxr.ResampleStream(rate, _OPUS_RATE, self.channels, dtype="float32", quality="HQ")
            rate = _OPUS_RATE
        writer = _AvWriter(temporary, kind, rate, self.channels, self.tags, self.comment)
        writer.head(self.chapters if kind in _CHAPTERS_IN_CONTAINER else (), self.cover_png if kind == ".mp3" else None)
        return writer

    def _add(self, samples: F32) -> None:
        for start in range(0, len(samples), _PIECE):
            self._guarded(partial(self._writer.add, samples[start : start + _PIECE]))

    def _finish(self) -> None:
        if self._resampler is not None:
            self._add(self._resampler.resample_chunk(np.zeros((0, self.channels), np.float32), last=True))
        self._guarded(self._writer.close)
        kind = self.path.suffix.lower()
        if kind == ".ogg":
            write_tags(self._temporary, self.tags, comment=self.comment)
        chapters = self.chapters if kind in _CHAPTERS_AS_COMMENTS else ()
        cover = self.cover_png if kind in _COVER_AFTERWARDS else None
        if chapters or cover:
            write_chapters_and_cover(self._temporary, chapters, cover)

    def _guarded(self, act: Callable[[], None]) -> None:
        """Turn what the libraries raise when the disk is full or gone into an error that a person reads."""
        import av

        try:
            act()
        except (av.FFmpegError, OSError, RuntimeError, AssertionError) as error:
            reason = getattr(error, "strerror", None) or str(error) or "the disk is full or gone"
            raise OutputError(
                f"can't be written ({reason}).", where=str(self.path), remedy="Nothing was written there."
            ) from error


def mp3_piece(samples: F32, rate: int, bits: int) -> bytes:
    """Stereo samples as one MP3 file in memory whose header tells how many there are.

    Args:
        samples: shape (frames, 2), full scale 1.0.
        rate: samples a second, one that MP3 has.
        bits: a second.
    Returns:
        the bytes of the file; MPEG sets its frames, not the number of samples, so a player cuts by the header.
    """
    import av

    file = io.BytesIO()
    with av.open(file, "w", format="mp3") as container:
        stream: Any = container.add_stream("libmp3lame", rate=rate)
        stream.codec_context.layout, stream.codec_context.format = "stereo", "fltp"
        stream.codec_context.bit_rate = bits
        packets = Mp3Packets(bits, rate, channels=2)
        for packet in (*packets.add(np.clip(samples, -1, 1)), *packets.close()):
            packet.stream = stream
            container.mux(packet)
    return file.getvalue()


def refuse_other_kinds(path: Path) -> None:
    """Refuse a name whose ending is none of `ENDINGS`.

    Raises:
        AudioError: says which endings there are.
    """
    if path.suffix.lower() not in ENDINGS:
        raise AudioError(
            f'is of no kind that can be written ("{path.suffix}").',
            where=str(path),
            remedy=f"Give a name that ends in {endings_text()}.",
        )


def endings_text() -> str:
    """The endings as they stand in a sentence.

    >>> endings_text()
    '.mp3, .m4a, .flac, .wav, .ogg or .opus'
    """
    return f"{', '.join(ENDINGS[:-1])} or {ENDINGS[-1]}"


def cue_sheet(audio_name: str, tags: Tags, chapters: Sequence[Chapter]) -> str:
    """The text of a .cue file: the audio file by its bare name, a track a chapter, times in 75ths of a second.

    Such sheets hold 99 tracks at most; later chapters are left out.
    """
    lines = [f'PERFORMER "{_quoted(tags.artist)}"'] if tags.artist else []
    lines += [f'TITLE "{_quoted(tags.title)}"'] if tags.title else []
    lines.append(f'FILE "{_quoted(audio_name)}" WAVE')
    for number, chapter in enumerate(chapters[:_MOST_CUE_TRACKS], 1):
        seconds, frames = divmod(round(chapter.start_s * 75), 75)
        lines += [
            f"  TRACK {number:02} AUDIO",
            f'    TITLE "{_quoted(chapter.title)}"',
            f"    INDEX 01 {seconds // 60:02}:{seconds % 60:02}:{frames:02}",
        ]
    return "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    return one_line(text).replace('"', "'")


class _Writer:
    """Takes samples and puts them into one file."""

    def add(self, samples: F32) -> None:
        raise NotImplementedError

    def close(self) -> None:
        raise NotImplementedError

    def abandon(self) -> None:
        """Let go of the file, whatever state it is in."""
        raise NotImplementedError


class _VorbisWriter(_Writer):
    """Ogg Vorbis by libsndfile, since PyAV comes without libvorbis."""

    def __init__(self, path: Path, rate: int, channels: int) -> None:
        import soundfile

        self._file = soundfile.SoundFile(
            path,
            "w",
            rate,
            channels,
            format="OGG",
            subtype="VORBIS",
            compression_level=_VORBIS_COMPRESSION,
        )

    def add(self, samples: F32) -> None:
        self._file.write(samples)

    def close(self) -> None:
        self._file.close()

    abandon = close


class _AvWriter(_Writer):
    """The other five by FFmpeg's encoders."""

    def __init__(self, path: Path, kind: str, rate: int, channels: int, tags: Tags, comment: str) -> None:
        import av

        known = FORMATS[kind]
        self._layout = "mono" if channels == 1 else "stereo"
        self._rate, self._count = rate, 0
        self._container = av.open(str(path), "w", format=known.container, options=dict(known.container_options))
        self._stream: Any = self._container.add_stream(known.codec, rate=rate, options=dict(known.codec_options))
        self._set_up(self._stream.codec_context, known, channels)
        self._mp3 = Mp3Packets((known.bits or 0) * channels // 2, rate, channels) if kind == ".mp3" else None
        words = {"title": tags.title, "artist": tags.artist, "album": tags.album, "comment": comment}
        self._container.metadata.update({name: text for name, text in words.items() if text})

    def _set_up(self, context: Any, known: Format, channels: int) -> None:
        context.layout, context.format = self._layout, known.sample_format
        if known.bits:
            context.bit_rate = known.bits * channels // 2

    def head(self, chapters: Sequence[Chapter], cover_png: bytes | None) -> None:
        """What has to stand before the first sample."""
        if chapters:
            self._container.set_chapters([_as_av(number, chapter) for number, chapter in enumerate(chapters)])
        if cover_png:
            self._attach(cover_png)

    def _attach(self, png: bytes) -> None:
        import av
        from av.stream import Disposition

        with av.open(io.BytesIO(png), "r", format="png_pipe") as picture:
            stream = self._container.add_stream_from_template(picture.streams.video[0])
            stream.disposition = Disposition.attached_pic.value  # type: ignore[assignment]  # some versions want a number
            packet = next(picture.demux(video=0))
            packet.stream = stream
            self._container.mux(packet)

    def add(self, samples: F32) -> None:
        import av

        if self._mp3:
            self._mux(self._mp3.add(samples))
            return
        frame = av.AudioFrame.from_ndarray(
            np.ascontiguousarray(samples, np.float32).reshape(1, -1), format="flt", layout=self._layout
        )
        frame.sample_rate = self._rate
        frame.pts, frame.time_base = self._count, Fraction(1, self._rate)
        self._count += len(samples)
        self._container.mux(self._stream.encode(frame))

    def close(self) -> None:
        if self._mp3:
            self._mux(self._mp3.close())
        else:
            self._container.mux(self._stream.encode(None))
        self._container.close()

    def _mux(self, packets: Iterable[Any]) -> None:
        for packet in packets:
            packet.stream = self._stream
            self._container.mux(packet)

    def abandon(self) -> None:
        if self._mp3:
            self._mp3.abandon()
        with contextlib.suppress(Exception):
            self._container.close()


def _as_av(number: int, chapter: Chapter) -> Any:
    return {
        "id": number,
        "start": round(chapter.start_s * 1000),
        "end": round(chapter.end_s * 1000),
        "time_base": Fraction(1, 1000),
        "metadata": {"title": one_line(chapter.title)},
    }
