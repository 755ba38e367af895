"""What the commands do that write something to walk in with: mix, playlist, sheet, picture."""

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from audio.errors import AudioError, OutputError
from audio.files.encode import refuse_other_kinds
from audio.files.whole import whole_file, write_text
from audio.progress import Progress
from audio.render.bell import bell_at
from audio.render.master import FinishedFile, Mix, check_readable, refuse_unwritable, write_mix, write_mixes
from audio.render.mixer import MIX_RATE, Sound
from audio.render.span import Span
from pairing.checks.heard import heard_findings
from pairing.errors import SetError
from pairing.model import Finding, Where, WriteMix
from pairing.sets import mixdown, shaping
from pairing.sets.heard import ClassSound
from pairing.sets.mixmark import age_of, comment_of
from pairing.sets.parts import MixPart
from pairing.sets.parts import parts as parts_of
from pairing.show.calendar import calendar_entry, next_start, starts_on
from pairing.show.heard import sound_lines
from pairing.show.picture import picture_png, picture_svg
from pairing.show.playlist import m3u8, xspf
from pairing.show.scene import Scene
from pairing.show.sheet import sheet_html
from pairing.show.tables import quoted
from pairing.workflow import partlist
from pairing.workflow.heard import sound_of_mix, sound_of_set
from pairing.workflow.plans import outline_of_set, planned_of_set
from pairing.workflow.sets import SetFile


@dataclass(frozen=True, slots=True, eq=False)
class MixReport:
    """The files of a mix, what was said about them, and how the whole is heard (not told of parts)."""

    files: tuple[FinishedFile, ...]
    findings: tuple[Finding, ...]
    sound: ClassSound | None = None


def write_whole_mix(
    found: SetFile, out: Path, *, under_voice: bool, replace: bool, progress: Progress | None, loud: bool = False
) -> MixReport:
    """Write the whole class as one file, with chapters and the class's picture as cover.

    Args:
        under_voice: lower the music where the teacher speaks. loud: raise all of it as far as its peaks allow.
    """
    refuse_unwritable([out], replace=replace)
    mix = mix_of(found, sounding_spans(found, under_voice, progress))
    written = write_mix(mix, out, replace=replace, loud=loud, progress=progress)
    sound = sound_of_mix(found, written.sound)
    outside = mixdown.outside_library(found.setlist, _base(found), found.tracks)
    return MixReport((written,), (*outside, *heard_findings(found.setlist, sound)), sound)


def write_parts(
    found: SetFile,
    folder: Path,
    *,
    ending: str,
    under_voice: bool,
    replace: bool,
    progress: Progress | None,
    loud: bool = False,
) -> MixReport:
    """Write one trimmed, levelled, numbered file a pick; played one after the other they last as long as the class.

    A list of them lies beside them; former parts that it names go where `replace` is given, nothing else does.
    """
    refuse_other_kinds(folder / f"part{ending}")
    if not replace:
        partlist.refuse_to_mingle(folder)
    parts = parts_of(found.setlist, sounding_spans(found, under_voice, progress))
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputError(f"can't be made ({error.strerror}).", where=str(folder)) from error
    mixes = [(mix_of_part(found, part), folder / f"{part.name}{ending}") for part in parts]
    former = partlist.listed(folder)
    files = write_mixes(mixes, replace=replace, loud=loud, progress=progress)
    partlist.renew(folder, parts, ending, former)
    return MixReport(files, mixdown.outside_library(found.setlist, _base(found), found.tracks))


def write_playlist(found: SetFile, out: Path) -> None:
    """Write the set's tracks as .m3u8 or .xspf, by the ending."""
    kinds = {".m3u8": m3u8, ".xspf": xspf}
    make = kinds.get(out.suffix.lower())
    if make is None:
        raise OutputError(
            f'a playlist can\'t end in "{out.suffix}".',
            where=str(out),
            remedy="Give it a name that ends in .m3u8 or .xspf.",
        )
    lengths = {track.id: track.analysis.duration_s for track in found.tracks}
    said = comment_of(found.setlist)  # so that it is known later of which version of the class it is
    text = make(found.setlist, _base(found), out.absolute(), lengths_s=lengths)
    write_text(out, text + (f"# {said}\n" if make is m3u8 else f"<!-- {said} -->\n"))


def write_sheet(
    found: SetFile, out: Path, *, audio: Path | None, day: datetime.date | None = None
) -> tuple[Finding, ...]:
    """Write the cue sheet and class clock as one page, or, by the ending .ics, the class as an entry of a calendar.

    Args:
        audio: the mix that the page shall play.
        day: on which it is taught; None: none on the sheet, and in the calendar the next time the class's hour comes.
    Returns:
        What is wrong with the mix.
    """
    if out.suffix.lower() == ".ics":
        write_text(out, _calendar_of(found, day))
        return ()
    if out.suffix.lower() not in (".html", ".htm"):
        raise OutputError(
            "a sheet needs another ending.",
            where=str(out),
            remedy="Give a name that ends in .html, or in .ics for a calendar.",
        )
    beside = _beside(audio, out) if audio else None
    doubts = mix_findings(found, audio) if audio else ()
    page = sheet_of(found, audio=beside, heard=_heard_lines(found), doubts=doubts, day=day)
    write_text(out, f"{page.rstrip()}\n<!-- {comment_of(found.setlist)} -->\n")
    return doubts


