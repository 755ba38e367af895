"""The class as it is heard, against libebur128 (EBU R 128, EBU Tech 3341), on real sound that keeps or breaks each rule."""

import dataclasses
import json
import re
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

from audio.measure.loudness import Meter
from audio.render.bell import bell_at
from audio.render.forecast import forecast
from audio.render.master import Mix, write_mix
from audio.render.mixer import MIX_RATE, Sound
from audio.render.span import Level, Span
from audio.render.tenths import in_tenths, powers_of
from pairing.checks.heard import heard_findings
from pairing.commands import main
from pairing.model import Fit, Kind, PairOptions, Pick, Rest, SectionTime, SetFrame, SetList, SetPlan, Wishes
from pairing.sets import mixdown
from pairing.sets.heard import ClassSound, as_heard
from pairing.sets.setfile import write_set

REFERENCE = Path(__file__).parents[2] / "docs" / "reference.md"
RATE = 8_000
Loudness = Callable[[NDArray[np.float64]], NDArray[np.float64]]

# name, kind, seconds, LUFS, the arc
CLASS = (
    ("Arrive", Kind.OPENING, 40, -24.0, 0.2),
    ("Tide", Kind.FLOW, 40, -20.2, 0.5),
    ("Crest", Kind.PEAK, 40, -19.5, 0.8),
    ("Ebb", Kind.COOL_DOWN, 40, -20.5, 0.3),
    ("Float", Kind.REST, 80, -28.0, 0.1),
)
SILENCE_S = 20.0
FADE_S = 4.0


def even(level: float) -> Loudness:
    return lambda second: np.full(len(second), level)


def sinking(second: NDArray[np.float64]) -> NDArray[np.float64]:
    """The cool-down's music sinks to the rest before the rest begins."""
    return np.interp(second, [32.0, 40.0], [-20.5, -30.0])


def burst(level: float, start_s: float, end_s: float, by_lu: float) -> Loudness:
    """An even level with a stretch that is louder or softer."""
    return lambda second: level + by_lu * ((second >= start_s) & (second < end_s))


def noise_at(level: Loudness, seconds: float, seed: int) -> NDArray[np.float32]:
    """Stereo noise, smooth enough to be resampled, at a loudness that changes as told."""
    rng = np.random.default_rng(seed)
    white = rng.standard_normal((int(seconds * RATE) + 2, 2))
    noise = (white[2:] + 2 * white[1:-1] + white[:-2]) / 4
    meter = Meter(RATE, (1.0, 1.0))
    meter.feed(noise.astype(np.float32))
    gain = level(np.arange(len(noise)) / RATE) - meter.read().integrated_lufs
    return np.asarray(noise * 10 ** (gain / 20)[:, None], np.float32)


def made(
    folder: Path,
    levels: dict[str, Loudness] | None = None,
    *,
    tail_s: float = FADE_S,
    into_silence_s: float = 0.0,
    bed_lufs: float = -28.0,
) -> SetList:
    """A class of four minutes with a track a section and a bell in its last silence; second 0 of each level is the
    section's."""
    sections, picks, at = [], [], 0.0
    for n, (name, kind, seconds, lufs, _) in enumerate(CLASS, start=1):
        end_s = at + seconds
        last_s = end_s - SILENCE_S + into_silence_s if kind is Kind.REST else end_s + FADE_S
        last_s = end_s + tail_s if kind is Kind.COOL_DOWN else last_s
        level = (levels or {}).get(name, sinking if kind is Kind.COOL_DOWN else even(lufs))
        path = folder / f"{n}.wav"
        soundfile.write(path, noise_at(level, last_s - at, n), RATE, subtype="FLOAT")
        fades = {"fade_in_s": FADE_S, "fade_out_s": tail_s if kind is Kind.COOL_DOWN else FADE_S}
        picks.append(Pick(n, n, f"{n}", str(path), name, "", at, last_s, 0.0, gain_db=0.0, section=name, **fades))
        sections.append(SectionTime(name, kind, at, end_s, (), 5.0, 2.0, Wishes()))
        at = end_s
    arc = np.concatenate([np.full(seconds, energy, np.float32) for _, _, seconds, _, energy in CLASS])
    frame = SetFrame(silent_s=((at - SILENCE_S, at),))
    rest = Rest(160.0, at, bells_s=(at - 12.0,), silence_s=SILENCE_S, bed_lufs=bed_lufs)
    return SetList(
        title="Made",
        plan=SetPlan("", "", "0" * 64),
        options=PairOptions(),
        frame=frame,
        class_s=at,
        slot_s=None,
        sections=tuple(sections),
        arc=arc,
        target_energy=arc,
        played_energy=arc,
        fit=Fit(0, 0, 0, 1),
        rest=rest,
        picks=tuple(picks),
    )


