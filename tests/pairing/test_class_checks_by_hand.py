"""Checks of a class on time tables made for them: each value just at its limit, and what is said of it."""

from dataclasses import replace

import pytest
from test_set_checks import a_set, pick, track

from pairing.checks.plan import check_plan
from pairing.checks.rest import _inside, has_unfit, rest_findings
from pairing.checks.whole import check_whole
from pairing.model import (
    Edit,
    Finding,
    Kind,
    Passage,
    Place,
    Plan,
    Section,
    SectionTime,
    Step,
    Timetable,
    Where,
    Wishes,
)
from pairing.plan.poses import pose_table
from pairing.plan.read import read_plan

POSES = pose_table()
PARTS = {"chair": 2.9, "warrior_2": 2.6, "corpse": 0.83, "easy_seat": 1.1}


def step(pose_id: str, start_s: float, end_s: float, section: int = 0, **more: object) -> Step:
    values = {"mets": 2.0, "line": 5} | more
    return Step("pose", POSES.get(pose_id).english, start_s, end_s, section, pose_id=pose_id, **values)  # type: ignore[arg-type]


def found(
    *steps: Step,
    kinds: tuple[tuple[Kind, float, float], ...] = (),
    text: str = "",
    file: str = "a.md",
    duration_s: float = 0.0,
) -> list[Finding]:
    """All that is said of a class of these steps, cautions left out."""
    end_s = duration_s or max(each.end_s for each in steps)
    spans = kinds or ((Kind.FLOW, 0.0, end_s),)
    sections = tuple(
        SectionTime(f"The {kind}", kind, start, end, (Passage(1, None, start, end),), 5.0, 2.0, Wishes())
        for kind, start, end in spans
    )
    plan = Plan(
        "Harbour",
        tuple(Section(s.name, Place(n + 3), (), kind=s.kind) for n, s in enumerate(sections)),
        file=file,
        text=text,
    )
    table = Timetable(end_s, sections, steps, end_s, end_s)
    return [each for each in check_plan(plan, table, POSES) if not each.code.startswith("caution")]


def codes(*steps: Step, **more: object) -> list[str]:
    return [each.code for each in found(*steps, **more)]  # type: ignore[arg-type]


# ---- sides -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("left_s", "told"), [(10.0, False), (9.0, False), (8.9, True), (11.1, True)])
def test_sides_may_differ_by_a_second(left_s: float, told: bool) -> None:
    steps = step("warrior_2", 0, 10, side="right"), step("warrior_2", 10, 10 + left_s, side="left")
    assert ("sides-unequal" in codes(*steps)) is told


def test_the_shorter_side_is_named() -> None:
    (said,) = found(step("warrior_2", 0, 70, side="right", line=4), step("warrior_2", 70, 80, side="left", line=9))
    assert said.message.startswith('"Warrior II" takes 1:10 on the right and 0:10 on the left')
    assert said.remedy == "Add 1:00 on the left, or take it from the right."
    assert said.where == Where("a.md", 4)
    (other,) = found(step("warrior_2", 0, 10, side="right"), step("warrior_2", 10, 80, side="left"))
    assert other.remedy == "Add 1:00 on the right, or take it from the left."


@pytest.mark.parametrize(
    ("spans", "times", "told"),
    [((10,), 1, True), ((10,), 2, False), ((10, 10), 1, False), ((10, 11), 1, False), ((10, 11.1), 1, True),
     ((10, 10, 10), 1, True), ((10, 20, 10, 20), 1, True), ((10, 10, 20, 20), 1, False), ((10,), 3, True)],
)  # fmt: skip
def test_a_pose_without_a_side_done_an_even_number_of_times_is_done_on_both(
    spans: tuple[float, ...], times: int, told: bool
) -> None:
    at, steps = 0.0, []
    for span in spans:
        steps.append(step("warrior_2", at, at + span, times=times))
        at += span
    assert ("one-side-only" in codes(*steps)) is told


