"""What a change made of a class's music: only what is not as it was."""

from collections.abc import Iterator
from pathlib import Path

from audio.text import clock, one_line
from pairing.model import Finding, Fit, Pick, Rest, SetList
from pairing.show.findings import is_caution, place
from pairing.show.findingstext import findings_text, titles_of
from pairing.show.tables import indented, next_commands, pick_name, quoted, titled
from pairing.show.text import length, title_of
from pairing.show.words import places_in_class

MOVED_S = 0.5  # a start or an end that moves by less is shown as the same second
NOTICED = 0.002  # a change of the fit below is none; editorial


def change_text(before: SetList, after: SetList, path: Path, *, undone: str | None = None) -> str:
    """Say what changed between two states of a class's music, and how to undo it.

    Args:
        before, after: the states.
        path: the file of the latter, for the commands that follow.
        undone: what was taken back, where that is the change: "swapping track 4".
    """
    lines = [*_tracks(before, after), *_whole(before, after)]
    if not lines:
        return "Nothing changed: it was so already."
    parts = [
        "\n".join(indented(line, "", "  ") for line in [*([f"Undone: {undone}."] if undone else []), *lines]),
        _findings(before, after, path),
        "" if undone else next_commands([(f"arcbed swap {quoted(path)} --undo", "undo this")]),
    ]
    return "\n\n".join(part for part in parts if part)


def _tracks(before: SetList, after: SetList) -> Iterator[str]:
    was = {pick.fingerprint: pick for pick in before.picks}
    now = {pick.fingerprint for pick in after.picks}
    places = places_in_class(after)
    gone = [pick for pick in before.picks if pick.fingerprint not in now]
    for pick in after.picks:
        former = was.get(pick.fingerprint)
        if former is None:
            instead = _instead(pick, gone)
            yield f"New {places[pick.n]}: {pick_name(pick)}, {_times(pick)}; {pick.why}{instead}."
        elif _moved(former, pick):
            yield f"{title_of(pick)} plays {_times(pick)}; it was {_times(former)}."
        if former is not None and former.pinned != pick.pinned:
            what = "stays whatever changes" if pick.pinned else "may be changed again"
            yield f"{title_of(pick)} ({places[pick.n]}) {what}."
    if gone:
        yield f"Out: {', '.join(title_of(pick) for pick in gone)}."


def _instead(pick: Pick, gone: list[Pick]) -> str:
    """The one track in whose place another came."""
    here = [each for each in gone if each.class_start_s < pick.class_end_s and pick.class_start_s < each.class_end_s]
    if len(here) != 1:
        return ""
    gone.remove(here[0])
    return f", instead of {title_of(here[0])}"


def _moved(one: Pick, two: Pick) -> bool:
    pairs = (one.class_start_s, two.class_start_s), (one.class_end_s, two.class_end_s)
    return any(abs(a - b) >= MOVED_S for a, b in pairs)


def _times(pick: Pick) -> str:
    return f"{clock(pick.class_start_s)} to {clock(pick.class_end_s)}"


def _whole(before: SetList, after: SetList) -> Iterator[str]:
    if after.rest and after.rest != before.rest:
        yield _rest(after.rest)
    if abs(after.class_s - before.class_s) >= MOVED_S:
        yield f"The class takes {length(after.class_s)} now; it was {length(before.class_s)}."
    if before.picks != after.picks and (words := _fit(before.fit, after.fit)):
        yield words


def _rest(rest: Rest) -> str:
    bells = {0: "no bell", 1: "one bell"}.get(len(rest.bells_s), f"{len(rest.bells_s)} bells")
    silence = f"the last {length(rest.silence_s)} silent" if rest.silence_s >= 1 else "music to its end"
    return f"The rest: {length(rest.end_s - rest.start_s)}, {bells}, {silence}."


def _fit(before: Fit, after: Fit) -> str:
    change = after.rmse - before.rmse
    if abs(change) < NOTICED:
        return ""
    return f"The music follows the class {'a little more' if change < 0 else 'a little less'} closely than before."


def _findings(before: SetList, after: SetList, path: Path) -> str:
    """What is newly found, and what no longer is; numbers of tracks may have moved, so sentences are compared."""
    found = _not_in(after, before)
    still = {each.code for each in found}
    mended = [each for each in _not_in(before, after) if each.code not in still]
    parts = [findings_text(found, path, setlist=after)] if found else []
    if mended:
        titles = titles_of(before)
        said = (": ".join(filter(None, (place(each.where, titles), each.message))) for each in mended)
        parts.append(titled("Mended", "\n".join(indented(one_line(line), "  ", "    ") for line in said)))
    return "\n\n".join(parts)


def _not_in(here: SetList, there: SetList) -> list[Finding]:
    known = {(each.code, each.message) for each in there.findings}
    return [each for each in here.findings if (each.code, each.message) not in known and not is_caution(each)]
