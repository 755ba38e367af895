"""What a hand can do on the page: changes, undo, files changed outside, sound."""

import io
import json
import shutil
import time
import wave

import numpy as np
import platformdirs
import pytest

pytest.importorskip("starlette")
from page_desk import PLAN, Visitor, a_desk, a_sound, fill_library
from scipy.io import wavfile

from audio.render.mixer import MIX_RATE, render
from pairing.model import PairOptions
from pairing.page.desk import Desk
from pairing.sets.setfile import read_set
from pairing.temper import TEMPERS
from pairing.workflow import byhand, sets
from pairing.workflow.away import OUTPUTS

BRIEF = """# Brief
slot: 3 minutes

## Tide: flow, 1 minute
- warrior two

## Float: rest, 1 minute
- savasana
- bell
"""


@pytest.fixture(scope="module")
def origin(tmp_path_factory):
    """A class with sounds, made once."""
    folder = tmp_path_factory.mktemp("origin")
    a_desk(folder, tracks=40, sounds=True)
    return folder


def put_back(origin):
    """Plan and set as they were made, whatever the test before left."""
    for name in ("low-water.md", "low-water.json"):
        (origin / f".{name}").exists() or (origin / f".{name}").write_bytes((origin / name).read_bytes())
        (origin / name).write_bytes((origin / f".{name}").read_bytes())


@pytest.fixture
def visitor(origin):
    put_back(origin)
    for left in origin.glob("out*"):
        shutil.rmtree(left) if left.is_dir() else left.unlink()
    return Visitor(Desk(origin, origin / "library.sqlite", origin / "low-water.md")).enter()


@pytest.fixture
def briefly(origin):
    """A visitor to a class of some minutes with the same library: what is written whole is written sooner."""
    plan = origin / "brief.md"
    if not plan.exists():
        plan.write_text(BRIEF, encoding="utf-8")
        sets.pair_plan(plan, origin / "brief.json", origin / "library.sqlite", PairOptions())
    for left in origin.glob("out*"):
        shutil.rmtree(left) if left.is_dir() else left.unlink()
    return Visitor(Desk(origin, origin / "library.sqlite", plan)).enter()


def content(visitor):
    return (visitor.desk.folder / "low-water.json").read_bytes()


def first_offer(visitor, n):
    return visitor.get(f"/alternatives/{n}").json()["alternatives"][0]


# ---- changing ----------------------------------------------------------------------------------------------------


def test_a_swap_writes_the_same_set_as_the_command(visitor, origin, tmp_path):
    other = first_offer(visitor, 2)
    library = origin / "library.sqlite"
    sets.swap_with(sets.open_set(origin / "low-water.json", library), 2, other["id"], tmp_path / "by-command.json")
    state = visitor.do("swap", n=2, track=other["id"]).json()
    assert state["set"]["picks"][1]["track"] == other["id"]
    by_page, by_command = json.loads(content(visitor)), json.loads((tmp_path / "by-command.json").read_bytes())
    for key in ("picks", "rest", "fit", "played_energy"):
        ours, theirs = by_page[key], by_command[key]
        if key == "picks":
            ours = [{k: v for k, v in pick.items() if k != "path"} for pick in ours]
            theirs = [{k: v for k, v in pick.items() if k != "path"} for pick in theirs]
        assert ours == theirs, key


def test_undo_and_redo_go_far_back_and_restore_every_byte(visitor):
    states = [content(visitor)]
    for step in range(14):
        n = 1 + step % 3
        pinned = json.loads(content(visitor))["picks"][n - 1]["pinned"]
        assert "error" not in visitor.do("pin", n=n, pinned=not pinned).json()
        states.append(content(visitor))
    for expected in reversed(states[:-1]):
        visitor.do("undo")
        assert content(visitor) == expected
    assert visitor.get("/state").json()["undo"] is None
    for expected in states[1:]:
        visitor.do("redo")
        assert content(visitor) == expected
    assert visitor.do("redo").json().get("error")


def test_a_pick_left_out_is_replaced_and_the_others_stay(visitor):
    before = read_set(visitor.desk.set_path)
    n = next(n for n in range(2, len(before.picks)) if "error" not in visitor.do("drop", n=n).json())
    after = read_set(visitor.desk.set_path)
    gone = before.picks[n - 1].fingerprint
    assert gone not in [pick.fingerprint for pick in after.picks]
    assert {pick.fingerprint for pick in before.picks} - {gone} <= {pick.fingerprint for pick in after.picks}
    assert after.class_s == before.class_s


