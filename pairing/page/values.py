"""Small pieces of what the page is told, as JSON values."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import assert_never

from audio.errors import ArcbedError
from audio.text import clock, one_line
from audio.track import Recording, Track, UnusableTrack
from pairing.alignment import marks
from pairing.alignment.sedative import largest_rise
from pairing.checks.cautions import CAUTION_CODES
from pairing.errors import PlanError
from pairing.model import Apply, ChooseAnew, Deed, Finding, LookUp, MakeRest, Mark, Scan, Swap, Where, WriteMix
from pairing.show import words
from pairing.show.findings import NAMED_PLACES

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
    """A track as a list shows it: in words; figures where somebody asks for them."""
    known = track.analysis if isinstance(track, Track) else None
    return {
        "id": track.id,
        "title": name_of(track),
        "artist": harmless(track.tags.artist),
        "length": clock(known.duration_s) if known else "",
        "temper": words.temper(marks.mean_energy(track)) if isinstance(track, Track) else "",
        "voice": words.voice(known.curves.voice_share) if known else "",
        "marks": dict(track.marks),
        "beats": marks.levels_bpm(track) if isinstance(track, Track) else (),
        "problem": harmless(track.problem) if isinstance(track, UnusableTrack) else None,
        "file": harmless(track.path.name),
        "last_used": last_used[:10] if last_used else None,
    }


def _percent(share: float) -> int:
    """0 only where there is nothing."""
    return max(round(100 * share), 1) if share > 0 else 0


def figures(track: Track, played: float | None = None) -> list[list[str]]:
    """What was measured of a track, as names and figures with their units.

    Args:
        played: mean energy of the part that plays, 0 to 1.
    """
    known = track.analysis
    felt = " or ".join(f"{bpm:.0f}" for bpm in sorted(marks.tempos_bpm(track)))
    part = [["energy of what plays", f"{100 * played:.0f} of 100"]] if played is not None else []
    return [
        *part,
        ["energy", f"{100 * known.curves.mean_energy:.0f} of 100"],
        ["beat", f"{felt} a minute" if marks.tempos_bpm(track) else "none that is clear"],
        ["key", harmless(known.key) if known.key else "none that is clear"],
        ["voice", f"in {_percent(known.curves.voice_share)} % of it"],
        ["loudness", f"{known.loudness_lufs:.1f} LUFS"],
        ["largest rise", f"{largest_rise(known):.1f} LU in 3 s"],
    ]


def findings_of(findings: Iterable[Finding], places: Mapping[int, str] | None = None) -> list[Json]:
    """What checks found, with the line it is about where there is one, and where on the page something helps.

    Args:
        places: where each track of the class comes in, by its number, in words.
    """
    return [
        {
            "level": finding.level,
            "code": finding.code,
            "where": harmless(str(replace(finding.where, name=""))),
            "place": harmless(_place(finding.where, places or {})),
            "line": finding.where.line or None,
            "message": harmless(finding.message, 1000),
            "remedy": harmless(finding.remedy, 1000) if finding.remedy else None,
            "mends": [_mend(deed) for deed in finding.deeds],
            "can_correct": bool(finding.edits),
            "care": finding.code in CAUTION_CODES,
        }
        for finding in findings
    ]


def _place(where: Where, places: Mapping[int, str]) -> str:
    """A part of the class, where its tracks come in, or what has only a name; "" where that says nothing."""
    tracks = " and ".join(places[n] for n in where.tracks if n in places)
    return where.section or tracks or NAMED_PLACES.get(where.name, where.name)


def _mend(deed: Deed) -> Json:
    """Where on the page a deed is done: a view, what is pressed to get there, and the track it is about."""
    match deed:
        case Swap():
            return {"view": "class", "label": "See what else could play", "n": deed.n}
        case ChooseAnew():
            return {"view": "class", "label": "Choose again"}
        case MakeRest():
            return {"view": "rest", "label": "To the rest"}
        case Scan() | LookUp() | Mark():
            return {"view": "music", "label": "To your music"}
        case Apply():
            return {"view": "plan", "label": "To the plan"}
        case WriteMix():
            return {"view": "ready", "label": "Write it again"}
        case _:
            assert_never(deed)


def error_words(error: ArcbedError) -> str:
    """An error as the page says it: no command, since who points and clicks has none."""
    words = f"{error.where}: {error.message}" if error.where else error.message
    more = error.remedy or ("See “Plan”." if isinstance(error, PlanError) and error.findings else "")
    return f"{words}\n{more}" if more else words
