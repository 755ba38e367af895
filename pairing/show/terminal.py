"""What the commands print: tables that fit the terminal, findings, the next steps; every function gives text.

Times of a class are minutes and seconds from its first breath. Titles, names and messages pass through `safe`, so that
nothing in a tag or a plan can steer the terminal.
"""

import shlex
import subprocess
import sys
import textwrap
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from audio.track import Track
from pairing.effort.breath import BEATS, beat_ranges
from pairing.errors import PlanError
from pairing.model import Arc, Finding, Fit, Pick, Plan, Remedy, SectionTime, SetList, Timetable
from pairing.show.arctext import arc_text
from pairing.show.asjson import Slot
from pairing.show.screen import can_draw, progress_bar, rendered, safe, width_of_screen
from pairing.show.text import clock, counted, length, one_line, title_of

if TYPE_CHECKING:
    from rich.table import Table

    from audio.render.master import Written
    from audio.scan import ScanReport
    from pairing.plan.poses import Pose
    from pairing.sets.sedative import RestCandidate
    from pairing.sets.swap import Alternative

__all__ = [
    "alternatives_table", "arc_text", "breath_text", "findings_text", "fit_text", "mix_text", "next_steps",
    "picks_table", "plan_error_text", "plan_text", "poses_table", "progress_bar", "rest_table", "scan_text", "set_text", "slot_text",
    "tracks_table",
]  # fmt: skip

_LEVELS = (
    ("must", "must", "bold red"),
    ("should", "should", "bold yellow"),
    ("note", "note", "dim"),
)


class SlotWithRemedies(Slot, Protocol):
    """The slot check with what can be done."""

    @property
    def remedies(self) -> Sequence[Remedy]: ...


# ---- plan --------------------------------------------------------------------------------------------------------


def plan_text(
    plan: Plan,
    timetable: Timetable,
    arc: Arc,
    slot: SlotWithRemedies | None,
    findings: Iterable[Finding],
    *,
    path: Path | None = None,
) -> str:
    """Show a plan: timetable, arc, whether it fits its slot and what would help, what was found, the next step."""
    others = [finding for finding in findings if finding not in plan.taken_as]
    parts = [
        one_line(plan.title) or "A class without a title",
        _filled(slot_text(plan, timetable, slot)),
        _sections_table(timetable.sections),
        breath_text(timetable),
        arc_text(arc.target_energy, width=width_of_screen() - 2),
        _remedies_text(slot.remedies if slot else (), path),
        _titled("Taken as", findings_text(plan.taken_as)) if plan.taken_as else "",
        findings_text(others),
        _next([(f"arcbed pair {quoted(path)} --out {quoted(path.with_suffix('.json'))}", "choose music for it")])
        if path
        else "",
    ]
    return "\n\n".join(part for part in parts if part)


def slot_text(plan: Plan, timetable: Timetable, slot: Slot | None) -> str:
    """Say in one or two lines how long the class is and how it lies in its slot."""
    took = (
        f"Takes {length(timetable.duration_s)}; "
        f"between {clock(timetable.shortest_s)} and {clock(timetable.longest_s)} as options and breath go."
    )
    if slot is None or slot.available_s is None or slot.spare_s is None:
        return f"{took}\nThe plan names no slot, so nothing is checked against one."
    room = f"the {clock(slot.available_s)} that the slot leaves"
    if slot.spare_s < 0 or slot.fits == "too long":
        return f"{took}\nToo long for {room}: {clock(-slot.spare_s)} over."
    if slot.fits == "tight":
        return (
            f"{took}\nTight in {room}: {clock(slot.spare_s)} to spare as planned, too long if everything takes longer."
        )
    return f"{took}\nFits {room}: {clock(slot.spare_s)} to spare."


def _sections_table(sections: Sequence[SectionTime]) -> str:
    table = _table("starts>", "lasts>", "section", "", "a breath>", "effort>")
    for section in sections:
        table.add_row(
            clock(section.start_s),
            clock(section.end_s - section.start_s),
            safe(section.name, "bold"),
            safe(f"{section.kind.value}{_passes(section)}"),
            f"{section.breath_s:.1f} s",
            f"{section.mean_mets:.1f} METs",
        )
    return rendered(table)