def test_what_was_left_out_stays_out_until_it_is_let_back_or_put_somewhere(visitor):
    n = next(n for n in range(2, 6) if "error" not in visitor.do("drop", n=n).json())
    state = visitor.get("/state").json()
    (gone,) = state["set"]["left_out"]
    for choose in ({"keep": True}, {"keep": False}):
        state = visitor.do("pair", **choose).json()
        assert gone["id"] not in [pick["track"] for pick in state["set"]["picks"]]
        assert state["set"]["left_out"] == [gone]
    offered = visitor.get(f"/alternatives/{n}").json()["alternatives"]
    assert gone["id"] not in [each["id"] for each in offered]
    assert visitor.do("let_back", track=gone["id"]).json()["set"]["left_out"] == []
    assert visitor.do("undo").json()["set"]["left_out"] == [gone]
    puts = (visitor.do("swap", n=k, track=gone["id"]).json() for k in range(1, len(state["set"]["picks"]) + 1))
    state = next(answer for answer in puts if "error" not in answer)
    assert gone["id"] in [pick["track"] for pick in state["set"]["picks"]]
    assert state["set"]["left_out"] == []


def test_a_wish_for_energy_goes_into_the_plan_and_nowhere_else(visitor):
    path = visitor.desk.plan_path
    state = visitor.do("energy", section=2, percent=55).json()
    assert state["set"]["same_plan"]
    assert path.read_text("utf-8") == PLAN.replace(
        "## Tide: flow, both sides, 2 rounds", "## Tide: flow, both sides, 2 rounds, energy 55%"
    )
    visitor.do("energy", section=0, percent=20)
    assert "## Arrive: opening, energy 20%\n" in path.read_text("utf-8")


def test_one_file_a_track_is_written_into_a_folder(briefly):
    briefly.do("write", kind="parts", ending=".wav", name="out tracks")
    job = wait_for_job(briefly)
    assert job["state"] == "done", job
    files = sorted((briefly.desk.folder / "out tracks").glob("*.wav"))
    assert len(files) == len(briefly.desk.open.file.setlist.picks) > 1
    seconds = sum(rate_and_frames[1].shape[0] / rate_and_frames[0] for rate_and_frames in map(wavfile.read, files))
    assert seconds == pytest.approx(briefly.desk.sound().duration_s, abs=0.5)
    assert briefly.do("write", kind="parts", ending=".wav", name="out tracks").json()["conflict"] == "file"


def test_a_track_may_play_twice_only_where_that_was_said(visitor):
    visitor.do("pair", repeats=True, keep=True)
    assert read_set(visitor.desk.set_path).options.allow_repeats is True
    visitor.do("pair", keep=True)
    assert read_set(visitor.desk.set_path).options.allow_repeats is True
    visitor.do("pair", repeats=False, keep=True)
    assert read_set(visitor.desk.set_path).options.allow_repeats is False


def test_a_pose_is_looked_up_by_any_of_its_names(visitor):
    for words in ("crow", "kakasana"):
        assert "Crow Pose" in [pose["name"] for pose in visitor.get(f"/poses?words={words}").json()["poses"]]
    assert visitor.get("/poses?words=zzz").json()["poses"] == []


def test_files_that_are_gone_are_forgotten_when_asked(tmp_path):
    fill_library(tmp_path / "library.sqlite", tmp_path / "music", 3)
    visitor = Visitor(Desk(tmp_path, tmp_path / "library.sqlite")).enter()
    visitor.desk.tracks()[0].path.unlink()
    assert visitor.do("forget").json()["library"]["usable"] == 2


@pytest.mark.parametrize("output", [each for each in OUTPUTS if each.wrote], ids=lambda output: output.name)
def test_every_output_is_offered_and_written_in_every_kind(output, visitor):
    offered = {each["name"]: each for each in visitor.get("/state").json()["outputs"]}
    assert offered[output.name]["endings"] == list(output.endings)
    for ending in output.endings:
        assert "error" not in visitor.do("write", kind=output.name, ending=ending, name="out of it").json()
        assert (visitor.desk.folder / f"out of it{ending}").stat().st_size > 100
        assert visitor.do("write", kind=output.name, ending=ending, name="out of it").json()["conflict"] == "file"


