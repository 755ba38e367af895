"""How much room a page has for its pictures."""

from dataclasses import dataclass

from starlette.requests import Request

from pairing.show.axes import NARROW, WIDE, Size

SIZES = {"wide": WIDE, "narrow": NARROW}
USUAL_PX = 1280.0


@dataclass(frozen=True, slots=True)
class Look:
    """Attributes:
    size: of the large picture. width: of the strip, in pixels.
    """

    size: Size = WIDE
    width: float = USUAL_PX


def look_of(request: Request) -> Look:
    """What a request says of it; as on a wide screen where it says nothing that can be used."""
    asked = request.query_params
    width = asked.get("strip", "")
    return Look(
        SIZES.get(asked.get("size", ""), WIDE), float(width) if width.isdigit() and len(width) < 6 else USUAL_PX
    )