def _passes(section: SectionTime) -> str:
    rounds = max((passage.round for passage in section.passes), default=1)
    sides = any(passage.side for passage in section.passes)
    words = [f"{rounds} rounds"] if rounds > 1 else []
    return "".join(f", {word}" for word in [*words, *(["both sides"] if sides else [])])


def breath_text(timetable: Timetable) -> str:
    """Show the tempi at which 4, 8, 12 or 16 beats fall on a breath, for each pace of the flows; empty without any."""
    table = _table("breath and beat", "a breath>", *(f"{beats} beats>" for beats in BEATS))
    paces: dict[tuple[int, float], dict[int, float]] = {}
    rounds: dict[tuple[int, float], list[int]] = {}
    for found in beat_ranges(timetable):
        pace = (found.section, round(found.breath_s, 2))
        paces.setdefault(pace, {})[found.beats] = found.bpm
        rounds.setdefault(pace, []).append(found.round)
    several = {section for section, _ in paces if sum(s == section for s, _ in paces) > 1}
    for pace, tempi in paces.items():
        first, last = min(rounds[pace]), max(rounds[pace])
        which = f", round {first}" if first == last else f", rounds {first} to {last}"
        table.add_row(
            safe(timetable.sections[pace[0]].name + (which if pace[0] in several else "")),
            f"{pace[1]:.1f} s",
            *(f"{tempi[beats]:.0f}" if beats in tempi else "" for beats in BEATS),
        )
    return rendered(table) + "\n(beats a minute at which so many beats fall on one breath)" if paces else ""


def _remedies_text(remedies: Sequence[Remedy], path: Path | None) -> str:
    if not remedies:
        return ""
    table = _table("saves>", "what", "how" if path else "")
    for remedy in remedies:
        how = f"arcbed plan {quoted(path)} --apply {remedy.id}" if path else remedy.id
        table.add_row(clock(remedy.saves_s), safe(remedy.text), safe(how))
    return _titled("What would help", rendered(table))


# ---- set ---------------------------------------------------------------------------------------------------------


def set_text(setlist: SetList, path: Path | None = None) -> str:
    """Show a set: its tracks with times and reasons, the arc with its music, findings, the next steps."""
    parts = [
        f"{one_line(setlist.title)}: {length(setlist.class_s)}, {counted(len(setlist.picks), 'track', 'tracks')}.",
        picks_table(setlist),
        arc_text(setlist.arc, setlist.played_energy, width=width_of_screen() - 2),
        _filled(fit_text(setlist.fit)),
        findings_text(setlist.findings) if setlist.findings else "",
        next_steps(path, setlist) if path else "",
    ]
    return "\n\n".join(part for part in parts if part)


def picks_table(setlist: SetList) -> str:
    """Show the tracks of a set in order: when each comes in, how long it plays, why it stands there."""
    table = _table("no>", "at>", "plays>", "track", "section", "why")
    for pick in setlist.picks:
        table.add_row(
            f"{pick.n}",
            clock(pick.class_start_s),
            clock(pick.class_end_s - pick.class_start_s),
            safe(_track_words(pick)),
            safe(pick.section),
            safe(f"pinned; {pick.why}" if pick.pinned else pick.why),
        )
    return rendered(table)


def fit_text(fit: Fit) -> str:
    """Say how well the music follows the arc, in words and the two figures behind them."""
    if fit.correlation >= 0.9:
        words = "The music follows the arc closely"
    elif fit.correlation >= 0.75:
        words = "The music follows the arc, with some strays"
    else:
        words = "The music follows the arc only roughly"
    best = f"within {max(fit.gap, 0):.0%} of the best your music allows" if fit.gap == fit.gap else ""
    return f"{words} (correlation {fit.correlation:.2f}, 1 is perfect; off by {fit.rmse:.0%} on average). " + (
        f"It is {best}." if best else ""
    )