def _calendar_of(found: SetFile, day: datetime.date | None) -> str:
    plan, now = outline_of_set(found.setlist).plan, datetime.datetime.now().astimezone()
    starts = starts_on(plan, day) if day else next_start(plan, now.replace(tzinfo=None))
    return calendar_entry(found.setlist, plan, starts, now)


def mix_findings(found: SetFile, mix: Path) -> tuple[Finding, ...]:
    """Whether a file is the mix of the set as it is now; nothing where it is."""
    age = age_of(mix, found.setlist)
    if age == "this":
        return ()
    where = Where(mix.name)
    if age == "other":
        words = "is not the mix of this class as it is now: it doesn't play just what this page names."
        return (Finding("must", "other-mix", where, words, "Write the mix again.", deeds=(WriteMix(quoted(mix)),)),)
    words = "doesn't say which class it is of, so it may not play what this page names."
    remedy = "Write the mix of this class under a name of its own."  # not over this file: it may be somebody's music
    return (Finding("should", "unknown-mix", where, words, remedy),)


def sheet_of(
    found: SetFile,
    *,
    audio: str | None = None,
    heard: Mapping[int, str] | None = None,
    doubts: Sequence[Finding] = (),
    live: Mapping[str, object] | None = None,
    chunks: str | None = None,
    day: datetime.date | None = None,
) -> str:
    """The page of cue sheet and clock, see `sheet_html`; `doubts` are of the mix that it plays."""
    known = outline_of_set(found.setlist)
    return sheet_html(
        found.setlist,
        known.timetable,
        known.arc,
        findings=(*found.setlist.findings, *known.findings),
        audio=audio,
        plan=known.plan,
        tracks={track.id: track for track in found.tracks},
        set_file=found.path,
        heard=heard,
        warning=" ".join(f"{each.where} {each.message}" for each in doubts if each.level == "must"),
        live=live,
        chunks=chunks,
        day=day,
    )


def _heard_lines(found: SetFile) -> Mapping[int, str]:
    """How each section sounds; nothing where a recording is gone or can't be read."""
    try:
        return sound_lines(sound_of_set(found))
    except (AudioError, SetError):
        return {}


def write_picture(found: SetFile, out: Path) -> None:
    """Write the picture of the class as .svg or .png."""
    svg = _picture(found)
    if out.suffix.lower() == ".svg":
        write_text(out, svg)
    elif out.suffix.lower() == ".png":
        with whole_file(out) as temporary:
            temporary.write_bytes(picture_png(svg))
    else:
        raise OutputError(
            f'a picture can\'t end in "{out.suffix}".',
            where=str(out),
            remedy="Give it a name that ends in .svg or .png.",
        )


def mix_of(found: SetFile, spans: tuple[Span, ...]) -> Mix:
    """The whole class as one mix, with chapters, cover and the mark of its set."""
    setlist = found.setlist
    return Mix(
        spans=spans,
        duration_s=mixdown.duration_s(setlist),
        sounds=_sounds(mixdown.bells(setlist)),
        chapters=mixdown.chapters(setlist),
        title=setlist.title,
        comment=comment_of(setlist),
        cover_png=picture_png(_picture(found), 1000),
    )


def mix_of_part(found: SetFile, part: MixPart) -> Mix:
    """One track of the class by itself, as it sounds there."""
    return Mix(
        part.spans,
        part.duration_s,
        _sounds(part.bells),
        title=part.title,
        artist=part.artist,
        album=found.setlist.title,
        comment=comment_of(found.setlist),
    )


def sounding_spans(found: SetFile, under_voice: bool, progress: Progress | None) -> tuple[Span, ...]:
    """What sounds when; every recording is read before anything is written."""
    setlist = found.setlist
    if not setlist.picks:
        raise SetError(
            "has no music yet, so there is nothing to mix.",
            where=str(found.path),
            remedy="Choose its music first: pair.",
        )
    spans = mixdown.spans(setlist, _base(found), found.tracks, under_voice=under_voice)
    recordings = [(span.path, pick.fingerprint) for span, pick in zip(spans, setlist.picks, strict=True)]
    check_readable(recordings, progress=progress)
    return shaping.shaped(setlist, spans)


def _sounds(bells: tuple[tuple[float, float], ...]) -> tuple[Sound, ...]:
    return tuple(Sound(at_s, bell_at(level_lufs, MIX_RATE)) for at_s, level_lufs in bells)


def _picture(found: SetFile) -> str:
    known = planned_of_set(found.setlist)
    return picture_svg(Scene.of_set(found.setlist, known.timetable, known.arc))


def _base(found: SetFile) -> Path:
    return found.path.absolute().parent


def _beside(audio: Path, page: Path) -> str:
    """The mix as the page names it: relative, since both travel together."""
    try:
        return audio.absolute().relative_to(page.absolute().parent).as_posix()
    except ValueError:
        raise OutputError(
            "the mix has to be in the sheet's folder, or in one inside it.",
            where=str(audio),
            remedy=f"Move it to {page.absolute().parent}, or write the sheet beside it.",
        ) from None
