"""What can be heard: a track, a hand-over, the class; first whether it is there, then its sound."""

import math
from contextlib import closing

from starlette.requests import Request
from starlette.responses import FileResponse, PlainTextResponse, Response

from audio.errors import ArcbedError
from audio.files.folders import SONG_ENDINGS
from audio.render import chunks
from audio.render.excerpt import excerpt
from audio.render.master import Mix
from audio.render.mixer import MIX_RATE
from audio.track import Track
from pairing.model import Levels
from pairing.page.desk import Desk
from pairing.page.sound import Wave, wave_response
from pairing.page.values import Json, name_of
from pairing.workflow import byhand

# Kinds that browsers play by themselves; others, and those that one of them doesn't know, are decoded here.
_KNOWN = {
    ".mp3": "audio/mpeg",
    ".m4a": "audio/mp4",
    ".m4b": "audio/mp4",
    ".mp4": "audio/mp4",
    ".aac": "audio/aac",
    ".flac": "audio/flac",
    ".ogg": "audio/ogg",
    ".oga": "audio/ogg",
    ".opus": "audio/ogg",
    ".wav": "audio/wav",
}


def hear_track(desk: Desk, track_id: int, n: int | None) -> Json:
    """Where a track is heard, and decoded where the browser can't.

    Args:
        n: the place in the class for which it is heard, and whose level it gets; None: that of music in a class.
    Raises:
        ArcbedError: it is not there.
    """
    track = _track(desk, track_id)
    address = f"/sound/track/{track_id}"
    return {"address": address, "decoded": f"{address}?decoded=1", "from_s": None, "volume": _volume(desk, track, n)}


def hear_join(desk: Desk, n: int, other: int | None) -> Json:
    """Where the change into pick n is heard, as it is or with another track in its place; `from_s` is its class second.

    Raises:
        ArcbedError: there is none, or a recording is gone.
    """
    now = desk.opened()  # first: another class may come to lie on the desk while this one's sound is made
    first_s = desk.join(n, other).first_s
    instead = f"&with={other}" if other is not None else ""
    shown_s = None if other is not None else first_s + now.origin_s
    return {"address": f"/sound/join/{n}?v={now.mark}{instead}", "from_s": shown_s}


def hear_class(desk: Desk) -> Json:
    """Where the class is heard.

    Raises:
        ArcbedError: there is no set, or a recording is gone.
    """
    now = desk.opened()
    desk.sound()
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
    mix = desk.sound(_state(request))
    return wave_response(_wave(mix, 0, round(mix.duration_s * MIX_RATE)), request)


def join_sound(desk: Desk, request: Request) -> Response:
    """From some seconds before a pick comes in to some seconds after the one before has gone."""
    n, other = request.path_params["n"], request.query_params.get("with", "")
    found = desk.join(n, int(other) if other.isdigit() else None, _state(request))
    first, end = (round(at_s * MIX_RATE) for at_s in (found.first_s, found.end_s))
    return wave_response(_wave(found.mix, first, end), request)


def piece_sound(desk: Desk, request: Request) -> Response:
    """A piece of a track of a class that is taught."""
    asked = request.path_params
    room = desk.rooms[asked["room"]] if asked["room"] < len(desk.rooms) else None
    sound = room.piece(asked["track"], asked["n"]) if room else None
    if sound is None:
        raise ArcbedError("there is no such piece.")
    return Response(sound, media_type=chunks.MIME)


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


def _state(request: Request) -> str:
    """Names the state of the class whose sound is asked for; "" for the one it has now."""
    return request.query_params.get("v", "")


def _track(desk: Desk, track_id: int) -> Track:
    track = next((each for each in desk.tracks() if each.id == track_id), None)
    if track is None or track.path.suffix.lower() not in SONG_ENDINGS:
        raise ArcbedError("there is no such track.")
    if not track.path.is_file():
        raise ArcbedError(
            f'"{name_of(track)}" is not where it was.',
            remedy="Scan its folder again.",
        )
    return track


def _volume(desk: Desk, track: Track, n: int | None) -> float:
    """What turns a track down to the level that it has in the class, or would have: recordings are louder than that."""
    gain_db = _gain_db(desk, track, n)
    if gain_db is not None:
        return round(min(1.0, 10 ** (gain_db / 20)), 4)
    bed = desk.open.file.setlist.options.levels.bed_lufs if desk.open else Levels().bed_lufs
    over = track.analysis.loudness_lufs - bed
    return round(min(1.0, 10 ** (-over / 20)), 4) if math.isfinite(over) else 1.0


def _gain_db(desk: Desk, track: Track, n: int | None) -> float | None:
    """What the mix does to the level of a track that plays in a place of the class, or is offered for it."""
    now = desk.open
    if now is None or n is None or not 1 <= n <= len(now.file.setlist.picks):
        return None
    offered = desk.offered(n, track.id)
    pick = (offered.setlist if offered else now.file.setlist).picks[n - 1]
    return pick.gain_db if pick.fingerprint == track.fingerprint else None


def _wave(mix: Mix, first: int, end: int) -> Wave:
    return Wave(end - first, lambda start: excerpt(mix.spans, mix.duration_s, first + start, sounds=mix.sounds))
