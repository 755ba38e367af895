"""Small pieces of what the page is told, as JSON values."""

import math
from collections.abc import Iterable

from audio.text import clock, one_line
from audio.track import Track
from pairing.model import Finding
from pairing.page.advice import Advice, advice

Json = dict[str, object]


def harmless(text: str, limit: int = 300) -> str:
    """Text of a stranger as one harmless line."""
    return one_line(text, limit)


def number(value: float | None, digits: int = 3) -> float | None:
    """A number for JSON; None for what is none."""
    return None if value is None or not math.isfinite(value) else round(float(value), digits)


def name_of(track: Track) -> str:
    """Title of a track, else the name of its file."""
    return harmless(track.tags.title) or harmless(track.path.stem) or f"track {track.id}"


def track_row(track: Track, last_used: str | None = None) -> Json:
    """A track as the library's list shows it."""
    known = track.analysis
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
        "problem": harmless(track.problem) if track.problem else None,
        "file": harmless(track.path.name),
        "last_used": last_used[:10] if last_used else None,
    }


def _percent(share: float) -> int:
    """0 only where there is nothing."""
    return max(round(100 * share), 1) if share > 0 else 0


def findings_of(findings: Iterable[Finding]) -> list[Json]:
    """What checks found, with the line it is about where there is one, and where on the page it is mended."""
    return [_finding(finding, advice(finding.remedy, finding.where)) for finding in findings]


def _finding(finding: Finding, told: Advice) -> Json:
    return {
        "level": finding.level,
        "code": finding.code,
        "where": harmless(finding.where),
        "line": line_of(finding),
        "message": harmless(finding.message, 1000),
        "remedy": harmless(told.words, 1000) if told.words else None,
        "view": told.view,
        "label": told.label,
        "n": told.n,
        "can_correct": bool(finding.edits),
    }


def line_of(finding: Finding) -> int | None:
    """The line of the plan that a finding is about."""
    _, found, rest = finding.where.rpartition("line ")
    digits = rest.split(",")[0].strip()
    return int(digits) if found and digits.isdigit() else None
