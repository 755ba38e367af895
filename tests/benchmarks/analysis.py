"""How well and how fast a recording is measured: tempo, beats, energy, loudness, voice, speed, memory.

    python tests/benchmarks/analysis.py FOLDER [--music FOLDER] [--rated RATINGS.csv CLIPS] [--songs SONGS]

FOLDER takes the renders of `grooves.py` and the sounds without a beat (about 70 MiB, made once). --music: a folder of
game music whose names say what it is for. --rated and --songs: see fit_energy.py and fit_voice.py, which are called.
CPU seconds of one process with one thread; the machine says how long that is.
"""

import argparse
import os
import resource
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "NUMBA_NUM_THREADS"):
    os.environ.setdefault(name, "1")

HERE = Path(__file__).resolve()
sys.path[:0] = [str(HERE.parents[2]), str(HERE.parents[1] / "audio")]

import fit_voice  # noqa: E402
import grooves  # noqa: E402
import numpy as np  # noqa: E402
import sounds  # noqa: E402
import soxr  # noqa: E402

from audio.errors import AudioError  # noqa: E402
from audio.files.decode import Decoder  # noqa: E402
from audio.measure import analysis  # noqa: E402
from audio.measure.loudness import Meter, weights_of  # noqa: E402
from audio.measure.voice import voice_curves  # noqa: E402
from audio.track import Analysis  # noqa: E402

SEED = 2026  # nothing was fitted or chosen on these renders
LIVELY = ("battle", "frantic", "siege", "vengeful", "dangerous", "fight", "boss", "combat")
CALM = ("sad", "love", "sanctuary", "transience", "dimittis", "elf", "elv", "deep_path", "underground", "wander")
CALM += ("calm", "ambient", "peace")


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    parser.add_argument("--music", type=Path)
    parser.add_argument("--rated", type=Path, nargs=2)
    parser.add_argument("--songs", type=Path)
    given = parser.parse_args()
    given.folder.mkdir(parents=True, exist_ok=True)
    steady = list(grooves.grooves(given.folder, 4, SEED))
    tempo_and_beats(steady, still_sounds(given.folder))
    speech_over_music(steady[::2], given.folder)
    speed(steady[0].path, given.folder)
    if given.music:
        known = {path: read for path in sorted(given.music.iterdir()) if (read := analysed(path))}
        lively_over_calm(known)
        second_meter(list(known)[:12])
    here = HERE.parent
    if given.rated:
        subprocess.run([sys.executable, here / "fit_energy.py", *given.rated], check=True)
    if given.songs and given.rated:
        subprocess.run([sys.executable, here / "fit_voice.py", given.songs, *given.rated], check=True)


def analysed(path: Path) -> Analysis | None:
    try:
        return analysis.analyse(path)
    except AudioError as error:
        print(error)
        return None


def still_sounds(folder: Path) -> list[Path]:
    """Noises, drones and strokes at random times: nothing to tap along with."""
    made: list[tuple[str, Callable[[int], np.ndarray]]] = [
        ("white", lambda seed: sounds.noise(30, "white", seed)),
        ("surf", lambda seed: sounds.noise(30, "surf", seed)),
        ("rain", lambda seed: sounds.noise(30, "rain", seed)),
        ("drone", drone),
        ("bells", lambda seed: strokes(seed, 3.0)),
        ("free", lambda seed: strokes(seed, 0.6)),
    ]
    paths = []
    for name, make in made:
        for seed in range(4):
            path = folder / f"still_{name}_{seed}.wav"
            paths.append(path)
            if not path.exists():
                sounds.written(path, make(seed))
    return paths


def drone(seed: int) -> np.ndarray:
    random = np.random.default_rng(seed)
    time_s = np.arange(30 * sounds.RATE) / sounds.RATE
    root = random.uniform(60, 160)
    out = np.zeros_like(time_s)
    for harmonic in range(1, 10):
        swell = np.interp(time_s, np.linspace(0, 30, 8), random.uniform(0.2, 1, 8))
        out += swell * np.sin(2 * np.pi * root * harmonic * random.normal(1, 5e-4) * time_s) / harmonic
    return (0.3 * out / np.abs(out).max()).astype(np.float32)


