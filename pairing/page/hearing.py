"""What can be heard: a track, a hand-over, the class; first whether it is there, then its sound."""

from contextlib import closing

from starlette.requests import Request
from starlette.responses import FileResponse, PlainTextResponse, Response

from audio.errors import ArcbedError
from audio.files.folders import SONG_ENDINGS
from audio.render.excerpt import excerpt
from audio.render.master import Mix
from audio.render.mixer import MIX_RATE
from audio.track import Track
from pairing.page.desk import Desk
from pairing.page.sound import Wave, wave_response
from pairing.page.values import Json, name_of
from pairing.workflow import byhand

AROUND_S = 5.0  # heard before and after a hand-over
# Kinds that browsers play by themselves; others, and those that one of them doesn't know, are decoded here.
_KNOWN = {
    ".mp3": "audio/mpeg", ".m4a": "audio/mp4", ".m4b": "audio/mp4", ".mp4": "audio/mp4", ".aac": "audio/aac",
    ".flac": "audio/flac", ".ogg": "audio/ogg", ".oga": "audio/ogg", ".opus": "audio/ogg", ".wav": "audio/wav",
}  # fmt: skip


def hear_track(desk: Desk, track_id: int) -> Json:
    """Where a track is heard, and decoded where the browser can't.

    Raises:
        ArcbedError: it is not there.
    """
    _track(desk, track_id)
    return {"address": f"/sound/track/{track_id}", "decoded": f"/sound/track/{track_id}?decoded=1", "from_s": None}


def hear_join(desk: Desk, n: int, other: int | None) -> Json:
    """Where the change into pick n is heard, as it is or with another track in its place; `from_s` is its class second.

    Raises:
        ArcbedError: there is none, or a recording is gone.
    """
    mix = _mix(desk, n, other)
    first, _ = _around(mix, n)
    now = desk.open
    assert now is not None
    instead = f"&with={other}" if other is not None else ""
    shown_s = None if other is not None else first / MIX_RATE + now.origin_s
    return {"address": f"/sound/join/{n}?v={now.mark}{instead}", "from_s": shown_s}


def hear_class(desk: Desk) -> Json:
    """Where the class is heard.

    Raises:
        ArcbedError: there is no set, or a recording is gone.
    """
    desk.sound()
    now = desk.open
    assert now is not None
    return {"address": f"/sound/class?v={now.mark}", "from_s": now.origin_s}


def track_sound(desk: Desk, request: Request) -> Response:
    """The file of a track, or what it decodes to."""
    track = _track(desk, request.path_params["id"])
    kind = _KNOWN.get(track.path.suffix.lower())
    if kind is None or request.query_params.get("decoded"):
        mix = byhand.sound_alone(track)
        return wave_response(_wave(mix, 0, round(mix.duration_s * MIX_RATE)), request)
    return FileResponse(track.path, media_type=kind)


def class_sound(desk: Desk, request: Request) -> Response:
    """The mix, as far as it is asked for."""
    mix = desk.sound()
    return wave_response(_wave(mix, 0, round(mix.duration_s * MIX_RATE)), request)


def join_sound(desk: Desk, request: Request) -> Response:
    """From some seconds before a pick comes in to some seconds after the one before has gone."""
    n, other = request.path_params["n"], request.query_params.get("with", "")
    mix = _mix(desk, n, int(other) if other.isdigit() else None)
    return wave_response(_wave(mix, *_around(mix, n)), request)


def warm_up(desk: Desk) -> None:
    """Render a moment, so that the first sound comes as quickly as later ones.

    Raises:
        ArcbedError: a recording is gone.
    """
    mix = desk.sound()
    with closing(excerpt(mix.spans, mix.duration_s, 0)) as blocks:
        next(blocks, None)


def not_there(error: ArcbedError) -> Response:
    """A sound that can't be given."""
    return PlainTextResponse(f"{error.message}\n", 404)


def _track(desk: Desk, track_id: int) -> Track:
    track = next((each for each in desk.tracks() if each.id == track_id and each.analysis), None)
    if track is None or track.path.suffix.lower() not in SONG_ENDINGS:
        raise ArcbedError("there is no such track in the library.")
    if not track.path.is_file():
        raise ArcbedError(
            f'"{name_of(track)}" is not where it was.',
            remedy="Scan the folder again that it lies in: arcbed scan FOLDER",
        )
    return track


def _mix(desk: Desk, n: int, other: int | None) -> Mix:
    mix = desk.sound(None if other is None else n, other)
    if not 1 <= n <= len(mix.spans):
        raise ArcbedError("there is no such track in the class.")
    return mix


def _around(mix: Mix, n: int) -> tuple[int, int]:
    """First frame of the stretch around a hand-over, and the one after its last."""
    start_s = mix.spans[n - 1].mix_start_s
    gone_s = mix.spans[n - 2].mix_end_s if n > 1 else start_s
    first = max(round((start_s - AROUND_S) * MIX_RATE), 0)
    return first, min(round((max(gone_s, start_s) + AROUND_S) * MIX_RATE), round(mix.duration_s * MIX_RATE))


def _wave(mix: Mix, first: int, end: int) -> Wave:
    return Wave(end - first, lambda start: excerpt(mix.spans, mix.duration_s, first + start, sounds=mix.sounds))
