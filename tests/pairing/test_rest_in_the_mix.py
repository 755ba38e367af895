"""The closing rest as it sounds: its bed, its rises, its end, its bells; measured by libebur128."""

import dataclasses
import functools
from pathlib import Path

import invented_music
import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray
from test_swap_and_rest import library, usual

from audio.measure.loudness import Meter
from audio.render.bell import bell_at
from audio.render.excerpt import excerpt
from audio.render.mixer import MIX_RATE, Sound
from audio.track import Track
from pairing.alignment import frame as frames
from pairing.alignment.task import build, usable
from pairing.checks.set import check_set
from pairing.model import Kind, Levels, PairOptions, SetList
from pairing.sets import mixdown
from pairing.sets.levels import gain_db
from pairing.sets.mixdown import bells, duration_s, spans, with_even_picks
from pairing.sets.pair import pair
from pairing.sets.parts import parts
from pairing.sets.rest import rebuild_rest

RATE = 8_000
RISE_LU = 12.0  # of a swell: far more than the rest may have
LARGEST_RISE_LU = 3.0  # what it may have; editorial
Samples = NDArray[np.float32]


def swelling(seconds: int) -> Samples:
    """Noise at an even level with swells of 3 s, each followed by a slow way back, and one out of near-silence."""
    time = np.arange(seconds * RATE) / RATE
    since = time % 60
    level = np.interp(since, [0, 20, 21.5, 50, 60], [0, 0, RISE_LU, RISE_LU, 0])
    quiet = (time > 86) & (time < 113)  # rises quickly, but to a level far below the median, and slowly from there
    level = np.where(quiet, np.interp(time, [86, 90, 95, 98, 113], [RISE_LU, -25, -25, -9, RISE_LU]), level)
    noise = np.random.default_rng(11).standard_normal((len(time) + 2, 2)) * 0.05
    noise = (noise[2:] + 2 * noise[1:-1] + noise[:-2]) / 2  # little near half the rate, which resampling would take
    return np.asarray(noise * 10 ** (level / 20)[:, None], np.float32)


@functools.cache
def rested() -> tuple[SetList, Track, Samples]:
    """The usual set with real sound in its rest, and that track as it would be measured."""
    pick = usual().picks[-1]
    assert usual().rest is not None
    assert pick.class_start_s == pytest.approx(usual().rest.start_s)  # type: ignore[union-attr]
    track = next(each for each in library() if each.id == pick.track_id)
    seconds = int(np.ceil(track.analysis.duration_s))
    samples = swelling(seconds)
    meter = Meter(RATE, (1.0, 1.0))
    meter.feed(samples)
    loudness = meter.read()
    analysis = track.analysis.but(
        loudness=loudness.curve(seconds),
        loudness_lufs=loudness.integrated_lufs,
        duration_s=float(seconds),
    )
    measured = dataclasses.replace(track, analysis=analysis)
    gain = gain_db(analysis, pick.track_start_s, pick.track_end_s, Kind.REST, Levels())
    picks = (*usual().picks[:-1], dataclasses.replace(pick, gain_db=gain))
    return dataclasses.replace(usual(), picks=picks), measured, samples


@pytest.fixture(scope="module")
def heard(tmp_path_factory: pytest.TempPathFactory) -> Samples:
    """What is heard in the rest, its first cross-fade left out."""
    folder = tmp_path_factory.mktemp("rest")
    setlist, track, samples = rested()
    path = folder / "rest.wav"
    soundfile.write(path, samples, RATE, subtype="FLOAT")
    for each in library():
        (folder / each.path.name).touch()
    tracks = [dataclasses.replace(each, path=folder / each.path.name) for each in library() if each.id != track.id]
    tracks.append(dataclasses.replace(track, path=path))
    picks = tuple(
        dataclasses.replace(pick, path=str(next(each.path for each in tracks if each.id == pick.track_id)))
        for pick in setlist.picks
    )
    placed = dataclasses.replace(setlist, picks=picks)
    # The other files are empty: only the last pick is read.
    alone = dataclasses.replace(placed, picks=placed.picks[-1:])
    span = with_even_picks(alone, spans(placed, folder, tracks)[-1:])[0]
    end_s = duration_s(setlist)
    return np.concatenate(list(excerpt([span], end_s, round(span.mix_start_s * MIX_RATE))))


def short_term_lufs(samples: Samples) -> NDArray[np.float64]:
    """Ten values a second, of the 3 s before each (EBU Tech 3341)."""
    ebur128 = pytest.importorskip("pyebur128")
    state = ebur128.R128State(2, MIX_RATE, ebur128.MeasurementMode.MODE_S)
    step, values = MIX_RATE // 10, []
    for start in range(0, len(samples) - step + 1, step):
        state.add_frames(samples[start : start + step].ravel(), step)
        values.append(ebur128.get_loudness_shortterm(state))
    return np.maximum(np.array(values), -70.0)


def largest_rise(level: NDArray[np.float64], from_s: float) -> float:
    """Within 3 s, where it ends above the median less 3 LU, once the fade-in is over."""
    floor = np.median(level) - 3.0
    ends = [i for i in range(int(10 * (from_s + 3)), len(level)) if level[i] > floor]
    return max(level[i] - level[i - 30 : i + 1].min() for i in ends)


def test_nothing_in_the_rest_rises_suddenly(heard: Samples) -> None:
    setlist, _, samples = rested()
    pick = setlist.picks[-1]
    fade_in = pick.fade_in_s
    plain = samples[round(pick.track_start_s * RATE) : round(pick.track_end_s * RATE)]
    assert largest_rise(short_term_lufs_at(plain, RATE), fade_in) > LARGEST_RISE_LU, "the track itself rises by more"
    assert largest_rise(short_term_lufs(heard), fade_in) <= LARGEST_RISE_LU


