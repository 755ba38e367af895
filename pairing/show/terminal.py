"""What the commands print: tables that fit the terminal, findings, the next steps; every function gives text.

Times of a class are minutes and seconds from its first breath. Titles, names and messages pass through `safe`, so that
nothing in a tag or a plan can steer the terminal.
"""

import itertools
import math
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

import numpy as np

from audio.text import clock, one_line
from pairing.effort.breath import BEATS, beat_ranges
from pairing.effort.echo import LineSpan, echo_of
from pairing.model import Arc, Finding, Fit, Plan, Remedy, SectionTime, SetList, Timetable
from pairing.show.arctext import arc_text
from pairing.show.asjson import Slot
from pairing.show.catalogue import poses_table, rest_table, scan_text, tracks_table
from pairing.show.cues import assumed, runs_of
from pairing.show.findings import is_caution
from pairing.show.findingstext import findings_text, gaps_text, plan_error_text, titles_of
from pairing.show.screen import progress_bar, rendered, safe, width_of_screen
from pairing.show.tables import filled, indented, next_commands, pick_name, quoted, table, tempo, titled, track_name
from pairing.show.text import counted, length
from pairing.show.words import effort, places_in_class
from pairing.temper import livelier_by

if TYPE_CHECKING:
    from audio.render.master import FinishedFile
    from pairing.sets.swap import Alternative, Wish

__all__ = [
    "alternatives_table", "arc_text", "breath_text", "findings_text", "fit_text", "gaps_text", "mix_text", "next_steps",
    "nothing_else", "picks_table", "plan_change_text", "plan_error_text", "plan_text", "poses_table", "progress_bar",
    "quoted", "rest_table", "scan_text", "set_text", "slot_text", "titles_of", "tracks_table",
]  # fmt: skip

MOST_REMEDIES = 7  # offered at once
ROOMY = 112  # columns from which a track's reason stands beside it rather than under it; editorial
CEILING_DBTP = -1.0  # EBU R 128: the highest permitted true peak
MUCH_ROOM_DB = 3.0  # editorial


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
    numbers: bool = False,
) -> str:
    """Show a plan: timetable, arc, whether it fits its slot and what would help, what was found, the next step."""
    remedies = list(slot.remedies)[:MOST_REMEDIES] if slot else []
    parts = [
        one_line(plan.title) or "A class without a title",
        filled("\n".join([slot_text(plan, timetable, slot), *_assumed(assumed(timetable))])),
        _sections_table(timetable.sections, numbers=numbers),
        breath_text(timetable) if numbers else "",
        arc_text(arc.target_energy, width=width_of_screen() - 2),
        _lines_table(echo_of(plan, timetable)),
        _remedies_text(remedies, path),
        _looked_over(plan, findings, remedies, path),
        next_commands(_after_a_plan(plan, path)) if path else "",
    ]
    return "\n\n".join(part for part in parts if part)


def plan_change_text(
    plan: Plan, timetable: Timetable, slot: SlotWithRemedies | None, findings: Iterable[Finding], path: Path
) -> str:
    """Show what a small change of a plan came to: its length, its slot, and what is still to be seen to."""
    remedies = list(slot.remedies)[:MOST_REMEDIES] if slot else []
    found = [finding for finding in findings if not is_caution(finding) and finding.level != "note"]
    parts = [
        filled(slot_text(plan, timetable, slot)),
        _remedies_text(remedies, path),
        _looked_over(plan, found, remedies, path) if found else "",
        next_commands([(f"arcbed plan {quoted(path)}", "see the whole class"), *_after_a_plan(plan, path)]),
    ]
    return "\n\n".join(part for part in parts if part)


def _looked_over(plan: Plan, findings: Iterable[Finding], remedies: Sequence[Remedy], path: Path | None) -> str:
    """What was found of a plan; how its lines were read stands in the table of its lines."""
    numbered = {remedy.id: number for number, remedy in enumerate(remedies, 1)}
    return findings_text(findings, plan=path, numbered=numbered, brief=True)


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
        return (
            f'{took}\nTo see whether it fits your slot, add a line at the top of the plan, such as "slot: 60 minutes".'
        )
    room = f"You have {clock(slot.available_s)} to teach in"
    if slot.spare_s < 0 or slot.fits == "too long":
        return f"{took}\n{room}: it is {clock(-slot.spare_s)} too long."
    if slot.left_over_s is not None:
        return f"{took}\n{room}: {clock(slot.left_over_s)} is left over."
    spare = f"{clock(slot.spare_s)} to spare" if slot.spare_s >= 1 else "no time to spare"
    if slot.fits == "tight":
        return f"{took}\n{room}: it fits with {spare}, but runs over if everything takes longer."
    return f"{took}\n{room}: it fits{', with ' + spare if slot.spare_s >= 1 else ' to the second'}."


