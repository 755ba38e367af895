"""What a hand on the page can do: each action takes the desk and plain values, and calls a command's function."""

import base64
import binascii
import math
import webbrowser
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path

from audio.errors import ArcbedError, OutputError
from audio.files.encode import ENDINGS
from audio.progress import Progress
from pairing.alignment.options import preference
from pairing.page.desk import Desk
from pairing.page.disk import plain_name
from pairing.page.room import room_of
from pairing.page.values import Json, harmless
from pairing.page.versions import keep as keep_files
from pairing.plan.edit import apply_edits, clear_edits
from pairing.plan.encoding import encoding_of
from pairing.plan.read import read_plan
from pairing.plan.spreadsheet import plan_from_csv
from pairing.sets.rest import Bell
from pairing.sets.setfile import begins_as_a_set
from pairing.show.text import counted
from pairing.workflow import demo as example
from pairing.workflow import music, plans, sets
from pairing.workflow.away import OUTPUTS, How, Outcome, write_everything
from pairing.workflow.examples import example_text
from pairing.workflow.sets import SetFile

Values = Mapping[str, object]

CLASS_FILES = (".md", ".txt", ".json", ".csv")
_LARGEST = 1_000_000  # characters of a file that is brought, as it is sent


class WrongValueError(ValueError):
    """A value that the page never sends."""


# ---- the plan ----------------------------------------------------------------------------------------------------


def save_plan(desk: Desk, values: Values) -> None:
    """Write the plan as typed."""
    base = _text(values, "base", 40) if values.get("base") is not None else None
    desk.save_plan(_text(values, "text", 1_000_000), base=base, overwrite=_flag(values, "overwrite"))


def remedied(desk: Desk, values: Values) -> Json:
    """The plan's text after a remedy of the slot check, or after all clear corrections; nothing is written."""
    text = _text(values, "text", 1_000_000)
    if values.get("id") is None:
        edits = clear_edits(read_plan(text), read_plan)
        return {"text": apply_edits(text, edits)}
    wanted = _text(values, "id", 200)
    for remedy in desk.outline_of(text).slot.remedies:
        if remedy.id == wanted:
            return {"text": apply_edits(text, remedy.edits)}
    raise ArcbedError("this remedy doesn't fit the plan as it is now.")


def reload(desk: Desk, values: Values) -> None:
    """Take a file as it is on disk now."""
    if values.get("which") == "plan":
        desk.reload_plan()
    else:
        desk.reload_set()


def open_nearby(desk: Desk, values: Values) -> None:
    """Open a plan or set of the folder, or bring in a table of it as a plan."""
    name = _text(values, "name", 300)
    path = desk.folder / name
    if name != path.name or not path.is_file():
        raise ArcbedError("there is no such file in the folder.")
    _open(desk, path, replace=_flag(values, "replace"))


def bring(desk: Desk, values: Values) -> None:
    """Open a plan, set or table wherever it lies: one that was open before, or that arcbed was started with again."""
    path = Path(_text(values, "path", 4000))
    if not path.is_absolute() or not path.is_file() or path.suffix.lower() not in CLASS_FILES:
        raise ArcbedError("there is no class there any more.", where=harmless(path.name))
    _open(desk, path, replace=False)


def bring_file(desk: Desk, values: Values) -> None:
    """Make a plan of a note or a table that the browser hands over: a copy, in the folder of the classes."""
    name = _text(values, "name", 300)
    try:
        content = base64.b64decode(_text(values, "content", _LARGEST), validate=True)
    except (binascii.Error, ValueError) as error:
        raise WrongValueError("content") from error
    text, stem = encoding_of(content).read(content), Path(plain_name(name, "")).stem
    match Path(name).suffix.lower():
        case ".csv":
            text = plan_from_csv(text, title=stem)
        case ".md" | ".txt":
            pass
        case _:
            raise ArcbedError(
                "can't be read as a class.", where=harmless(name), remedy="Save it as text, or a table as CSV."
            )
    desk.new_plan(desk.free_name(stem), text)


def _open(desk: Desk, path: Path, *, replace: bool) -> None:
    if path.suffix.lower() == ".csv":
        plan = path.with_suffix(".md")
        if plan.exists() and not replace:
            raise FileStandsError(f"{plan.name} is there already.")
        keep_files((plan, plan.with_suffix(".json")))
        plans.plan_from_spreadsheet(path, plan, replace=True)
        desk.open_plan(plan)
    elif begins_as_a_set(path):
        desk.open_set(path)
    else:
        desk.open_plan(path)


def bring_back(desk: Desk, values: Values) -> None:
    """Put the class back as it was in an earlier version."""
    desk.bring_back(_text(values, "version", 40))


def new_plan(desk: Desk, values: Values) -> None:
    """Start a plan: from an example, under its own name if none is given, else a commented one of that length."""
    if values.get("example") is None:
        desk.new_plan(_text(values, "name", 200), plans.new_plan_text(_whole(values, "minutes", 1, 600)))
        return
    example = _text(values, "example", 60)
    text = example_text(example)
    desk.new_plan(_text(values, "name", 200) if values.get("name") else desk.free_name(example), text)


