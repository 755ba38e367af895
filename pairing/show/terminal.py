"""What the commands print: tables that fit the terminal, findings, the next steps; every function gives text.

Times of a class are minutes and seconds from its first breath. Titles, names and messages pass through `safe`, so that
nothing in a tag or a plan can steer the terminal.
"""

import itertools
import math
import textwrap
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

import numpy as np

from audio.text import clock, one_line
from pairing.effort.breath import BEATS, beat_ranges
from pairing.effort.echo import LineTime, echo_of
from pairing.errors import PlanError
from pairing.model import Arc, Finding, Fit, Plan, Remedy, SectionTime, SetList, Timetable
from pairing.show.arctext import arc_text
from pairing.show.asjson import Slot
from pairing.show.catalogue import poses_table, rest_table, scan_text, tracks_table
from pairing.show.cues import assumed, runs_of
from pairing.show.findings import Told, in_order, is_caution, told
from pairing.show.screen import can_draw, progress_bar, rendered, safe, width_of_screen
from pairing.show.tables import filled, next_commands, pick_name, quoted, table, tempo, titled, track_name
from pairing.show.text import counted, length

if TYPE_CHECKING:
    from audio.render.master import Written
    from pairing.sets.swap import Alternative

__all__ = [
    "alternatives_table", "arc_text", "breath_text", "findings_text", "fit_text", "gaps_text", "mix_text", "next_steps",
    "picks_table", "plan_error_text", "plan_text", "poses_table", "progress_bar", "quoted", "rest_table", "scan_text",
    "set_text", "slot_text", "tracks_table",
]  # fmt: skip

LITTLE, MUCH = 0.03, 0.08  # of the range of energy: below is as asked, from here on no longer a little; editorial
ROOMY = 112  # columns from which a track's reason stands beside it rather than under it; editorial
CEILING_DBTP = -1.0  # EBU R 128: the highest permitted true peak
MUCH_ROOM_DB = 3.0  # editorial
_STYLES = {"must": "bold red", "should": "bold yellow", "note": "dim"}


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
        filled("\n".join([slot_text(plan, timetable, slot), *_assumed(assumed(timetable))])),
        _sections_table(timetable.sections),
        breath_text(timetable),
        arc_text(arc.target_energy, width=width_of_screen() - 2),
        _lines_table(echo_of(plan, timetable)),
        _remedies_text(slot.remedies if slot else (), path),
        titled("Taken as", findings_text(plan.taken_as)) if plan.taken_as else "",
        findings_text(others, plan=path),
        next_commands(_after_a_plan(plan, path)) if path else "",
    ]
    return "\n\n".join(part for part in parts if part)


def _after_a_plan(plan: Plan, path: Path) -> list[tuple[str, str]]:
    mend = (f"arcbed plan {quoted(path)} --correct", "mend what has one clear meaning")
    pair = (f"arcbed pair {quoted(path)} --out {quoted(path.with_suffix('.json'))}", "choose music for it")
    return [*([mend] if any(finding.edits for finding in plan.questions) else []), pair]


def slot_text(plan: Plan, timetable: Timetable, slot: Slot | None) -> str:
    """Say in one or two lines how long the class is and how it lies in its slot."""
    took = f"Takes {length(timetable.duration_s)}"
    if timetable.longest_s - timetable.shortest_s >= 1:
        took += f"; between {clock(timetable.shortest_s)} and {clock(timetable.longest_s)} as options and breath go"
    took += "."
    if slot is None or slot.available_s is None or slot.spare_s is None:
        return f"{took}\nThe plan names no slot, so nothing is checked against one."
    room = f"the {clock(slot.available_s)} that the slot leaves"
    if slot.spare_s < 0 or slot.fits == "too long":
        return f"{took}\nToo long for {room}: {clock(-slot.spare_s)} over."
    if slot.fits == "tight":
        return (
            f"{took}\nTight in {room}: {clock(slot.spare_s)} to spare as planned, too long if everything takes longer."
        )
    spare = f"{clock(slot.spare_s)} to spare" if slot.spare_s >= 1 else "to the second"
    return f"{took}\nFits {room}: {spare}."


