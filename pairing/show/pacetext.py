"""The teacher's own pace in words: as a table, and what a change made of it."""

from collections.abc import Iterator

from pairing.model import Kind, KindPace
from pairing.pace import KeptPace, own_pace
from pairing.plan.style import USUAL_STYLE, style_named
from pairing.show.screen import rendered
from pairing.show.tables import table
from pairing.show.text import counted

_NOTICED = 0.02  # a smaller change isn't worth a word


def pace_text(pace: KeptPace) -> str:
    """The pace by kind of section, beside what is usual."""
    usual, own = _usual(), _own(pace)
    if not own:
        return (
            "No pace of your own is known; each class takes that of its style.\n"
            "Learn it from classes taught: arcbed pace --learn LOG. Or say it: arcbed pace flow breath=5 between=10"
        )
    columns = table("section", "a breath>", "first pass>", "between poses>", "usual>")
    for kind in Kind:
        mine = own[kind]
        columns.add_row(
            kind.value,
            _s(mine.breath_s),
            _s(mine.first_breath_s),
            _s(mine.between_s),
            f"{_s(usual[kind].breath_s)}, {_s(usual[kind].between_s)}",
        )
    learned = [f"learned from {counted(len(pace.taught), 'class', 'classes')} taught"] if pace.taught else []
    said = [f"said by hand: {', '.join(pace.said)}"] if pace.said else []
    return f"{rendered(columns)}\n{'; '.join((*learned, *said)).capitalize()}."


def pace_change_text(before: KeptPace, after: KeptPace) -> str:
    """Say what a change made of the pace, in words; kinds of sections that are as before are left out."""
    old, new = _own(before) or _usual(), _own(after) or _usual()
    lines = [line for kind in Kind for line in _kind_words(kind, old[kind], new[kind])]
    return "\n".join(lines) if lines else "Your pace is as it was."


def pace_json(pace: KeptPace) -> dict[str, object]:
    """The pace by kind of section, in seconds."""
    kinds = _own(pace) or {}
    return {
        "classes": len(pace.taught),
        "said": sorted(pace.said),
        "kinds": {
            kind.value: {"breath_s": mine.breath_s, "first_breath_s": mine.first_breath_s, "between_s": mine.between_s}
            for kind, mine in kinds.items()
        },
    }


def _own(pace: KeptPace) -> dict[Kind, KindPace] | None:
    """The pace as it holds for a flow, or for a yin class where only such were taught."""
    still = bool(pace.taught) and all(each.still for each in pace.taught)
    own = own_pace(pace, style_named("yin" if still else USUAL_STYLE))
    return own.kinds if own else None


def _usual() -> dict[Kind, KindPace]:
    style = style_named(USUAL_STYLE)
    return {
        kind: KindPace(style.breath_in(kind), style.breath_in(kind) * style.first_pass, style.between_s)
        for kind in Kind
    }


def _kind_words(kind: Kind, old: KindPace, new: KindPace) -> Iterator[str]:
    parts = [
        f"{what} takes {_s(now)} (before {_s(was)})"
        for what, was, now in (
            ("a breath", old.breath_s, new.breath_s),
            ("a breath in the first pass", old.first_breath_s, new.first_breath_s),
            ("getting from one pose into the next", old.between_s, new.between_s),
        )
        if _differ(was, now)
    ]
    if parts:
        yield f"{kind.value}: {'; '.join(parts)}"


def _differ(was: float | None, now: float | None) -> bool:
    return was is not None and now is not None and abs(now - was) > _NOTICED * max(was, 1.0)


def _s(seconds: float | None) -> str:
    return "" if seconds is None else f"{seconds:.1f} s"
