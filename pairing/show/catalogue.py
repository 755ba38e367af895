"""What is at hand, as tables: tracks of the library, a scan's report, poses, music for a rest."""

from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from audio.text import clock, one_line
from audio.track import Track, UnusableTrack
from pairing.alignment.marks import mean_energy
from pairing.alignment.zones import voice_share
from pairing.show.screen import rendered, safe
from pairing.show.tables import course, table, tempo, titled, track_name
from pairing.show.text import counted
from pairing.show.words import loudness, temper, voice

if TYPE_CHECKING:
    from audio.files.folders import LeftOut
    from audio.scan import ScanReport
    from pairing.alignment.sedative import RestCandidate
    from pairing.plan.poses import Pose

_FIGURES = ("energy>", "beats a min>", "voice>", "loudness>")
MOST_ALIKE = 10  # editorial
MOST_ROWS = 2000  # editorial: nobody reads more, and fitting columns to 100,000 rows takes a minute


def tracks_table(
    tracks: Iterable[Track | UnusableTrack], *, others: Iterable[Track] = (), numbers: bool = False
) -> str:
    """Show tracks in words, on demand with what was measured; those that can't be used with the reason.

    Args:
        others: all of one's own, beside which a track is soft or loud; none: those shown.
        numbers: add energy, tempo, voice and loudness as figures.
    """
    found = list(tracks)
    usable = [track for track in found if isinstance(track, Track)]
    levels = [track.analysis.loudness_lufs for track in others or usable]
    marked = any(track.marks for track in usable)
    columns = ["no>", "track", "length>", "it is", "its course", *(_FIGURES if numbers else ())]
    rows = table(*columns, *(["your marks"] if marked else []))
    for track in usable[:MOST_ROWS]:
        marks = ", ".join(f"{key}={value}" for key, value in sorted(track.marks.items()))
        rows.add_row(
            f"{track.id}",
            safe(track_name(track)),
            clock(track.analysis.duration_s),
            manner(track, levels),
            course(track.analysis.curves.shape, climax=numbers),
            *(_figures(track) if numbers else ()),
            *([safe(marks)] if marked else []),
        )
    unusable = [one_line(f"{each.path.name}: {each.problem}") for each in found if isinstance(each, UnusableTrack)]
    parts = [rendered(rows)] if usable else []
    if len(usable) > MOST_ROWS:
        parts.append(f"and {len(usable) - MOST_ROWS:,} more. Words narrow the list: arcbed tracks WORD")
    odd = [
        f"  {track.id}  {one_line(track_name(track))}: {note}"
        for track in usable[:MOST_ROWS]
        for note in track.analysis.notes
    ]
    if odd:
        parts.append(titled("Good to know about them", "\n".join(odd)))
    if unusable:
        parts.append(titled("Can't be used", "\n".join(f"  {line}" for line in unusable)))
    return "\n\n".join(parts)


def manner(track: Track, levels: Iterable[float] = ()) -> str:
    """A track in words: "calm, no voice, soft"; the teacher's own marks count.

    Args:
        levels: loudness of one's own tracks, LUFS, beside which it is soft or loud.
    """
    known = track.analysis
    said = (
        temper(mean_energy(track)),
        voice(voice_share(track), known.voice_kind),
        loudness(known.loudness_lufs, levels),
    )
    return ", ".join(word for word in said if word)


def _figures(track: Track) -> tuple[str, ...]:
    known = track.analysis
    return (
        f"{known.curves.mean_energy:.0%}",
        tempo(track),
        f"{known.curves.voice_share:.0%}",
        f"{known.loudness_lufs:.0f} LUFS",
    )


def scan_text(report: "ScanReport", library: Path) -> str:
    """Say what was odd, what was left out and why, and at last how many there are and where the library lies."""
    usable, left_out = report.new + report.changed + report.known, len(report.left_out)
    parts = list(_noted(report.notes))
    if report.left_out:
        parts.append("Left out:")
        parts += [f"  {line}" for line in _left_out(report.left_out)]
    copies = 0 < report.tracks < usable
    files = f"{counted(usable, 'file', 'files')} can be used and hold {counted(report.tracks, 'track', 'tracks')}"
    usable_text = files if copies else f"{counted(usable, 'track', 'tracks')} can be used"
    counts = f"{usable_text}: {report.new} new, {report.changed} changed, "
    without = f"; {counted(left_out, 'file', 'files')} left out" if left_out else ""
    parts.append(f"{counts}{report.known} known{without}.")
    if report.missing:
        gone = counted(report.missing, "file is", "files are")
        parts.append(f"{gone} no longer there; what was heard of it is kept.")
    if report.without_workers:
        parts.append("No helper could be started, so files were listened to one at a time.")
    if report.interrupted:
        parts.append("Stopped early; what was finished is kept.")
    elif report.not_looked_at:
        unseen = counted(report.not_looked_at, "file was", "files were")
        parts.append(f"{unseen} found and not looked at; what was finished is kept. Scan once more.")
    parts.append(f"What is known of your music is in {one_line(str(library))}")
    return "\n".join(parts)


def _left_out(files: "Iterable[LeftOut]") -> Iterator[str]:
    """A line a file, by reason; where many share one, as the companions on a stick do, the first of them."""
    reasons: dict[str, list[str]] = {}
    for left in files:
        reasons.setdefault(left.reason, []).append(_place(left.path))
    for reason, names in reasons.items():
        for name in names if len(names) <= MOST_ALIKE + 1 else names[:MOST_ALIKE]:
            yield one_line(f"{name}: {reason}")
        if len(names) > MOST_ALIKE + 1:
            yield one_line(f"and {len(names) - MOST_ALIKE} more, each of which {reason} --json names them all.")


def _noted(notes: "Iterable[tuple[Path, str]]") -> Iterator[str]:
    """A line a file, by what was odd; where many share it, the first of them."""
    alike: dict[str, list[Path]] = {}
    for path, note in notes:
        alike.setdefault(note, []).append(path)
    for note, paths in alike.items():
        for path in paths[:MOST_ALIKE]:
            yield one_line(f"{_place(path)}: {note}")
        if len(paths) > MOST_ALIKE:
            yield f"and {len(paths) - MOST_ALIKE} more of the same. --json names them all."


def _place(path: Path) -> str:
    """A file and the folder that it lies in: many albums have a track 1."""
    return f"{path.parent.name}/{path.name}" if path.parent.name else path.name


def poses_table(poses: Iterable["Pose"]) -> str:
    """Show poses: names, sides, usual hold, effort, cautions."""
    rows = table("pose", "also", "sides", "hold>", "METs>", "mind")
    for pose in poses:
        rows.add_row(
            safe(pose.english, "bold"),
            safe(", ".join(name for name in (pose.sanskrit, *pose.aliases) if name)),
            "two" if pose.sided else "",
            counted(pose.hold_breaths_flow, "breath", "breaths"),
            f"{pose.mets:.1f}",
            safe(", ".join(pose.cautions)),
        )
    return rendered(rows)


def rest_table(candidates: Iterable["RestCandidate"], most: int = 12) -> str:
    """Show which tracks are calm enough for the closing rest, and what speaks for or against each."""
    rows = table("no>", "track", "length>", "in a rest", "why")
    for candidate in list(candidates)[:most]:
        known = candidate.track.analysis
        rows.add_row(
            f"{candidate.track.id}",
            safe(track_name(candidate.track)),
            clock(known.duration_s),
            "yes" if candidate.fit else "no",
            safe("; ".join(candidate.reasons)),
        )
    return rendered(rows)
