"""Who may speak to the page: this browser on this machine, and nobody else.

The server listens on the loopback address only. The opening address carries the user's secret, which becomes a cookie
that no script can read and no other site can send; it lasts, so that a page left open finds its program again. A page
of the web that makes a name of its own point here (rebinding) is turned away by its Host; one that sends requests from
its own address, by Origin and Sec-Fetch-Site (Fetch Metadata, W3C) and by the cookie, which browsers then leave out
(RFC 6265bis, SameSite=Strict).
"""

import secrets
from http.cookies import CookieError, SimpleCookie
from pathlib import Path

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from pairing.page.instance import LOOPBACK, answer

COOKIE_S = 365 * 24 * 3600  # a page in the browser's list of favourites opens as long as arcbed runs
MOST_BYTES = 2_000_000  # of a request; a plan of an hour has some thousand

POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "font-src 'self'",
        "img-src 'self' data:",
        "media-src 'self'",
        "connect-src 'self'",
        "base-uri 'none'",
        "form-action 'none'",
        "frame-ancestors 'none'",
    )
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "X-Frame-Options": "DENY",
}


class Guard:
    """Stands before every request; what it refuses never reaches the page.

    Args:
        app: the page.
        port: on which it listens, part of Host and Origin.
        secret: of this user; see `instance`.
        library: what the page works on: who looks for this program asks for it.
    """

    def __init__(self, app: ASGIApp, port: int, secret: str, library: Path) -> None:
        self._app = app
        self._hosts = {f"{LOOPBACK}:{port}", f"localhost:{port}"}
        self._cookie = _cookie_name(port)
        self._secret = secret
        self._library = library

    @property
    def opening_path(self) -> str:
        """Path and secret of the address that opens the page."""
        return opening_path(self._secret)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, or refuse it."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":
            return

        async def guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                headers.update(HEADERS)
                headers.setdefault("Cache-Control", "no-store")
            await send(message)

        refused = self._answer(scope, Headers(scope=scope))
        await (refused or self._app)(scope, receive, guarded)

    def _answer(self, scope: Scope, headers: Headers) -> Response | None:
        """What to answer instead of the page; None where the request may pass."""
        host = headers.get("host", "")
        if host not in self._hosts:
            return _refusal(421, "This page answers on this machine only.")
        if scope["path"] == "/open" and scope["method"] == "GET":
            return self._opened(scope["query_string"].decode("latin-1"))
        if not self._is_ours(headers, host, scope["method"]):
            return _refusal(403, "This request comes from another page.")
        if scope["path"] == "/here" and scope["method"] == "GET":
            return PlainTextResponse(answer(self._secret, self._library, scope["query_string"].decode("latin-1")))
        if not secrets.compare_digest(self._key(headers).encode(), self._secret.encode()):
            return _refusal(403, "Open this page by starting arcbed.")
        if int(headers.get("content-length") or 0) > MOST_BYTES or "transfer-encoding" in headers:
            return _refusal(413, "That is too much at once.")
        return None

    def _opened(self, query: str) -> Response:
        if not secrets.compare_digest(query.encode(), f"key={self._secret}".encode()):
            return _refusal(403, "Open this page by starting arcbed.")
        response = RedirectResponse("/", 303)
        response.set_cookie(self._cookie, self._secret, max_age=COOKIE_S, httponly=True, samesite="strict", path="/")
        return response

    def _is_ours(self, headers: Headers, host: str, method: str) -> bool:
        origin, site = headers.get("origin"), headers.get("sec-fetch-site")
        if origin is not None and origin != f"http://{host}":
            return False
        if site is not None and site not in ("same-origin", "none"):
            return False
        return method in ("GET", "HEAD") or origin is not None

    def _key(self, headers: Headers) -> str:
        try:
            cookie = SimpleCookie(headers.get("cookie", "")).get(self._cookie)
        except CookieError:
            return ""
        return cookie.value if cookie else ""


def cookie_of(port: int, secret: str) -> str:
    """The header by which a program of this user enters; see `visit`."""
    return f"{_cookie_name(port)}={secret}"


def _cookie_name(port: int) -> str:
    return f"arcbed-{port}"  # cookies know no ports, and two pages may be open


def opening_path(secret: str) -> str:
    """Path and secret of the address that opens a page."""
    return f"/open?key={secret}"


def _refusal(status: int, words: str) -> Response:
    return PlainTextResponse(words + "\n", status)
