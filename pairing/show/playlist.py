"""A set as a playlist of whole tracks: M3U in UTF-8, and XSPF version 1 (https://www.xspf.org/spec).

A playlist can't trim or fade; what the class plays of each track is said in comments and annotations.
"""

import os
import re
from collections.abc import Mapping
from pathlib import Path
from urllib.parse import quote_from_bytes
from xml.etree import ElementTree

from audio.text import clock, one_line
from pairing.model import Pick, SetList
from pairing.show.text import title_of

XSPF_NAMESPACE = "http://xspf.org/ns/0/"  # XSPF version 1, section 4.1.1.1.1
NOTICE = "Whole tracks, one after the other: a playlist can't trim, fade or level. The mix does."


def m3u8(setlist: SetList, base: Path, out: Path, *, lengths_s: Mapping[int, float] | None = None) -> str:
    """Write the set as extended M3U, to be stored as UTF-8 without a byte order mark.

    Args:
        base: the folder of the set file, from which relative paths count.
        out: where the playlist will stand; entries below its folder are relative.
        lengths_s: whole length of each track by its id; a track not in it is written as -1, unknown.
    """
    lines = ["#EXTM3U", "#EXTENC: UTF-8", f"#PLAYLIST:{one_line(setlist.title)}", f"# {NOTICE}"]
    for pick in setlist.picks:
        seconds = (lengths_s or {}).get(pick.track_id, -1)
        lines += [f"#EXTINF:{round(seconds)},{_display(pick)}", f"# {_played(pick)}", _entry(pick, base, out)]
    return "\n".join(lines) + "\n"


def xspf(setlist: SetList, base: Path, out: Path, *, lengths_s: Mapping[int, float] | None = None) -> str:
    """Write the set as XSPF version 1; arguments as for `m3u8`, a length not known is left out."""
    ElementTree.register_namespace("", XSPF_NAMESPACE)
    root = ElementTree.Element(_name("playlist"), version="1")
    _add(root, "title", one_line(setlist.title))
    _add(root, "annotation", NOTICE)
    tracks = ElementTree.SubElement(root, _name("trackList"))
    for pick in setlist.picks:
        track = ElementTree.SubElement(tracks, _name("track"))
        _add(track, "location", _uri(pick, base, out))
        _add(track, "title", title_of(pick))
        _add(track, "creator", one_line(pick.artist))
        _add(track, "annotation", _played(pick))
        if pick.track_id in (lengths_s or {}):
            _add(track, "duration", str(round(1000 * (lengths_s or {})[pick.track_id])))
    ElementTree.indent(root)
    body = ElementTree.tostring(root, encoding="unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{body}\n'


def _display(pick: Pick) -> str:
    artist = one_line(pick.artist)
    return f"{artist} - {title_of(pick)}" if artist else title_of(pick)


def _played(pick: Pick) -> str:
    return (
        f"In the class from {clock(pick.class_start_s)} to {clock(pick.class_end_s)}, "
        f"the track's {clock(pick.track_start_s)} to {clock(pick.track_end_s)}"
    )


def _below(pick: Pick, base: Path, out: Path) -> tuple[Path, bool]:
    """The file as the playlist names it, and whether that is relative to the playlist."""
    file = Path(os.path.abspath(base / pick.path))
    folder = Path(os.path.abspath(out.parent))
    return (file.relative_to(folder), True) if file.is_relative_to(folder) else (file, False)


def _entry(pick: Pick, base: Path, out: Path) -> str:
    path, relative = _below(pick, base, out)
    text = path.as_posix() if relative else str(path)
    if not _is_one_line(text):
        return _uri(pick, base, out)  # only a percent-encoded address can hold a line break or a broken name
    # Else "#song" would read as a comment and "http:song" as an address (RFC 3986, section 4.2).
    return f"./{text}" if relative and (text.startswith(("#", " ")) or ":" in text.partition("/")[0]) else text


def _is_one_line(text: str) -> bool:
    return not re.search(r"[\x00-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff]", text) and not text.endswith(" ")


def _uri(pick: Pick, base: Path, out: Path) -> str:
    path, relative = _below(pick, base, out)
    return quote_from_bytes(os.fsencode(path.as_posix())) if relative else path.as_uri()


def _name(tag: str) -> str:
    return f"{{{XSPF_NAMESPACE}}}{tag}"


def _add(parent: ElementTree.Element, tag: str, text: str) -> None:
    if text:
        ElementTree.SubElement(parent, _name(tag)).text = text