def strokes(seed: int, apart_s: float) -> np.ndarray:
    """Struck tones whose distances are spread log-normally about `apart_s`."""
    random = np.random.default_rng(seed)
    out = np.zeros(32 * sounds.RATE, np.float32)
    at = 0.3
    while at < 29:
        time_s = np.arange(min(2 * sounds.RATE, len(out) - round(at * sounds.RATE))) / sounds.RATE
        hertz = 440 * 2 ** (random.integers(-24, 12) / 12)
        tone = sum(np.sin(2 * np.pi * hertz * h * time_s) / h for h in (1, 2, 3)) * np.exp(-3 * time_s)
        out[round(at * sounds.RATE) :][: len(tone)] += random.uniform(0.3, 1) * tone
        at += apart_s * float(np.exp(random.normal(0, 0.6)))
    return (0.3 * out / np.abs(out).max()).astype(np.float32)


def tempo_and_beats(steady: list[grooves.Groove], still: list[Path]) -> None:
    right = octaves = none = 0
    hits, bars, bars_right = [], 0, 0
    for groove in steady:
        known = analysis.analyse(groove.path)
        hits.append(f_measure(known.curves.beats_s, groove.beats_s))
        none += known.tempo_bpm is None
        if known.tempo_bpm:
            right += any(abs(known.tempo_bpm / true - 1) < 0.04 for true in groove.tempos_bpm)
            levels = [groove.tempos_bpm[0] * level for level in (1, 2, 3, 1 / 2, 1 / 3)] + [*groove.tempos_bpm]
            octaves += any(abs(known.tempo_bpm / true - 1) < 0.04 for true in levels)
        if known.metre:
            bars += 1
            bars_right += f_measure(known.curves.downbeats_s, groove.beats_s[:: groove.metre]) > 0.7
    false = sum(analysis.analyse(path).tempo_bpm is not None for path in still)
    count = len(steady)
    print(f"tempo, {count} renders: within 4 % {right / count:.3f}, or an octave off {octaves / count:.3f},", end=" ")
    print(f"none given {none / count:.3f}; beats within 70 ms F = {np.mean(hits):.3f}")
    print(f"bars said for {bars}, right for {bars_right}; {false} of {len(still)} sounds without a beat given a tempo")


def f_measure(found_s: np.ndarray, true_s: np.ndarray, within_s: float = 0.07) -> float:
    hits = sum(np.abs(found_s - beat).min(initial=9.0) <= within_s for beat in true_s)
    return 2 * hits / max(1, len(found_s) + len(true_s))


SPOKEN = {
    "en-gb": "The harbour was quiet when the first boats came home, and on the pier an old man was counting ropes.",
    "en-us": "Breathe in and lift the arms, breathe out and fold. Step the right foot back, and stay for one more breath.",
    "de": "Am Abend lag das Wasser still, und niemand sprach ein Wort, bis die Lampen auf der Mole brannten.",
    "fr-fr": "Le vent tourne avant la nuit, et les voiles claires rentrent une par une derriere le phare.",
}


def speech_over_music(steady: list[grooves.Groove], folder: Path) -> None:
    """A speech synthesiser (espeak-ng) over renders and the same renders without: nothing was fitted on either."""
    shares: dict[int | None, list[float]] = {None: [], 6: [], 0: [], -6: []}
    for number, groove in enumerate(steady):
        voice, rate = mono(speech(list(SPOKEN)[number % len(SPOKEN)], folder))
        music, music_rate = mono(groove.path)
        talk = np.resize(soxr.resample(voice, rate, music_rate), len(music))
        talk *= np.sqrt(np.mean(music**2) / np.mean(talk**2))
        for over_db, found in shares.items():
            samples = music if over_db is None else music + talk * 10 ** (over_db / 20)
            run = analysis.Pass(music_rate, (2.0,))
            run.feed((samples / max(1.0, float(np.abs(samples).max())))[:, None].astype(np.float32))
            _, heard, voices = run.end()
            found.append(float(voice_curves(voices, heard.odds, heard.middles_s, 20)[0].mean()))
    without = np.array(shares.pop(None))
    for over_db, found in shares.items():
        spoken = np.array(found)
        low, high = fit_voice.interval(spoken, without)
        print(f"voice: speech {over_db:+d} dB over {len(steady)} renders against none: AUC", end=" ")
        print(f"{fit_voice.auc(spoken, without):.3f} (95 % {low:.3f} to {high:.3f});", end=" ")
        print(f"over half a voice in {np.mean(spoken > 0.5):.0%} and {np.mean(without > 0.5):.0%}", flush=True)


