"""What was done to a set and how it was before: the one undo, of commands and page alike."""

from dataclasses import replace

from pairing.errors import SetError
from pairing.model import MOST_STATES, Former, SetList, SetPlan


def changed(before: SetList, after: SetList, what: str, *, with_plan: bool = False) -> SetList:
    """A set after a change, with how it was before as the newest of its earlier states.

    Args:
        before: the set that was changed.
        after: what became of it; its own earlier states don't count.
        what: the change, as one says what is taken back.
        with_plan: the plan's note was changed too.
    """
    former = Former(what, replace(before, previous=()), with_plan)
    return replace(after, previous=(*before.previous, former)[-MOST_STATES:])


def with_note(setlist: SetList, text: str) -> SetList:
    """A set after its last change, with a plan's note that was changed with it and is taken back with it."""
    *earlier, last = setlist.previous
    plan = replace(setlist.plan, text=text, sha256=SetPlan.digest(text))
    return replace(setlist, plan=plan, previous=(*earlier, replace(last, with_plan=True)))


def before_last(setlist: SetList) -> SetList:
    """The set as it was before its last change, with the states before that.

    Raises:
        SetError: there is none.
    """
    if not setlist.previous:
        raise SetError("there is nothing to undo.")
    *earlier, last = setlist.previous
    return replace(last.was, previous=tuple(earlier))
