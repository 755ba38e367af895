"""How much room a page has for its pictures."""

from dataclasses import dataclass

from starlette.requests import Request


@dataclass(frozen=True, slots=True)
class Look:
    """Widths in pixels: of the strip, and of the large picture."""

    strip: float = 1280.0
    large: float = 720.0


def look_of(request: Request) -> Look:
    """What a request says of it; as on a wide screen where it says nothing that can be used."""
    return Look(_pixels(request, "strip", Look().strip), _pixels(request, "large", Look().large))


def _pixels(request: Request, name: str, usual: float) -> float:
    asked = request.query_params.get(name, "")
    return float(asked) if asked.isdigit() and len(asked) < 6 else usual