# ---- the set -----------------------------------------------------------------------------------------------------


def pair(desk: Desk, values: Values) -> None:
    """Choose the music."""
    prefer = values.get("prefer")
    if prefer is not None and not isinstance(prefer, str):
        raise WrongValueError("prefer")
    fresh, repeats = values.get("fresh"), values.get("repeats")
    desk.pair(
        prefer=None if prefer is None else preference(prefer),
        fresh=None if fresh is None else bool(fresh),
        repeats=None if repeats is None else bool(repeats),
        keep=_flag(values, "keep"),
        overwrite=_flag(values, "overwrite"),
    )


def swap(desk: Desk, values: Values) -> None:
    """Put a track in the place of a pick."""
    n, track = _whole(values, "n", 1, 10_000), _whole(values, "track", 0, 2**53)
    desk.swap(n, track, overwrite=_flag(values, "overwrite"))


def pin(desk: Desk, values: Values) -> None:
    """Keep a pick, or let go of it."""
    n, pinned = _whole(values, "n", 1, 10_000), _flag(values, "pinned")
    _change(desk, values, lambda found, out: sets.pin(found, n, pinned, out))


def drop(desk: Desk, values: Values) -> None:
    """Leave a pick out."""
    n = _whole(values, "n", 1, 10_000)
    _change(desk, values, lambda found, out: sets.drop(found, n, out))


def let_back(desk: Desk, values: Values) -> None:
    """Let a track that was left out of this class be chosen again."""
    track = _whole(values, "track", 0, 2**53)
    _change(desk, values, lambda found, out: sets.let_back(found, track, out))


def rest(desk: Desk, values: Values) -> None:
    """Make the closing rest anew."""
    minutes, silence = _number(values, "minutes", 0.5, 60), _number(values, "silence", 0, 60)
    bells: list[Bell] = []
    if _flag(values, "bell_start"):
        bells.append("start")
    if _flag(values, "bell_end"):
        bells.append("end")
    desk.rest(minutes, silence, bells, overwrite=_flag(values, "overwrite"))


def energy(desk: Desk, values: Values) -> None:
    """Ask for livelier or calmer music in a section."""
    desk.ask_energy(_whole(values, "section", 0, 500), _whole(values, "percent", 0, 100))


def undo(desk: Desk, values: Values) -> None:
    """Take back the last change."""
    desk.undo()


def redo(desk: Desk, values: Values) -> None:
    """Do it again."""
    desk.redo()


# ---- the library -------------------------------------------------------------------------------------------------


def mark(desk: Desk, values: Values) -> None:
    """Set the teacher's own word on a track, or take it back."""
    key, value = _text(values, "key", 30), values.get("value")
    word = f"{key}={'' if value is None else _text(values, 'value', 30)}"
    if "=" in key:
        raise WrongValueError("key")
    music.mark_track(desk.library, _whole(values, "track", 0, 2**53), [word])


def scan(desk: Desk, values: Values) -> None:
    """Analyse a folder of music."""
    text = _text(values, "folder", 4000).strip()
    folder = (desk.folder / Path(text).expanduser()) if text else None

    def work(progress: Progress) -> Json:
        report = music.scan_music([folder] if folder else [], desk.library, jobs=None, progress=progress)
        counts = ((report.new, "new"), (report.changed, "changed"), (report.known, "known already"))
        said = ", ".join(f"{count} {what}" for count, what in counts if count)
        words = f"{said}." if said else "No music that can be used was found there."
        if report.missing:
            words += f" {counted(report.missing, 'file', 'files')} of your music are no longer there."
        if report.not_looked_at:
            words += f" {counted(report.not_looked_at, 'file was', 'files were')} not looked at; scan once more."
        left = [{"file": harmless(each.path.name), "why": harmless(each.reason)} for each in report.left_out[:200]]
        return {"words": words, "left_out": left, "count": len(report.left_out)}

    if folder is not None and not folder.is_dir():
        raise ArcbedError("there is no such folder.", where=harmless(str(folder)))
    desk.jobs.start("scan", "Listening to your music", work, "tracks")


def demo(desk: Desk, values: Values) -> None:
    """Make some music to try the program with, listen to it, and start the class that goes with it."""

    def work(progress: Progress) -> Json:
        plan = example.try_it(desk.folder, desk.library, progress)
        if desk.plan_path is None:
            desk.open_plan(plan)
        return {"words": "There is music now, and a class to try it with. Next: choose the music."}

    desk.jobs.start("demo", "Making music to try it with", work)


def join(desk: Desk, values: Values) -> None:
    """Take over what another library holds."""
    text = _text(values, "library", 4000).strip()
    if not text:
        raise ArcbedError("say which file.")
    music.join(desk.library, desk.folder / Path(text).expanduser())


