"""Everything that can be written of a class to walk in with: one row each, and the page offers it.

Another output is a function that writes it and a row in `OUTPUTS`.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from audio.files.encode import ENDINGS
from audio.progress import Progress
from pairing.model import Finding
from pairing.show.terminal import mix_text
from pairing.show.text import counted
from pairing.workflow import outputs
from pairing.workflow.pack import write_pack
from pairing.workflow.sets import SetFile


@dataclass(frozen=True, slots=True)
class How:
    """What a person chose of an output; what stands there already is replaced."""

    ending: str
    under_voice: bool = False
    loud: bool = False
    progress: Progress | None = None


@dataclass(frozen=True, slots=True)
class Outcome:
    """What is said once it is written."""

    words: str = ""
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class Output:
    """One kind of thing to walk in with."""

    name: str
    title: str
    about: str
    button: str
    endings: tuple[str, ...]  # kinds of file, the usual one first
    write: Callable[[SetFile, Path, How], Outcome]
    folder: str | None = None  # what the name of its folder ends in; None: it is one file
    wrote: str = ""  # what is said of one that is there at once; "": it takes long and is told of
    asks_itself: bool = False  # looks by itself at what stands there, and replaces nothing else


def _mix(found: SetFile, out: Path, how: How) -> Outcome:
    report = outputs.write_whole_mix(
        found, out, under_voice=how.under_voice, loud=how.loud, replace=True, progress=how.progress
    )
    return Outcome(mix_text(report.files, louder="see Name and loudness"), report.findings)


def _parts(found: SetFile, out: Path, how: How) -> Outcome:
    report = outputs.write_parts(
        found, out, ending=how.ending, under_voice=how.under_voice, loud=how.loud, replace=True, progress=how.progress
    )
    return Outcome(f"Wrote {counted(len(report.files), 'file', 'files')} into {out}.", report.findings)


def _pack(found: SetFile, out: Path, how: How) -> Outcome:
    report = write_pack(
        found, out, ending=how.ending, under_voice=how.under_voice, loud=how.loud, progress=how.progress
    )
    return Outcome(f"Packed {out}.", report.findings)


def _sheet(found: SetFile, out: Path, how: How) -> Outcome:
    mix = next((path for path in map(out.with_suffix, ENDINGS) if path.is_file()), None)
    findings = outputs.write_sheet(found, out, audio=mix)
    if mix is None:
        return Outcome("The sheet is written. It has no sound: there is no mix beside it yet.", findings)
    other = any(finding.code == "other-mix" for finding in findings)
    return Outcome(
        f"The sheet is written. It plays {mix.name}{', which is not of the class as it is now.' if other else '.'}",
        findings,
    )


def _calendar(found: SetFile, out: Path, how: How) -> Outcome:
    outputs.write_sheet(found, out, audio=None)
    return Outcome()


def _playlist(found: SetFile, out: Path, how: How) -> Outcome:
    outputs.write_playlist(found, out)
    return Outcome()


def _picture(found: SetFile, out: Path, how: How) -> Outcome:
    outputs.write_picture(found, out)
    return Outcome()


def write_everything(found: SetFile, outs: Sequence[Path], how: How) -> Outcome:
    """The mix, then the sheet that plays it, then the playlist; `outs` names them in this order.

    What stands there already is replaced. Stopped while the mix is written, nothing is.
    """
    mix, sheet, playlist = outs
    told = _mix(found, mix, how)
    findings = outputs.write_sheet(found, sheet, audio=mix)
    outputs.write_playlist(found, playlist)
    return Outcome(
        f"{told.words.strip()} {sheet.name} plays it; {playlist.name} names the tracks.", (*told.findings, *findings)
    )


OUTPUTS = (
    Output(
        "mix", "The mix", "One file, the whole class to the second, with its fades and chapters.",
        "Write the mix", ENDINGS, _mix,
    ),
    Output(
        "parts", "One file a track",
        "A folder of numbered files, cut and made as loud as in the class; played one after the other they last as "
        "long.",
        "Write the files", ENDINGS, _parts, folder=" tracks",
    ),
    Output(
        "pack", "All of it in one folder",
        "The mix, the sheet with its clock and one file a track, all of one state: copy the folder and go.",
        "Pack it", ENDINGS, _pack, folder=" to go", asks_itself=True,
    ),
    Output(
        "sheet", "Cue sheet and class clock",
        "One page to print, or to put beside the mat. Written after the mix, it plays it too.",
        "Write the sheet", (".html",), _sheet, wrote="The sheet is written.",
    ),
    Output(
        "calendar", "Calendar entry",
        "The class with its sections, for the calendar of a phone: today, or the next time its hour comes.",
        "Write the entry", (".ics",), _calendar, wrote="The calendar entry is written.",
    ),
    Output(
        "playlist", "Playlist",
        "Names the tracks in order. It can’t trim or fade, so it runs longer than the class.",
        "Write the playlist", (".m3u8", ".xspf"), _playlist, wrote="The playlist is written.",
    ),
    Output(
        "picture", "Picture", "The class and its music at a glance.",
        "Write the picture", (".png", ".svg"), _picture, wrote="The picture is written.",
    ),
)  # fmt: skip
