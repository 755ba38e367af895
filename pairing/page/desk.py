"""What lies on the desk: one plan, one set, one library, and how they came to be as they are.

The files are the truth. The desk knows the bytes it last read or wrote; where a file holds others by now, somebody
changed it outside, and nothing is written over that until a person has decided.
"""

import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import chain, count
from pathlib import Path
from typing import Any, TypeVar

from audio.errors import ArcbedError
from audio.files.whole import write_text
from audio.render.master import Mix
from audio.track import Track, UnusableTrack
from pairing.checks.heard import heard_findings
from pairing.errors import PlanError, SetError
from pairing.model import Finding, Former, PairOptions, Preference, SetList
from pairing.page.disk import ChangedOutsideError, content_of, mark_of, mark_of_file, plain_name, require_same
from pairing.page.jobs import Jobs
from pairing.page.notes import NoteFile, note_of, write_bytes
from pairing.page.places import classes_folder, note_opened
from pairing.page.room import Room
from pairing.page.tracks import Music, Tracks
from pairing.page.versions import APART_S, is_wrecked, keep, version
from pairing.plan.read import plan_text, read_plan
from pairing.sets.heard import ClassSound
from pairing.sets.history import before_last, changed, with_note
from pairing.sets.rest import Bell
from pairing.sets.setfile import begins_as_a_set, plan_beside
from pairing.sets.swap import Alternative, Wish
from pairing.workflow import byhand, plans, sets
from pairing.workflow.byhand import Joined
from pairing.workflow.heard import sound_of_set
from pairing.workflow.pace import kept_pace, paced
from pairing.workflow.plans import Outline
from pairing.workflow.sets import SetFile

T = TypeVar("T")

MOST_ALTERNATIVES = 12
KEPT = 16  # answers kept at hand
KEPT_OFFERS = 8  # lists of replacements; each holds a dozen classes that might be, 0.4 MB with an hour of music


@dataclass(frozen=True, slots=True, eq=False)
class OpenSet:
    """A set as the page knows it, and the bytes of its file."""

    file: SetFile
    content: bytes

    @property
    def mark(self) -> str:
        """Names this state of the file."""
        return mark_of(self.content)

    @property
    def origin_s(self) -> float:
        """The class second at which its sound begins: below 0 where music plays before the class."""
        return min(0.0, *(pick.class_start_s for pick in self.file.setlist.picks), 0.0)


@dataclass(slots=True)
class _Offers:
    """What was offered last to stand in the place of a pick, by pick and wish, for one state of set and library."""

    of: tuple[object, ...]
    lists: dict[tuple[int, Wish | None], tuple[Alternative, ...]]


