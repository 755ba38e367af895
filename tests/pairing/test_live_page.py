"""The page whose music follows the class, in a real Chromium from its file: what sounds when, controls, log."""

import base64
import json

import msgspec
import numpy as np
import pytest
from live_class import PLANNED, RATE, a_live_set, spans_of, write_page
from page_file import Visit

from audio.render.mixer import render
from pairing.pace import ClassLog

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def browser(browsers):
    return browsers()


@pytest.fixture(scope="module")
def packed(tmp_path_factory):
    """Folder, set, and what is played."""
    folder = tmp_path_factory.mktemp("live")
    setlist, live = a_live_set(folder)
    return write_page(folder, setlist, live), setlist, live


@pytest.fixture
def room(browser, packed):
    with Visit(browser, packed[0], view="clock", width=390, height=844) as visit:
        visit.wait_until("document.documentElement.dataset.ready === 'yes'")
        yield visit
        assert visit.errors == []


def taught(room, script):
    return room.page.evaluate(f"(() => {{ const t = window.classTaught, state = t.state(); return {script}; }})()")


def starts(room):
    room.page.click("#b-run")
    room.wait_until("window.classTaught.player().voices() > 0")


def plays_on(room):
    """Wait until some more of the music has sounded."""
    now = taught(room, "t.player().r()")
    room.wait_until(f"window.classTaught.player().r() > {now + 0.4}")


# ---- what sounds, rendered by the same code faster than it plays ---------------------------------------------------

RENDER = """async ([spans, from, seconds]) => {
const live = JSON.parse(document.getElementById('class-data').textContent).live;
const context = new OfflineAudioContext(2, Math.round(seconds * live.rate), live.rate);
const player = playerOf(context, live, window.classTaught.carrier);
player.set(from);
await player.play(spans);
const sound = await context.startRendering(), left = new Uint8Array(sound.getChannelData(0).buffer);
let text = "";
for (let i = 0; i < left.length; i += 32768) text += String.fromCharCode(...left.subarray(i, i + 32768));
return btoa(text); }"""
SPANS = """(() => { const live = JSON.parse(document.getElementById('class-data').textContent).live;
const conductor = conductorOf(live); let state = conductor.fresh(); %s return state.spans; })()"""


def rendered(room, spans, from_s, seconds):
    """What a window of the class sounds like, left channel, shape (frames,)."""
    return np.frombuffer(base64.b64decode(room.page.evaluate(RENDER, [spans, from_s, seconds])), np.float32)


def lag_and_likeness(one, other, at, width=0.15, reach=60):
    """By how many samples `one` lies behind `other` around a frame, and how alike they are then (correlation)."""
    half = int(width * RATE / 2)
    wanted = other[at - half : at + half]
    scores = [
        float(np.dot(part, wanted) / (np.linalg.norm(part) * np.linalg.norm(wanted) + 1e-9))
        for lag in range(-reach, reach + 1)
        for part in [one[at - half + lag : at + half + lag]]
    ]
    best = int(np.argmax(scores))
    return best - reach, scores[best]


def test_a_class_by_the_plan_sounds_like_its_mix_sample_by_sample(room, packed):
    """Around every change and every border of two chunks, and in all windows between; the mixer is the reference."""
    live = packed[2]
    spans = room.page.evaluate(SPANS % "")
    mix = np.concatenate(list(render(spans_of(live), 130.0)))[:, 0]
    for from_s in (0.0, 45.0, 90.0):
        sound = rendered(room, spans, from_s, 55.0 if from_s else 50.0)
        there = mix[int(from_s * RATE) :][: len(sound)]
        sound = sound[: len(there)]
        for at in np.arange(0.5, len(sound) / RATE - 0.5, 0.7):
            lag, likeness = lag_and_likeness(sound, there, int(at * RATE))
            assert lag == 0, (from_s, at)
            # coded sound; where two tracks overlap the mix follows their correlation, and the page doesn't
            assert likeness > 0.97, (from_s, at)


def test_no_sample_is_lost_or_doubled_where_chunks_meet(room, packed):
    """A steady wave through the borders of chunks stays a steady wave: what is left of it is the coder's noise."""
    live = packed[2]
    spans = [{"track": 1, "pick": 1, "start": 0, "end": 60, "offset": 0, "fade_in": 0.5, "fade_out": 0.5}]
    sound = rendered(room, spans, 0.0, 55.0)
    whole = np.concatenate(list(render((spans_of(live)[1],), 110.0)))[int(50.0 * RATE) :, 0]
    for border in (10, 20, 30, 40):
        at = int((border + 0.05) * RATE)
        noise = sound[at - 400 : at + 400] - whole[at - 400 : at + 400]
        around = sound[at + 2000 : at + 12000] - whole[at + 2000 : at + 12000]
        assert np.sqrt(np.mean(noise**2)) < 2.5 * np.sqrt(np.mean(around**2))


