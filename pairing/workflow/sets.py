"""What the commands about sets do: pair, swap, pin, undo, rest, used; and what a hand on the page asks: drop."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from functools import partial
from pathlib import Path

from audio.errors import OutputError
from audio.track import Track
from pairing.alignment import frame
from pairing.alignment.recency import Use, fingerprints
from pairing.alignment.sedative import RestCandidate
from pairing.checks.set import FILE_GONE, check_set, files_gone, renewed
from pairing.effort.planned import planned
from pairing.errors import SetError
from pairing.model import Former, PairOptions, SetList
from pairing.plan.read import load_plan
from pairing.sets import rest as rests
from pairing.sets import swap as swaps
from pairing.sets.history import before_last, changed
from pairing.sets.pair import pair
from pairing.sets.redo import leaving_out, redo
from pairing.sets.rest import Bell
from pairing.sets.setfile import begins_as_a_set, read_set, write_set
from pairing.workflow import there
from pairing.workflow.music import all_tracks, library_path, opened
from pairing.workflow.pace import paced
from pairing.workflow.plans import poses_beside


@dataclass(frozen=True, slots=True, eq=False)
class SetFile:
    """A set, where it stands, and the library it draws on.

    `content` is what stood in the file when it was read or written, so that two programs can't undo each other's
    changes; None for a set that comes to stand there now.
    """

    path: Path
    setlist: SetList
    tracks: tuple[Track, ...]
    content: bytes | None = None


def open_set(path: Path, library: Path | None) -> SetFile:
    """Read a set and the library; a set can be shown and played without one."""
    known = all_tracks(library) if library_path(library).exists() else []
    return open_set_with(path, tuple(known))


def open_set_with(path: Path, tracks: tuple[Track, ...]) -> SetFile:
    """Read a set, the library being at hand."""
    content = path.read_bytes() if path.is_file() else None  # first: what changes in between is then noticed
    return SetFile(path, read_set(path), tracks, content)


def pair_plan(
    plan: Path,
    out: Path,
    library: Path | None,
    options: PairOptions,
    *,
    keep: Path | None = None,
    other_than: Sequence[Path] = (),
    instead_of: Former | None = None,
) -> SetFile:
    """Choose the music of a plan's class and write the set.

    Args:
        keep: a former set; as much of it as fits stays.
        other_than: sets whose music shall not come again, as far as there is other music.
        instead_of: the set whose place the new one takes, to be taken back to.

    What was decided by hand holds: of `keep`, of `instead_of`, or of a set of this plan that stands at `out`.

    Raises:
        PlanError: the plan can't be read. NotEnoughMusic: says what is missing.
    """
    found = planned(paced(load_plan(plan)))
    former = read_set(keep) if keep else None
    tracks = tuple(all_tracks(library))
    choose = partial(
        pair,
        found.plan,
        found.timetable,
        found.arc,
        options=options,
        keep=former,
        promised=instead_of.was if instead_of else _standing(out, found.plan.file),
        uses=uses(library) if options.fresh else (),
        others=[read_set(other) for other in other_than],
    )
    setlist = there.chosen(tracks, choose)
    kept = replace(setlist.plan, poses=poses_beside(plan), own_pace=found.plan.own_pace)
    setlist = replace(setlist, plan=kept)
    if instead_of is not None:
        setlist = changed(instead_of.was, setlist, instead_of.what, with_plan=instead_of.with_plan)
    return written(SetFile(out, setlist, tracks), out)


def _standing(out: Path, plan: str) -> SetList | None:
    """The set of a plan that stands in the place of a new one."""
    try:
        standing = read_set(out) if out.is_file() else None
    except SetError:  # something else, or damaged: writing says what may be replaced
        return None
    return standing if standing and Path(standing.plan.path).name == Path(plan).name else None


def alternatives(found: SetFile, n: int, wish: swaps.Wish | None, limit: int) -> tuple[swaps.Alternative, ...]:
    """Ranked replacements for pick n."""
    offers = there.offered_from(found.tracks)
    return swaps.alternatives(found.setlist, n, found.tracks, wish=wish, limit=limit, offers=offers)


def swap_best(found: SetFile, n: int, wish: swaps.Wish | None, out: Path) -> SetFile | None:
    """Take the best replacement; None if there is none."""
    best = alternatives(found, n, wish, 1)
    return take(found, best[0], out) if best else None


def swap_with(found: SetFile, n: int, track_id: int, out: Path, wish: swaps.Wish | None = None) -> SetFile:
    """Put a track of the library in the place of pick n, as it is offered under a wish.

    Raises:
        SetError: the track can't stand there, or its file is gone.
    """
    track = next((each for each in found.tracks if each.id == track_id), None)
    if track is not None and not there.offered_from(found.tracks)(track):
        raise SetError(
            f'the file of "{track.title}" is gone: {track.path}',
            remedy="Put it back, scan the folder it is in now, or choose another track.",
        )
    return written(replace(found, setlist=swaps.swap(found.setlist, n, track_id, found.tracks, wish)), out)


def take(found: SetFile, offered: swaps.Alternative, out: Path) -> SetFile:
    """Make the set what a replacement that was offered for it would make of it."""
    return written(replace(found, setlist=offered.setlist), out)


def pin(found: SetFile, n: int, pinned: bool, out: Path) -> SetFile:
    """Keep pick n whatever changes later, or let go of it."""
    change = swaps.pin if pinned else swaps.unpin
    return written(replace(found, setlist=change(found.setlist, n)), out)


def drop(found: SetFile, n: int, out: Path) -> SetFile:
    """Leave pick n out of the class, now and whatever is chosen for it later: its place is filled anew from the rest of
    the library; every other pick stays.

    Raises:
        SetError: there is no such pick. NotEnoughMusic: nothing else can stand there.
    """
    setlist = found.setlist
    mark = swaps.pick_of(setlist, n).fingerprint
    others = [pick for pick in setlist.picks if pick.n != n]
    dropped = {track.id for track in found.tracks if track.fingerprint == mark}
    without = leaving_out(setlist, {*setlist.options.exclude, *dropped})
    shape, stays = frame.of_set(setlist), {pick.fingerprint for pick in others}
    after = there.chosen(found.tracks, partial(redo, without, shape, others), lambda _: stays)
    return written(replace(found, setlist=changed(setlist, after, f"leaving out track {n}")), out)


def let_back(found: SetFile, track_id: int, out: Path) -> SetFile:
    """Let a track that was left out of the class be chosen again."""
    after = leaving_out(found.setlist, set(found.setlist.options.exclude) - {track_id})
    return written(replace(found, setlist=changed(found.setlist, after, "letting a track back")), out)


def undo(found: SetFile, out: Path) -> SetFile:
    """Take back the last change of the set."""
    return written(replace(found, setlist=before_last(found.setlist)), out)


def rebuild_rest(
    found: SetFile, out: Path, *, minutes: float | None, bells: Sequence[Bell] | None, silence_minutes: float | None
) -> SetFile:
    """Choose the music of the closing rest anew."""
    before = {pick.fingerprint for pick in found.setlist.picks if not rests.is_inside(found.setlist, pick)}
    rebuild = partial(
        rests.rebuild_rest,
        found.setlist,
        minutes=minutes,
        bells=bells,
        silence_s=None if silence_minutes is None else 60 * silence_minutes,
    )
    setlist = there.chosen(found.tracks, rebuild, lambda made: before | there.promised(made))
    return written(replace(found, setlist=setlist), out)


def rest_candidates(found: SetFile) -> tuple[RestCandidate, ...]:
    """The library's tracks as music for a rest, the fittest first, each with its reasons."""
    return rests.rest_candidates(found.tracks)


