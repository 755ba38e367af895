"""What the terminal shows: 80 columns, no colour where none is wanted, nothing from a tag but text."""

import io
import re
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from rich.cells import cell_len
from show_class import FINDINGS, HOSTILE, a_class, a_set, an_analysis, an_arc, hostile_set, tracks_of

from audio.files.folders import LeftOut
from audio.scan import ScanReport
from audio.track import Tags, Track, UnusableTrack
from pairing.checks.slot import SlotCheck
from pairing.commands import main
from pairing.commands.app import MUST
from pairing.errors import PlanError
from pairing.model import Edit, Finding, Plan, Remedy, Where
from pairing.show import catalogue, screen, tables, terminal
from pairing.show.catalogue import scan_text
from pairing.show.words import places_in_class

CONTROL = re.compile("[\x00-\x09\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")


class Terminal(io.StringIO):
    encoding = "utf-8"

    def isatty(self):
        return True


@pytest.fixture(autouse=True)
def columns(monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setattr(screen, "can_draw", lambda stream=None: True)


def slot(fits, spare):
    remedies = (Remedy("no-vinyasa", "leave out the vinyasa in Tide", 80, ()),)
    return SlotCheck(3420.0, spare, fits, remedies=remedies)


def everything(timetable, arc, setlist, tracks, plan):
    yield terminal.plan_text(plan, timetable, arc, slot("too long", -180.0), FINDINGS, path=Path("harbour.md"))
    yield terminal.set_text(setlist, Path("harbour evening.json"))
    yield terminal.tracks_table(tracks)
    yield terminal.findings_text(setlist.findings)
    options = [SimpleNamespace(track=track, setlist=setlist, effect=track.title) for track in tracks]
    yield terminal.alternatives_table(setlist, 3, options, Path("harbour evening.json"))


@pytest.mark.parametrize(
    ("wish", "said"), [(None, "Nothing else"), ("quieter", "Nothing calmer"), ("longer", "Nothing that plays longer")]
)
def test_a_list_without_any_names_the_wish(setlist, wish, said):
    assert said in terminal.alternatives_table(setlist, 3, (), Path("harbour evening.json"), wish=wish)


@pytest.mark.parametrize("width", [60, 80, 120, 160])
def test_tables_fit_the_terminal(timetable, arc, setlist, width, monkeypatch):
    monkeypatch.setenv("COLUMNS", str(width))
    tracks = list(tracks_of(setlist).values())
    for text in everything(timetable, arc, setlist, tracks, Plan("Harbour evening flow", ())):
        assert max(cell_len(line) for line in text.split("\n") if "arcbed " not in line) <= width
    assert max(cell_len(line) for line in terminal.set_text(setlist).split("\n")) > 0.85 * width


@pytest.mark.parametrize("colour", [False, True])
def test_nothing_hostile_reaches_the_terminal(timetable, arc, colour, monkeypatch):
    monkeypatch.setattr(screen.sys, "stdout", Terminal() if colour else io.StringIO())
    setlist = hostile_set(timetable, arc)
    tracks = list(tracks_of(setlist).values())
    for text in everything(timetable, arc, setlist, tracks, Plan(HOSTILE[7], ())):
        ours = re.sub("\x1b\\[[0-9;]*m", "", text) if colour else text  # rich's own colours
        assert not CONTROL.search(ours)
        assert "[bold]rich[/bold]" in ours or "rich" not in ours  # markup of the table's own library is text too


def test_colour_only_on_a_terminal_that_wants_it(setlist, monkeypatch):
    plain = terminal.findings_text(FINDINGS)
    assert "\x1b" not in plain
    monkeypatch.setattr(screen.sys, "stdout", Terminal())
    assert "\x1b[" in terminal.findings_text(FINDINGS)
    monkeypatch.setenv("NO_COLOR", "1")  # no-color.org: any value that is not empty
    assert "\x1b" not in terminal.findings_text(FINDINGS)
    monkeypatch.setenv("NO_COLOR", "")
    monkeypatch.setenv("TERM", "dumb")
    assert "\x1b" not in terminal.findings_text(FINDINGS)


def test_the_next_commands_have_real_file_names_that_a_shell_takes(setlist):
    text = terminal.set_text(setlist, Path("harbour evening.json"))
    assert "arcbed sheet 'harbour evening.json' --out 'harbour evening.html'" in text
    assert "arcbed swap 'harbour evening.json' 4" in text
    assert "arcbed mix 'harbour evening.json' --out 'harbour evening.mp3'" in text


def test_the_plan_says_how_it_lies_in_its_slot_and_what_helps(timetable, arc):
    plan = Plan("Harbour", ())
    path = Path("harbour.md")
    long = terminal.plan_text(plan, timetable, arc, slot("too long", -180.0), (), path=path)
    assert "You have 57:00 to teach in: it is 3:00 too long." in long
    assert "1. leave out the vinyasa in Tide" in long
    assert "arcbed plan harbour.md --apply 1" in long
    assert "57:00 to teach in: it fits, with 1:00 to spare." in terminal.slot_text(plan, timetable, slot("fits", 60.0))
    assert "57:00 to teach in: it fits with 1:00 to spare, but" in terminal.slot_text(
        plan, timetable, slot("tight", 60.0)
    )
    assert "57:00 to teach in: 20:00 is left over." in terminal.slot_text(plan, timetable, slot("fits", 1200.0))
    assert "slot: 60 minutes" in terminal.slot_text(plan, timetable, None)
    assert "Nothing to mend." in long
    assert "METs" not in long
    figures = terminal.plan_text(plan, timetable, arc, slot("too long", -180.0), (), path=path, numbers=True)
    assert "8 beats" in figures  # breath and beat of the flows
    assert "METs" in figures


def test_findings_come_gravest_first_with_what_to_do():
    must = Finding("must", "no-rest", Where("harbour.md"), "there is no rest.", 'Add a section of kind "rest".')
    lines = terminal.findings_text((*FINDINGS, must)).split("\n")
    assert lines[:2] == ["Mend first:", "  there is no rest."]
    assert 'Add a section of kind "rest".' in lines[2]
    assert lines[4] == "Worth a look:"


def test_cautions_are_never_left_out_and_stand_together():
    caution = Finding("note", "caution-wrists", Where("a.md"), "Weight on the hands: crow.", "Offer fists.")
    text = terminal.findings_text((caution, *FINDINGS))
    assert text.endswith("To keep everyone safe:\n  Weight on the hands: crow. Offer fists.")
    assert terminal.findings_text((caution,)).startswith("Nothing to mend.\n\nTo keep everyone safe:")


def test_every_error_of_a_plan_is_shown_and_counted():
    findings = (
        Finding(
            "must",
            "no-pose",
            Where("saturday.md", 14, section="Tide"),
            '"krow" isn\'t a known pose.',
            'Did you mean "crow"?',
            (Edit(14, "- crow, 5 breaths"),),
        ),
        Finding("must", "no-length", Where("saturday.md", 20), '"2 breth" can\'t be read as a length.'),
    )
    text = terminal.plan_error_text(PlanError("can't be read.", findings, where="saturday.md"))
    assert text.split("\n")[0] == 'In Tide: "krow" isn\'t a known pose.'
    assert "arcbed plan saturday.md --correct mends 1 of them." in text
    assert text.endswith("2 problems in saturday.md; nothing was written.")


def test_the_command_named_after_a_question_keeps_the_folder(tmp_path, monkeypatch, capsys):
    folder = tmp_path / "my classes"
    folder.mkdir()
    plan = folder / "broken.md"
    plan.write_text("# X\nslot: 30 minutes\n\n## A: flow\n- krow, 5 breaths\n", encoding="utf-8")
    monkeypatch.setattr("sys.argv", ["arcbed", "plan", str(plan)])
    with pytest.raises(SystemExit) as end:
        main()
    assert end.value.code == MUST
    told = "".join(capsys.readouterr().out.split())
    assert "".join(f"arcbed plan {terminal.quoted(plan)} --correct".split()) in told


def test_a_file_that_cannot_be_used_is_named_with_its_reason():
    good = Track(1, "f", Path("a.mp3"), Tags("Low lamp", "Quay"), an_analysis(200, None))
    bad = UnusableTrack(2, "g", Path("b\x1b.mp3"), Tags(), "is empty.")
    text = terminal.tracks_table([good, bad])
    assert "steady, no voice" in text
    assert "no beat" in terminal.tracks_table([good], numbers=True)
    assert "b.mp3: is empty." in text


def test_a_table_of_many_tracks_ends_with_how_many_more_there_are(monkeypatch):
    monkeypatch.setattr(catalogue, "MOST_ROWS", 3)
    tracks = list(tracks_of(a_set(a_class(), an_arc(a_class()))).values())
    shown = catalogue.tracks_table(tracks)
    assert f"and {len(tracks) - 3} more" in shown
    assert shown.count("no voice") == 3


def test_a_scan_names_each_file_with_its_folder_and_counts_at_the_end():
    left = [LeftOut(Path(f"/m/album/{n}.mp3"), "is empty (0 bytes).") for n in range(3)]
    left += [LeftOut(Path(f"/m/._{n}.mp3"), "is a companion file.") for n in range(500)]
    report = ScanReport(4, 1, 2, tuple(left), ((Path("/m/album/x.mp3"), "Damaged in 1 place."),), False, 1)
    lines = scan_text(report, Path("/home/l")).split("\n")
    assert lines[0] == "album/x.mp3: Damaged in 1 place."
    assert "  album/2.mp3: is empty (0 bytes)." in lines
    assert "  and 490 more, each of which is a companion file. --json names them all." in lines
    assert lines[-3:] == [
        "7 tracks can be used: 4 new, 1 changed, 2 known; 503 files left out.",
        "1 file is no longer there; what was heard of it is kept.",
        "What is known of your music is in /home/l",
    ]
    assert len(lines) < 22


def test_copies_are_told_from_tracks():
    report = ScanReport(56, 0, 0, (), (), False, tracks=26)
    assert "56 files can be used and hold 26 tracks: 56 new" in scan_text(report, Path("/home/l"))


def test_what_is_odd_about_many_files_is_said_a_few_times_only():
    notes = tuple((Path(f"/m/{n}.mp3"), "Damaged in 1 place.") for n in range(500))
    lines = scan_text(ScanReport(500, 0, 0, (), notes, False), Path("/home/l")).split("\n")
    assert lines[10] == "and 490 more of the same. --json names them all."
    assert len(lines) == 13


def test_what_is_odd_about_a_track_stands_at_it():
    tracks = list(tracks_of(a_set(a_class(), an_arc(a_class()))).values())
    odd = replace(tracks[0], analysis=replace(tracks[0].analysis, notes=("Damaged.",)))
    text = catalogue.tracks_table([odd, *tracks[1:]])
    assert f"  {odd.id}  {tables.track_name(odd)}: Damaged." in text.split("\n")


def test_the_arc_as_text_has_its_size_and_shape(setlist):
    lines = terminal.arc_text(setlist.arc, setlist.played_energy, width=72, rows=8).split("\n")
    assert len(lines) == 9
    assert max(map(len, lines)) <= 72
    line_rows = [row for row, text in enumerate(lines) if "━" in text]
    peak = min(line_rows)
    across = 72 - 8
    column = lines[peak].index("━") - 8
    peak_s = column / across * setlist.class_s
    assert setlist.sections[4].start_s - 90 <= peak_s <= setlist.sections[4].end_s  # the arc is highest in Crest
    assert lines[-1].split() == ["0", "min", "10", "20", "30", "40", "50", "60"]


def test_letters_stand_in_where_blocks_cannot_be_printed(setlist, monkeypatch):
    from pairing.show import arctext

    monkeypatch.setattr(arctext, "can_draw", lambda: False)
    assert terminal.arc_text(setlist.arc, setlist.played_energy).isascii()


def test_an_arc_of_nothing_says_so(setlist):
    assert terminal.arc_text(setlist.arc[:0]) == "no time, no arc"


def test_progress_shows_time_left_on_a_terminal_and_nothing_elsewhere():
    out = Terminal()
    with screen.progress_bar("Listening", out) as advance:
        for done in range(1, 6):
            advance(done, 5, "x\x1b]0;owned\x07.mp3")
    assert "Listening" in out.getvalue()
    assert "left" in out.getvalue()
    assert "owned\x07" not in out.getvalue()
    quiet = io.StringIO()
    with screen.progress_bar("Listening", quiet) as advance:
        advance(1, 5, "")
    assert quiet.getvalue() == ""


def test_what_takes_long_is_said_on_a_terminal_and_nowhere_else():
    out, quiet = Terminal(), io.StringIO()
    for stream in (out, quiet):
        with screen.waiting("Choosing the music", stream):
            pass
    assert "Choosing the music" in out.getvalue() and quiet.getvalue() == ""


def test_a_poor_fit_is_not_praised(setlist):
    assert "closely" in terminal.fit_text(setlist.fit)
    assert "only roughly" in terminal.fit_text(replace(setlist.fit, correlation=0.5))


@pytest.mark.parametrize(
    ("rmse", "bound", "said"),
    [
        (0.061, 0.058, "Your music could hardly follow it more closely."),
        (0.071, 0.042, "If nothing but energy counted, the closest would be about 4"),
    ],
)
def test_the_fit_says_what_another_choice_could_gain(setlist, rmse, bound, said):
    fit = replace(setlist.fit, rmse=rmse, bound_rmse=bound, gap=0.8)
    words = f"{terminal.fit_text(fit)} {terminal.fit_text(fit, numbers=True)}"
    assert said in words
    assert not re.search(r"\d", terminal.fit_text(fit))
    assert "%" not in words  # the solver's own figure means nothing to a teacher


@pytest.mark.parametrize(
    ("apart", "said"),
    [
        (0.0, "as lively as the peak asks"),
        (-0.06, "a little calmer than the peak asks"),
        (0.06, "a little livelier than the peak asks"),
        (-0.15, "calmer than the peak asks"),
    ],
)
def test_a_swap_says_what_it_does_to_the_arc_in_words(setlist, apart, said):
    crest = setlist.sections[4]
    pick = replace(setlist.picks[0], n=9, class_start_s=crest.start_s, class_end_s=crest.end_s)
    changed = replace(setlist, picks=(pick,), played_energy=setlist.target_energy + np.float32(apart))
    assert terminal.against_arc(changed, 9) == said
    silent = replace(changed, target_energy=setlist.target_energy * np.float32("nan"))
    assert terminal.against_arc(silent, 9) == "plays where the plan asks for no music"


def test_an_endless_bound_is_not_shown(setlist):
    assert "inf" not in terminal.fit_text(replace(setlist.fit, bound_rmse=float("inf")))


def test_at_80_columns_the_reason_stands_under_its_track_and_beside_it_where_there_is_room(setlist, monkeypatch):
    lines = terminal.picks_table(setlist).split("\n")
    at = next(n for n, line in enumerate(lines) if "Copper morning" in line)
    assert lines[at + 1].strip().startswith(f"{places_in_class(setlist)[3]}: follows the arc within 0.04")
    monkeypatch.setenv("COLUMNS", "160")
    assert "follows the arc within 0.04" in next(
        line for line in terminal.picks_table(setlist).split("\n") if "Copper morning" in line
    )


def test_a_plan_names_what_was_assumed(timetable, arc):
    text = terminal.plan_text(Plan("Harbour", ()), timetable, arc, None, ())
    assert "Counted with: a breath takes 5 seconds." in text


def test_how_the_range_was_found_is_told_only_where_there_is_one(timetable, arc):
    said = ("shortest: options left out, breath 10 % quicker, ranges at their short end",)
    text = terminal.plan_text(Plan("Harbour", ()), replace(timetable, assumptions=said), arc, None, ())
    assert "between 57:00 and 1:04:48" in text
    assert "shortest: options left out" in text
    fixed = replace(timetable, assumptions=said, shortest_s=3600.0, longest_s=3600.0)
    text = terminal.plan_text(Plan("Harbour", ()), fixed, arc, None, ())
    assert "between" not in text
    assert "shortest" not in text


def test_each_flow_has_one_row_of_tempi_however_many_rounds(timetable, arc):
    text = terminal.breath_text(timetable)
    for section in timetable.sections[1:5]:
        assert sum(line.startswith(section.name) for line in text.split("\n")) == 1