@pytest.mark.parametrize("encoding", ["latin-1", "utf-16", "utf-8-sig"])
def test_a_wish_for_energy_keeps_the_encoding_of_the_plan(encoding, tmp_path):
    plan, poses = tmp_path / "class.md", tmp_path / "poses.md"
    poses.write_text("## Own poses\n- heron stand: 3 METs\n", "utf-8")
    typed = "# Été\r\n\r\n## Marée: flow\r\n- heron stand, 5 breaths\r\n"
    plan.write_bytes(typed.encode(encoding))
    byhand.ask_energy(plan, 0, 40)
    assert plan.read_bytes() == typed.replace("flow", "flow, energy 40%").encode(encoding)


@pytest.mark.parametrize("text", ["## New: flow", "# Low water\n\n## New: flow\n- bell\n"])
def test_a_class_without_length_gets_no_music_and_leaves_the_set(text, visitor):
    """Found by random use: a plan that holds a heading alone."""
    before = content(visitor)
    visitor.do("plan", text=text)
    for answer in (visitor.do("energy", section=0, percent=60), visitor.do("pair", keep=True)):
        assert answer.status_code == 200
        assert "nothing in it takes time yet" in answer.json()["error"]
    assert visitor.desk.note.shown == text
    assert content(visitor) == before


def test_a_wish_for_a_part_that_the_note_no_longer_has_is_refused_in_words(visitor):
    """Found by random use."""
    before = content(visitor)
    visitor.do("plan", text=PLAN[: PLAN.index("## Tide")])
    answer = visitor.do("energy", section=3, percent=60)
    assert answer.status_code == 200
    assert "no longer has this part" in answer.json()["error"]
    assert content(visitor) == before


def test_a_wish_for_energy_is_taken_back_in_the_plan_too(visitor):
    path, before = visitor.desk.plan_path, content(visitor)
    visitor.do("energy", section=2, percent=55)
    asked, after = path.read_text("utf-8"), content(visitor)
    assert visitor.do("undo").json()["set"]["same_plan"]
    assert (path.read_text("utf-8"), content(visitor)) == (PLAN, before)
    visitor.do("redo")
    assert (path.read_text("utf-8"), content(visitor)) == (asked, after)
    visitor.do("plan", text=asked + "\n> the long way\n")  # typed in since: that stays
    visitor.do("undo")
    assert content(visitor) == before
    assert path.read_text("utf-8") == asked + "\n> the long way\n"


def test_the_rest_gets_its_minutes_silence_and_bells(visitor):
    before = read_set(visitor.desk.set_path)
    answer = visitor.do("rest", minutes=7.0, silence=2.0, bell_start=True, bell_end=False)
    assert "error" not in answer.json()
    rest = read_set(visitor.desk.set_path).rest
    assert rest.end_s - rest.start_s == pytest.approx(420)
    assert rest.silence_s == 120
    assert rest.bells_s == (rest.start_s,)
    kept = [pick for pick in before.picks if pick.class_start_s < rest.start_s - 1]
    assert read_set(visitor.desk.set_path).picks[: len(kept) - 1] == tuple(kept[:-1])
    shown = visitor.get("/rest").json()
    assert shown["minutes"] == 7
    assert shown["candidates"]
    assert all(row["why"] for row in shown["candidates"])


def test_a_shorter_rest_leaves_a_set_that_can_be_read_and_taken_back(visitor):
    before = content(visitor)
    assert "error" not in visitor.do("rest", minutes=3.0, silence=0.5).json()
    assert read_set(visitor.desk.set_path).class_s < json.loads(before)["class_s"]
    visitor.do("undo")
    assert content(visitor) == before


def test_a_mark_is_kept_in_the_library_and_taken_back(visitor):
    visitor.do("mark", track=3, key="rest", value="never")
    assert visitor.get("/track/3").json()["marks"] == {"rest": "never"}
    visitor.do("mark", track=3, key="rest", value=None)
    assert visitor.get("/track/3").json()["marks"] == {}
    assert visitor.do("mark", track=3, key="beat", value="72").json().get("error") is None
    known = visitor.get("/track/3").json()
    assert known["marks"] == {"beat": "72"}
    assert ["beat", "72 a minute"] in known["figures"]
    assert 72 in next(row for row in visitor.get("/music?words=").json()["tracks"] if row["id"] == 3)["beats"]
    visitor.do("mark", track=3, key="beat", value=None)
    assert visitor.do("mark", track=3, key="rest", value="perhaps").json().get("error")
    assert visitor.do("mark", track=3, key="rest=yes energy", value="1").status_code == 400


def lively_as(row):
    """The place of a track's temper among all."""
    return [word for _, word in TEMPERS[::-1]].index(row["temper"])


