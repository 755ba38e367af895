"""Each rule that keeps the page to this browser on this machine.

Sources: RFC 6265bis (SameSite), Fetch Metadata (W3C), RFC 9110 (Host, 421), Content Security Policy Level 3 (W3C).
"""

import re
import threading
from pathlib import Path

import pytest

pytest.importorskip("starlette")
from page_desk import HERE, PORT, SECRET, Visitor, a_desk

from pairing.page import server
from pairing.page.desk import Desk

HOSTILE = '</script><script>window.ran=1</script><img src=x onerror="window.ran=1">'


@pytest.fixture(scope="module")
def desk(tmp_path_factory):
    return a_desk(tmp_path_factory.mktemp("desk"), title=HOSTILE)


@pytest.fixture
def stranger(desk):
    return Visitor(desk)


@pytest.fixture
def visitor(desk):
    return Visitor(desk).enter()


def test_it_listens_on_the_loopback_address_only(desk, monkeypatch):
    bound = []

    class StopError(Exception):
        pass

    class Server:
        should_exit = True

        def __init__(self, config):
            pass

        def run(self, sockets):
            bound.extend(each.getsockname()[0] for each in sockets)
            raise StopError

    monkeypatch.setattr(server.uvicorn, "Server", Server)
    told = []
    with pytest.raises(StopError):
        server.serve(desk, SECRET, browser=False, told=told.append)
    assert bound == ["127.0.0.1"]
    assert re.fullmatch(rf"http://127\.0\.0\.1:\d+/open\?key={SECRET}", told[0])


PATHS = ["/", "/state", "/pulse", "/library", "/alternatives/1", "/rest", "/track/1", "/sound/class", "/sound/join/1",
         "/sound/track/1", "/static/main.js", "/nothing"]  # fmt: skip


@pytest.mark.parametrize("path", PATHS)
def test_without_the_secret_nothing_is_given(stranger, path):
    answer = stranger.get(path)
    assert answer.status_code == 403
    assert "starting arcbed" in answer.text


def test_a_wrong_secret_opens_nothing(stranger):
    for key in ("", "x", SECRET[:-1], SECRET + "x"):
        answer = stranger.get(f"/open?key={key}")
        assert answer.status_code == 403
        assert "set-cookie" not in answer.headers
    assert stranger.get("/", Cookie=f"arcbed-{PORT}=wrong").status_code == 403


def test_the_secret_becomes_a_cookie_that_no_script_reads_and_no_other_site_sends(stranger):
    answer = stranger.get(stranger.guard.opening_path)
    assert answer.status_code == 303
    assert answer.headers["location"] == "/"  # so that the secret leaves the address line
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert "domain" not in cookie
    assert stranger.get("/").status_code == 200


def test_whoever_asks_learns_nothing_but_an_answer_to_their_own_question(stranger):
    """The answer is a keyed hash (RFC 2104): of no use for any other question, library or purpose."""
    first, second = stranger.get("/here?one").text, stranger.get("/here?two").text
    assert first != second
    assert SECRET not in first + second
    assert stranger.get("/here?one", **{"Sec-Fetch-Site": "cross-site"}).status_code == 403
    assert stranger.get("/here?one", Host="evil.example").status_code == 421
    assert stranger.get("/", Cookie=f"arcbed-{PORT}={first}").status_code == 403


@pytest.mark.parametrize("host", ["evil.example", f"evil.example:{PORT}", "127.0.0.1", f"127.0.0.1:{PORT + 1}",
                                  f"127.0.0.1.evil.example:{PORT}", f"[::1]:{PORT}", ""])  # fmt: skip
def test_a_name_that_was_made_to_point_here_is_turned_away(visitor, host):
    assert visitor.get("/state", Host=host).status_code == 421
    assert visitor.get(visitor.guard.opening_path, Host=host).status_code == 421


@pytest.mark.parametrize(
    "origin",
    [
        "https://evil.example",
        "null",
        f"http://127.0.0.1:{PORT + 1}",
        f"https://127.0.0.1:{PORT}",
        f"http://localhost:{PORT}",
        "",
    ],
)
def test_a_change_from_another_origin_is_refused_even_with_the_cookie(visitor, origin):
    before = visitor.desk.marks_on_disk()
    answer = visitor.post("/do/pin", {"n": 1, "pinned": True}, Origin=origin)
    assert answer.status_code == 403
    assert visitor.desk.marks_on_disk() == before


def test_a_change_without_an_origin_is_refused(visitor):
    assert visitor.client.post("/do/pin", json={"n": 1, "pinned": True}).status_code == 403


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_what_a_browser_calls_cross_site_is_refused(visitor, site):
    for path in ("/state", "/sound/track/1", "/static/main.js"):
        assert visitor.get(path, **{"Sec-Fetch-Site": site}).status_code == 403
    assert visitor.get("/state", **{"Sec-Fetch-Site": "same-origin"}).status_code == 200
    assert visitor.get("/", **{"Sec-Fetch-Site": "none"}).status_code == 200


