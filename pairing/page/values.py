"""Small pieces of what the page is told, as JSON values."""

import math
from collections.abc import Iterable
from typing import assert_never

from audio.errors import ArcbedError
from audio.text import clock, one_line
from audio.track import Recording, Track, UnusableTrack
from pairing.errors import PlanError
from pairing.model import Apply, ChooseAnew, Deed, Finding, LookUp, MakeRest, Mark, Scan, Swap, WriteMix

Json = dict[str, object]


def harmless(text: str, limit: int = 300) -> str:
    """Text of a stranger as one harmless line."""
    return one_line(text, limit)


def number(value: float | None, digits: int = 3) -> float | None:
    """A number for JSON; None for what is none."""
    return None if value is None or not math.isfinite(value) else round(float(value), digits)


def name_of(track: Recording) -> str:
    """Title of a track, else the name of its file."""
    return harmless(track.tags.title) or harmless(track.path.stem) or f"track {track.id}"


def track_row(track: Track | UnusableTrack, last_used: str | None = None) -> Json:
    """A track as the library's list shows it."""
    known = track.analysis if isinstance(track, Track) else None
    return {
        "id": track.id,
        "title": name_of(track),
        "artist": harmless(track.tags.artist),
        "album": harmless(track.tags.album),
        "length": clock(known.duration_s) if known else "",
        "voice": _percent(known.voice_share) if known else None,
        "energy": round(100 * known.mean_energy) if known else None,
        "loudness": number(known.loudness_lufs, 1) if known else None,
        "marks": dict(track.marks),
        "problem": harmless(track.problem) if isinstance(track, UnusableTrack) else None,
        "file": harmless(track.path.name),
        "last_used": last_used[:10] if last_used else None,
    }


def _percent(share: float) -> int:
    """0 only where there is nothing."""
    return max(round(100 * share), 1) if share > 0 else 0


def findings_of(findings: Iterable[Finding]) -> list[Json]:
    """What checks found, with the line it is about where there is one, and where on the page something helps."""
    return [
        {
            "level": finding.level,
            "code": finding.code,
            "where": harmless(str(finding.where)),
            "line": finding.where.line or None,
            "message": harmless(finding.message, 1000),
            "remedy": harmless(finding.remedy, 1000) if finding.remedy else None,
            "mends": [_mend(deed) for deed in finding.deeds],
            "can_correct": bool(finding.edits),
        }
        for finding in findings
    ]


def _mend(deed: Deed) -> Json:
    """Where on the page a deed is done: a view, what it is called there, and the track it is about."""
    match deed:
        case Swap():
            return {"view": "class", "label": f"track {deed.n}", "n": deed.n}
        case ChooseAnew():
            return {"view": "class", "label": "“Choose anew”"}
        case MakeRest():
            return {"view": "rest", "label": "“Rest”"}
        case Scan() | LookUp() | Mark():
            return {"view": "library", "label": "“Library”"}
        case Apply():
            return {"view": "plan", "label": "“Plan”"}
        case WriteMix():
            return {"view": "away", "label": "“Take away”"}
        case _:
            assert_never(deed)


def error_words(error: ArcbedError) -> str:
    """An error as the page says it: no command, since who points and clicks has none."""
    words = f"{error.where}: {error.message}" if error.where else error.message
    more = error.remedy or ("See “Plan”." if isinstance(error, PlanError) and error.findings else "")
    return f"{words}\n{more}" if more else words
