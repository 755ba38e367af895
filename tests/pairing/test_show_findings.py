"""Findings as they are shown: gravest first, alike ones together, commands that can be typed as they stand."""

import dataclasses
from pathlib import Path
from typing import get_args

import pytest
from show_class import a_class, a_set, an_arc

from pairing.commands import music, outputs, plans, sets  # noqa: F401  (they add their commands)
from pairing.commands.app import app
from pairing.deeds import command, remedy_words
from pairing.model import Apply, ChooseAnew, Deed, Finding, MakeRest, Mark, SetPlan, Swap, Where, WriteMix
from pairing.show.findings import in_order, place, told
from pairing.show.findingstext import findings_text

SHORT = [
    told(
        Finding("note", "short-pick", Where(tracks=(n,)), f'Only 1:0{n} of "Kiln" is heard.', "A larger library helps.")
    )
    for n in (2, 3)
]
MUST = told(Finding("must", "no-rest", Where("harbour.md"), "there is no rest.", "Add one."))


def test_the_gravest_stands_first_and_alike_ones_stand_together():
    found = in_order([SHORT[0], told(Finding("should", "b", Where(name="x"), "y")), SHORT[1], MUST])
    assert [f.level for f in found] == ["must", "should", "note"]
    assert found[2].message == 'track 2: Only 1:02 of "Kiln" is heard. track 3: Only 1:03 of "Kiln" is heard.'
    assert found[2].where == ""
    assert found[2].remedy == "A larger library helps."


def test_findings_without_a_remedy_or_with_different_ones_stay_apart():
    bare = [told(Finding("note", "a", Where(tracks=(n,)), "one.")) for n in (1, 2)]
    assert in_order(bare) == bare
    other = told(Finding("note", "short-pick", Where(tracks=(5,)), "Only 0:50.", "Take another."))
    assert in_order([SHORT[0], other]) == [SHORT[0], other]
    swaps = [told(Finding("note", "a", Where(tracks=(n,)), "x.", "Take another.", deeds=(Swap(n),))) for n in (1, 2)]
    assert in_order(swaps) == swaps


def test_of_a_class_in_another_folder_the_plan_beside_it_is_named():
    timetable = a_class()
    plan = SetPlan("friday.md", "", SetPlan.digest(""))
    setlist = dataclasses.replace(a_set(timetable, an_arc(timetable)), plan=plan)
    changed = Finding("should", "plan-changed", Where("friday.md"), "You changed it.", deeds=(ChooseAnew(),))
    said = " ".join(findings_text([changed], Path("classes/friday.json"), setlist=setlist).split())
    assert said.endswith("arcbed pair classes/friday.md --out classes/friday.json --keep classes/friday.json")


def test_a_place_that_the_sentence_begins_with_is_not_said_twice():
    reach = Finding("note", "arc-fitted", Where(name="library"), "Your music goes from calm to driving.")
    assert findings_text([reach]).split("\n")[1].strip() == "Your music goes from calm to driving."


def test_several_of_one_place_name_it_once():
    two = [told(Finding("should", "a", Where(section="Crest"), m, "Look again.")) for m in ("one.", "two.")]
    assert in_order(two) == [told(Finding("should", "a", Where(section="Crest"), "one. two.", "Look again."))]


def test_a_deed_is_a_command_with_the_real_file_name_that_can_be_typed():
    finding = Finding("should", "a", Where(tracks=(4,)), "x", "Choose others.", deeds=(Swap(4), MakeRest()))
    assert told(finding, Path("my class.json")).remedy == (
        "Choose others: arcbed swap 'my class.json' 4, or arcbed rest 'my class.json'"
    )
    assert remedy_words(finding) == "Choose others: arcbed swap SET 4, or arcbed rest SET"


@pytest.mark.parametrize("kind", get_args(Deed), ids=lambda kind: kind.__name__)
def test_every_deed_names_a_command_that_there_is(kind):
    made = {
        Swap: lambda: Swap(3),
        Mark: lambda: Mark(7, "voice=no"),
        Apply: lambda: Apply("rounds-1"),
        WriteMix: lambda: WriteMix("a.mp3"),
    }.get(kind, kind)()
    known = {each.name or each.callback.__name__ for each in app.registered_commands}
    name, *typed = command(made, "a.json", "a.md").split()[1:]
    assert name in known
    assert all(
        word.isupper()
        or word in ("a.json", "a.md", "end", "3", "7", "voice=no", "rounds-1", "a.mp3")
        or word.startswith("--")
        for word in typed
    )


@pytest.mark.parametrize(
    ("where", "words"),
    [
        (Where("saturday.md", 14, 3, "Tide"), "In Tide"),
        (Where(section="Crest"), "In Crest"),
        (Where("saturday.md", 2), "In saturday.md, line 2"),
        (Where("saturday.md"), ""),
        (Where("mix.mp3"), "mix.mp3"),
        (Where(tracks=(1, 2)), "Kiln and track 2"),
        (Where(name="library"), "Your music"),
        (Where(name="the end"), "At the end"),
    ],
)
def test_a_place_is_said_as_a_person_finds_it(where, words):
    assert place(where, {1: "Kiln"}) == words


def test_a_remedy_that_is_listed_is_applied_by_its_number():
    finding = Finding(
        "must", "too-long", Where("a.md"), "x", "For example", deeds=(Apply("breath-48"), Apply("rounds-9"))
    )
    said = told(finding, plan=Path("a.md"), numbered={"breath-48": 2}).remedy
    assert "--apply 2," in said
    assert "--apply rounds-9" in said
