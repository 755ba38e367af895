"""The style of a class (yin, hatha, flow, mat ...), told from its title, else from its poses; and the pace of a style.

The styles stand in `styles.toml`, with the words of all languages and the source of every time. What a note states goes
before them always.
"""

import functools
import tomllib
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from importlib import resources
from typing import Any, Literal

from pairing.model import Element, Group, Kind, Plan
from pairing.plan.language import Phrase, spelled

STILL_KINDS = frozenset({Kind.OPENING, Kind.BREATHING, Kind.FLOOR, Kind.COOL_DOWN, Kind.REST, Kind.CLOSING})
USUAL_STYLE = "flow"
LONG_HOLD_BREATHS = 8.0  # a pose whose usual slow hold is so long is one to stay in; editorial
# Editorial: the share of a class's poses that must be those of a style, and how many at least.
TELLING_SHARE, TELLING_POSES = 0.35, 3
# Editorial: a class is still where most of its poses are stayed in for so long, and hatha where none flows on.
STILL_FROM_S, STILL_SHARE = 100.0, 0.6
HELD_POSES = 6
FLOWING = frozenset({"vinyasa", "sun_salutation_a", "sun_salutation_b", "dancing_warrior", "low_plank", "upward_dog"})


@dataclass(frozen=True, slots=True)
class Style:
    """The pace of classes of one kind; seconds and breaths, see the head of `styles.toml`."""

    name: str  # "mat"
    says: str  # "a mat class"
    phrases: tuple[Phrase, ...]
    not_with: tuple[Phrase, ...]
    poses: frozenset[str]
    breath_s: float
    still_breath_s: float
    holds: Literal["flow", "slow"]
    between_s: float
    first_pass: float
    stay_s: float | None = None
    least_breaths: float = 0.0

    def breath_in(self, kind: Kind) -> float:
        """Seconds of a full breath in a section of this kind."""
        return self.still_breath_s if kind in STILL_KINDS else self.breath_s


@dataclass(frozen=True, slots=True)
class StyleFound:
    """A style, and what told it."""

    style: Style
    why: str  # "its title says so"


@functools.cache
def styles() -> tuple[Style, ...]:
    """All styles, the special ones before the general ones."""
    text = resources.files("pairing.plan").joinpath("styles.toml").read_text(encoding="utf-8")
    return tuple(_style(name, row) for name, row in tomllib.loads(text).items())


def style_named(name: str) -> Style:
    """Give the style of this name; the usual one for a name that is none."""
    found = {style.name: style for style in styles()}
    return found.get(name) or found[USUAL_STYLE]


@functools.lru_cache(maxsize=1024)
def style_in_words(text: str) -> Style | None:
    """Give the style that a title or a heading names; None where it names none.

    >>> style_in_words("Thursday yin, 75 min").name, style_in_words("Harbour evening")
    ('yin', None)
    """
    words = spelled(text)
    return next((style for style in styles() if _named(style, words)), None)


def style_of(plan: Plan) -> StyleFound:
    """Tell the style of a plan: from its title and what stands under it, else from its poses."""
    named = style_in_words(plan.title)
    if named:
        return StyleFound(named, "its title says so")
    for fact, value in plan.facts:
        named = style_in_words(value) if fact in ("level", "theme") else None
        if named and fact == "level":
            return StyleFound(named, "its level says so")
    return _told_by_poses(list(_poses_in(plan.sections)))


def _told_by_poses(elements: list[Element]) -> StyleFound:
    ids = Counter(element.pose_id for element in elements)
    for style in styles():
        telling = sum(count for pose_id, count in ids.items() if pose_id in style.poses)
        if telling >= max(TELLING_POSES, TELLING_SHARE * len(elements)):
            return StyleFound(style, "its poses say so")
    flows = any(pose_id in FLOWING for pose_id in ids)
    long = sum(_stays(element) for element in elements)
    if not flows and long >= max(TELLING_POSES, STILL_SHARE * len(elements)):
        return StyleFound(style_named("yin"), "its long holds say so")
    if elements and flows:
        return StyleFound(style_named(USUAL_STYLE), "its poses flow on")
    if len(elements) >= HELD_POSES:
        return StyleFound(style_named("hatha"), "its poses are held and none flows on")
    return StyleFound(style_named(USUAL_STYLE), "nothing says otherwise")


def _stays(element: Element) -> bool:
    length = element.length
    return length is not None and length.unit == "seconds" and length.likely >= STILL_FROM_S


def _poses_in(parts: Iterable[Element | Group]) -> Iterator[Element]:
    for part in parts:
        if isinstance(part, Group):
            yield from _poses_in(part.parts)
        elif part.what == "pose":
            yield part


def _named(style: Style, words: Phrase) -> bool:
    return any(_stand_in(p, words) for p in style.phrases) and not any(_stand_in(p, words) for p in style.not_with)


def _stand_in(phrase: Phrase, words: Phrase) -> bool:
    return any(words[at : at + len(phrase)] == phrase for at in range(len(words) - len(phrase) + 1))


def _style(name: str, row: dict[str, Any]) -> Style:
    return Style(
        name=name,
        says=row["says"],
        phrases=tuple(map(spelled, row["words"])),
        not_with=tuple(map(spelled, row.get("not_with", ()))),
        poses=frozenset(row["poses"]),
        breath_s=float(row["breath_s"]),
        still_breath_s=float(row["still_breath_s"]),
        holds=row["holds"],
        between_s=float(row["between_s"]),
        first_pass=float(row["first_pass"]),
        stay_s=float(row["stay_s"]) if "stay_s" in row else None,
        least_breaths=float(row.get("least_breaths", 0.0)),
    )