class Desk:
    """One plan, one set and one library; every change goes through here, one at a time."""

    def __init__(self, folder: Path, library: Path | None, plan: Path | None = None, set_path: Path | None = None):
        self.folder = folder
        self.library = library
        self.jobs = Jobs()
        self._ahead: list[Former] = []  # what was taken back: the set as it was, to be done again
        self.lock = threading.RLock()
        self.plan_path: Path | None = None
        self.set_path: Path | None = None
        self._note: NoteFile | None = None
        self._set: OpenSet | None = None
        self.library_tracks = Tracks(library)
        self._answers: dict[tuple[object, ...], object] = {}
        self._offers = _Offers((), {})
        self.written: list[Path] = []
        self.told = ""  # of what was written last
        self.rooms: list[Room] = []  # classes made ready to teach
        if set_path is not None:
            self.open_set(set_path)
        elif plan is not None:
            self.open_plan(plan)

    # ---- files -------------------------------------------------------------------------------------------------

    def open_plan(self, path: Path) -> None:
        """Put a plan on the desk, and the set of the same name if there is one."""
        with self.lock:
            plan_text(path)  # says what is wrong with a file that can't be read
            self._note = note_of(path.read_bytes())
            self.plan_path, self.set_path, self._set = path, path.with_suffix(".json"), None
            self.folder = path.absolute().parent
            note_opened(path)
            self._ahead.clear()
            if self.set_path.is_file():
                self.reload_set()

    def open_set(self, path: Path) -> None:
        """Put a set on the desk, and its plan if that is still there."""
        with self.lock:
            self.set_path, self.plan_path, self._note = path, None, None
            self._ahead.clear()
            self.reload_set()
            assert self._set is not None
            plan = plan_beside(self._set.file.setlist, path.absolute().parent)
            self.folder = path.absolute().parent
            if plan is not None:
                self.plan_path, self._note = plan, note_of(plan.read_bytes())
            note_opened(plan or path)

    def new_plan(self, name: str, text: str) -> None:
        """Write a plan to start from into the folder, and put it on the desk.

        Raises:
            OutputError: a file of that name stands there, or it is no name.
        """
        path = self.folder / plain_name(name, ".md")
        self.folder.mkdir(parents=True, exist_ok=True)
        write_text(path, text, replace=False)
        self.open_plan(path)

    def free_name(self, name: str) -> str:
        """A name like this one that no file of the folder has: "yin-60", else "yin-60 2"."""
        tried = chain((name,), (f"{name} {n}" for n in count(2)))
        return next(each for each in tried if not (self.folder / f"{each}.md").exists())

    def reload_plan(self) -> None:
        """Take the plan as its file is now."""
        with self.lock:
            if self.plan_path is not None:
                self._note = note_of(self.plan_path.read_bytes())

    def reload_set(self, what: str = "what was changed outside") -> None:
        """Take the set as its file is now; the history stays, so that this can be taken back too: `what`, for undo."""
        with self.lock:
            assert self.set_path is not None
            content = self.set_path.read_bytes()
            found = sets.open_set_with(self.set_path, self.tracks())
            if self._set is not None and self._set.content != content:
                now = changed(self._set.file.setlist, found.setlist, what)
                found = replace(found, setlist=now)
            self._set = OpenSet(found, content)

    def marks_on_disk(self) -> dict[str, str | None]:
        """Names of what the two files hold now."""
        return {"plan": mark_of_file(self.plan_path), "set": mark_of_file(self.set_path)}

    # ---- the plan ----------------------------------------------------------------------------------------------

    @property
    def note(self) -> NoteFile | None:
        """The plan's file, as last read or written."""
        return self._note

    def save_plan(self, shown: str, *, base: str | None = None, overwrite: bool = False) -> None:
        """Write the plan as it was typed.

        Args:
            base: names the state of the file that was typed into; None: the one that was read or written last.
        Raises:
            ChangedOutsideError: the file holds something else than was last read, or than was typed into (in another
                tab, say), and `overwrite` isn't said.
        """
        with self.lock:
            if self.plan_path is None or self._note is None:
                raise ArcbedError("there is no plan open.")
            after = self._note.with_text(shown)
            if not overwrite:
                require_same("plan", self.plan_path, self._note.content)
                if base not in (None, mark_of(self._note.content)) and after.content != self._note.content:
                    raise ChangedOutsideError("plan", self.plan_path)
            if after.content != self._note.content or overwrite:
                wrecks = overwrite or is_wrecked(self._note.typed, after.typed)
                self.keep_version(apart_s=0.0 if wrecks else APART_S)
                write_bytes(self.plan_path, after.content)
            self._note = after

    # ---- earlier versions --------------------------------------------------------------------------------------

    @property
    def files(self) -> tuple[Path, ...]:
        """Where the class lies: its note, then its music."""
        return tuple(path for path in (self.plan_path, self.set_path) if path is not None)

    def keep_version(self, *, apart_s: float = 0.0) -> None:
        """Keep what the files of the class hold now, whoever wrote it."""
        if self.files:
            keep(self.files, apart_s=apart_s)

    def bring_back(self, name: str) -> None:
        """Put the class back as it was in an earlier version; as it is now becomes one. Music that was not chosen yet
        then stays as it is now.

        Raises:
            ArcbedError: there is no such version.
        """
        with self.lock:
            found = version(self.files, name)
            contents = {path: found.content(path.name) for path in self.files}
            self.keep_version()
            for path, content in contents.items():
                if content is not None:
                    write_bytes(path, content)
            self.reload_plan()
            if self.set_path is not None and self.set_path.is_file():
                self.reload_set("bringing an earlier version back")

    def outline(self) -> Outline | None:
        """What follows from the plan as it is; None where there is none, or nothing in it can be read."""
        if self._note is None:
            return None
        try:
            return self.outline_of(self._note.shown)
        except PlanError:
            return None

    def outline_of(self, text: str) -> Outline:
        """What follows from a text of the plan.

        Raises:
            PlanError: it can't be understood; carries all findings.
        """
        name = self.plan_path.name if self.plan_path else "plan.md"
        poses = plans.poses_beside(self.plan_path) if self.plan_path else ""
        return self._answer(
            ("outline", text, name, poses, kept_pace()),
            lambda: plans.outline_of(paced(read_plan(text, file=name, folder_poses=poses))),
        )

    def ask_energy(self, section: int, percent: int) -> None:
        """Write a section's wish for energy into the plan, then choose the music anew, keeping what fits."""
        with self.lock:
            if self.plan_path is None or self._note is None:
                raise ArcbedError("the plan of this class is gone.")
            require_same("plan", self.plan_path, self._note.content)
            self.keep_version()
            former = self._note.content
            name = byhand.ask_energy(self.plan_path, section, percent).what
            self._note = note_of(self.plan_path.read_bytes())
            if self._set is None:
                return
            try:
                self.pair(prefer=None, fresh=None, keep=True, what=name, with_plan=True)
            except ArcbedError:
                self._write_plan(former)
                raise

    def rest(self, minutes: float, silence: float, bells: Sequence[Bell], *, overwrite: bool = False) -> None:
        """Make the closing rest so long, and have the plan's note say so too, where it can."""
        with self.lock:
            self.change(
                lambda found, out: self._with_note(
                    sets.rebuild_rest(found, out, minutes=minutes, bells=bells, silence_minutes=silence),
                    minutes,
                    silence,
                ),
                overwrite=overwrite,
            )

    def _with_note(self, found: SetFile, minutes: float, silence: float) -> SetFile:
        """The set with a note that says what was made of its rest; the note's own file is written with it."""
        note, path, plan = self._note, self.plan_path, found.setlist.plan
        if note is None or path is None or note.typed != plan.text or note.content != content_of(path):
            return found
        text = byhand.with_rest(plan.text, path.name, plan.poses, minutes, silence)
        if text is None or text == plan.text:
            return found
        after = sets.written(replace(found, setlist=with_note(found.setlist, text)), found.path)
        self._write_plan(note.with_typed(text).content)
        return after

    # ---- the set -----------------------------------------------------------------------------------------------

    @property
    def open(self) -> OpenSet | None:
        """The set, with the library as it is now."""
        with self.lock:
            if self._set is None:
                return None
            found = replace(self._set.file, tracks=self.tracks())
            return replace(self._set, file=sets.with_missing_files(found))

    def opened(self) -> OpenSet:
        """The set as it is.

        Raises:
            SetError: there is none.
        """
        now = self.open
        if now is None:
            raise SetError("this class has no music yet.", remedy="Choose it first.")
        return now

    def change(self, work: Callable[[SetFile, Path], SetFile | None], *, overwrite: bool = False) -> None:
        """Change the set by one of the commands' functions.

        Raises:
            ChangedOutsideError: the file holds something else than the page knows, and `overwrite` isn't said.
        """
        with self.lock:
            now = self.opened()
            if not overwrite:
                require_same("set", now.file.path, now.content)
            self.keep_version(apart_s=0.0 if overwrite else APART_S)
            after = work(replace(now.file, content=None) if overwrite else now.file, now.file.path)
            if after is not None:
                self._keep(now, after)

    def pair(
        self,
        *,
        prefer: Preference | None,
        fresh: bool | None,
        keep: bool,
        repeats: bool | None = None,
        overwrite: bool = False,
        what: str = "choosing the music",
        with_plan: bool = False,
    ) -> None:
        """Choose the music of the plan; None keeps what the set was made with.

        Args:
            repeats: whether a track may play twice. what: for undo.
            with_plan: the plan was written into for it.
        """
        with self.lock:
            if self.plan_path is None:
                raise ArcbedError("there is no plan open.")
            out = self.set_path or self.plan_path.with_suffix(".json")
            now = self.open
            if now is not None and not overwrite:
                require_same("set", out, now.content)
            elif now is None and out.exists() and not overwrite:
                raise ChangedOutsideError("set", out)
            options = self._options(prefer, fresh, repeats)
            if not with_plan:  # else it was kept before that
                self.keep_version()
            after = sets.pair_plan(
                self.plan_path,
                out,
                self.library,
                options,
                keep=out if keep and now is not None else None,
                instead_of=Former(what, now.file.setlist, with_plan) if now is not None else None,
            )
            self.set_path = out
            self._keep(now, after)

    @property
    def undoes(self) -> str | None:
        """What undo would take back."""
        return self._set.file.setlist.previous[-1].what if self._set and self._set.file.setlist.previous else None

    @property
    def redoes(self) -> str | None:
        """What redo would do again."""
        return self._ahead[-1].what if self._ahead else None

    def undo(self) -> None:
        """Take back the last change; the file holds again what it held."""
        with self.lock:
            now = self._untouched()
            self.keep_version(apart_s=APART_S)
            before = before_last(now.file.setlist)
            last = now.file.setlist.previous[-1]
            self._put(now, before, with_plan=last.with_plan)
            self._ahead.append(replace(last, was=now.file.setlist))

    def redo(self) -> None:
        """Do again what was taken back last."""
        with self.lock:
            now = self._untouched()
            if not self._ahead:
                raise SetError("there is nothing to do again.")
            self._put(now, self._ahead[-1].was, with_plan=self._ahead[-1].with_plan)
            self._ahead.pop()

    def alternatives(self, n: int, wish: Wish | None) -> tuple[Alternative, ...]:
        """Ranked replacements for pick n of the set as it is."""
        now = self.opened()
        state = (now.mark, self.library_tracks.read_at)
        with self.lock:
            if self._offers.of != state:
                self._offers = _Offers(state, {})
            offers = self._offers.lists
            found = offers.get((n, wish))
        if found is None:
            found = sets.alternatives(now.file, n, wish, MOST_ALTERNATIVES)
        with self.lock:
            offers.pop((n, wish), None)
            offers[n, wish] = found  # as the newest
            _drop_oldest(offers, KEPT_OFFERS)
        return found

    def swap(self, n: int, track: int, *, overwrite: bool = False) -> None:
        """Put a track in the place of pick n: just as it was offered, where it was."""

        def work(found: SetFile, out: Path) -> SetFile:
            offered = self.offered(n, track)
            return sets.take(found, offered, out) if offered else sets.swap_with(found, n, track, out)

        self.change(work, overwrite=overwrite)

    def offered(self, n: int, track: int) -> Alternative | None:
        """What was offered of a track for pick n of the set as it is."""
        state = (self.opened().mark, self.library_tracks.read_at)
        with self.lock:
            lists = self._offers.lists if self._offers.of == state else {}
            there = chain.from_iterable(found for (place, _), found in reversed(lists.items()) if place == n)
            return next((each for each in there if each.track.id == track), None)

    def sound(self, mark: str = "") -> Mix:
        """The mix of the set.

        Args:
            mark: names the state that is meant: while its sound plays on, the set may change, or another be opened.
        Raises:
            SetError: a recording is gone.
        """
        before = self._of_state(mark, "sound")
        if isinstance(before, Mix):
            return before
        now = self.opened()
        return self._answer(("sound", now.mark, self.library_tracks.read_at), lambda: byhand.sound_of(now.file))

    def heard(self) -> ClassSound:
        """How the set will be heard.

        Raises:
            SetError: a recording is gone. AudioError: one can't be read.
        """
        now = self.opened()
        return self._answer(("heard", now.mark, self.library_tracks.read_at), lambda: sound_of_set(now.file))

    def noticed(self) -> tuple[Finding, ...] | None:
        """What was noticed when the class was listened to; None where it was not yet, as it is now."""
        with self.lock:
            now = self.open
            sound = self._answers.get(("heard", now.mark, self.library_tracks.read_at)) if now else None
        return heard_findings(now.file.setlist, sound) if now and isinstance(sound, ClassSound) else None

    def join(self, n: int, track: int | None, mark: str = "") -> Joined:
        """The change into pick n, as it is or as it would be with another track there.

        Args:
            mark: names the state that is meant, see `sound`.
        Raises:
            SetError: there is none, the track can't stand there, or one of the recordings that sound in it is gone.
        """
        before = self._of_state(mark, "join", n, track)
        if isinstance(before, Joined):
            return before
        now = self.opened()
        found = now.file
        if track is not None:
            self.alternatives(n, None)
            other = self.offered(n, track)
            if other is None:
                raise SetError("this track can't stand there.")
            found = SetFile(found.path, other.setlist, found.tracks)
        key = ("join", now.mark, self.library_tracks.read_at, n, track)
        return self._answer(key, lambda: byhand.sound_of_join(found, n))

    def tracks(self) -> tuple[Track, ...]:
        """The library's tracks."""
        return self._music()[0]

    def unusable(self) -> tuple[UnusableTrack, ...]:
        """The library's recordings that can't be used."""
        return self._music()[1]

    def calm(self) -> int:
        """How many of the tracks are calm enough for a rest."""
        with self.lock:
            return self.library_tracks.calm()

    # ---- inside ------------------------------------------------------------------------------------------------

    def _music(self) -> Music:
        with self.lock:
            read_at, found = self.library_tracks.read_at, self.library_tracks.all()
            if self.library_tracks.read_at != read_at:
                self._answers.clear()  # nobody asks for those of a former library again
            return found

    def _untouched(self) -> OpenSet:
        """The set, its file being as the page knows it."""
        now = self.opened()
        require_same("set", now.file.path, now.content)
        return now

    def _keep(self, before: OpenSet | None, after: SetFile) -> None:
        now = _read(after)
        if before is None or now.content != before.content:
            self._ahead.clear()
        self._set = now

    def _put(self, now: OpenSet, setlist: SetList, *, with_plan: bool) -> None:
        """Write another state of the set, and its plan's note where that went with it and wasn't typed in since."""
        former = now.file.setlist.plan.text
        self._set = _read(sets.written(replace(now.file, setlist=setlist), now.file.path))
        if not with_plan or self._note is None or self.plan_path is None:
            return
        if self._note.typed == former and self._note.content == content_of(self.plan_path):
            self._write_plan(self._note.with_typed(setlist.plan.text).content)

    def _write_plan(self, content: bytes) -> None:
        assert self.plan_path is not None
        write_bytes(self.plan_path, content)
        self._note = note_of(content)

    def _options(self, prefer: Preference | None, fresh: bool | None, repeats: bool | None) -> PairOptions:
        stored = self._set.file.setlist.options if self._set else PairOptions()
        return replace(
            stored,
            prefer=prefer or stored.prefer,
            fresh=stored.fresh if fresh is None else fresh,
            allow_repeats=stored.allow_repeats if repeats is None else repeats,
        )

    def _answer(self, key: tuple[object, ...], work: Callable[[], T]) -> T:
        """The answer to a question that was asked before, or what the work gives; nothing waits for that work."""
        with self.lock:
            if key in self._answers:
                return self._answers[key]  # type: ignore[return-value]
        answer = work()
        with self.lock:
            self._answers[key] = answer
            _drop_oldest(self._answers, KEPT)
        return answer

    def _of_state(self, mark: str, what: str, *of: object) -> object | None:
        """What was answered of the state with this mark, whatever the library was then; None: it isn't at hand."""
        with self.lock:
            found = (self._answers[key] for key in self._answers if (*key[:2], *key[3:]) == (what, mark, *of))
            return next(found, None)


def desk_for(file: Path | None, library: Path | None) -> Desk:
    """A desk with a plan or a set on it (a file that begins with { is a set), or with nothing yet.

    Without a file, classes lie in the folder for them among the user's documents.

    Raises:
        PlanError, SetError: the file can't be read.
    """
    if file is None:
        return Desk(classes_folder(), library)
    file = file.absolute()
    is_set = begins_as_a_set(file)
    return Desk(file.parent, library, None if is_set else file, file if is_set else None)


def _drop_oldest(kept: dict[Any, Any], most: int) -> None:
    while len(kept) > most:
        del kept[next(iter(kept))]


def _read(found: SetFile) -> OpenSet:
    return OpenSet(found, found.path.read_bytes())