def set_aside(desk: Desk, values: Values) -> None:
    """Rename a library that can't be used, and begin a new one."""
    music.set_aside(desk.library)


def forget(desk: Desk, values: Values) -> None:
    """Forget files of the library that are no longer there."""
    music.forget_missing(desk.library)


def stop(desk: Desk, values: Values) -> None:
    """Stop what is being done."""
    desk.jobs.stop()


def used(desk: Desk, values: Values) -> None:
    """Note that the class was taught with this set."""
    now = desk.open
    if now is None:
        raise ArcbedError("this class has no music yet.")
    sets.note_used(now.file.path, desk.library)


# ---- out ---------------------------------------------------------------------------------------------------------


def write(desk: Desk, values: Values) -> None:
    """Write something to walk in with into the folder of the class."""
    found, name, ending = desk.opened().file, _text(values, "kind", 20), _text(values, "ending", 6)
    output = next((each for each in OUTPUTS if each.name == name and ending in each.endings), None)
    if output is None:
        raise WrongValueError("kind")
    out = _beside(found, values, "" if output.folder else ending)
    if out.exists() and not output.asks_itself and not _flag(values, "replace"):
        raise FileStandsError(f"{out.name} is there already.")
    how = _how(values, ending)
    if output.wrote:
        desk.told = output.write(found, out, how).words or output.wrote
        _note_written(desk, out)
        return

    def work(progress: Progress) -> Json:
        told = output.write(found, out, replace(how, progress=progress))
        _note_written(desk, out)
        return _as_told(told)

    desk.jobs.start("mix", f"Writing {out.name}", work)


def everything(desk: Desk, values: Values) -> None:
    """Write all that a class needs, in the order in which one needs the other: mix, sheet with its sound, playlist."""
    found, ending = desk.opened().file, _text(values, "ending", 6)
    if ending not in ENDINGS:
        raise WrongValueError("ending")
    outs = [_beside(found, values, each) for each in (ending, ".html", ".m3u8")]
    standing = [out.name for out in outs if out.exists()]
    if standing and not _flag(values, "replace"):
        raise FileStandsError(f"{', '.join(standing)}: there already.")
    how = _how(values, ending)

    def work(progress: Progress) -> Json:
        told = write_everything(found, outs, replace(how, progress=progress))
        for out in outs:
            _note_written(desk, out)
        return _as_told(told)

    desk.jobs.start("everything", "Writing everything for the class", work)


def _beside(found: SetFile, values: Values, ending: str) -> Path:
    name = plain_name(_text(values, "name", 2000), ending, (*ENDINGS, ".html", ".m3u8", ".xspf", ".json"))
    return found.path.absolute().parent / name


def _how(values: Values, ending: str) -> How:
    return How(ending, under_voice=_flag(values, "under_voice"), loud=_flag(values, "loud"))


def _as_told(told: Outcome) -> Json:
    return {
        "words": told.words.replace("\n", " "),
        "findings": [harmless(finding.message) for finding in told.findings],
    }


def teach(desk: Desk, values: Values) -> None:
    """Make the class ready to be taught from this page."""
    now = desk.opened()

    def work(progress: Progress) -> Json:
        desk.rooms.append(room_of(len(desk.rooms), now.file, now.mark, progress))
        return {"words": "The class is ready. Open it when you like."}

    desk.jobs.start("teach", "Making the class ready", work)


def show(desk: Desk, values: Values) -> None:
    """Open a file that was written with the machine's own program for it."""
    index = _whole(values, "index", 0, 10_000)
    if index >= len(desk.written) or not desk.written[index].exists():
        raise ArcbedError("this file is no longer there.")
    webbrowser.open(desk.written[index].absolute().as_uri())


class FileStandsError(OutputError):
    """A file of that name stands there; a person may decide to replace it."""


def _note_written(desk: Desk, path: Path) -> None:
    if path in desk.written:
        desk.written.remove(path)
    desk.written.append(path)


def _change(desk: Desk, values: Values, work: Callable[[SetFile, Path], SetFile | None]) -> None:
    desk.change(work, overwrite=_flag(values, "overwrite"))


# ---- values ------------------------------------------------------------------------------------------------------


def _text(values: Values, name: str, limit: int) -> str:
    value = values.get(name)
    if not isinstance(value, str) or len(value) > limit or "\0" in value:
        raise WrongValueError(name)
    return value


def _flag(values: Values, name: str) -> bool:
    return values.get(name) is True


def _number(values: Values, name: str, low: float, high: float) -> float:
    value = values.get(name)
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise WrongValueError(name)
    if not low <= value <= high:
        raise ArcbedError(f"{value:g} minutes are out of range.", remedy=f"Give {low:g} to {high:g}.")
    return float(value)


def _whole(values: Values, name: str, low: int, high: int) -> int:
    value = values.get(name)
    if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
        raise WrongValueError(name)
    return value