def test_a_change_is_never_a_plain_get(visitor):
    assert visitor.get("/do/undo").status_code == 405


def test_the_policy_allows_only_the_pages_own_files_and_no_inline_script(visitor):
    for path in ("/", "/state", "/static/main.js", "/nothing"):
        headers = visitor.get(path).headers
        policy = dict(part.split(" ", 1) for part in headers["content-security-policy"].split("; "))
        assert policy["default-src"] == "'none'"
        assert policy["script-src"] == "'self'"
        assert policy["style-src"] == "'self'"
        assert policy["frame-ancestors"] == "'none'"
        assert "unsafe" not in headers["content-security-policy"]
        assert "http" not in headers["content-security-policy"]
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["referrer-policy"] == "no-referrer"
        assert headers["cross-origin-resource-policy"] == "same-origin"
        assert "access-control-allow-origin" not in headers
    page = visitor.get("/").text
    assert not re.search(r"<script(?![^>]*(?:src=|application/json))", page)
    assert not re.search(r"\son\w+=", re.sub(r"<script type=\"application/json\".*?</script>", "", page, flags=re.S))


def test_sound_is_served_by_number_never_by_path(visitor, tmp_path):
    secret = tmp_path / "secret.wav"
    secret.write_bytes(b"secret")
    for path in (
        f"/sound/track/{secret}",
        "/sound/track/..%2F..%2Fetc%2Fpasswd",
        "/sound/track/999999",
        "/sound/track/-1",
        "/sound/track/1%2F..",
    ):
        answer = visitor.get(path)
        assert answer.status_code == 404
        assert b"secret" not in answer.content
    by_number, named = visitor.get("/sound/track/1"), visitor.get(f"/sound/track/1?path={secret}")
    assert (named.status_code, named.content) == (by_number.status_code, by_number.content)
    assert b"secret" not in named.content


def test_only_sound_is_served_whatever_the_library_names(visitor, desk, tmp_path):
    from dataclasses import replace

    page = tmp_path / "page.html"
    page.write_text("<script>1</script>", encoding="utf-8")
    track = replace(desk.tracks()[0], id=77_777, path=page)
    desk.library_tracks._known = ((*desk.tracks(), track), ())
    assert visitor.get("/sound/track/77777").status_code == 404


@pytest.mark.parametrize("name", ["../page.py", "..%2Fdesk.py", "desk.py", "%2e%2e/server.py", "main.js/../../desk.py"])
def test_static_files_are_those_on_the_list(visitor, name):
    assert visitor.get(f"/static/{name}").status_code == 404


@pytest.mark.parametrize("name", ["../out", "a/b", "a\\b", "C:out", ".hidden", "a\nb", "/etc/out", "..", "", "CON"])
def test_results_go_into_the_folder_of_the_set_and_nowhere_else(visitor, desk, name):
    for left in desk.folder.glob("*.svg"):
        left.unlink()
    above = sorted(desk.folder.parent.iterdir())
    answer = visitor.do("write", kind="picture", ending=".svg", name=name).json()
    if name in ("..", "", "CON"):
        assert answer["error"]
    else:
        assert Path(answer["written"][-1]).parent == desk.folder
        assert Path(answer["written"][-1]).is_file()
    assert sorted(desk.folder.parent.iterdir()) == above


def test_a_hostile_title_is_text_in_the_page_and_in_the_picture(visitor):
    page = visitor.get("/").text
    assert "<img" not in page
    assert page.count("</script>") == 2  # the data and the one script of the page
    state = visitor.get("/state").json()
    assert "<img" not in state["picture"]
    assert any(row["title"].startswith("</script>") for row in visitor.get("/music").json()["tracks"])


@pytest.mark.parametrize("body", [b"", b"[]", b"{", b"\xff", b'{"n": 1e999}', b'{"n": true, "track": 1}',
                                  b"[" * 100_000, b'{"n": "1", "track": 2}', b'{"n": -1, "track": 2}'])  # fmt: skip
def test_what_the_page_never_sends_is_refused_in_words(visitor, body):
    answer = visitor.client.post("/do/swap", content=body, headers={"Origin": HERE})
    assert answer.status_code == 400
    assert answer.json()["error"]


def test_a_request_that_is_too_large_is_refused_before_it_is_read(visitor):
    answer = visitor.client.post("/outline", content=b"x" * 2_000_001, headers={"Origin": HERE})
    assert answer.status_code == 413


def test_many_at_once_find_the_guard_at_every_door(desk):
    stranger, statuses = Visitor(desk), []

    def knock():
        statuses.append(stranger.get("/state").status_code)

    threads = [threading.Thread(target=knock) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert statuses == [403] * 8


def test_an_empty_desk_opens(tmp_path):
    visitor = Visitor(Desk(tmp_path, tmp_path / "none.sqlite")).enter()
    assert visitor.get("/").status_code == 200
    state = visitor.get("/state").json()
    assert state["plan"] is None
    assert state["set"] is None
