"""Pieces of a recording and stretches of a mix, frame by frame from what they are said to be."""

from pathlib import Path

import numpy as np
import pytest
import soundfile
from hypothesis import given, settings
from hypothesis import strategies as st

from audio.render import chunks, excerpt
from audio.render.source import Source
from audio.render.span import Level, Span

FEW = settings(max_examples=60)
RATE = 44_100


@pytest.fixture(scope="module")
def recording(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, np.ndarray]:
    """Three seconds of noise, every sample as it is read back."""
    path = tmp_path_factory.mktemp("pieces") / "noise.wav"
    samples = np.random.default_rng(3).uniform(-0.5, 0.5, (3 * RATE, 2)).astype(np.float32)
    soundfile.write(path, samples, RATE, subtype="FLOAT")
    return path, samples


def part(samples: np.ndarray, first: int, count: int) -> np.ndarray:
    """So many frames from one on, silence behind the end."""
    found = samples[first : first + count]
    return np.concatenate((found, np.zeros((count - len(found), 2), np.float32)))


@pytest.mark.parametrize(
    ("from_s", "to_s"), [(0.0, 3.0), (0.25, 2.75), (0.5, 2.5), (0.5, 2.55), (1.0, 4.5), (1.0, 1.0)]
)
def test_each_piece_holds_its_second_and_the_beginning_of_the_next(
    recording: tuple[Path, np.ndarray], monkeypatch: pytest.MonkeyPatch, from_s: float, to_s: float
) -> None:
    monkeypatch.setattr(chunks, "CHUNK_S", 1)
    monkeypatch.setattr(chunks, "encoded", lambda samples: samples)
    path, samples = recording
    first, last = round(from_s * RATE), round(to_s * RATE)
    expected = [part(samples, at, min(RATE + RATE // 10, last - at)) for at in range(first, max(last, first + 1), RATE)]
    assert chunks.count(from_s, to_s) == len(expected)
    in_turn = list(chunks.chunks(path, from_s, to_s))
    alone = [chunks.chunk(path, from_s, to_s, n) for n in range(len(expected))]
    for made in (in_turn, alone):
        assert [len(piece) for piece in made] == [len(piece) for piece in expected]
        assert all((piece == meant).all() for piece, meant in zip(made, expected, strict=True))


@pytest.mark.parametrize(
    ("from_s", "to_s", "count"), [(0, 10, 1), (0, 10.01, 2), (3, 13, 1), (3, 23.5, 3), (5, 5, 1), (0, 0.01, 1)]
)
def test_a_piece_begins_every_ten_seconds(from_s: float, to_s: float, count: int) -> None:
    assert chunks.count(from_s, to_s) == count


@given(st.lists(st.integers(0, 60_000), min_size=1, max_size=5), st.integers(0, 3 * RATE))
@FEW
def test_reading_in_parts_gives_all_frames_in_order_and_silence_behind(
    recording: tuple[Path, np.ndarray], lengths: list[int], first: int
) -> None:
    path, samples = recording
    with Source(path, first / RATE, RATE) as source:
        made = [source.read(length) for length in lengths]
    at = first
    for piece, length in zip(made, lengths, strict=True):
        assert (piece == part(samples, at, length)).all()
        at += length


# ---- a stretch of a mix: of ten frames a second, so that each can be looked at -------------------------------------


@st.composite
def sets(draw: st.DrawFn) -> list[Span]:
    """Spans that overlap their neighbours or lie apart, with fades of at most half their length."""
    spans, start = [], draw(st.integers(0, 5))
    for n in range(draw(st.integers(1, 4))):
        length = draw(st.integers(8, 40))
        fade_in, fade_out = draw(st.integers(0, length // 2)), draw(st.integers(0, length // 2 - 1))
        end = start + length
        levels = (Level(start / 10, -1.0), Level(end / 10, -2.0))
        spans.append(Span(Path(f"{n}.wav"), start / 10, end / 10, 7.0, fade_in / 10, fade_out / 10, levels))
        start = end - draw(st.integers(-6, 4))
    return spans


def frames(span: Span) -> tuple[int, int, int, int]:
    return tuple(round(10 * each) for each in (span.mix_start_s, span.mix_end_s, span.fade_in_s, span.fade_out_s))  # type: ignore[return-value]


def is_quiet(spans: list[Span], at: int) -> bool:
    for n, one in enumerate(spans):
        start, end, fade_in, fade_out = frames(one)
        if start < at < start + fade_in or end - fade_out < at < end:
            return False
        if n + 1 < len(spans) and frames(spans[n + 1])[0] < at < end:
            return False
    return True


@given(sets(), st.integers(0, 160))
@FEW
def test_rendering_begins_at_the_last_frame_without_overlap_and_fade(spans: list[Span], at: int) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(excerpt, "MIX_RATE", 10)
        assert excerpt._quiet_start(spans, at) == next(f for f in range(at, -1, -1) if is_quiet(spans, f))


@given(sets(), st.integers(0, 160))
@FEW
def test_a_span_is_entered_a_whole_number_of_steps_after_its_start(spans: list[Span], at: int) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(excerpt, "MIX_RATE", 10)
        patch.setattr(excerpt, "GRID_FRAMES", 4)
        found = excerpt._on_grid(spans, at)
    sounding = [frames(span)[0] for span in spans if frames(span)[0] < at < frames(span)[1]]
    assert found == (next(f for f in range(at, -1, -1) if (f - sounding[0]) % 4 == 0) if sounding else at)


@given(sets(), st.integers(0, 60))
@FEW
def test_what_lies_before_is_left_out_of_a_span(spans: list[Span], begin: int) -> None:
    """Whatever sounds at a moment of the whole sounds then in the stretch: the same second, at the same level."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(excerpt, "MIX_RATE", 10)
        made = [excerpt._from(span, begin) for span in spans]
    for span, cut in zip(spans, made, strict=True):
        late = max(begin - frames(span)[0], 0) / 10
        assert cut.mix_start_s == pytest.approx(max(span.mix_start_s - begin / 10, 0.0))
        assert cut.mix_end_s == pytest.approx(span.mix_end_s - begin / 10)
        assert cut.track_start_s == pytest.approx(7.0 + late)
        assert (cut.fade_in_s, cut.fade_out_s) == (0.0 if late else span.fade_in_s, span.fade_out_s)
        assert [(level.at_s + begin / 10, level.gain_db) for level in cut.levels] == [
            (pytest.approx(level.at_s), level.gain_db) for level in span.levels
        ]
