"""The page's server: routes, errors in words, and its life from a free port to Ctrl-C."""

import json
import logging
import threading
import time
import webbrowser
from collections.abc import Awaitable, Callable
from functools import cache
from importlib.resources import files
from typing import Any, cast

import uvicorn
from anyio.to_thread import current_default_thread_limiter
from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, PlainTextResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp, Receive, Scope, Send

from audio.errors import ArcbedError
from audio.text import one_line
from pairing.errors import PlanError
from pairing.page import actions, hearing, listing, views
from pairing.page.desk import Desk
from pairing.page.disk import ChangedOutsideError
from pairing.page.instance import LOOPBACK, listening_socket
from pairing.page.life import Life
from pairing.page.look import Look, look_of
from pairing.page.security import Guard
from pairing.page.turn import Turn
from pairing.page.values import Json, error_words, findings_of
from pairing.show.sheet import live_files
from pairing.workflow import sets
from pairing.workflow.music import library_path

THREADS = 2  # for sounds on their way and the first page; few, as each keeps memory of its own, see Turn
LOOK_S = 0.25  # between looks whether the program should end
SCRIPTS = (
    "main", "tools", "press", "say", "sound", "sight", "line", "job", "picture", "class", "offers", "findings", "carry",
    "plan", "note", "palette", "begin", "earlier", "music", "folders", "rest", "ready",
)  # fmt: skip
STYLES = {"page": "show", "picture": "show", "frame": "page", "parts": "page", "views": "page"}  # where each one lies

# Actions that answer with the whole state.
CHANGES: dict[str, Callable[[Desk, actions.Values], None]] = {
    "plan": actions.save_plan, "reload": actions.reload, "open": actions.open_nearby, "new": actions.new_plan,
    "pair": actions.pair, "swap": actions.swap, "pin": actions.pin, "drop": actions.drop, "rest": actions.rest,
    "energy": actions.energy, "let_back": actions.let_back, "join": actions.join, "set_aside": actions.set_aside,
    "undo": actions.undo, "redo": actions.redo, "scan": actions.scan, "stop": actions.stop,
    "used": actions.used, "write": actions.write, "show": actions.show, "mark": actions.mark, "forget": actions.forget,
    "bring": actions.bring, "bring_file": actions.bring_file, "demo": actions.demo, "teach": actions.teach,
    "bring_back": actions.bring_back, "everything": actions.everything,
}  # fmt: skip


def make_app(desk: Desk, life: Life | None = None) -> ASGIApp:
    """The page of a desk, without its guard; `life` is told of each request and of the wish to end."""
    life = life or Life(lambda: desk.jobs.is_busy)
    turn = Turn("desk")
    listening = Turn("listening")  # what is heard may need seconds (the rest is measured): the desk doesn't wait for it
    routes = [
        Route("/", _page(desk)),
        Route("/static/{name}", _static),
        Route("/state", _reading(turn, lambda request: views.state(desk, look_of(request)))),
        Route("/pulse", _reading(Turn("pulse"), lambda request: views.pulse(desk))),
        Route("/alternatives/{n:int}", _reading(turn, lambda request: _alternatives(desk, request))),
        Route("/music", _reading(turn, lambda request: _music(desk, request))),
        Route("/track/{id:int}", _reading(turn, lambda request: listing.track(desk, request.path_params["id"]))),
        Route("/rest", _reading(turn, lambda request: views.rest(desk))),
        Route("/outline", _asking(turn, lambda request, values: _outline(desk, request, values)), methods=["POST"]),
        Route("/remedy", _asking(turn, lambda request, values: actions.remedied(desk, values)), methods=["POST"]),
        Route("/do/{action}", _asking(turn, lambda request, values: _do(desk, request, values)), methods=["POST"]),
        Route(
            "/poses", _reading(turn, lambda request: views.poses(request.query_params.get("words", "")[:60].strip()))
        ),
        Route("/files", _reading(turn, lambda request: views.files_nearby(desk))),
        Route("/versions", _reading(turn, lambda request: views.earlier_versions(desk))),
        Route("/examples", _reading(turn, lambda request: views.examples_to_begin_from())),
        Route("/folders", _reading(turn, lambda request: views.folders(desk, request.query_params.get("at", "")))),
        Route(
            "/hear/track/{id:int}",
            _reading(listening, lambda request: _alone(desk, request)),
        ),
        Route("/hear/join/{n:int}", _reading(listening, lambda request: _join(desk, request))),
        Route("/heard", _reading(listening, lambda request: views.heard(desk))),
        Route("/hear/class", _reading(listening, lambda request: hearing.hear_class(desk))),
        Route("/sound/track/{id:int}", _sounding(desk, hearing.track_sound)),
        Route("/sound/join/{n:int}", _sounding(desk, hearing.join_sound)),
        Route("/sound/class", _sounding(desk, hearing.class_sound)),
        Route("/teach/{room:int}", _live_page(desk)),
        Route("/sound/room/{room:int}/{track:int}/{n:int}", _sounding(desk, hearing.piece_sound)),
        Route("/close", _closing(life), methods=["POST"]),
    ]
    return _with_few_threads(Starlette(routes=routes), life)


