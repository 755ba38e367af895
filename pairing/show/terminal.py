"""What the commands print: tables that fit the terminal, findings, the next steps; every function gives text.

Times of a class are minutes and seconds from its first breath. Titles, names and messages pass through `safe`, so that
nothing in a tag or a plan can steer the terminal.
"""

import textwrap
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from pairing.effort.breath import BEATS, beat_ranges
from pairing.errors import PlanError
from pairing.model import Arc, Finding, Fit, Plan, Remedy, SectionTime, SetList, Timetable
from pairing.show.arctext import arc_text
from pairing.show.asjson import Slot
from pairing.show.catalogue import poses_table, rest_table, scan_text, tracks_table
from pairing.show.screen import can_draw, progress_bar, rendered, safe, width_of_screen
from pairing.show.tables import filled, next_commands, pick_name, quoted, table, tempo, titled, track_name
from pairing.show.text import clock, counted, length, one_line

if TYPE_CHECKING:
    from audio.render.master import Written
    from pairing.sets.swap import Alternative

__all__ = [
    "alternatives_table", "arc_text", "breath_text", "findings_text", "fit_text", "mix_text", "next_steps",
    "picks_table", "plan_error_text", "plan_text", "poses_table", "progress_bar", "quoted", "rest_table", "scan_text",
    "set_text", "slot_text", "tracks_table",
]  # fmt: skip

_LEVELS = (("must", "bold red"), ("should", "bold yellow"), ("note", "dim"))


class SlotWithRemedies(Slot, Protocol):
    """The slot check with what can be done."""

    @property
    def remedies(self) -> Sequence[Remedy]:
        """Changes of the plan that would help, best first."""


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
        filled(slot_text(plan, timetable, slot)),
        _sections_table(timetable.sections),
        breath_text(timetable),
        arc_text(arc.target_energy, width=width_of_screen() - 2),
        _remedies_text(slot.remedies if slot else (), path),
        titled("Taken as", findings_text(plan.taken_as)) if plan.taken_as else "",
        findings_text(others),
        next_commands(
            [(f"arcbed pair {quoted(path)} --out {quoted(path.with_suffix('.json'))}", "choose music for it")]
        )
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
    rows = table("starts>", "lasts>", "section", "", "a breath>", "effort>")
    for section in sections:
        rows.add_row(
            clock(section.start_s),
            clock(section.end_s - section.start_s),
            safe(section.name, "bold"),
            safe(f"{section.kind.value}{_passes(section)}"),
            f"{section.breath_s:.1f} s",
            f"{section.mean_mets:.1f} METs",
        )
    return rendered(rows)


def _passes(section: SectionTime) -> str:
    rounds = max((passage.round for passage in section.passes), default=1)
    sides = any(passage.side for passage in section.passes)
    words = [f"{rounds} rounds"] if rounds > 1 else []
    return "".join(f", {word}" for word in [*words, *(["both sides"] if sides else [])])


def breath_text(timetable: Timetable) -> str:
    """Show the tempi at which 4, 8, 12 or 16 beats fall on a breath, for each pace of the flows; empty without any."""
    rows = table("breath and beat", "a breath>", *(f"{beats} beats>" for beats in BEATS))
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
        rows.add_row(
            safe(timetable.sections[pace[0]].name + (which if pace[0] in several else "")),
            f"{pace[1]:.1f} s",
            *(f"{tempi[beats]:.0f}" if beats in tempi else "" for beats in BEATS),
        )
    return rendered(rows) + "\n(beats a minute at which so many beats fall on one breath)" if paces else ""


def _remedies_text(remedies: Sequence[Remedy], path: Path | None) -> str:
    if not remedies:
        return ""
    rows = table("saves>", "what", "how" if path else "")
    for remedy in remedies:
        how = f"arcbed plan {quoted(path)} --apply {remedy.id}" if path else remedy.id
        rows.add_row(clock(remedy.saves_s), safe(remedy.text), safe(how))
    return titled("What would help", rendered(rows))


# ---- set ---------------------------------------------------------------------------------------------------------


def set_text(setlist: SetList, path: Path | None = None) -> str:
    """Show a set: its tracks with times and reasons, the arc with its music, findings, the next steps."""
    parts = [
        f"{one_line(setlist.title)}: {length(setlist.class_s)}, {counted(len(setlist.picks), 'track', 'tracks')}.",
        picks_table(setlist),
        arc_text(setlist.arc, setlist.played_energy, width=width_of_screen() - 2),
        filled(fit_text(setlist.fit)),
        findings_text(setlist.findings) if setlist.findings else "",
        next_steps(path, setlist) if path else "",
    ]
    return "\n\n".join(part for part in parts if part)