def short_term_lufs_at(samples: Samples, rate: int) -> NDArray[np.float64]:
    import soxr

    return short_term_lufs(np.asarray(soxr.resample(samples, rate, MIX_RATE), np.float32))


def test_the_rest_lies_at_its_bed_and_ends_in_silence(heard: Samples) -> None:
    ebur128 = pytest.importorskip("pyebur128")
    mix, pick = heard, rested()[0].picks[-1]
    assert pick.fade_out_s >= 10
    assert not mix[-1].any()
    assert np.abs(mix[-MIX_RATE:]).max() < 0.1 * np.abs(mix[: len(mix) // 2]).max()
    inside = mix[round((pick.fade_in_s + mixdown.SINK_S) * MIX_RATE) : -round(pick.fade_out_s * MIX_RATE)]
    state = ebur128.R128State(2, MIX_RATE, ebur128.MeasurementMode.MODE_I)
    state.add_frames(np.ascontiguousarray(inside).ravel(), len(inside))
    assert ebur128.get_loudness_global(state) == pytest.approx(-28.0, abs=0.5)  # the bed less 8 LU, editorial


def test_a_bell_at_the_very_end_is_heard_whole() -> None:
    setlist = rested()[0]
    assert setlist.rest is not None
    ended = dataclasses.replace(setlist, rest=dataclasses.replace(setlist.rest, bells_s=(setlist.rest.end_s,)))
    ((at, level),) = bells(ended)
    end_s = duration_s(ended)
    stroke = bell_at(level, MIX_RATE)
    from_frame = round((end_s - 20) * MIX_RATE)
    mix = np.concatenate(list(excerpt([], end_s, from_frame, sounds=[Sound(at, stroke)])))
    assert len(mix) == 20 * MIX_RATE
    np.testing.assert_array_equal(mix[-len(stroke) :], stroke)
    assert not mix[-1].any()


def test_a_bell_across_two_parts_goes_on_in_the_second(tmp_path: Path) -> None:
    setlist = rested()[0]
    border = setlist.picks[4].class_start_s
    assert setlist.rest is not None
    struck = dataclasses.replace(setlist, rest=dataclasses.replace(setlist.rest, bells_s=(border - 3.0,)))
    tracks = [dataclasses.replace(each, path=tmp_path / each.path.name) for each in library()]
    for each in tracks:
        each.path.touch()
    by_id = {each.id: str(each.path) for each in tracks}
    picks = tuple(dataclasses.replace(pick, path=by_id[pick.track_id]) for pick in struck.picks)
    placed = dataclasses.replace(struck, picks=picks)
    made = parts(placed, spans(placed, tmp_path, tracks))
    ((before, _),) = made[3].bells
    ((after, _),) = made[4].bells
    assert before == pytest.approx(made[3].duration_s - 3.0)
    assert after == pytest.approx(-3.0)
    assert sum(len(part.bells) for part in made) == 2
    assert sum(part.duration_s for part in made) == pytest.approx(duration_s(struck))


def test_a_steady_beat_under_the_last_fade_is_told() -> None:
    table = invented_music.timetable()
    slow = [_with_slow_beat(each) if each.analysis.tempo_bpm is None else each for each in library()]
    made = pair(invented_music.plan(), table, invented_music.arc(table), slow, PairOptions())
    assert "beat-under-fade" in [finding.code for finding in check_set(made, tracks=slow)]
    assert "beat-under-fade" not in [finding.code for finding in check_set(usual(), tracks=library())]


def test_music_without_a_beat_is_taken_under_the_last_fade_where_there_is_some() -> None:
    before = next(each for each in library() if each.id == usual().picks[-1].track_id)
    others = [_with_slow_beat(each) if each.id == before.id else each for each in library()]
    task = build(frames.of_set(usual()), usable(others, PairOptions()), usual().target_energy, PairOptions())
    last = task.zones.zone[task.frame.grid(usual().rest.end_s) - 1]  # type: ignore[union-attr]
    cost = dict(zip((each.id for each in task.tracks), task.zones.cost[last], strict=True))
    allowed = {number: value for number, value in cost.items() if np.isfinite(value)}
    assert len(allowed) > 1
    assert max(allowed, key=lambda number: allowed[number]) == before.id
    table = invented_music.timetable()
    made = pair(invented_music.plan(), table, invented_music.arc(table), others, PairOptions())
    assert made.picks[-1].track_id != before.id
    assert "beat-under-fade" not in [finding.code for finding in check_set(made, tracks=others)]


def _with_slow_beat(track: Track) -> Track:
    analysis = dataclasses.replace(track.analysis, tempo_bpm=60.0, tempo_confidence=0.9, onset_rate=1.0)
    return dataclasses.replace(track, analysis=analysis)


def test_a_longer_rest_keeps_its_silence_at_its_end_and_nowhere_else() -> None:
    silent = rebuild_rest(usual(), library(), silence_s=60.0)
    longer = rebuild_rest(silent, library(), minutes=9.0)
    assert longer.rest is not None
    heard_s = np.flatnonzero(~np.isnan(longer.played_energy))
    assert heard_s[-1] + 1 == round(longer.rest.end_s - 60.0)
    assert not np.isnan(longer.played_energy[: heard_s[-1]]).any()
    assert "must" not in [finding.level for finding in longer.findings]