def _assumed(assumptions: Sequence[str]) -> list[str]:
    return [f"Counted with: {'; '.join(assumptions)}."] if assumptions else []


def _sections_table(sections: Sequence[SectionTime], *, numbers: bool) -> str:
    rows = table("starts>", "lasts>", "section", "", "a breath>", "effort", *(("",) if numbers else ()))
    for section in sections:
        rows.add_row(
            clock(section.start_s),
            clock(section.end_s - section.start_s),
            safe(section.name, "bold"),
            safe(f"{section.kind.value}{_passes(section)}"),
            f"{section.breath_s:.1f} s",
            effort(section.mean_mets),
            *((f"{section.mean_mets:.1f} METs",) if numbers else ()),
        )
    return rendered(rows)


def _lines_table(lines: Sequence[LineSpan]) -> str:
    """Every line as typed, and what it was taken for; "?" marks those that aren't sure."""
    if not lines:
        return ""
    rows = table("at>", "takes>", "", "you wrote", "understood as")
    for line in lines:
        rows.add_row(
            clock(line.start_s) if line.start_s is not None else "",
            clock(line.length_s) if line.length_s else "",
            "" if line.sure else "?",
            safe(one_line(line.text)),
            safe(one_line(line.says), "" if line.sure else "bold"),
        )
    return rendered(rows)


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
    lines = [indented(f"{number}. {remedy.text}", "  ", "     ") for number, remedy in enumerate(remedies, 1)]
    take = [f"  To take the first: arcbed plan {quoted(path)} --apply 1"] if path else []
    return titled("What would help", "\n".join([*lines, *take]))


# ---- set ---------------------------------------------------------------------------------------------------------


def set_text(setlist: SetList, path: Path | None = None, *, written: bool = False, numbers: bool = False) -> str:
    """Show a set: its tracks with times and reasons, the arc with its music, findings, the next steps.

    Args:
        setlist: what is shown.
        path: its file, for the commands that follow.
        written: whether its sheet and its mix are written already.
        numbers: how well the music follows the arc in figures too.
    """
    parts = [
        f"{one_line(setlist.title)}: {length(setlist.class_s)}, {counted(len(setlist.picks), 'track', 'tracks')}.",
        picks_table(setlist),
        arc_text(setlist.arc, setlist.played_energy, width=width_of_screen() - 2),
        filled(fit_text(setlist.fit, numbers=numbers)),
        findings_text(setlist.findings, path, setlist=setlist) if setlist.findings else "",
        next_steps(path, setlist, written=written) if path else "",
    ]
    return "\n\n".join(part for part in parts if part)


def picks_table(setlist: SetList) -> str:
    """Show the tracks of a set in order: when each comes in, how long it plays, why it stands there."""
    roomy = width_of_screen() >= ROOMY
    places = places_in_class(setlist)
    rows = table("no>", "at>", "plays>", "track", *(("comes in", "why") if roomy else ()))
    for pick in setlist.picks:
        why = f"pinned; {pick.why}" if pick.pinned and not pick.why.startswith("pinned") else pick.why
        times = (f"{pick.n}", clock(pick.class_start_s), clock(pick.class_end_s - pick.class_start_s))
        if roomy:
            rows.add_row(*times, safe(pick_name(pick)), safe(places[pick.n]), safe(why))
        else:
            rows.add_row(*times, safe(pick_name(pick), "bold"))
            rows.add_row("", "", "", safe(f"{places[pick.n]}: {why}"))
    return rendered(rows)


def fit_text(fit: Fit, *, numbers: bool = False) -> str:
    """Say how well the music follows the arc, and whether this library could do better; on demand in figures too."""
    if fit.correlation >= 0.9:
        words = "The music follows the class closely."
    elif fit.correlation >= 0.75:
        words = "The music follows the class, with a few strays."
    else:
        words = "The music follows the class only roughly."
    off, least = 100 * fit.rmse, 100 * fit.bound_rmse
    best = " Your music could hardly follow it more closely." if off - least < 1 else ""
    return f"{words}{best}{f' {_fit_figures(fit)}' if numbers else ''}"


def _fit_figures(fit: Fit) -> str:
    off, least = 100 * fit.rmse, 100 * fit.bound_rmse
    said = (
        f"Its rises and falls agree to {fit.correlation:.2f} (1 is perfect); on average it is {off:.0f} points "
        "of energy (of 100) away."
    )
    if off - least < 1:
        return said
    return (
        f"{said} If nothing but energy counted, the closest would be about {least:.0f}, with tracks cut as they may be."
    )