def mix_of(setlist: SetList) -> Mix:
    sounds = tuple(Sound(at, bell_at(level, MIX_RATE)) for at, level in mixdown.bells(setlist))
    spans = tuple(
        Span(Path(p.path), p.class_start_s, p.class_end_s, 0.0, p.fade_in_s, p.fade_out_s, (Level(0.0, 0.0),))
        for p in setlist.picks
    )
    return Mix(spans, setlist.class_s, sounds)


def heard(setlist: SetList) -> ClassSound:
    mix = mix_of(setlist)
    return as_heard(setlist, forecast(mix.spans, mix.duration_s, mix.sounds), [])


def codes(setlist: SetList) -> set[str]:
    return {finding.code for finding in heard_findings(setlist, heard(setlist))}


def by_libebur128(samples: NDArray[np.float32]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Momentary and short-term loudness, ten values a second."""
    ebur128 = pytest.importorskip("pyebur128")
    state = ebur128.R128State(2, MIX_RATE, ebur128.MeasurementMode.MODE_M | ebur128.MeasurementMode.MODE_S)
    step, values = MIX_RATE // 10, []
    for start in range(0, len(samples) - step + 1, step):
        state.add_frames(np.ascontiguousarray(samples[start : start + step]).ravel(), step)
        values.append((ebur128.get_loudness_momentary(state), ebur128.get_loudness_shortterm(state)))
    momentary, short_term = np.maximum(np.array(values), -70.0).T
    return momentary, short_term


def test_the_forecast_is_what_the_written_file_holds(tmp_path: Path) -> None:
    setlist = made(tmp_path, {"Ebb": burst(-20.5, 20, 24, 5.0)})
    written = write_mix(mix_of(setlist), tmp_path / "mix.wav")
    samples, _ = soundfile.read(written.path, dtype="float32")
    momentary, short_term = by_libebur128(samples)
    measured = as_heard(setlist, in_tenths(written.sound.power), [])
    forecasted = heard(setlist)
    audible = momentary > -55.0
    settled = np.arange(len(momentary)) > 30  # libebur128 counts silence before the first sample
    # EBU Tech 3341 allows a meter 0.1 LU.
    assert np.abs(measured.momentary - momentary)[audible & settled].max() < 0.1
    assert np.abs(measured.short_term - short_term)[audible & settled].max() < 0.1
    # Half a LU is what the head of the module promises.
    assert np.abs(forecasted.momentary - momentary)[audible & settled].max() < 0.5
    assert np.abs(forecasted.short_term - short_term)[audible & settled].max() < 0.3
    for section in forecasted.sections:
        span = slice(int(10 * section.start_s), int(10 * min(section.end_s, 220)))
        assert section.loudest_lufs == pytest.approx(momentary[span].max(), abs=0.5)


def by_json(setlist: SetList, mix: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> list:
    """What `check --json` gives of a written mix, part by part."""
    path = mix.with_name("made.json")
    text = "# Made\n" + "".join(
        f"\n## {s.name}: {s.kind}, {s.end_s - s.start_s:g} seconds\n- easy seat\n" for s in setlist.sections
    )
    write_set(dataclasses.replace(setlist, plan=SetPlan("made.md", text, SetPlan.digest(text))), path)
    words = ["arcbed", "check", str(path), "--audio", str(mix), "--json", "--library", str(mix.with_name("none"))]
    monkeypatch.setattr(sys, "argv", words)
    with pytest.raises(SystemExit):
        main()
    found = json.loads(capsys.readouterr().out, parse_constant=lambda word: pytest.fail(word))
    assert all(list(each)[:5] == ["level", "code", "where", "message", "remedy"] for each in found)
    return [each for each in found if each["code"] == "as-heard"]


def test_check_gives_as_json_what_libebur128_hears(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    setlist = made(tmp_path, {"Tide": burst(-20.2, 20, 24, 5.0)})
    written = write_mix(mix_of(setlist), tmp_path / "mix.wav")
    momentary, short_term = by_libebur128(soundfile.read(written.path, dtype="float32")[0])
    parts = by_json(setlist, Path(written.path), capsys, monkeypatch)
    assert [each["where"] for each in parts] == [name for name, *_ in CLASS]
    row = next(line for line in REFERENCE.read_text("utf-8").splitlines() if "`check --json`" in line)
    for section, part in zip(setlist.sections, parts, strict=True):
        said, span = part["heard"], slice(int(10 * section.start_s), int(10 * min(section.end_s, 220)))
        assert set(said) | {"n", "for_s"} == set(re.findall(r"`(\w+)`", row.partition("which has")[2])) - {"heard"}
        assert (part["level"], part["remedy"]) == ("note", None)
        assert (said["start_s"], said["end_s"]) == (section.start_s, section.end_s)
        # EBU Tech 3341 allows a meter 0.1 LU; a bell in the silence, after second 220, isn't the music's loudest moment.
        assert said["loudest_lufs"] == pytest.approx(momentary[span].max(), abs=0.1)
        assert momentary[round(10 * said["loudest_at_s"]) - 1] == pytest.approx(said["loudest_lufs"], abs=0.1)
        assert (said["beat_bpm"], said["voice_share"]) == (None, 0.0)
        assert said["carried"] == [{"n": n, "for_s": FADE_S} for n in range(1, 5) if CLASS[n][0] == section.name]
    tide = parts[1]["heard"]
    rise = max(short_term[k] - short_term[k - 30 : k].min() for k in range(430, 800))
    assert tide["rise_lu"] == pytest.approx(rise, abs=0.2)
    assert tide["rise_lu"] > 3.0
    assert 62.0 < tide["rise_at_s"] < 65.0, "three seconds after the louder ones begin"
    assert parts[-1]["heard"]["silence_s"] > SILENCE_S - 12


def test_a_class_that_keeps_every_rule_is_told_nothing(tmp_path: Path) -> None:
    assert codes(made(tmp_path)) == set()


BROKEN = {
    "rest-opens-loud": lambda folder: made(folder, {"Ebb": burst(-30.0, 42, 44, 14.0)}),
    "tail-in-rest": lambda folder: made(folder, tail_s=9.0),
    "rise-in-rest": lambda folder: made(folder, {"Float": burst(-28, 35, 60, 6.0)}),
    "bell-loud": lambda folder: made(folder, bed_lufs=-14.0),
    "sudden-rise": lambda folder: made(folder, {"Arrive": burst(-24, 20, 40, 5.0)}),
    "louder-than-peak": lambda folder: made(folder, {"Ebb": even(-18.0)}),
    "loudest-elsewhere": lambda folder: made(folder, {"Tide": burst(-20.2, 10, 30, 3.0)}),
    "uneven-level": lambda folder: made(folder, {"Tide": even(-24.0)}),
    "sound-in-silence": lambda folder: made(folder, into_silence_s=6.0),
}


@pytest.mark.parametrize("code", BROKEN)
def test_each_broken_rule_is_told(tmp_path: Path, code: str) -> None:
    assert code in codes(BROKEN[code](tmp_path))


def test_music_that_comes_in_after_a_silence_and_a_bell_are_no_rise(tmp_path: Path) -> None:
    whole = made(tmp_path)
    struck = dataclasses.replace(whole, rest=dataclasses.replace(whole.rest, bells_s=(190.0,)))  # type: ignore[type-var]
    assert "rise-in-rest" not in codes(struck)
    assert heard(struck).sections[-1].loudest_lufs == pytest.approx(heard(whole).sections[-1].loudest_lufs, abs=0.7)


def test_what_was_measured_of_a_recording_is_read_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    made(tmp_path)
    path = tmp_path / "1.wav"
    first = powers_of(path)
    monkeypatch.setattr("audio.render.tenths._measured", lambda _: pytest.fail("it was measured again"))
    assert np.array_equal(powers_of(path), first)


def test_a_recording_that_changed_is_measured_anew(tmp_path: Path) -> None:
    path = tmp_path / "a.wav"
    soundfile.write(path, noise_at(even(-20), 6.0, 1), RATE, subtype="FLOAT")
    loud = powers_of(path).mean()
    soundfile.write(path, noise_at(even(-30), 7.0, 1), RATE, subtype="FLOAT")
    assert powers_of(path).mean() == pytest.approx(loud / 10, rel=0.05)