def test_a_change_that_was_not_planned_falls_on_its_sample(room, packed):
    """On at second 20.3: the next track begins where the conductor says, and the one before ends there."""
    import soundfile

    live = packed[2]
    spans = room.page.evaluate(SPANS % "state = conductor.on(state, 20.3);")
    going, coming = spans[0], next(span for span in spans if span["track"] == 1)
    assert 20.3 < coming["start"] <= 28.3
    sound = rendered(room, spans, 15.0, 25.0)
    track, _ = soundfile.read(live.tracks[1].path)
    after = going["end"] + 1.0
    at = int((after - coming["start"]) * RATE)
    lag, likeness = lag_and_likeness(sound[int((after - 15.0) * RATE) - at :], track[:, 0], at)
    assert (abs(lag) <= 1) and likeness > 0.97


# ---- in the room -------------------------------------------------------------------------------------------------


def test_it_opens_without_network_and_plays_at_a_press(room, packed):
    asked = [url for url in room.requests if not url.startswith("data:")]
    assert [url.split("#")[0] for url in asked] == [packed[0].as_uri()]
    starts(room)
    room.wait_until("window.classTaught.player().r() > 1")
    assert room.page.inner_text("#c-pose") == "child's pose"
    assert room.page.inner_text("#c-music").startswith("Track 0; next in 0:4")


def test_stay_goes_on_until_it_is_pressed_again_and_the_end_stands(room):
    starts(room)
    end = room.page.inner_text("#c-late")
    room.page.keyboard.press("PageUp")
    room.wait_until("document.getElementById('c-late').textContent.startsWith('Staying')")
    assert room.page.get_attribute("#b-stay", "aria-pressed") == "true"
    here = taught(room, "t.here()")
    plays_on(room)
    assert taught(room, "t.here()") == here
    room.page.keyboard.press("PageUp")
    assert room.page.inner_text("#c-late") == end
    room.wait_until(f"window.classTaught.here() > {here}")


def test_on_leaves_within_eight_seconds_for_the_next_part(room):
    starts(room)
    room.page.keyboard.press("PageDown")
    assert room.page.inner_text("#c-section") == "Crest"
    begins, r = taught(room, "[state.music.spans.find((span) => span.track === 1).start, t.r()]")
    assert r < begins + 0.5
    assert begins < r + 8


def test_to_the_rest_keeps_its_minutes_and_tells_the_new_end(room):
    starts(room)
    room.page.click("#b-rest")
    end, r = taught(room, "[state.music.end, t.r()]")
    assert end - r == pytest.approx(40 + 4.4, abs=0.5)
    assert taught(room, "state.music.told.length") == 1


def test_softer_lowers_by_8_db_while_held_and_stays_so_when_pressed_twice(room):
    starts(room)
    room.page.keyboard.down("v")
    plays_on(room)  # held for longer than a press
    assert room.page.get_attribute("#b-soft", "aria-pressed") == "true"
    room.page.keyboard.up("v")
    assert room.page.get_attribute("#b-soft", "aria-pressed") == "false"
    for _ in range(2):
        room.page.keyboard.press("v")
    assert room.page.inner_text("#b-soft") == "As loud as before"
    room.page.wait_for_timeout(500)
    room.page.keyboard.press("v")
    assert room.page.inner_text("#b-soft") == "Softer while I speak"


def test_after_a_reload_the_class_goes_on_where_it_stands_at_one_touch(room):
    starts(room)
    room.page.keyboard.press("PageDown")
    room.page.wait_for_timeout(300)
    before = taught(room, "t.here()")
    room.page.reload()
    room.wait_until("document.documentElement.dataset.ready === 'yes'")
    assert before < taught(room, "t.here()") < before + 6
    room.page.mouse.click(200, 300)
    room.wait_until("window.classTaught.player().voices() > 0")
    assert abs(taught(room, "t.player().r() - (Date.now() / 1000 - state.zero)")) < 0.3


def test_what_the_sound_loses_against_the_wall_is_made_up(room):
    """A starved device drops .7 s of sound: the music goes on from there unbroken, and the class ends at its hour."""
    starts(room)
    end, hour, offset = taught(room, "[state.music.end, state.zero + state.music.end, t.context().currentTime - t.r()]")
    room.page.evaluate("(() => { const was = Date.now; Date.now = () => was() + 700; })()")
    room.wait_until(f"window.classTaught.state().music.end < {end} - 0.5")
    assert taught(room, "state.music.end") == pytest.approx(end - 0.7, abs=0.15)
    assert taught(room, "state.zero + state.music.end") == pytest.approx(hour, abs=0.15)
    assert taught(room, "t.context().currentTime - t.r()") == pytest.approx(offset, abs=1e-6)


