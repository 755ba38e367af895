"""The one line through the page: plan, music, class, rest, ready; how each stands, in words, and what to do next."""

from collections.abc import Iterator
from dataclasses import dataclass

from audio.text import clock
from pairing.checks.slot import SlotCheck
from pairing.model import Finding, SetList
from pairing.page.written import ClassFile
from pairing.show.text import counted
from pairing.workflow.plans import Outline

FITS = {"fits": "it fits", "tight": "it just fits", "too long": "it is too long", None: ""}


@dataclass(frozen=True, slots=True, eq=False)
class Standing:
    """What the steps are told from.

    Attributes:
        has_plan, outline: whether there is a note, and what follows from it; None where nothing can be read in it.
        tracks, calm: usable tracks, and how many of them are calm enough for a rest.
        listening: whether a folder is being listened to.
        setlist: the class's music. gone: tracks of it that are not among the user's music.
        same_plan: whether the note is still the one it was chosen for.
        heard: what was noticed when the class was listened to; None: it was not yet.
        written: what lies beside the class to walk in with.
    """

    has_plan: bool
    outline: Outline | None
    tracks: int
    calm: int
    listening: bool = False
    setlist: SetList | None = None
    gone: int = 0
    same_plan: bool = True
    heard: tuple[Finding, ...] | None = None
    written: tuple[ClassFile, ...] = ()

    @property
    def questions(self) -> int:
        """Lines of the note that are not understood for certain."""
        return sum(not line.sure for line in self.outline.plan.lines) if self.outline else 0

    @property
    def other(self) -> tuple[ClassFile, ...]:
        """What was written of another version of the class, or of another class."""
        return tuple(each for each in self.written if each.age == "other")


@dataclass(frozen=True, slots=True)
class PageStep:
    """A step: its view, its name, how it stands, the same where there is little room, and whether it is done."""

    view: str
    name: str
    words: str
    short: str
    done: bool


@dataclass(frozen=True, slots=True)
class Next:
    """What to do next: where, why, and what is pressed for it; `action` is done at once where that is all."""

    view: str
    words: str
    label: str = ""
    action: str = ""


def steps(it: Standing) -> tuple[PageStep, ...]:
    """All five, in order."""
    return (_plan(it), _music(it), _class(it), _rest(it), _ready(it))


def next_step(it: Standing) -> Next:
    """The one thing that is missing most."""
    return _before_music(it) or _before_ready(it) or _at_the_end(it)


# ---- the steps ---------------------------------------------------------------------------------------------------


def _plan(it: Standing) -> PageStep:
    if not it.has_plan:
        return PageStep("plan", "Plan", "not begun", "not begun", False)
    if it.questions:
        words = counted(it.questions, "question", "questions")
        return PageStep("plan", "Plan", words, words, False)
    if it.outline is None:
        return PageStep("plan", "Plan", "nothing in it takes time yet", "empty", False)
    slot = it.outline.slot
    words = ", ".join(part for part in (clock(it.outline.timetable.duration_s), _fits(slot)) if part)
    return PageStep("plan", "Plan", words, words, slot.fits != "too long")


def _fits(slot: SlotCheck) -> str:
    return FITS[slot.fits] if slot.left_over_s is None else f"{clock(slot.left_over_s)} left over"


def _music(it: Standing) -> PageStep:
    if it.listening:
        return PageStep("music", "Music", "being listened to", "listening", False)
    if not it.tracks:
        return PageStep("music", "Music", "none yet", "none yet", False)
    short = counted(it.tracks, "track", "tracks")
    calm = f"{it.calm} calm enough for a rest" if it.calm else "none calm enough for a rest"
    return PageStep("music", "Music", f"{short}, {calm}", short, True)


def _class(it: Standing) -> PageStep:
    if it.setlist is None:
        return PageStep("class", "Class", "no music chosen yet", "to choose", False)
    words = next(_class_words(it))
    return PageStep("class", "Class", words, "fine" if words.endswith("fine") else words, words.endswith("fine"))


def _class_words(it: Standing) -> Iterator[str]:
    assert it.setlist is not None
    if not it.same_plan:
        yield "the plan has changed since"
    if it.gone:
        yield f"{counted(it.gone, 'track', 'tracks')} missing"
    found = (*it.setlist.findings, *(it.heard or ()))
    for level, words in (("must", "to mend"), ("should", "worth a look")):
        count = sum(each.level == level for each in found)
        if count:
            yield f"{count} {words}"
    yield "as heard: fine" if it.heard is not None else f"{counted(len(it.setlist.picks), 'track', 'tracks')}, fine"


def _rest(it: Standing) -> PageStep:
    rest = it.setlist.rest if it.setlist else None
    if rest is None:
        words = "comes with the music" if it.setlist is None else "none in this plan"
        return PageStep("rest", "Rest", words, "later" if it.setlist is None else "none", it.setlist is not None)
    lasts = clock(rest.end_s - rest.start_s)
    silent = f", the last {clock(rest.silence_s)} silent" if rest.silence_s >= 1 else ""
    return PageStep("rest", "Rest", lasts + silent, lasts, True)


def _ready(it: Standing) -> PageStep:
    if it.setlist is None:
        return PageStep("ready", "Ready", "not yet", "not yet", False)
    if it.other:
        one = it.other[0].name if len(it.other) == 1 else counted(len(it.other), "file", "files")
        verb = "is" if len(it.other) == 1 else "are"
        return PageStep("ready", "Ready", f"{one} {verb} not of the class as it is now", "to write again", False)
    if not it.written:
        return PageStep("ready", "Ready", "nothing written yet", "to write", False)
    *first, last = (each.name for each in it.written)
    names = f"{', '.join(first)} and {last}" if first else last
    return PageStep("ready", "Ready", f"{names}, as the class is now", "up to date", True)


# ---- what is next ------------------------------------------------------------------------------------------------


def _before_music(it: Standing) -> Next | None:
    if not it.has_plan and it.setlist is None:
        return Next("plan", "Begin with the class: write it down, or open one you have.", "Begin")
    if it.setlist is None and it.outline is None:
        return Next("plan", "Write down what you teach, a line a pose.", "To the plan")
    if not it.tracks and not it.listening and it.setlist is None:
        return Next("music", "Show arcbed where your music is.", "Add your music")
    if it.listening and not it.tracks and it.setlist is None:
        return Next("music", "Your music is being listened to. You can work on the plan in the meantime.", "Watch")
    if it.setlist is None:
        words = "You can choose already, while more is listened to." if it.listening else "Plan and music are there."
        return Next("class", words, "Choose the music", "pair")
    return None


def _before_ready(it: Standing) -> Next | None:
    assert it.setlist is not None
    if it.questions:
        return Next("plan", f"{counted(it.questions, 'line', 'lines')} of the plan left a question.", "Answer")
    if not it.same_plan:
        return Next("class", "The plan has changed since the music was chosen.", "Choose again, keep what fits", "keep")
    if it.gone:
        return Next("music", "Some of the class's music is not where it was.", "Add the folder it is in")
    if any(finding.level == "must" for finding in it.setlist.findings):
        return Next("class", "Something in the class should be mended first.", "See what")
    return None


def _at_the_end(it: Standing) -> Next:
    if it.other:
        return Next("ready", "What lies beside the class is not of the class as it is now.", "Write everything again")
    if not it.written:
        return Next("ready", "Listen to the changes. When you like them, write everything.", "Make it ready")
    return Next("ready", "All is written. Have a good class.")
