"""Findings as they are shown: gravest first, alike ones together, commands that can be typed as they stand."""

from pathlib import Path

from pairing.model import Finding
from pairing.show.findings import in_order, with_file

SHORT = [
    Finding("note", "short-pick", f"track {n}", f'Only 1:0{n} of "Kiln" is heard.', "A larger library helps.")
    for n in (2, 3)
]
MUST = Finding("must", "no-rest", "harbour.md", "there is no rest.", "Add one.")


def test_the_gravest_stands_first_and_alike_ones_stand_together():
    found = in_order([SHORT[0], Finding("should", "b", "x", "y"), SHORT[1], MUST])
    assert [f.level for f in found] == ["must", "should", "note"]
    assert found[2].message == 'track 2: Only 1:02 of "Kiln" is heard. track 3: Only 1:03 of "Kiln" is heard.'
    assert found[2].where == ""
    assert found[2].remedy == "A larger library helps."


def test_findings_without_a_remedy_or_with_different_ones_stay_apart():
    bare = [Finding("note", "a", "track 1", "one."), Finding("note", "a", "track 2", "two.")]
    assert in_order(bare) == bare
    other = Finding("note", "short-pick", "track 5", "Only 0:50.", "Take another.")
    assert in_order([SHORT[0], other]) == [SHORT[0], other]


def test_several_of_one_place_name_it_once():
    two = [Finding("should", "a", "Crest", m, "Look again.") for m in ("one.", "two.")]
    assert in_order(two) == [Finding("should", "a", "Crest", "one. two.", "Look again.")]


def test_a_command_in_a_remedy_has_the_real_file_name_and_can_be_typed():
    path = Path("my class.json")
    finding = Finding("should", "a", "track 4", "arcbed swap SET 4 shows others.", "Make it again: arcbed rest SET.")
    told = with_file(finding, path)
    assert told.message == "arcbed swap 'my class.json' 4 shows others."
    assert told.remedy == "Make it again: arcbed rest 'my class.json'"
    numbered = with_file(Finding("note", "a", "", "", "Choose another track: arcbed swap SET 12."), path)
    assert numbered.remedy == "Choose another track: arcbed swap 'my class.json' 12"
    assert with_file(finding, None) is finding
