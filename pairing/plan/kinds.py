"""Kinds of sections, as people name them."""

import functools
import re
from collections.abc import Iterable

from pairing.model import Kind
from pairing.plan.language import languages
from pairing.plan.names import key, words


@functools.cache
def _kinds() -> dict[str, Kind]:
    """The kind under each key, of all languages; English counts first."""
    known: dict[str, Kind] = {}
    for spoken in languages():
        for phrase, roles in spoken.roles.items():
            named = sorted(role.removeprefix("kinds.") for role in roles if role.startswith("kinds."))
            if named:
                known.setdefault(key(" ".join(phrase)), Kind(named[0]))
    return known


def kind_in(parts: Iterable[str]) -> tuple[Kind | None, list[str]]:
    """Find the kind among the parts of a heading; give it and the other parts."""
    parts = list(parts)
    for at, part in enumerate(parts):
        kind = _kinds().get(key(part))
        if kind:
            return kind, parts[:at] + parts[at + 1 :]
    for part in parts:
        kind = kind_named(part)
        if kind:
            return kind, parts
    return None, parts


def is_kind(name: str) -> bool:
    """Say whether the whole of `name` is a word for a kind."""
    return key(name) in _kinds()


def kind_named(name: str) -> Kind | None:
    """Find a kind in the words of a name, the longest and last such words first; None where there is none."""
    exact = _kinds().get(key(name))
    if exact:
        return exact
    typed = words(re.sub(r"[^\w\s'’-]", " ", name))
    for length in (3, 2, 1):
        for start in range(len(typed) - length, -1, -1):
            kind = _kinds().get("".join(typed[start : start + length]))
            if kind:
                return kind
    return None