def _assumed(assumptions: Sequence[str]) -> list[str]:
    return [f"Counted so: {'; '.join(assumptions)}."] if assumptions else []


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


def _lines_table(lines: Sequence[LineTime]) -> str:
    """Every line as typed, and what it was taken for; "?" marks those that aren't sure."""
    if not lines:
        return ""
    rows = table("line>", "at>", "takes>", "as typed", "taken for")
    for line in lines:
        rows.add_row(
            f"{line.line}{'' if line.sure else ' ?'}",
            clock(line.start_s) if line.start_s is not None else "",
            clock(line.length_s) if line.length_s else "",
            safe(one_line(line.text)),
            safe(one_line(line.says), "" if line.sure else "bold"),
        )
    return rendered(rows)


def gaps_text(questions: Sequence[Finding]) -> str:
    """Name the lines that a plan leaves open."""
    lines = [one_line(f"{finding.where}: {finding.message}") for finding in questions]
    what = "One thing in the plan is open" if len(lines) == 1 else f"{len(lines)} things in the plan are open"
    return "\n".join([f"{what}; the music runs through:", *(f"  {line}" for line in lines)])


def _passes(section: SectionTime) -> str:
    runs = runs_of(section)
    rounds = max((passage.round for passage in section.passes), default=1)
    sides = any(passage.side for passage in section.passes)
    words = [f"{rounds} rounds" if len(runs) == 1 else "with rounds"] if rounds > 1 else []
    return "".join(f", {word}" for word in [*words, *(["both sides"] if sides else [])])


def breath_text(timetable: Timetable) -> str:
    """Show the tempi at which 4, 8, 12 or 16 beats fall on a breath, a row a section; empty where nothing flows."""
    rows = table("breath and beat", "a breath>", *(f"{beats} beats>" for beats in BEATS))
    ranges = sorted(beat_ranges(timetable), key=lambda found: found.section)
    for section, same in itertools.groupby(ranges, key=lambda found: found.section):
        paces = list(same)
        breaths = [pace.breath_s for pace in paces]
        tempi = ([pace.bpm for pace in paces if pace.beats == beats] for beats in BEATS)
        rows.add_row(
            safe(timetable.sections[section].name),
            _span(max(breaths), min(breaths), ".1f") + " s",
            *(_span(min(bpm), max(bpm), ".0f") if bpm else "" for bpm in tempi),
        )
    return rendered(rows) + "\n(beats a minute at which so many beats fall on one breath)" if ranges else ""


def _span(first: float, last: float, digits: str) -> str:
    ends = f"{first:{digits}}", f"{last:{digits}}"
    return ends[0] if ends[0] == ends[1] else f"{ends[0]} to {ends[1]}"


def _remedies_text(remedies: Sequence[Remedy], path: Path | None) -> str:
    if not remedies:
        return ""
    adds = all(remedy.saves_s < 0 for remedy in remedies)
    rows = table("adds>" if adds else "saves>", "what", "how" if path else "")
    for remedy in remedies:
        how = f"arcbed plan {quoted(path)} --apply {remedy.id}" if path else remedy.id
        rows.add_row(clock(-remedy.saves_s if adds else remedy.saves_s), safe(remedy.text), safe(how))
    return titled("What would help", rendered(rows))


# ---- set ---------------------------------------------------------------------------------------------------------


def set_text(setlist: SetList, path: Path | None = None, *, written: bool = False) -> str:
    """Show a set: its tracks with times and reasons, the arc with its music, findings, the next steps.

    Args:
        setlist: what is shown.
        path: its file, for the commands that follow.
        written: whether its sheet and its mix are written already.
    """
    parts = [
        f"{one_line(setlist.title)}: {length(setlist.class_s)}, {counted(len(setlist.picks), 'track', 'tracks')}.",
        picks_table(setlist),
        arc_text(setlist.arc, setlist.played_energy, width=width_of_screen() - 2),
        filled(fit_text(setlist.fit)),
        findings_text(setlist.findings, path, Path(setlist.plan.path)) if setlist.findings else "",
        next_steps(path, setlist, written=written) if path else "",
    ]
    return "\n\n".join(part for part in parts if part)


