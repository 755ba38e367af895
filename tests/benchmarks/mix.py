"""How fast a mix is written and in how much memory, whether its levels and joins hold, and what encoders do to peaks.

    python tests/benchmarks/mix.py speed FOLDER --minutes 60 180     a class out of the music in FOLDER, to mp3
    python tests/benchmarks/mix.py rest FOLDER                       every track of a folder as the music of a rest
    python tests/benchmarks/mix.py quality SET --library FILE        a real set: levels, joins, length, the rest
    python tests/benchmarks/mix.py --endurance                       twenty random sets in each of six formats
    python tests/benchmarks/mix.py encoders FILE                     quick and usual ways of the two slow encoders

Times are CPU seconds of one process. `quality` needs the extra "test" (libebur128 by pyebur128, the independent meter).
Results stand in docs/mix-and-rest.md.
"""

import argparse
import functools
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

HERE = Path(__file__).resolve()
ROOT = HERE.parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "audio")]

from audio.errors import OutputError  # noqa: E402
from audio.files.decode import Decoder  # noqa: E402
from audio.files.encode import ENDINGS, Encoder  # noqa: E402
from audio.files.folders import SONG_ENDINGS  # noqa: E402
from audio.measure.loudness import PeakMeter  # noqa: E402
from audio.render.master import CEILING_DBTP, Mix, write_mix  # noqa: E402
from audio.render.mixer import MIX_RATE, render  # noqa: E402
from audio.render.span import Level, Span  # noqa: E402

OVERLAP_S = 6.0
REST_FADE_S = 12.0
RANDOM_SETS = 20
Floats = NDArray[np.float32]


# ---- speed and memory ----------------------------------------------------------------------------------------------


def speed(folder: Path, minutes: list[float], ending: str) -> None:
    print("minutes  CPU s  x real time  decode s  encode s  all over both  peak MiB")
    for length in minutes:
        command = [sys.executable, str(HERE), "one", str(folder), "--minutes", str(length), "--as", ending]
        print(subprocess.run(command, capture_output=True, text=True, check=True).stdout.strip(), flush=True)


def one(folder: Path, minutes: float, ending: str) -> None:
    """In a process of its own, so that its memory is its own."""
    import resource

    spent = {"decode": 0.0, "encode": 0.0}
    _count_time(spent)
    mix = _class_of(sorted(path for path in folder.rglob("*") if path.suffix.lower() in SONG_ENDINGS), minutes * 60)
    with tempfile.TemporaryDirectory() as place:
        start = time.process_time()
        write_mix(mix, Path(place) / f"mix{ending}")
        took = time.process_time() - start
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    pure = sum(spent.values())
    print(
        f"{minutes:7.0f}  {took:5.1f}  {minutes * 60 / took:11.1f}  {spent['decode']:8.1f}  {spent['encode']:8.1f}"
        f"  {took / pure:13.2f}  {peak:8.0f}"
    )


def _count_time(spent: dict[str, float]) -> None:
    """Time inside the decoder and the encoder, whoever calls them."""
    blocks, write, finish = Decoder.blocks, Encoder.write, Encoder.finish

    def timed_blocks(self: Decoder, *args: Any, **options: Any) -> Iterator[Any]:
        made = blocks(self, *args, **options)
        while True:
            start = time.process_time()
            block = next(made, None)
            spent["decode"] += time.process_time() - start
            if block is None:
                return
            yield block

    def timed(act: Any) -> Any:
        @functools.wraps(act)
        def wrapped(self: Encoder, *args: Any) -> Any:
            start = time.process_time()
            try:
                return act(self, *args)
            finally:
                spent["encode"] += time.process_time() - start

        return wrapped

    Decoder.blocks = timed_blocks  # type: ignore[method-assign]
    Encoder.write, Encoder.finish = timed(write), timed(finish)  # type: ignore[method-assign]