def _with_few_threads(app: ASGIApp, life: Life) -> ASGIApp:
    async def answer(scope: Scope, receive: Receive, send: Send) -> None:
        life.seen()
        current_default_thread_limiter().total_tokens = THREADS
        await app(scope, receive, send)

    return answer


def serve(desk: Desk, secret: str, *, browser: bool, told: Callable[[str], None]) -> None:
    """Serve the page of a desk on this machine, until Ctrl-C, the page's own word, or an hour without a page.

    Args:
        secret: of this user; see `instance`.
        browser: whether to open it. told: is given the address.
    """
    life = Life(lambda: desk.jobs.is_busy)
    with listening_socket() as listening:
        port = listening.getsockname()[1]
        guard = Guard(make_app(desk, life), port, secret, library_path(desk.library))
        address = f"http://{LOOPBACK}:{port}{guard.opening_path}"
        config = uvicorn.Config(
            guard, log_level="error", access_log=False, lifespan="off", server_header=False, timeout_graceful_shutdown=1
        )
        threading.Thread(target=warm_up, args=(desk,), daemon=True).start()
        told(address)
        if browser:
            threading.Timer(0.3, webbrowser.open, (address,)).start()
        try:
            server = uvicorn.Server(config)
            # What is cut off while the program ends is no fault.
            logging.getLogger("uvicorn.error").addFilter(lambda _: not server.should_exit)
            threading.Thread(target=_end_when_over, args=(server, life), daemon=True).start()
            server.run(sockets=[listening])
        finally:
            desk.jobs.close()


def _end_when_over(server: uvicorn.Server, life: Life) -> None:
    while not server.should_exit:
        time.sleep(LOOK_S)
        if life.is_over:
            server.should_exit = True


def warm_up(desk: Desk) -> None:
    """Load what the first change needs, so that it is as quick as those that follow."""
    try:
        now = desk.open
        if now is not None and now.file.setlist.picks and any(track.analysis for track in now.file.tracks):
            sets.alternatives(now.file, 1, None, 1)
            hearing.warm_up(desk)
    except (ArcbedError, OSError):
        return  # it will be said when it is asked for


# ---- what is read ------------------------------------------------------------------------------------------------


def _page(desk: Desk) -> Callable[[Request], Awaitable[Response]]:
    async def answer(request: Request) -> Response:
        start = await run_in_threadpool(views.state, desk, Look())
        page = _template().render(
            start=_inside_script(start), title=start["title"], start_steps=start["steps"], styles=tuple(STYLES)
        )
        return HTMLResponse(page)

    return answer


def _live_page(desk: Desk) -> Callable[[Request], Awaitable[Response]]:
    async def answer(request: Request) -> Response:
        number = request.path_params["room"]
        if number >= len(desk.rooms):
            return PlainTextResponse("arcbed was started again since. Make the class ready to teach once more.\n", 404)
        return HTMLResponse(desk.rooms[number].page)

    return answer


@cache
def _template() -> Any:
    environment = Environment(loader=PackageLoader("pairing.page"), autoescape=True, undefined=StrictUndefined)
    return environment.get_template("page.html")


def _inside_script(value: Json) -> str:
    """JSON that can stand inside a script element."""
    text = json.dumps(value, ensure_ascii=True, separators=(",", ":"), allow_nan=False)
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


async def _static(request: Request) -> Response:
    content = _parts().get(request.path_params["name"])
    if content is None:
        return PlainTextResponse("There is nothing here.\n", 404)
    body, kind = content
    return Response(body, media_type=kind)


@cache
def _parts() -> dict[str, tuple[bytes, str]]:
    """Every file the page may ask for, by name: a list, not a folder, so that no path can lead elsewhere."""
    page, show = files("pairing.page") / "static", files("pairing.show")
    found = {f"{name}.js": ((page / f"{name}.js").read_bytes(), "text/javascript") for name in SCRIPTS}
    for name, place in STYLES.items():
        folder = page if place == "page" else show / "templates"
        found[f"{name}.css"] = ((folder / f"{name}.css").read_bytes(), "text/css")
    for name, text in live_files().items():
        found[name] = (text.encode(), "text/css" if name.endswith(".css") else "text/javascript")
    for weight in ("Regular", "Bold"):
        for part in ("latin", "latin-ext"):
            name = f"AtkinsonHyperlegible-{weight}-{part}.woff2"
            found[name] = ((show / "fonts" / name).read_bytes(), "font/woff2")
    return found