@pytest.mark.parametrize(
    ("line", "text", "edit"),
    [(1, "- warrior two", "- warrior two, each side"), (2, "\n- warrior two  ", "- warrior two, each side"),
     (1, "- warrior two (soft)", None), (3, "- warrior two", None), (2, "- warrior two\n", None), (0, "- warrior two", None)],
)  # fmt: skip
def test_each_side_is_offered_behind_the_line(line: int, text: str, edit: str | None) -> None:
    (said,) = [each for each in found(step("warrior_2", 0, 10, line=line), text=text) if each.code == "one-side-only"]
    assert said.edits == (() if edit is None else (Edit(line, edit),))


# ---- warm-up and easing ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("mets", "told"), [(1.5, True), (1.51, False)])
def test_what_is_sedentary_warms_nobody_up(mets: float, told: bool) -> None:
    """Sedentary up to 1.5 METs (ACSM/AHA)."""
    assert ("no-warm-up" in codes(step("chair", 0, 300, mets=mets), step("camel", 300, 320))) is told


def test_only_arm_balances_to_fall_from_and_inversions_on_the_neck_are_demanding() -> None:
    for pose in POSES.poses.values():
        demanding = pose.id in ("bow", "camel", "wheel", "inverted_staff", "king_pigeon")
        demanding |= pose.family == "arm balance" and "fall risk" in pose.cautions
        demanding |= pose.family == "inversion" and "neck" in pose.cautions
        said = codes(step(pose.id, 0, 20, side="right"), step(pose.id, 20, 40, side="left"))
        assert ("no-warm-up" in said) == demanding, pose.id


def test_a_supported_pose_at_the_peak_asks_for_no_warm_up() -> None:
    peak = ((Kind.PEAK, 0.0, 60.0),)
    assert "no-warm-up" in codes(step("chair", 0, 60), kinds=peak)
    assert "no-warm-up" not in codes(step("chair", 0, 60, supported=True), kinds=peak)


@pytest.mark.parametrize(
    ("mets", "hard_end_s", "level"),
    [(3.0, 701, "note"), (2.99, 799, None), (3.0, 700, None), (3.0, 750, "note"), (3.0, 750.1, "should"), (3.0, 800, "should")],
)  # fmt: skip
def test_a_tenth_of_a_short_class_is_easy_before_its_rest(mets: float, hard_end_s: float, level: str | None) -> None:
    """Of 1,000 s, a tenth; half of that is too little by far. Moderate work begins at 3.0 METs (ACSM/AHA)."""
    kinds = ((Kind.FLOW, 0.0, 800.0), (Kind.REST, 800.0, 1000.0))
    steps = step("chair", 0, hard_end_s, mets=mets), step("corpse", 800, 1000, 1, mets=0.8)
    said = [each for each in found(*steps, kinds=kinds) if each.code == "no-easing"]
    assert [each.level for each in said] == ([] if level is None else [level])


def test_easing_is_at_most_five_minutes_and_hard_work_after_the_rest_is_not_before_it() -> None:
    kinds = ((Kind.FLOW, 0.0, 3600.0), (Kind.REST, 3600.0, 4200.0), (Kind.CLOSING, 4200.0, 4300.0))
    rest = step("corpse", 3600, 4200, 1, mets=0.8)
    assert "no-easing" not in codes(step("chair", 0, 3300, mets=4.0), rest, kinds=kinds)
    assert "no-easing" in codes(step("chair", 0, 3301, mets=4.0), rest, kinds=kinds)
    assert "no-easing" in codes(step("chair", 0, 3601, mets=4.0), rest, kinds=kinds)  # a second over the border
    assert "no-easing" not in codes(
        step("chair", 0, 3000, mets=4.0), rest, step("chair", 4200, 4300, 2, mets=4.0), kinds=kinds
    )
    talk = replace(step("chair", 3500, 3600, mets=4.0), what="say", pose_id=None)
    assert "no-easing" not in codes(step("chair", 0, 3000, mets=4.0), talk, rest, kinds=kinds)
    (said,) = [one for one in found(step("chair", 0, 3590, mets=4.0), rest, kinds=kinds) if one.code == "no-easing"]
    assert "and the rest there is only 0:10" in said.message
    hard = step("chair", 0, 96, mets=4.0), step("easy_seat", 96, 100)
    (alone,) = [one for one in found(*hard) if one.code == "no-easing"]
    assert "and the end there is only 0:04" in alone.message