def _class_of(paths: list[Path], length_s: float) -> Mix:
    """Whole tracks one after the other, again and again, at about the level of a class."""
    lengths = {path: _length_s(path) for path in paths}
    usable = [path for path in paths if lengths[path] > 60]
    spans: list[Span] = []
    at = 0.0
    while at < length_s:
        path = usable[len(spans) % len(usable)]
        end = min(at + lengths[path], length_s)
        spans.append(Span(path, at, end, 0.0, OVERLAP_S, OVERLAP_S, (Level(at, -6.0),)))
        at = end - OVERLAP_S if end < length_s else end
    return Mix(tuple(spans), length_s)


def _length_s(path: Path) -> float:
    import mutagen

    return float(mutagen.File(path).info.length)


# ---- quality of a real set -----------------------------------------------------------------------------------------


def quality(set_file: Path, library: Path | None, under_voice: bool) -> None:
    from pairing.sets import mixdown
    from pairing.workflow import outputs, sets

    found = sets.open_set(set_file, library)
    with tempfile.TemporaryDirectory() as place:
        out = Path(place) / "mix.flac"
        report = outputs.write_whole_mix(found, out, under_voice=under_voice, replace=True, progress=None)
        with Decoder(out) as decoder:
            samples = np.concatenate([block.samples for block in decoder.blocks()])
    (written,) = report.files
    wished = mixdown.duration_s(found.setlist)
    print(
        f"length {len(samples) / MIX_RATE:.4f} s, wished {wished:.4f} s; true peak {written.true_peak_dbtp:.2f} dBTP,"
    )
    print(f"lowered by {-written.gain_db:.2f} dB; last frame {samples[-1].tolist()}")
    _show_levels(found.setlist, samples, -written.gain_db)
    _show_joins(found.setlist, samples)
    if found.setlist.rest is not None:
        _show_rest(found.setlist, samples)


def _show_levels(setlist: Any, samples: Floats, lowered_db: float) -> None:
    from pairing.sets import mixdown

    print("\npick  target LUFS  middle by libebur128  off LU  title")
    shift, off = mixdown.origin_s(setlist), []
    beds = setlist.options.levels
    for pick in setlist.picks:
        start, end = pick.class_start_s - shift + pick.fade_in_s, pick.class_end_s - shift - pick.fade_out_s
        if setlist.rest is not None and abs(pick.class_start_s - setlist.rest.start_s) < 0.01:
            start = max(start, pick.class_start_s - shift + mixdown._sinking_s(setlist, pick))
        target = beds.bed(mixdown._kind(setlist, pick)) - lowered_db
        lufs = integrated_lufs(samples[int(start * MIX_RATE) : int(end * MIX_RATE)])
        off.append(lufs - target)
        print(
            f"{pick.n:4d}  {target:11.1f}  {lufs:20.1f}  {lufs - target:+6.2f}  {pick.title[:40]} {end - start:.0f} s"
        )
    print(
        f"largest {max(map(abs, off)):.2f} LU, {sum(abs(each) > 0.5 for each in off)} of {len(off)} off by more than 0.5"
    )


def _show_joins(setlist: Any, samples: Floats) -> None:
    """The largest step from sample to sample around the ends of every overlap, and within 5 s around it."""
    from pairing.sets import mixdown

    worst = 0.0
    for pick in setlist.picks[1:]:
        for at_s in (pick.class_start_s, pick.class_start_s + pick.fade_in_s):
            at = int((at_s - mixdown.origin_s(setlist)) * MIX_RATE)
            around = np.abs(np.diff(samples[max(at - 5 * MIX_RATE, 0) : at + 5 * MIX_RATE], axis=0))
            near = np.abs(np.diff(samples[max(at - 20, 0) : at + 20], axis=0))
            worst = max(worst, float(near.max() / max(around.max(), 1e-9)))
    print(f"\nlargest step at a join over the largest within 5 s around it: {worst:.2f}")