def note_used(path: Path, library: Path | None, when: datetime | None = None) -> SetList:
    """Note in the library that the set was played in a class, so that --fresh can avoid its music."""
    setlist = read_set(path)
    when = when or datetime.now(UTC)
    with opened(library) as known:
        known.note_used(setlist.title, when.isoformat(timespec="seconds"), fingerprints(setlist))
    return setlist


def written(found: SetFile, out: Path) -> SetFile:
    """Check a set and write it; gives it as it stands there, with what the checks found, and which files are gone now.

    Raises:
        OutputError: something else than a set stands there, another program has changed it, or it can't be written.
    """
    now = check_set(found.setlist, tracks=found.tracks)
    setlist = replace(found.setlist, findings=renewed(found.setlist.findings, now))
    _refuse_to_replace_what_is_no_set(out)
    content = write_set(setlist, out, instead_of=found.content if out == found.path else None)
    return with_missing_files(replace(found, path=out, setlist=setlist, content=content))


def with_missing_files(found: SetFile) -> SetFile:
    """The set with what is to be said of files that are gone now; that stands in no file, for a disk comes and goes."""
    now = found.setlist
    stored = tuple(each for each in now.findings if each.code != FILE_GONE)
    gone = there.gone(now, found.path.absolute().parent, found.tracks)
    findings = (*stored, *files_gone(now, gone))
    return found if findings == now.findings else replace(found, setlist=replace(now, findings=findings))


def uses(library: Path | None) -> list[Use]:
    """When the tracks of the library were played in a class."""
    if not library_path(library).exists():
        return []
    with opened(library) as known:
        return [
            Use(fingerprint, days)
            for when, _, played in known.uses()
            for days in _days_ago(when)
            for fingerprint in played
        ]


def _days_ago(when_iso: str) -> list[float]:
    """How long ago that was; a time that names no zone is of this machine's, one that is no time counts as never."""
    try:
        when = datetime.fromisoformat(when_iso).astimezone()
    except (ValueError, OverflowError):
        return []
    return [max((datetime.now(UTC) - when).total_seconds(), 0.0) / 86_400]


def _refuse_to_replace_what_is_no_set(out: Path) -> None:
    """A slip such as --out saturday.md must not cost the plan."""
    if out.is_file() and not begins_as_a_set(out):
        raise OutputError(
            "is there already, and isn't a class's music.", where=str(out), remedy="Give another name, ending in .json."
        )