def picks_table(setlist: SetList) -> str:
    """Show the tracks of a set in order: when each comes in, how long it plays, why it stands there."""
    roomy = width_of_screen() >= ROOMY
    rows = table("no>", "at>", "plays>", "track", *(("section", "why") if roomy else ()))
    for pick in setlist.picks:
        why = f"pinned; {pick.why}" if pick.pinned and not pick.why.startswith("pinned") else pick.why
        times = (f"{pick.n}", clock(pick.class_start_s), clock(pick.class_end_s - pick.class_start_s))
        if roomy:
            rows.add_row(*times, safe(pick_name(pick)), safe(pick.section), safe(why))
        else:
            rows.add_row(*times, safe(pick_name(pick), "bold"))
            rows.add_row("", "", "", safe(f"{pick.section}: {why}"))
    return rendered(rows)


def fit_text(fit: Fit) -> str:
    """Say how well the music follows the arc, and whether this library could do better."""
    if fit.correlation >= 0.9:
        words = "The music follows the arc closely"
    elif fit.correlation >= 0.75:
        words = "The music follows the arc, with some strays"
    else:
        words = "The music follows the arc only roughly"
    off, least = 100 * fit.rmse, 100 * fit.bound_rmse
    if off - least < 1:
        best = " Your music could hardly follow it closer."
    else:
        best = (
            f" If nothing but energy counted, about {least:.0f} would be the closest,"
            " with tracks cut as your set may cut them."
        )
    return (
        f"{words}: its rises and falls agree to {fit.correlation:.2f} (1 is perfect), and it is off by {off:.0f} "
        f"points of energy (of 100) on average.{best}"
    )


def alternatives_table(setlist: SetList, n: int, alternatives: Sequence["Alternative"], path: Path) -> str:
    """Show what could stand in place of pick `n`, best first, and what each would do."""
    pick = next(pick for pick in setlist.picks if pick.n == n)
    now = f"Track {n} now: {pick_name(pick)}, {clock(pick.class_start_s)} to {clock(pick.class_end_s)}."
    if not alternatives:
        return filled(f"{now}\nNothing else in the library can stand here under the plan's wishes.")
    roomy = width_of_screen() >= ROOMY
    rows = table("id>", "length>", "beats a min>", "track", *(("what it does",) if roomy else ()))
    for alternative in alternatives:
        track = alternative.track
        what = f"{against_arc(alternative.setlist, n)}; against now: {alternative.effect}"
        figures = (
            f"{track.id}",
            clock(track.analysis.duration_s),
            tempo(track),
        )
        if roomy:
            rows.add_row(*figures, safe(track_name(track)), safe(what))
        else:
            rows.add_row(*figures, safe(track_name(track), "bold"))
            rows.add_row("", "", "", safe(what))
    take = alternatives[0].track.id
    steps = [
        (f"arcbed swap {quoted(path)} {n} --best", "take the first"),
        (f"arcbed swap {quoted(path)} {n} --with {take}", "take the one with this id"),
        (f"arcbed swap {quoted(path)} --undo", "take back the last change"),
    ]
    return "\n\n".join([filled(now), rendered(rows), next_commands(steps)])


def against_arc(setlist: SetList, n: int) -> str:
    """Say in words how lively pick `n` is beside what its place in the class asks for."""
    pick = next(pick for pick in setlist.picks if pick.n == n)
    span = slice(max(0, round(pick.class_start_s)), max(0, round(pick.class_end_s)))
    apart = (setlist.played_energy - setlist.target_energy)[span]
    if not np.isfinite(apart).any():
        return "stands where the arc asks nothing"
    middle = (pick.class_start_s + pick.class_end_s) / 2
    section = next((s for s in setlist.sections if middle < s.end_s), setlist.sections[-1])
    mean = float(np.nanmean(apart))
    word = "calmer" if mean < 0 else "livelier"
    if abs(mean) < LITTLE:
        return f"as lively as the {section.kind.value} asks"
    return f"{'' if abs(mean) >= MUCH else 'a little '}{word} than the {section.kind.value} asks"