def _closing(life: Life) -> Callable[[Request], Awaitable[Response]]:
    async def answer(request: Request) -> Response:
        life.end()
        return JSONResponse({"closed": True})

    return answer


def _music(desk: Desk, request: Request) -> Json:
    asked = request.query_params
    section, shown, rows = (asked.get(name, "") for name in ("section", "shown", "rows"))
    return listing.listed(
        desk,
        listing.ListQuery(
            section=int(section) if section.isdigit() and len(section) < 6 else None,
            typed=tuple(asked.get("words", "")[:200].split()),
            temper=asked.get("temper") or None,
            width=look_of(request).strip,
            shown=_count(shown),
            rows=max(_count(rows), listing.AT_ONCE),
        ),
    )


def _count(text: str) -> int:
    return int(text) if text.isdigit() and len(text) < 8 else 0


def _alternatives(desk: Desk, request: Request) -> Json:
    wish = request.query_params.get("wish") or None
    if wish not in (None, "quieter", "livelier", "longer"):
        raise actions.WrongValueError("wish")
    return views.alternatives(desk, request.path_params["n"], cast("Any", wish))


def _join(desk: Desk, request: Request) -> Json:
    other = request.query_params.get("with", "")
    return hearing.hear_join(desk, request.path_params["n"], int(other) if other.isdigit() else None)


def _alone(desk: Desk, request: Request) -> Json:
    place = request.query_params.get("n", "")
    known = place.isdigit() and len(place) < 6
    return hearing.hear_track(desk, request.path_params["id"], int(place) if known else None)


def _outline(desk: Desk, request: Request, values: actions.Values) -> Json:
    text = values.get("text")
    if not isinstance(text, str):
        raise actions.WrongValueError("text")
    return views.outline(desk, text, look_of(request))


def _do(desk: Desk, request: Request, values: actions.Values) -> Json:
    action = CHANGES.get(request.path_params["action"])
    if action is None:
        raise actions.WrongValueError("action")
    action(desk, values)
    return views.state(desk, look_of(request))


# ---- requests and errors -----------------------------------------------------------------------------------------


def _reading(turn: Turn, work: Callable[[Request], Json | None]) -> Callable[[Request], Awaitable[Response]]:
    async def answer(request: Request) -> Response:
        async with turn:
            if await request.is_disconnected():  # another track was chosen meanwhile
                return Response(status_code=204)
            return await _answered(turn, lambda: work(request))

    return answer


def _asking(turn: Turn, work: Callable[[Request, actions.Values], Json]) -> Callable[[Request], Awaitable[Response]]:
    async def answer(request: Request) -> Response:
        try:
            values = json.loads(await request.body() or b"{}")
        except (ValueError, RecursionError):
            values = None
        if not isinstance(values, dict):
            return JSONResponse({"error": "That can't be understood."}, 400)
        async with turn:
            return await _answered(turn, lambda: work(request, values))

    return answer


def _sounding(desk: Desk, work: Callable[[Desk, Request], Response]) -> Callable[[Request], Awaitable[Response]]:
    async def answer(request: Request) -> Response:
        try:
            return await run_in_threadpool(work, desk, request)
        except ArcbedError as error:
            return hearing.not_there(error)

    return answer


async def _answered(turn: Turn, work: Callable[[], Json | None]) -> Response:
    """The result as JSON, or why not in words: that is an answer too, and no fault of the connection."""
    try:
        value = await turn.done(work)
    except ChangedOutsideError as error:
        return JSONResponse({"conflict": error.which, "gone": error.gone, "error": _words(error)})
    except actions.FileStandsError as error:
        return JSONResponse({"conflict": "file", "error": _words(error)})
    except PlanError as error:
        return JSONResponse({"error": _words(error), "findings": findings_of(error.findings)})
    except ArcbedError as error:
        return JSONResponse({"error": _words(error)})
    except actions.WrongValueError:
        return JSONResponse({"error": "That can't be understood."}, 400)
    except OSError as error:
        return JSONResponse({"error": one_line(f"{error.filename or 'A file'}: {error.strerror or error}.")})
    return JSONResponse({"error": "There is nothing of that kind here."} if value is None else value)


def _words(error: ArcbedError) -> str:
    return "\n".join(one_line(line) for line in error_words(error).split("\n"))
