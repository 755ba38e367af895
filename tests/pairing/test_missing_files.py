"""Music whose file is gone, or lies on a disk that isn't plugged in: it is named at once, and not chosen anew."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import pytest
from invented_music import library as invented_library

from audio.files.folders import Found
from audio.library import Library
from pairing.checks.set import FILE_GONE
from pairing.errors import SetError
from pairing.model import Finding, PairOptions, SetList
from pairing.sets.setfile import read_set
from pairing.workflow import checks, sets
from pairing.workflow.sets import SetFile

PLAN = """# Tide

## Sit: opening, 2 minutes
- easy seat

## Rise: flow, 4 minutes
- warrior two

## Crest: peak, 2 minutes
- crow

## Float: rest, 3 minutes
- savasana
"""


@dataclass
class Home:
    """A class whose music was chosen from twenty files on a stick."""

    folder: Path
    made: SetFile

    @property
    def plan(self) -> Path:
        return self.folder / "tide.md"

    @property
    def out(self) -> Path:
        return self.folder / "tide.json"

    @property
    def stick(self) -> Path:
        return self.folder / "stick"

    def again(self, keep: bool = False) -> SetList:
        return sets.pair_plan(
            self.plan, self.out, self.folder / "library.sqlite", PairOptions(), keep=self.out if keep else None
        ).setlist

    def opened(self) -> SetFile:
        return sets.open_set(self.out, self.folder / "library.sqlite")

    def lose(self, n: int) -> str:
        """Delete the file of a pick; gives its fingerprint."""
        pick = self.opened().setlist.picks[n - 1]
        Path(pick.path).unlink()
        return pick.fingerprint


@pytest.fixture(scope="module")
def chosen(tmp_path_factory: pytest.TempPathFactory) -> Home:
    folder = tmp_path_factory.mktemp("home")
    (folder / "stick").mkdir()
    (folder / "tide.md").write_text(PLAN)
    with Library.open_or_create(folder / "library.sqlite") as known:
        for track in invented_library(20, seed=4):
            path = folder / "stick" / f"{track.id}.wav"
            path.write_bytes(b"RIFF")
            known.store(Found(path, 4, 1), track.fingerprint, track.tags, track.analysis)
    made = sets.pair_plan(folder / "tide.md", folder / "tide.json", folder / "library.sqlite", PairOptions())
    return Home(folder, made)


@pytest.fixture
def home(chosen: Home) -> Iterator[Home]:
    content = chosen.out.read_bytes()
    yield chosen
    chosen.out.write_bytes(content)
    for track in chosen.made.tracks:
        track.path.write_bytes(b"RIFF")


def coded(findings: Sequence[Finding], code: str) -> list[Finding]:
    return [finding for finding in findings if finding.code == code]


def marks(setlist: SetList) -> list[str]:
    return [pick.fingerprint for pick in setlist.picks]


@pytest.mark.parametrize("keep", [False, True])
def test_a_track_whose_file_is_gone_is_not_chosen_and_that_is_said(home: Home, keep: bool) -> None:
    assert coded(home.made.setlist.findings, "music-away") == []
    lost = home.lose(2)
    now = home.again(keep=keep)
    assert lost not in marks(now)
    (said,) = coded(now.findings, "music-away")
    assert said.message.startswith("1 track could not be found")
    assert str(home.stick) in said.message
    assert coded(now.findings, FILE_GONE) == []


@pytest.mark.parametrize("keep", [False, True])
def test_a_pinned_track_whose_file_is_gone_stays_and_is_named_at_once(home: Home, keep: bool) -> None:
    sets.pin(home.opened(), 2, True, home.out)
    lost = home.lose(2)
    now = home.again(keep=keep)
    assert lost in marks(now)
    (said,) = coded(now.findings, FILE_GONE)
    assert said.where.tracks == (marks(now).index(lost) + 1,)
    assert coded(read_set(home.out).findings, FILE_GONE) == [], "a disk comes and goes; the file says nothing of it"


def test_no_replacement_is_offered_whose_file_is_gone(home: Home) -> None:
    found = home.opened()
    first, *others = (each.track for each in sets.alternatives(found, 2, None, 5))
    first.path.unlink()
    offered = [each.track.id for each in sets.alternatives(found, 2, None, 5)]
    assert offered[: len(others)] == [track.id for track in others]
    assert len(offered) == 5, "the place of the one that is gone is filled by the next"
    with pytest.raises(SetError, match=r"is gone: .*stick.*\n.*scan the folder"):
        sets.swap_with(found, 2, first.id, home.out)


def test_a_change_of_another_track_names_the_one_that_is_gone(home: Home) -> None:
    found = home.opened()
    home.lose(1)
    after = sets.swap_best(found, 2, None, home.out)
    assert after is not None
    (said,) = coded(after.setlist.findings, FILE_GONE)
    assert said.where.tracks == (1,)


def test_a_rest_made_anew_takes_what_is_there(home: Home) -> None:
    last = home.made.setlist.picks[-1]
    assert last.section == "Float"
    lost = home.lose(last.n)
    after = sets.rebuild_rest(home.opened(), home.out, minutes=None, bells=None, silence_minutes=1.0)
    assert lost not in marks(after.setlist)
    assert marks(after.setlist)[: last.n - 1] == marks(home.made.setlist)[: last.n - 1]


def test_a_place_left_free_is_filled_by_what_is_there(home: Home) -> None:
    gone = [home.opened().tracks[at].fingerprint for at in range(20)]
    home.lose(2)
    after = sets.drop(home.opened(), 2, home.out).setlist
    known = {track.fingerprint: track for track in home.opened().tracks}
    assert set(marks(after)) <= set(gone)
    assert all(known[mark].path.is_file() for mark in marks(after))


def test_a_class_is_planned_without_its_disk_in_one_sentence(home: Home) -> None:
    before = home.out.read_bytes()
    home.stick.rename(home.folder / "unplugged")
    now = home.again()
    (said,) = coded(now.findings, FILE_GONE)
    assert "Is its disk plugged in?" in said.message
    assert str(home.stick) in said.message
    assert coded(now.findings, "music-away") == []
    assert home.out.read_bytes() == before, "the same class, to be played when the disk is there again"
    assert sets.alternatives(home.opened(), 2, None, 3)
    checked = checks.check(home.out, home.folder / "library.sqlite")
    assert [finding.message for finding in coded(checked.findings, FILE_GONE)] == [said.message]
    (home.folder / "unplugged").rename(home.stick)
    assert coded(home.again().findings, FILE_GONE) == []


def test_where_what_is_there_cannot_fill_the_class_the_rest_is_chosen_from_too(home: Home) -> None:
    first = home.made.setlist.picks[0]
    for path in home.stick.iterdir():
        if path != Path(first.path):
            path.unlink()
    now = home.again()
    (said,) = coded(now.findings, "music-away")
    assert said.message.startswith("19 tracks could not be found")
    assert "chosen from all" in said.message
    assert len(coded(now.findings, FILE_GONE)) == sum(pick.path != first.path for pick in now.picks)