def test_the_music_is_ordered_by_what_serves_the_section(visitor):
    quiet = visitor.get("/music?section=0").json()["tracks"]
    lively = visitor.get("/music?section=2").json()["tracks"]
    assert np.mean([lively_as(row) for row in quiet[:5]]) < np.mean([lively_as(row) for row in lively[:5]])
    assert all(row["why"] for row in quiet)
    resting = visitor.get("/music?section=4").json()["tracks"]
    assert [row["may"] for row in resting] == sorted((row["may"] for row in resting), reverse=True)
    assert [row["title"] for row in visitor.get("/music?words=piece 7").json()["tracks"]][0].startswith("Piece")
    assert visitor.get("/music?words=nowhere").json()["tracks"] == []


# ---- the plan ----------------------------------------------------------------------------------------------------


def test_errors_stand_at_their_line_and_clear_ones_are_corrected(visitor):
    text = PLAN.replace("- warrior two, 5 breaths", "- warrior two, 5 breaths each side")
    line = text[: text.index("each side")].count("\n") + 1
    answer = visitor.post("/outline", {"text": text}).json()
    assert answer["ok"]
    assert [finding["line"] for finding in answer["findings"] if finding["level"] == "must"] == [line]
    assert [row["line"] for row in answer["lines"] if not row["sure"]] == [line]
    assert visitor.post("/remedy", {"text": text}).json()["text"] == PLAN


def test_a_remedy_changes_the_text_and_makes_it_fit(visitor):
    text = PLAN.replace("slot: 20 minutes", "slot: 12 minutes")
    before = visitor.post("/outline", {"text": text}).json()
    assert before["fits"] == "too long"
    after = visitor.post("/remedy", {"text": text, "id": before["remedies"][0]["id"]}).json()["text"]
    assert after != text
    assert visitor.post("/outline", {"text": after}).json()["class"] < before["class"]


def test_a_plan_with_mistakes_in_it_is_kept_too(visitor):
    visitor.do("plan", text="# Half a thought\n- wha")
    assert visitor.desk.plan_path.read_bytes() == b"# Half a thought\n- wha"
    assert visitor.get("/").status_code == 200


# ---- changed outside ---------------------------------------------------------------------------------------------


def test_a_set_changed_outside_is_noticed_and_not_written_over(visitor):
    outside = content(visitor).replace(b'"pinned": false', b'"pinned": true', 1)
    visitor.desk.set_path.write_bytes(outside)
    assert visitor.get("/pulse").json()["set"] != visitor.get("/state").json()["set"]["mark"]
    for answer in (
        visitor.do("pin", n=2, pinned=True),
        visitor.do("drop", n=2),
        visitor.do("pair", keep=True),
        visitor.do("rest", minutes=6, silence=1),
        visitor.do("undo"),
        visitor.do("energy", section=2, percent=60),
    ):
        assert answer.json().get("error")
        assert content(visitor) == outside
    assert visitor.desk.plan_path.read_text("utf-8") == PLAN
    visitor.do("reload", which="set")
    assert visitor.get("/state").json()["set"]["picks"][0]["pinned"]
    assert "error" not in visitor.do("pin", n=2, pinned=True).json()
    assert "error" not in visitor.do("undo").json()
    now, then = json.loads(content(visitor)), json.loads(outside)
    derived = {"previous": [], "findings": []}  # what is advised follows from what is pinned
    assert now | derived == then | derived
    assert [each["what"] for each in now["previous"]] == ["what was changed outside"]
    assert not visitor.do("undo").json()["set"]["picks"][0]["pinned"]


def test_a_set_changed_outside_is_written_over_where_a_person_says_so(visitor):
    visitor.desk.set_path.write_bytes(content(visitor) + b" ")
    assert visitor.do("pin", n=2, pinned=True).json()["conflict"] == "set"
    assert "error" not in visitor.do("pin", n=2, pinned=True, overwrite=True).json()
    assert read_set(visitor.desk.set_path).picks[1].pinned


def test_a_set_that_was_taken_away_is_written_anew_where_a_person_says_so(visitor):
    visitor.desk.set_path.unlink()
    answer = visitor.do("pin", n=2, pinned=True).json()
    assert (answer["conflict"], answer["gone"]) == ("set", True)
    assert "no longer there" in answer["error"]
    assert "error" not in visitor.do("pin", n=2, pinned=True, overwrite=True).json()
    assert read_set(visitor.desk.set_path).picks[1].pinned