def _show_rest(setlist: Any, samples: Floats) -> None:
    from pairing.sets import mixdown

    rest, shift = setlist.rest, mixdown.origin_s(setlist)
    heard_to_s = rest.end_s - rest.silence_s - shift
    music = samples[int((rest.start_s - shift) * MIX_RATE) : int(heard_to_s * MIX_RATE)]
    curve = short_term_lufs(music)
    inside = [pick for pick in setlist.picks if rest.start_s - 0.01 <= pick.class_start_s < rest.end_s - 0.01]
    fades = [(pick.class_start_s - rest.start_s, pick.class_start_s - rest.start_s + pick.fade_in_s) for pick in inside]
    rise, at = largest_rise(curve, fades)
    print(f"\nthe rest: largest rise within 3 s {rise:.2f} LU, at {at:.0f} s of it; {len(inside)} tracks;", end=" ")
    print(f"last fade {inside[-1].fade_out_s:.0f} s" if inside else "silent")


def rest(folder: Path) -> None:
    """The largest rise in the first four minutes of each track, as it is and as it sounds in a rest."""
    from audio.render.gain_ride import evened

    print("rise, LU: as it is  in a rest  gain falls by at most, dB  track")
    found = []
    for path in sorted(path for path in folder.rglob("*") if path.suffix.lower() in SONG_ENDINGS):
        length = min(_length_s(path), 240.0)
        if length < 60:
            continue
        plain = Span(path, 0.0, length, 0.0, REST_FADE_S, 20.0, (Level(0.0, -8.0),))
        even = evened(plain)
        rises = [_rise_of(span) for span in (plain, even)]
        found.append(rises)
        gains = [level.gain_db for level in even.levels]
        print(f"{rises[0]:18.2f}  {rises[1]:9.2f}  {max(gains) - min(gains):25.1f}  {path.stem}", flush=True)
    before, after = zip(*found, strict=True)
    print(f"{len(found)} tracks: largest {max(before):.2f}, median {np.median(before):.2f}; in a rest {max(after):.2f}")


def _rise_of(span: Span) -> float:
    samples = np.concatenate(list(render([span], span.mix_end_s)))
    return largest_rise(short_term_lufs(samples), [(0.0, span.fade_in_s)])[0]


def integrated_lufs(samples: Floats) -> float:
    import pyebur128

    state = pyebur128.R128State(2, MIX_RATE, pyebur128.MeasurementMode.MODE_I)
    state.add_frames(np.ascontiguousarray(samples).ravel(), len(samples))
    return float(pyebur128.get_loudness_global(state))


def short_term_lufs(samples: Floats) -> NDArray[np.float64]:
    """By libebur128, ten a second; value i is of the 3 s that end at (i + 1) / 10 s."""
    import pyebur128

    state = pyebur128.R128State(2, MIX_RATE, pyebur128.MeasurementMode.MODE_S)
    step, values = MIX_RATE // 10, []
    for start in range(0, len(samples) - step + 1, step):
        state.add_frames(np.ascontiguousarray(samples[start : start + step]).ravel(), step)
        values.append(pyebur128.get_loudness_shortterm(state))
    return np.array(values)


def largest_rise(curve: NDArray[np.float64], fades_s: list[tuple[float, float]]) -> tuple[float, float]:
    """Largest rise within 3 s that ends above the median less 3 LU, and when; windows in a fade-in are left out."""
    level = np.maximum(curve, -70.0)
    floor = float(np.median(level)) - 3.0
    ends = np.arange(1, len(level) + 1) / 10
    asked = level > floor
    for start, end in fades_s:
        asked &= ~((ends > start) & (ends <= end + 3.0))
    lowest = np.array([level[max(i - 30, 0) : i + 1].min() for i in range(len(level))])
    rises = np.where(asked, level - lowest, 0.0)
    return float(rises.max(initial=0.0)), float(ends[int(rises.argmax())]) if len(rises) else 0.0


# ---- what encoders do to peaks -------------------------------------------------------------------------------------