def alternatives_table(setlist: SetList, n: int, alternatives: Sequence["Alternative"], path: Path) -> str:
    """Show what could stand in place of pick `n`, best first, and what each would do."""
    pick = next(pick for pick in setlist.picks if pick.n == n)
    now = f"Track {n} now: {_track_words(pick)}, {clock(pick.class_start_s)} to {clock(pick.class_end_s)}."
    if not alternatives:
        return _filled(f"{now}\nNothing else in the library can stand here under the plan's wishes.")
    table = _table("id>", "track", "length>", "beats a min>", "what it does")
    for alternative in alternatives:
        track = alternative.track
        table.add_row(
            f"{track.id}",
            safe(_named(track)),
            clock(track.analysis.duration_s) if track.analysis else "",
            _tempo(track.analysis.tempo_bpm if track.analysis else None),
            safe(alternative.effect),
        )
    take = alternatives[0].track.id
    steps = [
        (f"arcbed swap {quoted(path)} {n} --best", "take the first"),
        (f"arcbed swap {quoted(path)} {n} --with {take}", "take the one with this id"),
        (f"arcbed swap {quoted(path)} --undo", "take back the last change"),
    ]
    return "\n\n".join([_filled(now), rendered(table), _next(steps)])


def next_steps(path: Path, setlist: SetList) -> str:
    """Name the commands that follow, with the real file names."""
    n = min(4, len(setlist.picks)) or 1
    steps = [
        (f"arcbed sheet {quoted(path)} --out {quoted(path.with_suffix('.html'))}", "cue sheet to print, class clock"),
        (f"arcbed mix {quoted(path)} --out {quoted(path.with_suffix('.mp3'))}", "one file that plays the class"),
        (f"arcbed swap {quoted(path)} {n}", f"other tracks for number {n}"),
        (f"arcbed swap {quoted(path)} {n} --pin", f"keep number {n} whatever changes"),
    ]
    return _next(steps)


def mix_text(files: Sequence["Written"]) -> str:
    """Say which files were written, and whether their level had to come down."""
    lines = [f"Wrote {one_line(file.path.name)}." for file in files]
    lowered = max((file.lowered_db for file in files), default=0.0)
    if lowered > 0:
        lines.append(f"It is {lowered:.1f} dB lower than wished, so that no peak is clipped (-1 dBTP, EBU R 128).")
    return "\n".join(lines)


# ---- music, poses ------------------------------------------------------------------------------------------------


def tracks_table(tracks: Iterable[Track]) -> str:
    """Show the tracks of a library with what was measured; those that can't be used with the reason."""
    table = _table("id>", "track", "length>", "beats a min>", "energy>", "voice>", "loudness>", "marks")
    unusable: list[str] = []
    for track in tracks:
        known = track.analysis
        if known is None:
            unusable.append(f"{one_line(track.path.name)}: {one_line(track.problem or 'not analysed')}")
            continue
        table.add_row(
            f"{track.id}",
            safe(_named(track)),
            clock(known.duration_s),
            _tempo(known.tempo_bpm),
            f"{known.mean_energy:.0%}",
            f"{known.voice_share:.0%}",
            f"{known.loudness_lufs:.0f} LUFS",
            safe(", ".join(f"{key}={value}" for key, value in sorted(track.marks.items()))),
        )
    parts = [rendered(table)] if table.rows else []
    if unusable:
        parts.append(_titled("Can't be used", "\n".join(f"  {line}" for line in unusable)))
    return "\n\n".join(parts)


def poses_table(poses: Iterable["Pose"]) -> str:
    """Show poses: names, sides, usual hold, effort, cautions."""
    table = _table("pose", "also", "sides", "hold>", "METs>", "mind")
    for pose in poses:
        also = [pose.sanskrit, *pose.aliases]
        table.add_row(
            safe(pose.english, "bold"),
            safe(", ".join(name for name in also if name)),
            "two" if pose.sided else "",
            counted(pose.hold_breaths_flow, "breath", "breaths"),
            f"{pose.mets:.1f}",
            safe(", ".join(pose.cautions)),
        )
    return rendered(table)


def scan_text(report: "ScanReport", library: Path) -> str:
    """Say what a scan did, what it left out and why, and where the library lies."""
    usable = report.new + report.changed + report.known
    counts = f"{counted(usable, 'track', 'tracks')} can be used: {report.new} new, {report.changed} changed, "
    parts = [
        "Stopped early; what was finished is kept." if report.interrupted else "",
        f"{counts}{report.known} known.",
    ]
    if report.missing:
        parts.append(f"{counted(report.missing, 'file', 'files')} of the library are no longer there.")
    for path, note in report.notes:
        parts.append(one_line(f"  {path.name}: {note}"))
    if report.left_out:
        parts.append(f"Left out, {counted(len(report.left_out), 'file', 'files')}:")
        parts += [one_line(f"{left.path.name}: {left.reason}") for left in report.left_out]
    parts.append(f"The library lies in {one_line(str(library))}")
    return "\n".join(part for part in parts if part)