# ---- the rest ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("duration_s", "told"), [(1199.9, False), (1200.0, True)])
def test_a_class_of_twenty_minutes_has_a_rest(duration_s: float, told: bool) -> None:
    assert ("no-rest" in codes(step("chair", 0, 60), duration_s=duration_s)) is told


@pytest.mark.parametrize(
    ("rest_s", "said"),
    [(360, None), (359, None), (358.9, "note"), (252, "note"), (251.9, "should"), (900, None), (900.1, "rest-long")],
)
def test_a_rest_is_a_tenth_of_an_hour_more_or_less(rest_s: float, said: str | None) -> None:
    """Six minutes of an hour; from seven tenths of it only noted, above two and a half times of it told."""
    start_s = 3600.0 - rest_s
    kinds = ((Kind.FLOW, 0.0, start_s), (Kind.REST, start_s, 3600.0))
    told = [
        one for one in found(step("corpse", start_s, 3600, 1, mets=0.8), kinds=kinds) if one.code.startswith("rest-")
    ]
    assert [one.code if one.code == "rest-long" else one.level for one in told] == ([] if said is None else [said])


@pytest.mark.parametrize(
    ("kind", "start_s", "end_s", "told"),
    [(Kind.CLOSING, 3600, 3700, False), (Kind.REST, 3600, 3700, False), (Kind.FLOW, 3600, 3700, True), (Kind.FLOW, 3600, 3600, False)],
)  # fmt: skip
def test_only_a_closing_comes_after_the_rest(kind: Kind, start_s: float, end_s: float, told: bool) -> None:
    kinds = ((Kind.FLOW, 0.0, 3200.0), (Kind.REST, 3200.0, 3600.0), (kind, start_s, end_s))
    said = codes(step("chair", 0, 100), step("corpse", 3200, 3600, 1), step("chair", start_s, end_s, 2), kinds=kinds)
    assert ("rest-not-last" in said) is told


@pytest.mark.parametrize(
    ("kind", "what", "lasts_s", "told"),
    [(Kind.OPENING, "say", 60, False), (Kind.OPENING, "say", 0, True), (Kind.FLOW, "say", 60, True),
     (Kind.BREATHING, "say", 60, False), (Kind.CLOSING, "pause", 60, False), (Kind.FLOW, "pose", 0, False)],
)  # fmt: skip
def test_a_section_has_a_pose_unless_it_is_for_talking(kind: Kind, what: str, lasts_s: float, told: bool) -> None:
    only = replace(step("chair", 0, lasts_s), what=what)
    kinds = ((kind, 0.0, lasts_s), (Kind.FLOW, lasts_s, 100.0))
    said = [
        one for one in found(only, step("chair", lasts_s, 100, 1), kinds=kinds) if one.code == "section-without-pose"
    ]
    assert [one.where for one in said] == ([Where("a.md", 3)] if told else [])


@pytest.mark.parametrize(("seconds", "told"), [(32.4, True), (32.5, False), (33.0, False)])
def test_no_round_is_quicker_than_breath_was_studied(seconds: float, told: bool) -> None:
    """3.3 s a breath (Bandyopadhyay et al., Int J Yoga 2022;15:163-167), rounded as it is shown."""
    assert ("breath-too-quick" in codes(step("chair", 100, 100 + seconds, breaths=10.0))) is told
    quick = [step("chair", at, at + 20, breaths=10.0, line=at) for at in (20, 40)]
    assert codes(*quick).count("breath-too-quick") == 1


def test_a_note_without_a_file_is_named_by_its_title() -> None:
    said = found(step("warrior_2", 0, 10, line=7), file="")
    assert {one.where for one in said if one.code == "one-side-only"} == {Where("Harbour", 7)}
    (rest,) = [one for one in found(step("chair", 0, 60), duration_s=2000, file="") if one.code == "no-rest"]
    assert rest.where == Where("Harbour", 0)


# ---- the whole note ----------------------------------------------------------------------------------------------