def endurance(count: int) -> None:
    """Random sets in all formats: peak and length of the file as written, and what the encoder adds to a peak."""
    from random_mixes import random_mix

    print("format  sets  highest dBTP  length off by at most  encoder adds at most  passes at most  failed")
    for ending in ENDINGS:
        peaks, lengths, added, passes, failed = [], [], [], [], 0
        for seed in range(100, 100 + count):
            with tempfile.TemporaryDirectory() as place:
                mix = random_mix(Path(place), seed)
                out = Path(place) / f"mix{ending}"
                begun: list[int] = []
                try:
                    written = write_mix(mix, out, progress=lambda done, _, __, begun=begun: begun.append(done))  # type: ignore[misc]
                except OutputError:
                    failed += 1
                    continue
                seconds, peak = _decoded(out)
                peaks.append(peak)
                lengths.append(abs(seconds - mix.duration_s))
                passes.append(begun.count(1))
                added.append(peak - _peak_of(mix, written.gain_db))
        print(
            f"{ending:6}  {len(peaks):4d}  {max(peaks):12.2f}  {max(lengths):21.4f}  {max(added):20.2f}"
            f"  {max(passes):14d}  {failed + sum(peak > CEILING_DBTP for peak in peaks):6d}",
            flush=True,
        )


def _peak_of(mix: Mix, gain_db: float) -> float:
    meter = PeakMeter(2)
    for block in render(mix.spans, mix.duration_s, sounds=mix.sounds, gain_db=gain_db):
        meter.feed(block)
    return meter.read_dbtp()


def _decoded(path: Path) -> tuple[float, float]:
    with Decoder(path) as decoder:
        meter, frames = PeakMeter(decoder.channels), 0
        for block in decoder.blocks():
            meter.feed(block.samples)
            frames += len(block.samples)
        return frames / decoder.rate, meter.read_dbtp()


def encoders(path: Path) -> None:
    """CPU time and nearness to the samples of LAME and of ways to run FFmpeg's AAC encoder, on two minutes of a file."""
    from audio.files import encode

    with Decoder(path) as decoder:
        rate, samples = decoder.rate, np.concatenate([block.samples for block in decoder.blocks(0.0, 120.0)])
    ways = {
        ".mp3": [{}],
        ".m4a": [{}, {"aac_coder": "fast"}],
    }
    known = dict(encode.FORMATS)
    print("format  x real time  signal over difference, dB  options")
    for ending, options in ways.items():
        for chosen in options:
            encode.FORMATS = known | {ending: replace(known[ending], codec_options=chosen)}
            with tempfile.TemporaryDirectory() as place:
                out = Path(place) / f"a{ending}"
                start = time.process_time()
                with Encoder(out, rate=rate) as encoder:
                    encoder.write(samples)
                took = time.process_time() - start
                with Decoder(out) as decoder:
                    back = np.concatenate([block.samples for block in decoder.blocks()])[: len(samples)]
            nearness = 10 * np.log10(np.mean(samples**2) / np.mean((back - samples[: len(back)]) ** 2))
            print(f"{ending:6}  {len(samples) / rate / took:11.1f}  {nearness:26.1f}  {chosen or 'usual'}", flush=True)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("what", nargs="?", choices=["speed", "one", "rest", "quality", "encoders"])
    parser.add_argument("path", nargs="?", type=Path)
    parser.add_argument("--minutes", nargs="+", type=float, default=[60.0, 180.0])
    parser.add_argument("--as", dest="ending", default=".mp3")
    parser.add_argument("--library", type=Path)
    parser.add_argument("--under-voice", action="store_true")
    parser.add_argument("--endurance", action="store_true")
    parser.add_argument("--sets", type=int, default=RANDOM_SETS)
    asked = parser.parse_args()
    if asked.endurance:
        endurance(asked.sets)
    elif asked.what == "speed":
        speed(asked.path, asked.minutes, asked.ending)
    elif asked.what == "one":
        one(asked.path, asked.minutes[0], asked.ending)
    elif asked.what == "rest":
        rest(asked.path)
    elif asked.what == "quality":
        quality(asked.path, asked.library, asked.under_voice)
    elif asked.what == "encoders":
        encoders(asked.path)
    else:
        parser.error("say what to measure: speed, rest, quality, encoders, or --endurance")


if __name__ == "__main__":
    main()