def test_a_plan_changed_outside_is_not_written_over(visitor):
    visitor.desk.plan_path.write_text("# Another hand\n", encoding="utf-8")
    answer = visitor.do("plan", text="# Mine\n")
    assert answer.json()["conflict"] == "plan"
    assert visitor.desk.plan_path.read_text("utf-8") == "# Another hand\n"
    assert "error" not in visitor.do("plan", text="# Mine\n", overwrite=True).json()
    assert visitor.desk.plan_path.read_text("utf-8") == "# Mine\n"


def test_results_replace_nothing_without_asking(visitor, origin):
    (origin / "out.svg").write_text("mine", encoding="utf-8")
    answer = visitor.do("write", kind="picture", ending=".svg", name="out")
    assert answer.json()["conflict"] == "file"
    assert (origin / "out.svg").read_text("utf-8") == "mine"
    assert "error" not in visitor.do("write", kind="picture", ending=".svg", name="out", replace=True).json()
    assert (origin / "out.svg").read_text("utf-8").startswith("<?xml")
    assert visitor.get("/state").json()["written"] == [str(origin / "out.svg")]


# ---- hearing -----------------------------------------------------------------------------------------------------


def samples(answer):
    rate, values = wavfile.read(io.BytesIO(answer.content))
    assert rate == MIX_RATE
    return values.astype(np.float64) / 32_767


@pytest.fixture(scope="module")
def whole(origin):
    """The mix as the mixer gives it, in one piece."""
    put_back(origin)
    desk = Desk(origin, origin / "library.sqlite", origin / "low-water.md")
    mix = desk.sound()
    return np.concatenate(list(render(mix.spans, mix.duration_s, sounds=mix.sounds)))


def test_a_join_sounds_as_in_the_mix(visitor, whole):
    mix = visitor.desk.sound()
    for n in (1, 2, len(mix.spans)):
        heard = samples(visitor.get(f"/sound/join/{n}"))
        first = max(round((mix.spans[n - 1].mix_start_s - 5) * MIX_RATE), 0)
        assert len(heard) >= 5 * MIX_RATE
        assert np.abs(heard - whole[first : first + len(heard)]).max() < 1e-3


@pytest.mark.parametrize("at_s", [0.0, 61.3, 433.7, 640.01])
def test_the_class_is_heard_from_any_second(visitor, whole, at_s):
    """RFC 9110, section 14.2: a range is answered with 206 and just these bytes."""
    first = round(at_s * MIX_RATE)
    start, frames = 44 + 4 * first, MIX_RATE // 2
    answer = visitor.get("/sound/class", Range=f"bytes={start}-{start + 4 * frames - 1}")
    assert answer.status_code == 206
    assert answer.headers["content-range"].startswith(f"bytes {start}-{start + 4 * frames - 1}/")
    heard = np.frombuffer(answer.content, "<i2").reshape(-1, 2) / 32_767
    assert np.abs(heard - whole[first : first + frames]).max() < 1e-3


def test_ranges_are_kept_to_the_byte(visitor):
    """RFC 9110, section 14.1.2: first-last, from on, the last so many; what lies outside is 416."""
    body = visitor.get("/sound/join/2").content
    with wave.open(io.BytesIO(body)) as file:
        assert file.getnframes() * 4 + 44 == len(body)
    for text, part in (
        ("0-0", body[:1]),
        ("0-99", body[:100]),
        ("43-50", body[43:51]),
        (f"{len(body) - 5}-", body[-5:]),
        ("-7", body[-7:]),
        ("101-104", body[101:105]),
    ):
        answer = visitor.get("/sound/join/2", Range=f"bytes={text}")
        assert answer.status_code == 206
        assert answer.content == part
    for text in (f"bytes={len(body)}-", "bytes=5-4", "bytes=-", "lines=1-2", "bytes=0-1,4-5", "bytes=x-"):
        assert visitor.get("/sound/join/2", Range=text).status_code == 416


def test_an_alternative_is_heard_in_its_place_before_it_is_taken(visitor):
    other = first_offer(visitor, 2)
    before = content(visitor)
    offered = samples(visitor.get(f"/sound/join/2?with={other['id']}"))
    assert content(visitor) == before
    visitor.do("swap", n=2, track=other["id"])
    taken = samples(visitor.get("/sound/join/2"))
    assert len(offered) == len(taken)
    assert np.abs(offered - taken).max() < 1e-3