def mono(path: Path) -> tuple[np.ndarray, int]:
    with Decoder(path) as decoder:
        return np.concatenate([block.samples for block in decoder.blocks()]).mean(axis=1), decoder.rate


def speech(language: str, folder: Path) -> Path:
    path = folder / f"speech_{language}.wav"
    if not path.exists():
        subprocess.run(["espeak-ng", "-v", language, "-s", "140", "-w", path, SPOKEN[language]], check=True)
    return path


def speed(path: Path, folder: Path) -> None:
    mp3 = folder / "four_minutes.mp3"
    if not mp3.exists():
        command = ["ffmpeg", "-v", "error", "-y", "-stream_loop", "12", "-i", path, "-t", "240", "-b:a", "192k", mp3]
        subprocess.run(command, check=True)
    analysis.analyse(mp3)  # imports and weights once
    spent: dict[str, float] = {}
    for name in ("tag_odds", "pulse_of", "tempo_of", "beats_of", "cut_points", "energy_curve", "key_of"):
        setattr(analysis, name, timed(getattr(analysis, name), name, spent))
    analysis.Meter.feed = timed(Meter.feed, "loudness and true peak", spent)
    analysis.FeatureStream.feed = timed(analysis.FeatureStream.feed, "spectra", spent)
    start = time.process_time()
    analysis.analyse(mp3)
    whole = time.process_time() - start
    start = time.process_time()
    with Decoder(mp3) as decoder:
        for _ in decoder.blocks():
            pass
    spent["decoding"] = time.process_time() - start
    print(f"speed, 4 minutes of mp3: {240 / whole:.0f} x real time; ms a second of music:", end=" ")
    print(", ".join(f"{name} {1000 * cpu / 240:.2f}" for name, cpu in sorted(spent.items(), key=lambda item: -item[1])))
    print(f"peak memory up to here {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MiB")


def timed(function: Callable[..., Any], name: str, spent: dict[str, float]) -> Callable[..., Any]:
    def run(*args: Any, **kwargs: Any) -> Any:
        start = time.process_time()
        result = function(*args, **kwargs)
        spent[name] = spent.get(name, 0.0) + time.process_time() - start
        return result

    return run


def lively_over_calm(known: dict[Path, Analysis]) -> None:
    energy = {path.stem: read.curves.mean_energy for path, read in known.items()}
    lively = [value for name, value in energy.items() if any(word in name for word in LIVELY)]
    calm = [value for name, value in energy.items() if any(word in name for word in CALM)]
    if lively and calm:
        share = np.mean([one > other for one in lively for other in calm])
        print(f"energy: {len(lively)} lively over {len(calm)} calm pieces in {share:.1%} of the pairs")
    voiced = sum(read.curves.voice_share > 0.2 for read in known.values())
    print(f"voice: {voiced} of {len(known)} pieces of game music are said to hold one for more than a fifth")


def second_meter(paths: list[Path]) -> None:
    try:
        import pyebur128
    except ImportError:
        print("loudness: no second meter installed")
        return
    worst = worst_peak = 0.0
    for path in paths:
        with Decoder(path) as decoder:
            samples = np.concatenate([block.samples for block in decoder.blocks()])
            rate, layout = decoder.rate, decoder.layout
        mode = pyebur128.MeasurementMode
        other = pyebur128.R128State(samples.shape[1], rate, mode.MODE_I | mode.MODE_TRUE_PEAK)
        other.add_frames(np.ascontiguousarray(samples).ravel(), len(samples))
        meter = Meter(rate, weights_of(layout) if samples.shape[1] > 1 else (1.0,))
        meter.feed(samples)
        ours = meter.read()
        worst = max(worst, abs(ours.integrated_lufs - pyebur128.get_loudness_global(other)))
        peak = max(pyebur128.get_true_peak(other, channel) for channel in range(samples.shape[1]))
        worst_peak = max(worst_peak, abs(ours.true_peak_dbtp - 20 * np.log10(peak)))
    print(f"loudness: {len(paths)} pieces, at most {worst:.3f} LU and {worst_peak:.2f} dB (peak) from libebur128")


if __name__ == "__main__":
    main()