def rest_table(candidates: Iterable["RestCandidate"], most: int = 12) -> str:
    """Show which tracks are calm enough for the closing rest, and what speaks for or against each."""
    table = _table("id>", "track", "length>", "in a rest", "why")
    for candidate in list(candidates)[:most]:
        known = candidate.track.analysis
        table.add_row(
            f"{candidate.track.id}",
            safe(_named(candidate.track)),
            clock(known.duration_s) if known else "",
            "yes" if candidate.fit else "no",
            safe("; ".join(candidate.reasons)),
        )
    return rendered(table)


# ---- findings ----------------------------------------------------------------------------------------------------


def findings_text(findings: Iterable[Finding]) -> str:
    """Show what was found, the gravest first, each with what to do; one line if nothing was."""
    found = list(findings)
    if not found:
        return "Nothing to mend."
    table = _table("", "")
    table.show_header = False
    for level, word, style in _LEVELS:
        for finding in (f for f in found if f.level == level):
            table.add_row(
                safe(word, style), safe(f"{finding.where}: {finding.message}" if finding.where else finding.message)
            )
            if finding.remedy:
                table.add_row("", safe(_arrow() + finding.remedy))
    return rendered(table)


def plan_error_text(error: PlanError) -> str:
    """Show everything that keeps a plan from being read, line by line, and how to mend it."""
    if not error.findings:
        return "\n".join(one_line(line) for line in str(error).split("\n"))
    lines: list[str] = []
    for finding in error.findings:
        lines.append(one_line(_said(finding)))
        lines += [f"  {one_line(finding.remedy)}"] if finding.remedy else []
    name = one_line(error.where or "the plan")
    mendable = sum(1 for finding in error.findings if finding.edits)
    if mendable and error.where:
        lines.append(f"arcbed plan {quoted(Path(error.where))} --correct mends {mendable} of them.")
    lines.append(f"{counted(len(error.findings), 'problem', 'problems')} in {name}; nothing was written.")
    return "\n".join(lines)


# ---- shared ------------------------------------------------------------------------------------------------------


def quoted(path: Path) -> str:
    """A path as it can be typed after a command on this system."""
    text = one_line(str(path))
    return subprocess.list2cmdline([text]) if sys.platform == "win32" else shlex.quote(text)


def _table(*columns: str) -> "Table":
    """A table without frame; a column whose name ends in ">" stands to the right."""
    from rich.table import Table

    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="dim", collapse_padding=True)
    for column in columns:
        right = column.endswith(">")
        wrap = not right
        table.add_column(
            column.rstrip(">"), justify="right" if right else "left", no_wrap=not wrap,
            overflow="fold" if wrap else "ellipsis",
        )  # fmt: skip
    return table


def _next(steps: Sequence[tuple[str, str]]) -> str:
    wide = max(len(command) for command, _ in steps) + 4
    side_by_side = wide + max(len(what) for _, what in steps) <= width_of_screen()
    rows = (
        f"  {command:<{wide - 2}}{what}" if side_by_side else f"  {command}\n      {what}" for command, what in steps
    )
    return _titled("Next", "\n".join(rows))


def _said(finding: Finding) -> str:
    return f"{finding.where}: {finding.message}" if finding.where else finding.message


def _filled(words: str) -> str:
    """Prose broken to the terminal's width, its own line breaks kept."""
    return "\n".join(textwrap.fill(line, width_of_screen()) for line in words.split("\n"))


def _titled(title: str, body: str) -> str:
    return f"{title}:\n{body}"


def _track_words(pick: Pick) -> str:
    artist = one_line(pick.artist, 40)
    return f"{title_of(pick, 80)}, {artist}" if artist else title_of(pick, 80)


def _named(track: Track) -> str:
    artist = one_line(track.tags.artist, 40)
    title = one_line(track.title, 80) or one_line(track.path.name, 80)
    return f"{title}, {artist}" if artist else title


def _tempo(bpm: float | None) -> str:
    return f"{bpm:.0f}" if bpm else "no beat"


def _arrow() -> str:
    return "→ " if can_draw() else "-> "