def whole(text: str, duration_s: float, **more: object) -> list[Finding]:
    plan = replace(read_plan(f"# Harbour\n{text}", file="a.md"), **more)  # type: ignore[arg-type]
    return list(check_whole(plan, Timetable(duration_s, (), (), duration_s, duration_s)))


LINES = "## A: flow\n- plank\n- crow, 5 breaths\n- chair x3\n### B, 3 minutes\n- crow\n### C\n- crow\n"


@pytest.mark.parametrize(("duration_s", "told"), [(1799.0, True), (1800.0, False)])
def test_less_than_half_of_the_time_of_the_title_is_far_too_short(duration_s: float, told: bool) -> None:
    said = whole(LINES, duration_s, slot_s=3600.0, slot_by_title=True)
    assert [one.code for one in said] == (["far-too-short"] if told else [])
    assert not whole(LINES, duration_s, slot_s=3600.0, slot_by_title=False)
    if told:
        assert said[0].message.endswith("These lines have no length: 3, 9.")


def test_nine_lines_without_a_length_are_named() -> None:
    def message(count: int) -> str:
        return whole("## A: flow\n" + "- plank\n" * count, 60.0, slot_s=3600.0, slot_by_title=True)[0].message

    assert message(1).endswith("This line has no length: 3.")
    assert message(9).endswith("10, 11.")
    assert message(10).endswith("10, 11, ....")
    assert whole("## A: flow\n- plank, 1 breath\n", 60.0, slot_s=3600.0, slot_by_title=True)[0].message.endswith(
        "takes 1:00."
    )


@pytest.mark.parametrize(("duration_s", "told"), [(540.0, False), (539.0, True), (660.0, False), (661.0, True)])
def test_a_total_that_is_off_by_more_than_a_tenth_is_told(duration_s: float, told: bool) -> None:
    said = whole(LINES, duration_s, total=(12, 600.0))
    assert [(one.code, one.where.line) for one in said] == ([("total-differs", 12)] if told else [])


# ---- the music of the rest ---------------------------------------------------------------------------------------


def test_tracks_that_begin_a_second_before_the_rest_are_in_it() -> None:
    setlist = a_set()
    assert setlist.rest is not None
    starts = [839.0, 839.1, 1198.9, 1199.0]
    picks = tuple(pick(n + 1, at_s, at_s + 50) for n, at_s in enumerate(starts))
    assert [one.n for one in _inside(replace(setlist, picks=picks), setlist.rest)] == [2, 3]


def test_unfit_tracks_in_the_rest_are_named_three_at_most() -> None:
    def said(
        count: int, *, pinned: tuple[int, ...] = (), swapped: tuple[int, ...] = (), silence_s: float = 60.0
    ) -> Finding:
        setlist = a_set()
        assert setlist.rest is not None
        picks = tuple(replace(pick(n, 840 + 50 * n, 890 + 50 * n), pinned=n in pinned) for n in range(1, count + 1))
        options = replace(setlist.options, swapped=tuple(f"print {n}" for n in swapped))
        library = {}
        for n in range(1, count + 1):
            known = track(n, slice(0, 400))  # sung all through
            library[known.fingerprint] = known
        made = replace(setlist, picks=picks, options=options, rest=replace(setlist.rest, silence_s=silence_s))
        assert has_unfit(made, library)
        return next(one for one in rest_findings(made, library) if one.code in ("unfit-in-rest", "driving-in-rest"))

    assert "more" not in said(3).message
    assert said(3).where == Where(section="Float")
    assert said(4).message.endswith("; and 1 more.")
    assert said(1).message.startswith("You have too little music calm enough")
    assert said(2, pinned=(1,)).message.startswith("You have too little")
    assert said(2, pinned=(1, 2)).message.startswith("You pinned this in the rest")
    assert said(2, pinned=(1,), swapped=(2,)).message.startswith("You chose this for the rest")
    assert (said(1).code, said(1).level) == ("unfit-in-rest", "should")
    assert (said(1).remedy or "").endswith("or make its silence longer.")
    assert (said(1, silence_s=0.0).remedy or "").endswith("or leave the rest silent.")