def test_the_sound_is_laid_by_and_no_longer_weighs_on_the_page(room):
    room.wait_until("document.querySelectorAll(\"script[id^='sound-']\").length === 0")
    starts(room)
    room.wait_until("window.classTaught.player().r() > 0.5")
    assert taught(room, "t.player().faults.decode") == 0


def test_sound_that_cannot_be_laid_by_plays_from_the_page(browser, packed):
    """A browser that has no room for blobs, as in a private window of a phone."""
    full = "Blob.prototype.arrayBuffer = () => Promise.reject(new Error('no room'));"
    with Visit(browser, packed[0], view="clock", script=full) as visit:
        visit.wait_until("document.documentElement.dataset.ready === 'yes'")
        starts(visit)
        visit.wait_until("window.classTaught.player().r() > 0.5")
        assert taught(visit, "t.player().faults.decode") == 0
        assert visit.page.locator("script[id^='sound-']").count() == visit.page.evaluate(
            "JSON.parse(document.getElementById('class-data').textContent).live.tracks.reduce((sum, track) => sum + track.chunks, 0)"
        )
        assert visit.errors == []


def test_a_pause_is_a_stay_in_silence(room):
    starts(room)
    room.page.click("#b-run")
    assert taught(room, "t.player().voices()") == 0
    assert room.page.inner_text("#c-music").endswith(", paused")
    here = taught(room, "t.here()")
    room.page.wait_for_timeout(500)
    assert taught(room, "t.here()") == here
    room.page.click("#b-run")
    room.wait_until("window.classTaught.player().voices() > 0")


def test_the_level_check_plays_the_loudest_then_the_quietest(room):
    room.page.click("#b-check")
    room.wait_until("window.classTaught.player() && window.classTaught.player().voices() === 2")
    assert room.page.inner_text("#b-check") == "The loudest 10 s, then the quietest"


def test_a_browser_without_web_audio_is_told_and_the_clock_runs(browser, packed):
    gone = "delete window.AudioContext; delete window.webkitAudioContext;"
    with Visit(browser, packed[0], view="clock", script=gone) as visit:
        visit.wait_until("document.documentElement.dataset.ready === 'yes'")
        assert visit.page.inner_text("#c-say").startswith("This browser can’t follow the class")
        visit.page.click("#b-run")
        visit.wait_until("window.classTaught.here() > 0.3")
        assert visit.errors == []


# ---- rehearsing ---------------------------------------------------------------------------------------------------


def test_a_rehearsal_goes_to_any_place_at_any_speed_and_leaves_nothing_behind(room):
    room.page.click("#b-rehearse")
    starts(room)
    room.page.click("#c-where")
    room.page.click("#c-sections button:nth-child(2)")  # Crest, with the music that the plan has there
    assert room.page.inner_text("#c-section") == "Crest"
    room.wait_until("document.getElementById('c-music').textContent.startsWith('Track 1')")
    room.wait_until("window.classTaught.player().voices() > 0")
    assert room.page.inner_text("#c-late-by") == "Rehearsing: nothing is counted"
    assert abs(taught(room, "t.r() - t.here()")) < 0.01
    room.page.click("#b-change")
    assert taught(room, "t.here()") == pytest.approx(100 - 8, abs=0.5)
    for speed in (2, 4, 8):
        room.page.click("#b-speed")
        assert room.page.inner_text("#b-speed") == f"{speed} times as quick"
    before = taught(room, "t.here()")
    room.page.wait_for_timeout(500)
    assert 3.5 < taught(room, "t.here()") - before < 12
    assert taught(room, "t.player().voices()") == 0
    room.page.click("#b-speed")
    room.wait_until("window.classTaught.player().voices() > 0")
    room.page.click("#b-run")
    held = taught(room, "t.here()")
    room.page.wait_for_timeout(400)
    assert taught(room, "t.here()") == held
    room.page.keyboard.press("ArrowLeft")
    assert taught(room, "t.here()") == pytest.approx(held - 60, abs=0.01)
    room.page.click("#b-run")
    assert taught(room, "state.log.changes.length") == 0
    room.page.reload()
    room.wait_until("document.documentElement.dataset.ready === 'yes'")
    assert room.page.inner_text("#b-run") == "Start"
    assert taught(room, "state.zero") is None


def test_stay_and_on_can_be_tried_in_a_rehearsal_and_the_class_after_it_begins_anew(room):
    room.page.click("#b-rehearse")
    starts(room)
    room.page.keyboard.press("PageDown")
    assert room.page.inner_text("#c-section") == "Crest"
    room.page.click("#b-rehearse")
    assert room.page.inner_text("#b-run") == "Start"
    starts(room)
    assert taught(room, "[state.rehearsing, state.speed, state.music.ons.length]") == [False, 1, 0]
    assert taught(room, "t.here()") < 5


