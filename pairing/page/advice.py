"""What to do about something, in the page's words: where a remedy names a command, the view that does the same."""

import re
from dataclasses import dataclass

from audio.errors import ArcbedError
from pairing.errors import PlanError

# The command that a remedy names, and where on the page the same is done.
_PLACES = {
    "swap": ("class", "Instead of it"),
    "pair": ("class", "Choose anew"),
    "rest": ("rest", "Rest"),
    "scan": ("library", "Library"),
    "tracks": ("library", "Library"),
    "plan": ("plan", "Plan"),
}
_COMMAND = re.compile(
    r'"?\barcbed (?P<name>[a-z]+)(?: (?:SET|FOLDER|PLAN|N\b|\d+|--[a-z-]+|MINUTES|start|end|[\w./-]+\.(?:json|md)))*"?'
)
_LAST = re.compile(r"(?:: | with: |, | \()?" + _COMMAND.pattern + r"\)?(?=\.?$)")
_OPTION = re.compile(r" ?\(--[^)]*\)|(?:,? (?:or|and))?(?: add| with| by)? --[a-z-]+(?: [A-Z]+)?")
_REMEDY_ID = re.compile(r" \((?:[a-z]+-)+\d+\)")  # what a person types after --apply


@dataclass(frozen=True, slots=True)
class Advice:
    """Words without a command in them, and the view where it is done; `n` is the track it is about."""

    words: str | None
    view: str | None = None
    label: str | None = None
    n: int | None = None


def advice(remedy: str | None, where: str = "") -> Advice:
    """The remedy of a finding or an error, for the page.

    >>> advice("Choose one of them again: arcbed swap SET 5.")
    Advice(words='Choose one of them again.', view='class', label='Instead of it', n=5)
    >>> advice("arcbed swap SET 4 may find one that ends better.", "track 5").words
    '“Instead of it” may find one that ends better.'
    """
    if not remedy:
        return Advice(None)
    found = _COMMAND.search(remedy)
    if found is None or found["name"] not in _PLACES:
        return Advice(_REMEDY_ID.sub("", _OPTION.sub("", remedy)) if found is None else None)
    view, label = _PLACES[found["name"]]
    words = _COMMAND.sub(f"“{label}”", _LAST.sub("", remedy))
    numbers = re.findall(r"SET (\d+)", found[0]) or re.findall(r"track (\d+)$", where)
    n = int(numbers[0]) if view == "class" and numbers else None
    return Advice(_OPTION.sub("", words).strip(" .") + "." if words.strip(" .") else None, view, label, n)


def error_words(error: ArcbedError) -> str:
    """An error as the page says it."""
    told = advice(error.remedy)
    words = f"{error.where}: {error.message}" if error.where else error.message
    if isinstance(error, PlanError) and error.findings:
        told = Advice(None, *_PLACES["plan"])
    more = told.words or (f"See “{told.label}”." if told.label else "")
    return f"{words}\n{more}" if more else words