def next_steps(path: Path, setlist: SetList, *, written: bool = False) -> str:
    """Name the commands that follow, with the real file names; `written`: sheet and mix are there already."""
    n = min(4, len(setlist.picks)) or 1
    to_write = [
        (f"arcbed sheet {quoted(path)} --out {quoted(path.with_suffix('.html'))}", "cue sheet to print, class clock"),
        (f"arcbed mix {quoted(path)} --out {quoted(path.with_suffix('.mp3'))}", "one file that plays the class"),
    ]
    steps = [
        *(() if written else to_write),
        (f"arcbed swap {quoted(path)} {n}", f"other tracks for number {n}"),
        (f"arcbed swap {quoted(path)} {n} --pin", f"keep number {n} whatever changes"),
    ]
    return next_commands(steps)


def mix_text(files: Sequence["Written"]) -> str:
    """Say which files were written, and whether their level was changed or leaves much room."""
    lines = [f"Wrote {one_line(file.path.name)}." for file in files]
    gain_db = files[0].gain_db if files else 0.0
    room_db = CEILING_DBTP - max((file.sound.true_peak_dbtp for file in files), default=CEILING_DBTP)
    if gain_db < 0:
        lines.append(f"It is {-gain_db:.1f} dB lower than wished, so that no peak is clipped (-1 dBTP, EBU R 128).")
    elif gain_db > 0:
        lines.append(f"All of it was raised by {gain_db:.1f} dB; its highest peak lies at -1 dBTP (EBU R 128).")
    elif MUCH_ROOM_DB < room_db < math.inf:
        lines.append(f"Too soft for a small speaker? All of it can be raised by {room_db:.0f} dB (--loud).")
    return "\n".join(lines)


# ---- findings ----------------------------------------------------------------------------------------------------


def findings_text(findings: Iterable[Finding], set_file: Path | None = None, plan: Path | None = None) -> str:
    """Show what was found, the gravest first, each with what to do, then the cautions; one line if nothing was.

    Args:
        set_file, plan: their names go into the commands that help.
    """
    everything = [told(finding, set_file, plan) for finding in findings]
    cautions = [finding for finding in everything if is_caution(finding)]
    found = [finding for finding in everything if finding not in cautions]
    rows = table("", "")
    rows.show_header = False
    for finding in in_order(found):
        rows.add_row(safe(finding.level, _STYLES[finding.level]), safe(_said(finding)))
        if finding.remedy:
            rows.add_row("", safe(_arrow() + finding.remedy))
    parts = [rendered(rows) if found else "Nothing to mend."]
    if cautions:
        parts.append(titled("Mind", "\n".join(_caution(finding) for finding in cautions)))
    return "\n\n".join(parts)


def _caution(finding: Told) -> str:
    words = one_line(f"{finding.message} {finding.remedy}")
    return textwrap.fill(words, width_of_screen(), initial_indent="  ", subsequent_indent="    ")


def plan_error_text(error: PlanError, path: Path | None = None) -> str:
    """Show everything that keeps a plan from being read, line by line, and how to mend it.

    Args:
        path: the plan as it was typed; else the name that the error gives.
    """
    if not error.findings:
        return "\n".join(one_line(line) for line in str(error).split("\n"))
    lines: list[str] = []
    for finding in map(told, error.findings):
        lines.append(one_line(_said(finding)))
        lines += [f"  {one_line(finding.remedy)}"] if finding.remedy else []
    name = one_line(error.where or "the plan")
    mendable = sum(1 for finding in error.findings if finding.edits)
    if mendable and error.where:
        which = f"{mendable} of them" if mendable < len(error.findings) else "all of them" if mendable > 1 else "it"
        lines.append(f"arcbed plan {quoted(path or Path(error.where))} --correct mends {which}.")
    lines.append(f"{counted(len(error.findings), 'problem', 'problems')} in {name}; nothing was written.")
    return "\n".join(lines)


def _as_set(plan: Path) -> str:
    return quoted(plan.with_suffix(".json"))


def _said(finding: Told) -> str:
    return f"{finding.where}: {finding.message}" if finding.where else finding.message


def _arrow() -> str:
    return "→ " if can_draw() else "-> "