# ---- what was taught ---------------------------------------------------------------------------------------------


def test_the_log_tells_what_was_seen(room):
    """Stay ten seconds in child's pose, leave the boat out, end; every change with its planned and its real second."""
    log = room.page.evaluate("""(() => {
    const data = JSON.parse(document.getElementById('class-data').textContent), course = courseOf(data);
    const conductor = conductorOf(data.live), log = logOf(data, course);
    let state = conductor.fresh(), kept = log.fresh();
    kept.started = Date.UTC(2026, 2, 3, 18) / 1000;
    const until = (from, to) => { for (let r = from; r < to; r += 0.2) log.seen(kept, conductor.place(state, r), r); };
    state = conductor.endsAt(state, 0.5, 'moves');
    until(0, 10);
    state = conductor.stay(state, 10);
    until(10, 20);
    state = conductor.stay(state, 20);
    const boat = course.stretches.find((step) => step[STEP.NAME] === 'boat');
    state = conductor.leaveOut(state, 21, [[boat[0], boat[1]]]);
    until(21, state.end);
    return [log.written(kept, state, data), log.nameOf(kept, data)]; })()""")
    written, name = log
    assert written["format"] == "arcbed-class-log"
    assert written["version"] == 1
    assert written["title"] == "Short one"
    poses = [change for change in written["changes"] if change["pose"]]
    assert [change["pose"] for change in poses][:3] == ["child's pose", "cat-cow", "crow"]
    assert [round(change["real_s"] - change["planned_s"]) for change in poses][:4] == [0, 10, 10, -10]
    betweens = [change for change in written["changes"] if change["line"] == 0]
    assert len(betweens) == sum(
        step.what == "between" and step.end_s > step.start_s for step in PLANNED.timetable.steps
    )
    assert msgspec.json.decode(json.dumps(written), type=ClassLog).version == 1  # as `arcbed pace --learn` reads it
    assert written["left_out"] == [11]
    assert written["stays"] == [{"real_s": 10, "length_s": 10}]
    assert written["ended_real_s"] == pytest.approx(160, abs=0.1)
    assert name.startswith("Short-one-2026-03-03-")


# ---- people ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("width", [390, 820, 1440])
def test_nothing_is_wider_than_the_screen_and_the_controls_lie_on_the_first(browser, packed, width):
    height = {390: 844, 820: 1180, 1440: 900}[width]
    with Visit(browser, packed[0], view="clock", width=width, height=height) as visit:
        visit.wait_until("document.documentElement.dataset.ready === 'yes'")
        assert visit.page.evaluate("document.documentElement.scrollWidth") <= width
        for name in ("b-stay", "b-on", "b-rest"):
            box = visit.page.locator(f"#{name}").bounding_box()
            assert box["y"] + box["height"] <= height, name
            assert box["height"] >= 64
            assert box["width"] >= 150


@pytest.mark.parametrize(("width", "height"), [(390, 844), (740, 360), (1440, 900)])
def test_stay_on_and_to_the_rest_stand_where_they_stood_all_the_time(browser, packed, width, height):
    """Before the start, in class, staying, paused, far behind with things to leave out, and in the rest."""
    with Visit(browser, packed[0], view="clock", width=width, height=height) as visit:
        visit.wait_until("document.documentElement.dataset.ready === 'yes'")
        where = lambda: [visit.page.locator(f"#{name}").bounding_box() for name in ("b-stay", "b-on", "b-rest")]  # noqa: E731
        first = where()
        assert all(0 <= box["y"] <= height - box["height"] for box in first)
        starts(visit)
        seen = [where()]
        for press in ("s", "s", " ", " "):
            visit.page.keyboard.press(press)
            seen.append(where())
        visit.page.evaluate("(() => { const was = Date.now; Date.now = () => was() + 60000; })()")
        visit.wait_until("window.classTaught.r() > 60")
        for press in ("ArrowUp", "ArrowUp"):
            visit.page.keyboard.press(press)
        seen.append(where())
        visit.page.keyboard.press("r")
        visit.wait_until("document.getElementById('c-section').textContent === 'Float'")
        seen.append(where())
        assert all(boxes == first for boxes in seen)
        assert visit.page.is_disabled("#b-on")  # leads nowhere from the rest


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing(browser, packed, scheme):
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="axe is not installed").Axe()
    with Visit(browser, packed[0], view="clock", scheme=scheme, width=390) as visit:
        visit.wait_until("document.documentElement.dataset.ready === 'yes'")
        starts(visit)
        visit.page.click("#b-stay")
        found = axe.run(visit.page).response["violations"]
        assert [v["id"] for v in found if v["impact"] in ("serious", "critical")] == []