def test_what_is_being_heard_sounds_on_as_it_was_when_the_class_changes(visitor):
    """A browser asks for a long sound piece by piece, and for the first one a moment after it was told of it."""
    other = first_offer(visitor, 2)
    asked = ["/hear/class", "/hear/join/2", f"/hear/join/2?with={other['id']}"]
    sounds = [visitor.get(path).json()["address"] for path in asked]
    before = [visitor.get(address, Range="bytes=0-2000000").content for address in sounds]
    visitor.do("swap", n=2, track=other["id"])
    after = [visitor.get(address, Range="bytes=0-2000000") for address in sounds]
    assert [answer.status_code for answer in after] == [206, 206, 206]
    assert [answer.content for answer in after] == before


def test_what_can_be_heard_is_said_before_it_is_asked_for(visitor, origin):
    """So that a browser never meets a sound that isn't there."""
    track = visitor.desk.tracks()[0]
    for path in (
        "/hear/class",
        "/hear/join/1",
        "/hear/join/2",
        f"/hear/track/{track.id}",
        f"/hear/join/2?with={first_offer(visitor, 2)['id']}",
    ):
        found = visitor.get(path).json()
        assert visitor.get(found["address"], Range="bytes=0-9").status_code == 206, path
    mix = visitor.desk.sound()
    assert visitor.get("/hear/join/2").json()["from_s"] == pytest.approx(mix.spans[1].mix_start_s - 5, abs=1e-4)
    for path in ("/hear/join/99", "/hear/join/2?with=999999", "/hear/track/999999"):
        answer = visitor.get(path)
        assert answer.status_code == 200
        assert answer.json()["error"]
    track.path.rename(track.path.with_suffix(".away"))
    try:
        assert "is not where it was" in visitor.get(f"/hear/track/{track.id}").json()["error"]
    finally:
        track.path.with_suffix(".away").rename(track.path)


def test_a_recording_that_is_gone_silences_only_the_changes_it_sounds_in(visitor):
    picks = visitor.desk.open.file.setlist.picks
    recording = next(track.path for track in visitor.desk.tracks() if track.id == picks[0].track_id)
    away = recording.rename(recording.with_suffix(".away"))
    try:
        for n in (1, 2):
            assert f'"{picks[0].title}", is gone' in visitor.get(f"/hear/join/{n}").json()["error"]
        found = visitor.get(f"/hear/join/{len(picks)}").json()
        assert len(samples(visitor.get(found["address"]))) > 5 * MIX_RATE
    finally:
        away.rename(recording)


def test_a_track_by_itself_is_as_loud_as_the_bed_of_the_class(visitor):
    """The gain between two loudnesses in LUFS is their difference in dB (EBU Tech 3341)."""
    bed = visitor.desk.open.file.setlist.options.levels.bed_lufs
    for track in visitor.desk.tracks()[:5]:
        volume = visitor.get(f"/hear/track/{track.id}").json()["volume"]
        heard = track.analysis.loudness_lufs + 20 * np.log10(volume)
        assert heard == pytest.approx(min(bed, track.analysis.loudness_lufs), abs=0.01)


def test_a_kind_that_no_browser_knows_is_heard_decoded(visitor):
    track = visitor.desk.tracks()[0]
    _, recorded = wavfile.read(track.path)
    heard = samples(visitor.get(f"/sound/track/{track.id}?decoded=1"))
    assert len(heard) / MIX_RATE == pytest.approx(track.analysis.duration_s, abs=0.01)
    level = np.sqrt(np.mean((recorded / 32_768) ** 2))
    assert np.sqrt(np.mean(heard[:, 0] ** 2)) == pytest.approx(level, rel=0.02)


def test_a_track_is_heard_from_its_file_in_ranges(visitor, origin):
    track = visitor.desk.tracks()[0]
    answer = visitor.get(f"/sound/track/{track.id}", Range="bytes=10-19")
    assert answer.status_code == 206
    assert answer.content == track.path.read_bytes()[10:20]


# ---- folders -----------------------------------------------------------------------------------------------------


def test_a_folder_of_music_is_found_by_looking(visitor, origin):
    start = visitor.get("/folders").json()
    assert start["at"] == str(origin)  # music lies right below
    assert [each["name"] for each in start["folders"]] == ["music"]
    inside = visitor.client.get("/folders", params={"at": start["folders"][0]["at"]})
    assert inside.json()["songs"] == 40
    assert inside.json()["above"] == str(origin)
    assert visitor.client.get("/folders", params={"at": str(origin / "nowhere")}).json()["error"]
    assert visitor.client.get("/folders", params={"at": "a\0b"}).json()["error"]


