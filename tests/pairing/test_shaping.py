"""What shall not startle is held down in the mix as it is written; measured with libebur128 (EBU R 128)."""

from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray
from test_heard import Loudness, burst, by_libebur128, even, made, mix_of

from audio.render.master import Mix, write_mix
from audio.render.span import Level, Span
from pairing.checks.heard import heard_findings
from pairing.model import SetList
from pairing.sets import mixdown, shaping
from pairing.sets.heard import as_heard

REST_S, REST_END_S = 160.0, 220.0  # of the class that `made` makes; the peak is at 80 to 120 s, the cool-down after it


def swelling(second: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.interp(second, [0.0, 10.0, 14.0, 40.0], [-34.0, -34.0, -22.0, -22.0])


# Each startles in its own way: a chord that lands under the start of the rest, a leap in the opening and in the rest.
STARTLING: dict[str, Loudness] = {
    "Arrive": swelling,
    "Ebb": burst(-17.0, 41.0, 43.0, 8.0),
    "Float": burst(-28.0, 35.0, 60.0, 9.0),
}


def shaped(setlist: SetList) -> Mix:
    spans = [
        Span(
            Path(p.path), p.class_start_s, p.class_end_s, 0.0, p.fade_in_s, p.fade_out_s, (Level(p.class_start_s, 0.0),)
        )
        for p in setlist.picks
    ]
    return Mix(shaping.shaped(setlist, spans), setlist.class_s)


def largest_rise(short_term: NDArray[np.float64], start_s: float, end_s: float, exempt_s: float) -> float:
    """Within 3 s, to a level of at least the stretch's median less 3 LU."""
    inside = short_term[round(10 * start_s) : round(10 * end_s)]
    at = range(round(10 * (start_s + exempt_s)), round(10 * end_s))
    rises = [short_term[k] - short_term[k - 30 : k + 1].min() for k in at if short_term[k] > np.median(inside) - 3]
    return max(rises)


def test_a_class_that_startles_is_held_down_as_it_is_written(tmp_path: Path) -> None:
    setlist = made(tmp_path, STARTLING)
    written = write_mix(shaped(setlist), tmp_path / "mix.wav")
    momentary, short_term = by_libebur128(soundfile.read(written.path, dtype="float32")[0])
    first, after = round(10 * REST_S), round(10 * (REST_S + 20.4))
    rest_end = round(10 * (REST_END_S - 5))
    assert momentary[first : first + 200].max() <= momentary[after:rest_end].max() + 1.0
    assert largest_rise(short_term, REST_S, REST_END_S - 5, 7.0) <= 3.0
    assert largest_rise(short_term, 0.0, 40.0, 7.0) <= 3.0
    assert momentary[1200:1600].max() <= momentary[800:1200].max()


def rising_at_its_end(second: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.interp(second, [0.0, 30.0, 31.0, 37.0, 38.5, 44.0], [-19.5, -19.5, -27.0, -27.0, -19.5, -19.5])


def test_a_rise_that_ends_as_the_cool_down_begins_is_held_down_too(tmp_path: Path) -> None:
    setlist = made(tmp_path, {"Crest": rising_at_its_end, "Ebb": even(-21.0)})
    plain = by_libebur128(soundfile.read(write_mix(mix_of(setlist), tmp_path / "plain.wav").path, dtype="float32")[0])
    held = by_libebur128(soundfile.read(write_mix(shaped(setlist), tmp_path / "held.wav").path, dtype="float32")[0])
    assert largest_rise(plain[1], 120.0, 155.0, 0.0) > 4.0
    assert largest_rise(held[1], 120.0, 155.0, 0.0) <= 3.0


def test_what_startles_without_it_is_told_and_nothing_with_it(tmp_path: Path) -> None:
    setlist = made(tmp_path, STARTLING)
    plain = as_heard(setlist, _forecast(setlist, mixdown.spans(setlist, tmp_path, [])), [])
    held = as_heard(setlist, _forecast(setlist, shaped(setlist).spans), [])
    told = {"rest-opens-loud", "rise-in-rest", "sudden-rise", "louder-than-peak"}
    assert told <= {finding.code for finding in heard_findings(setlist, plain)}
    assert not told & {finding.code for finding in heard_findings(setlist, held)}


def test_an_even_class_keeps_its_levels(tmp_path: Path) -> None:
    setlist = made(tmp_path, {"Ebb": even(-21.0)})
    mix = shaped(setlist)
    for span, pick in zip(mix.spans[:3], setlist.picks, strict=False):
        inside = [level.gain_db for level in span.levels if level.at_s < pick.class_end_s - 16]
        assert max(map(abs, inside)) < 1.5


def test_neighbours_that_lie_far_apart_unasked_come_nearer_and_the_peak_stays(tmp_path: Path) -> None:
    """The flow is 6 LU softer than its bed: the arrival before it must not be louder than that by more than 2."""
    setlist = made(tmp_path, {"Tide": even(-26.0)})
    plain = as_heard(setlist, _forecast(setlist, mixdown.spans(setlist, tmp_path, [])), [])
    held = as_heard(setlist, _forecast(setlist, shaped(setlist).spans), [])
    assert "uneven-level" in {finding.code for finding in heard_findings(setlist, plain)}
    assert "uneven-level" not in {finding.code for finding in heard_findings(setlist, held)}
    crest = [sound.sections[2].loudest_lufs for sound in (plain, held)]
    assert abs(crest[0] - crest[1]) < 0.5


def _forecast(setlist: SetList, spans: tuple[Span, ...]) -> NDArray[np.float64]:
    from audio.render.forecast import forecast

    return forecast(spans, setlist.class_s)
