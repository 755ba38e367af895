"""The page's memory: what it holds for later is bounded, and what needs much for a moment needs it in one thread."""

import random
import threading

import pytest

pytest.importorskip("starlette")
from held import held_mb
from page_desk import Visitor, a_desk

from pairing.page import views

ROUNDS = 6
MOST_MB = 1.0  # beyond what the first use of everything leaves; each sound kept with a bell of its own held 1.5 more


@pytest.fixture
def visitor(tmp_path):
    return Visitor(a_desk(tmp_path, tracks=30, sounds=True)).enter()


def everything(visitor, rng):
    """What hands do most, once each, in any order."""
    n = rng.randint(2, len(visitor.desk.open.file.setlist.picks) - 1)
    acts = [
        lambda: visitor.get(f"/alternatives/{n}"),
        lambda: visitor.do("swap", n=n, track=visitor.get(f"/alternatives/{n}").json()["alternatives"][0]["id"]),
        lambda: visitor.do("pin", n=n, pinned=rng.random() < 0.5),
        lambda: visitor.get(f"/hear/join/{n}"),
        lambda: visitor.get("/hear/class"),
        lambda: visitor.do("mark", track=rng.randint(1, 30), key="energy", value=str(rng.randint(40, 60))),
        lambda: visitor.post("/outline", {"text": visitor.desk.note.shown.replace("18", str(rng.randint(3, 30)))}),
        lambda: visitor.get(f"/music?section={rng.randint(0, 4)}"),
        lambda: visitor.do(rng.choice(["undo", "redo"])),
    ]
    rng.shuffle(acts)
    for act in acts:
        assert act().status_code == 200


def test_random_use_holds_no_more_than_the_first_use_of_everything(visitor):
    rng = random.Random(3)
    for _ in range(2):
        everything(visitor, rng)
    before = held_mb(visitor)
    for _ in range(ROUNDS):
        everything(visitor, rng)
    assert held_mb(visitor) - before < MOST_MB


def test_a_mark_leaves_the_measured_curves_where_they_are(visitor):
    before = {track.id: track.analysis for track in visitor.desk.tracks()}
    visitor.do("mark", track=3, key="rest", value="never")
    after = visitor.desk.tracks()
    assert [track.marks for track in after if track.id == 3] == [{"rest": "never"}]
    assert all(track.analysis is before[track.id] for track in after)


def test_all_work_on_the_desk_is_done_by_one_thread(visitor, monkeypatch):
    seen, known = set(), views.state

    def noting(*values):
        seen.add(threading.get_ident())
        return known(*values)

    monkeypatch.setattr(views, "state", noting)
    for step in range(6):
        visitor.get("/state")
        visitor.do("pin", n=1, pinned=step % 2 == 0)
    assert len(seen) == 1
