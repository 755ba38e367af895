"""One page whose music follows the class: the cue sheet with its clock, and the sound inside.

The sound stands in elements that no browser runs or shows, a piece of ten seconds each, base64; the page's policy lets
nothing else in.
"""

import base64
from collections.abc import Iterator, Mapping

from audio.render import chunks
from audio.render.bell import LENGTH_S, bell_at
from pairing.model import Kind, SetList
from pairing.sets.live import LivePick, LiveSet, LiveTrack
from pairing.sets.mixdown import origin_s

MARK = "</main>"


def live_json(setlist: SetList, live: LiveSet) -> dict[str, object]:
    """What conductor and player run on, as plain values."""
    rest = setlist.rest
    bell = len(live.tracks)
    return {
        "rate": chunks.RATE,
        "chunk_s": chunks.CHUNK_S,
        "overlap_s": chunks.OVERLAP_S,
        "class_s": setlist.class_s,
        "from_s": origin_s(setlist),
        "rest": [rest.start_s, rest.end_s] if rest else None,
        "sections": [{"start_s": s.start_s, "end_s": s.end_s, "peak": s.kind is Kind.PEAK} for s in setlist.sections],
        "picks": [_pick(pick) for pick in live.picks],
        "tracks": [
            *(_track(track, level) for track, level in zip(live.tracks, live.spare_levels, strict=True)),
            _bell(),
        ],
        "bell": bell,
        "bells_s": [at for at, _ in live.bells],
        "sinks_s": live.sinks_s,
        "check": [list(each) for each in live.check],
        "lower_db": live.lower_db,
    }


def pages(html: str, live: LiveSet) -> Iterator[str]:
    """The page with its sound, piece by piece, so that it need not lie in memory whole."""
    before, after = html.split(MARK, 1)
    yield before + MARK + "\n"
    for index, track in enumerate(live.tracks):
        for n, piece in enumerate(chunks.chunks(track.path, track.from_s, track.to_s)):
            yield _element(index, n, piece)
    if live.bells:
        yield _element(len(live.tracks), 0, chunks.encoded(bell_at(live.bells[0][1], chunks.RATE)))
    yield after


def piece(live: LiveSet, track: int, n: int) -> bytes | None:
    """One piece of sound, for a page that holds none itself; None where there is no such piece.

    Raises:
        AudioError: the track can't be read.
    """
    if live.bells and (track, n) == (len(live.tracks), 0):
        return chunks.encoded(bell_at(live.bells[0][1], chunks.RATE))
    if track >= len(live.tracks) or n >= chunks.count(live.tracks[track].from_s, live.tracks[track].to_s):
        return None
    found = live.tracks[track]
    return chunks.chunk(found.path, found.from_s, found.to_s, n)


def _element(track: int, n: int, piece: bytes) -> str:
    return f'<script type="text/plain" id="sound-{track}-{n}">{base64.b64encode(piece).decode()}</script>\n'


def _pick(live: LivePick) -> Mapping[str, object]:
    pick = live.pick
    return {
        "track": live.track,
        "start_s": pick.class_start_s,
        "end_s": pick.class_end_s,
        "track_s": pick.track_start_s,
        "fade_in_s": pick.fade_in_s,
        "fade_out_s": pick.fade_out_s,
        "peak": live.peak,
        "spare": live.spare,
        "levels": [[round(at, 3), round(db, 3)] for at, db in live.levels],
    }


def _track(track: LiveTrack, level: float) -> Mapping[str, object]:
    return {
        "title": track.title,
        "from_s": track.from_s,
        "to_s": track.to_s,
        "chunks": chunks.count(track.from_s, track.to_s),
        "exits": [[round(at, 3), round(cost, 2)] for at, cost in track.exits],
        "jumps": [[round(j.from_s, 4), round(j.to_s, 4), j.fade_s, round(j.seam, 3)] for j in track.jumps],
        "soft": list(track.loop),
        "level": level,
    }


def _bell() -> Mapping[str, object]:
    return {
        "title": "bell",
        "from_s": 0.0,
        "to_s": LENGTH_S,
        "chunks": 1,
        "exits": [],
        "jumps": [],
        "soft": [0.0, 0.05],
        "level": 0.0,
    }