def picks_table(setlist: SetList) -> str:
    """Show the tracks of a set in order: when each comes in, how long it plays, why it stands there."""
    rows = table("no>", "at>", "plays>", "track", "section", "why")
    for pick in setlist.picks:
        rows.add_row(
            f"{pick.n}",
            clock(pick.class_start_s),
            clock(pick.class_end_s - pick.class_start_s),
            safe(pick_name(pick)),
            safe(pick.section),
            safe(f"pinned; {pick.why}" if pick.pinned else pick.why),
        )
    return rendered(rows)


def fit_text(fit: Fit) -> str:
    """Say how well the music follows the arc, in words and the two figures behind them."""
    if fit.correlation >= 0.9:
        words = "The music follows the arc closely"
    elif fit.correlation >= 0.75:
        words = "The music follows the arc, with some strays"
    else:
        words = "The music follows the arc only roughly"
    best = f"within {max(fit.gap, 0):.0%} of the best your music allows" if fit.gap == fit.gap else ""
    return (
        f"{words} (correlation {fit.correlation:.2f}, 1 is perfect; off by {100 * fit.rmse:.0f} of 100 on average). "
        + (f"It is {best}." if best else "")
    )


def alternatives_table(setlist: SetList, n: int, alternatives: Sequence["Alternative"], path: Path) -> str:
    """Show what could stand in place of pick `n`, best first, and what each would do."""
    pick = next(pick for pick in setlist.picks if pick.n == n)
    now = f"Track {n} now: {pick_name(pick)}, {clock(pick.class_start_s)} to {clock(pick.class_end_s)}."
    if not alternatives:
        return filled(f"{now}\nNothing else in the library can stand here under the plan's wishes.")
    rows = table("id>", "track", "length>", "beats a min>", "what it does")
    for alternative in alternatives:
        track = alternative.track
        rows.add_row(
            f"{track.id}",
            safe(track_name(track)),
            clock(track.analysis.duration_s) if track.analysis else "",
            tempo(track.analysis.tempo_bpm if track.analysis else None),
            safe(alternative.effect),
        )
    take = alternatives[0].track.id
    steps = [
        (f"arcbed swap {quoted(path)} {n} --best", "take the first"),
        (f"arcbed swap {quoted(path)} {n} --with {take}", "take the one with this id"),
        (f"arcbed swap {quoted(path)} --undo", "take back the last change"),
    ]
    return "\n\n".join([filled(now), rendered(rows), next_commands(steps)])


def next_steps(path: Path, setlist: SetList) -> str:
    """Name the commands that follow, with the real file names."""
    n = min(4, len(setlist.picks)) or 1
    steps = [
        (f"arcbed sheet {quoted(path)} --out {quoted(path.with_suffix('.html'))}", "cue sheet to print, class clock"),
        (f"arcbed mix {quoted(path)} --out {quoted(path.with_suffix('.mp3'))}", "one file that plays the class"),
        (f"arcbed swap {quoted(path)} {n}", f"other tracks for number {n}"),
        (f"arcbed swap {quoted(path)} {n} --pin", f"keep number {n} whatever changes"),
    ]
    return next_commands(steps)


def mix_text(files: Sequence["Written"]) -> str:
    """Say which files were written, and whether their level had to come down."""
    lines = [f"Wrote {one_line(file.path.name)}." for file in files]
    lowered = max((file.lowered_db for file in files), default=0.0)
    if lowered > 0:
        lines.append(f"It is {lowered:.1f} dB lower than wished, so that no peak is clipped (-1 dBTP, EBU R 128).")
    return "\n".join(lines)


# ---- findings ----------------------------------------------------------------------------------------------------


def findings_text(findings: Iterable[Finding]) -> str:
    """Show what was found, the gravest first, each with what to do, then the cautions; one line if nothing was."""
    everything = list(findings)
    cautions = [finding for finding in everything if finding.code.startswith("caution")]
    found = [finding for finding in everything if finding not in cautions]
    rows = table("", "")
    rows.show_header = False
    for level, style in _LEVELS:
        for finding in (f for f in found if f.level == level):
            rows.add_row(safe(level, style), safe(_said(finding)))
            if finding.remedy:
                rows.add_row("", safe(_arrow() + finding.remedy))
    parts = [rendered(rows) if found else "Nothing to mend."]
    if cautions:
        parts.append(titled("Mind", "\n".join(_caution(finding) for finding in cautions)))
    return "\n\n".join(parts)


def _caution(finding: Finding) -> str:
    words = one_line(f"{finding.message} {finding.remedy or ''}")
    return textwrap.fill(words, width_of_screen(), initial_indent="  ", subsequent_indent="    ")


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


def _as_set(plan: Path) -> str:
    return quoted(plan.with_suffix(".json"))


def _said(finding: Finding) -> str:
    return f"{finding.where}: {finding.message}" if finding.where else finding.message


def _arrow() -> str:
    return "→ " if can_draw() else "-> "
