"""The mark by which a mix knows its set: a short name of all that is heard, kept among the tags of the file.

A sheet or a playlist carries it as a comment of its format.
"""

import hashlib
import json
import re
from pathlib import Path
from typing import Literal

from audio.files.tags import read_comment
from pairing.model import SetList
from pairing.sets import mixdown

_WORDS = re.compile(r"arcbed: this class as it was chosen, mark ([0-9a-f]{16})")

Age = Literal["this", "other", "unknown"]


def mark_of(setlist: SetList) -> str:
    """Name what is heard of a set: the same for two sets exactly when the same seconds of the same recordings sound at
    the same times and levels, with the same bells. Whose title or reasons changed keeps its mark.
    """
    heard = [
        [
            [
                pick.fingerprint,
                pick.class_start_s,
                pick.class_end_s,
                pick.track_start_s,
                pick.fade_in_s,
                pick.fade_out_s,
                pick.gain_db,
            ]
            for pick in setlist.picks
        ],
        mixdown.bells(setlist),
        [mixdown.origin_s(setlist), mixdown.duration_s(setlist)],
    ]
    return hashlib.sha256(json.dumps(heard).encode()).hexdigest()[:16]


def comment_of(setlist: SetList) -> str:
    """What a mix says of its set among its tags."""
    return f"arcbed: this class as it was chosen, mark {mark_of(setlist)}"


def age_of(mix: Path, setlist: SetList) -> Age:
    """Whether a file is the mix of the set as it is now, of another state of it or of another set, or doesn't say."""
    return _age(read_comment(mix), setlist)


def age_of_text(path: Path, setlist: SetList) -> Age:
    """The same of a sheet or a playlist, which carries the mark as a comment."""
    try:
        return _age(path.read_text("utf-8", "replace"), setlist)
    except OSError:
        return "unknown"


def _age(text: str, setlist: SetList) -> Age:
    found = _WORDS.search(text)
    if found is None:
        return "unknown"
    return "this" if found[1] == mark_of(setlist) else "other"