@pytest.mark.parametrize(("there", "found"), [(["Music"], "Music"), ([], ".")])
def test_before_the_first_class_music_is_looked_for_where_the_system_keeps_it(tmp_path, monkeypatch, there, found):
    for name in there:
        (tmp_path / name).mkdir()
    for name in ("HOME", "USERPROFILE"):
        monkeypatch.setenv(name, str(tmp_path))
    monkeypatch.setattr(platformdirs, "user_music_path", lambda: tmp_path / "Music")
    first = Visitor(Desk(tmp_path / "Documents/Classes", tmp_path / "library.sqlite")).enter()
    assert first.get("/folders").json()["at"] == str(tmp_path / found)


# ---- jobs --------------------------------------------------------------------------------------------------------


def wait_for_job(visitor, seconds=60.0):
    end = time.monotonic() + seconds
    while True:
        job = visitor.get("/pulse").json()["job"]
        if job["state"] != "running":
            return job
        assert time.monotonic() < end
        time.sleep(0.05)


def test_a_mix_is_written_with_progress_and_is_what_was_heard(briefly, origin):
    assert "error" not in briefly.do("write", kind="mix", ending=".wav", name="out").json()
    assert briefly.do("write", kind="mix", ending=".wav", name="out2").json().get("error")  # one at a time
    job = wait_for_job(briefly)
    assert job["state"] == "done", job
    assert job["done"] == job["total"]
    rate, mix = wavfile.read(origin / "out.wav")
    heard = samples(briefly.get("/sound/class"))
    assert (rate, mix.shape) == (MIX_RATE, heard.shape)
    scale = float(np.iinfo(mix.dtype).max) if mix.dtype.kind == "i" else 1.0
    assert np.abs(mix / scale - heard).max() < 2e-3


def test_a_stopped_mix_leaves_nothing_behind(visitor, origin):
    visitor.do("write", kind="mix", ending=".wav", name="out")
    visitor.do("stop")
    assert wait_for_job(visitor)["state"] == "stopped"
    assert not list(origin.glob("out*"))
    assert not list(origin.glob(".arcbed*"))


def test_a_stopped_scan_keeps_what_was_finished_and_says_so(tmp_path):
    music = tmp_path / "music"
    music.mkdir()
    for number in range(6):
        a_sound(music / f"{number}.wav", 10, rate=22_050, pitch=110 * (number + 2))
    (music / "broken.mp3").write_bytes(b"no music at all")
    scanning = Visitor(Desk(tmp_path, tmp_path / "library.sqlite")).enter()
    assert "error" not in scanning.do("scan", folder="music").json()
    assert scanning.do("scan", folder="music").json()["error"]  # one at a time
    while (job := scanning.get("/pulse").json()["job"])["state"] == "running" and job["done"] < 2:
        time.sleep(0.02)
    scanning.do("stop")
    job = wait_for_job(scanning)
    assert job["state"] == "stopped"
    kept = scanning.get("/state").json()["library"]["usable"]
    assert 1 <= kept < 6
    scanning.do("scan", folder="music")
    job = wait_for_job(scanning, 120)
    assert job["state"] == "done"
    library = scanning.get("/state").json()["library"]
    assert (library["usable"], library["unusable"]) == (6, 1)
    assert job["result"]["words"] == f"{6 - kept} new, {kept} known already."
    assert [each["file"] for each in job["result"]["left_out"]] == ["broken.mp3"]
    assert job["result"]["left_out"][0]["why"]