def nothing_else(wish: "Wish | None") -> str:
    """That nothing that was wished for can play in a place."""
    words = {"quieter": "Nothing calmer", "livelier": "Nothing livelier", "longer": "Nothing that plays longer"}
    return f"{words[wish] if wish else 'Nothing else'} was found among your music for this place."


def alternatives_table(
    setlist: SetList,
    n: int,
    alternatives: Sequence["Alternative"],
    path: Path,
    *,
    wish: "Wish | None" = None,
    numbers: bool = False,
) -> str:
    """Show what could play in place of pick `n`, best first, and what each would do."""
    pick = next(pick for pick in setlist.picks if pick.n == n)
    plays = f"{clock(pick.class_start_s)} to {clock(pick.class_end_s)}"
    now = f"Now, {places_in_class(setlist)[n]}: {pick_name(pick)}, {plays}."
    if not alternatives:
        return filled(f"{now}\n{nothing_else(wish)}")
    roomy = width_of_screen() >= ROOMY
    figures = ("beats a min>",) if numbers else ()
    rows = table("no>", "length>", *figures, "track", *(("what it does",) if roomy else ()))
    for alternative in alternatives:
        track = alternative.track
        what = f"{against_arc(alternative.setlist, n)}; {alternative.effect}"
        figures = (
            f"{track.id}",
            clock(track.analysis.duration_s),
            *((tempo(track),) if numbers else ()),
        )
        if roomy:
            rows.add_row(*figures, safe(track_name(track)), safe(what))
        else:
            rows.add_row(*figures, safe(track_name(track), "bold"))
            rows.add_row("", "", "", safe(what))
    take, asked = alternatives[0].track.id, f"{n} --{wish}" if wish else f"{n}"
    steps = [
        (f"arcbed swap {quoted(path)} {asked} --best", "take the first"),
        (f"arcbed swap {quoted(path)} {asked} --with {take}", "take the one with this number"),
        (f"arcbed swap {quoted(path)} --undo", "undo the last change"),
    ]
    return "\n\n".join([filled(now), rendered(rows), next_commands(steps)])


def against_arc(setlist: SetList, n: int) -> str:
    """Say in words how lively pick `n` is beside what its place in the class asks for."""
    pick = next(pick for pick in setlist.picks if pick.n == n)
    span = slice(max(0, round(pick.class_start_s)), max(0, round(pick.class_end_s)))
    apart = (setlist.played_energy - setlist.target_energy)[span]
    if not np.isfinite(apart).any():
        return "plays where the plan asks for no music"
    middle = (pick.class_start_s + pick.class_end_s) / 2
    section = next((s for s in setlist.sections if middle < s.end_s), setlist.sections[-1])
    words = livelier_by(float(np.nanmean(apart)))
    return f"{words} than the {section.kind.value} asks" if words else f"as lively as the {section.kind.value} asks"


def next_steps(path: Path, setlist: SetList, *, written: bool = False) -> str:
    """Name the commands that follow, with the real file names; `written`: sheet and mix are there already."""
    n = min(4, len(setlist.picks)) or 1
    to_write = [
        (
            f"arcbed sheet {quoted(path)} --out {quoted(path.with_suffix('.html'))}",
            "a cue sheet to print, with the class clock",
        ),
        (f"arcbed mix {quoted(path)} --out {quoted(path.with_suffix('.mp3'))}", "one file that plays the class"),
    ]
    steps = [
        *(() if written else to_write),
        (f"arcbed swap {quoted(path)} {n}", f"see what else could play as track {n}"),
        (f"arcbed swap {quoted(path)} {n} --pin", f"keep track {n} whatever changes"),
    ]
    return next_commands(steps)


def mix_text(files: Sequence["FinishedFile"], *, louder: str = "--loud") -> str:
    """Say which files were written, and whether their level was changed or leaves much room, which `louder` uses."""
    lines = [f"Wrote {one_line(file.path.name)}." for file in files]
    gain_db = files[0].gain_db if files else 0.0
    room_db = CEILING_DBTP - max((file.sound.true_peak_dbtp for file in files), default=CEILING_DBTP)
    if gain_db < 0:
        lines.append(
            f"It is {-gain_db:.1f} dB softer than planned, so that its loudest moments stay clean (-1 dBTP, EBU R 128)."
        )
    elif gain_db > 0:
        lines.append(f"All of it is {gain_db:.1f} dB louder; its highest peak is at -1 dBTP (EBU R 128).")
    elif MUCH_ROOM_DB < room_db < math.inf:
        lines.append(f"Too soft for a small speaker? All of it can be raised by {room_db:.0f} dB ({louder}).")
    return "\n".join(lines)