DAMAGES = {
    "noise": lambda whole: bytes(range(256)) * 40,
    "cut short": lambda whole: whole[: len(whole) // 3],
    "holes": lambda whole: whole[:40_000] + bytes(len(whole) - 40_000),
}


@pytest.mark.parametrize("damage", DAMAGES)
def test_a_damaged_library_is_told_and_set_aside_only_when_asked(tmp_path, damage):
    a_desk(tmp_path, tracks=12)
    library = tmp_path / "library.sqlite"
    whole = library.read_bytes()
    for beside in ("library.sqlite-wal", "library.sqlite-shm"):
        (tmp_path / beside).unlink(missing_ok=True)
    library.write_bytes(DAMAGES[damage](whole))
    damaged = library.read_bytes()
    visitor = Visitor(Desk(tmp_path, library, tmp_path / "low-water.md")).enter()
    assert visitor.get("/").status_code == 200
    state = visitor.get("/state").json()
    assert state["set"]["picks"], "a set can be looked at without a library"
    assert state["library"]["usable"] == 0
    assert "damaged" in state["library"]["problem"]
    assert state["library"]["can_set_aside"]
    for answer in (
        visitor.get("/music?section=0"),
        visitor.get("/rest"),
        visitor.get("/alternatives/1"),
        visitor.do("pair"),
        visitor.do("used"),
        visitor.do("mark", track=1, key="voice", value="no"),
        visitor.do("forget"),
    ):
        assert answer.status_code == 200
    assert library.read_bytes() == damaged
    state = visitor.do("set_aside").json()
    assert state["library"] | {"path": ""} == {
        "path": "",
        "usable": 0,
        "unusable": 0,
        "problem": None,
        "can_set_aside": False,
    }
    (aside,) = (path for path in tmp_path.glob("library.sqlite.aside-*") if path.suffix not in (".wal", ".shm"))
    assert aside.read_bytes() == damaged


def test_what_is_asked_of_a_set_that_is_gone_from_the_desk_is_refused_in_words(tmp_path):
    """As when another class is opened while the page asks about the former one."""
    a_desk(tmp_path, tracks=12, paired=False)
    visitor = Visitor(Desk(tmp_path, tmp_path / "library.sqlite", tmp_path / "low-water.md")).enter()
    for path in ("/alternatives/4", "/rest", "/hear/join/4", "/hear/class", "/music?section=9"):
        answer = visitor.get(path)
        assert answer.status_code == 200, path
        assert "error" in answer.json() or path.startswith("/music"), path
    for path in ("/sound/join/4", "/sound/class"):
        assert visitor.get(path).status_code == 404, path
    for action in ("pin", "drop", "swap", "rest", "undo", "redo", "let_back", "used"):
        values = {"n": 4, "track": 1, "pinned": True, "minutes": 5, "silence": 1}
        assert "error" in visitor.do(action, **values).json(), action


def test_another_library_is_taken_over(tmp_path):
    fill_library(tmp_path / "elsewhere.sqlite", tmp_path / "music", 3)
    visitor = Visitor(Desk(tmp_path, tmp_path / "library.sqlite")).enter()
    assert visitor.do("join", library="elsewhere.sqlite").json()["library"]["usable"] == 3
    assert "error" in visitor.do("join", library="nowhere.sqlite").json()
    assert "error" in visitor.do("join", library="").json()


def test_another_class_is_opened_and_a_table_is_brought_in(visitor, origin):
    (origin / "out table.csv").write_text("section,pose,breaths\nRise,warrior two,5\n", encoding="utf-8")
    (origin / "out plan.md").write_text(BRIEF, encoding="utf-8")
    assert {"low-water.md", "low-water.json", "out table.csv", "out plan.md"} <= set(
        visitor.get("/files").json()["files"]
    )
    state = visitor.do("open", name="out plan.md").json()
    assert (state["plan"]["name"], state["set"], state["undo"]) == ("out plan.md", None, None)
    state = visitor.do("open", name="out table.csv").json()
    assert state["plan"]["name"] == "out table.md"
    assert "warrior two" in state["plan"]["text"].casefold()
    (origin / "out table.md").write_text("mine\n", encoding="utf-8")
    assert visitor.do("open", name="out table.csv").json()["conflict"] == "file"
    assert (origin / "out table.md").read_text("utf-8") == "mine\n"
    assert visitor.do("open", name="out table.csv", replace=True).json()["plan"]["name"] == "out table.md"
    assert "error" in visitor.do("open", name="../elsewhere.csv").json()


def test_how_the_class_will_sound_is_told_part_by_part(briefly):
    told = briefly.get("/heard").json()
    assert [line["name"] for line in told["lines"]] == ["Tide", "Float"]
    assert all(line["words"] for line in told["lines"])
    assert "LUFS" in told["whole"]
    assert told["mark"] == briefly.get("/state").json()["set"]["mark"]


def earlier(visitor):
    return [each["file"] for each in visitor.get("/state").json()["beside"] if each["age"] == "other"]


def test_a_mix_of_an_earlier_version_is_told_until_it_is_written_anew(briefly, origin):
    briefly.do("write", kind="mix", ending=".flac", name="brief.flac", replace=True)
    assert wait_for_job(briefly)["state"] == "done"
    assert earlier(briefly) == []
    briefly.do("rest", minutes=1, silence=0.25, bell_start=True, bell_end=False)
    assert earlier(briefly) == ["brief.flac"]
    briefly.do("write", kind="mix", ending=".flac", name="brief.flac", replace=True)
    assert wait_for_job(briefly)["state"] == "done"
    assert earlier(briefly) == []
    (origin / "brief.flac").unlink()
