"""Set files: written whole, and read with every value checked; docs/setfile.schema.json describes them.

A set file may come from a stranger: everything is checked, nothing in it is run, and the only files it can name are
the recordings of its picks, which `mixdown` looks at before anything opens them, and a plan below its own folder.
"""

import json
import os
import re
from pathlib import Path
from typing import Any

import msgspec

from audio.files.whole import write_text
from pairing.errors import SetError
from pairing.model import SetList
from pairing.sets import codec
from pairing.sets.consistent import faults
from pairing.sets.version1 import lifted

LARGEST_BYTES = 64 * 2**20
LONGEST_PLAN = 1_000_000
_ANEW = "The file is damaged or was edited by hand; choose the music again."
_PAIR = "arcbed pair PLAN --out MUSIC"


def begins_as_a_set(path: Path) -> bool:
    """Whether a file is there and begins as a set does; a plan never does."""
    if not path.is_file():
        return False
    with path.open("rb") as file:
        return file.read(1) == b"{"


def write_set(setlist: SetList, path: Path, *, instead_of: bytes | None = None) -> bytes:
    """Write a set, whole or not at all; paths below the file's folder become relative. Gives what stands there now.

    Args:
        instead_of: what has to stand there until then; None: anything.
    Raises:
        OutputError: it can't be written, or was changed by another program.
    """
    text = _laid_out(codec.to_json(setlist, path.absolute().parent))
    # File names that aren't UTF-8 hold lone surrogates; as escapes the file stays valid UTF-8.
    text = re.sub("[\ud800-\udfff]", lambda match: f"\\u{ord(match[0]):04x}", text)
    return write_text(path, text + "\n", instead_of=instead_of)


def read_set(path: Path) -> SetList:
    """Read a set; paths in it become absolute.

    Raises:
        SetError: the file isn't a set, is damaged, or was made by a newer version; says where.
    """
    values = _current(_loaded(path), path.name)
    try:
        setlist = codec.from_json(values, path.absolute().parent)
    except msgspec.ValidationError as error:
        raise SetError(
            codec.in_words(error, codec.filled_up(values)), where=path.name, remedy=_ANEW, command=_PAIR
        ) from error
    except UnicodeEncodeError as error:  # half a character where only known words may stand
        raise SetError(
            "it holds a word that isn't known here.", where=path.name, remedy=_ANEW, command=_PAIR
        ) from error
    for place, expected in faults(setlist):
        found = codec.value_at(codec.filled_up(values), place)
        raise SetError(codec.should_be(place, expected, found), where=path.name, remedy=_ANEW, command=_PAIR)
    return setlist


def plan_beside(setlist: SetList, base: Path) -> Path | None:
    """The note that the set was made from, if it still lies in the set's folder or below.

    A stranger's set could name any file of this machine as its plan, so no other is opened.
    """
    try:
        path = Path(os.path.realpath(base / setlist.plan.path.replace("\0", "")))
    except UnicodeEncodeError:  # no name that a file can have
        return None
    folder = os.path.realpath(base)
    if not path.is_relative_to(folder) or not path.is_file() or path.stat().st_size > LONGEST_PLAN:
        return None
    return base / setlist.plan.path


def _loaded(path: Path) -> Any:
    try:
        if not path.is_file():
            raise SetError("isn't a file." if path.exists() else "doesn't exist.", where=str(path))
        if path.stat().st_size > LARGEST_BYTES:
            raise SetError("is far too large to be a class's music.", where=str(path))
        return json.loads(path.read_bytes().decode("utf-8"), parse_constant=_no_constant)
    except OSError as error:
        raise SetError(f"can't be read ({error.strerror or error}).", where=str(path)) from error
    except (ValueError, RecursionError) as error:
        line = f"Line {error.lineno}: {error.msg}." if isinstance(error, json.JSONDecodeError) else None
        raise SetError("isn't a class's music: it isn't JSON.", where=str(path), remedy=line) from error


def _current(values: Any, file: str) -> codec.Json:
    """The values of a set file of any version as those of today's."""
    if not isinstance(values, dict):
        raise SetError(codec.should_be("", "named values", values), where=file, remedy=_ANEW, command=_PAIR)
    if values.get("format") != codec.FORMAT:
        said = codec.should_be("format", f'"{codec.FORMAT}"', values.get("format"))
        raise SetError(
            said, where=file, remedy="arcbed didn't write this. Choose the music of a plan first.", command=_PAIR
        )
    version = values.get("version")
    if isinstance(version, bool) or not isinstance(version, int) or version < 1:
        raise SetError(codec.should_be("version", "a whole number", version), where=file, remedy=_ANEW, command=_PAIR)
    if version > codec.VERSION:
        raise SetError(
            f"this was written by a newer arcbed (version {version}).", remedy="Get its newest version.", where=file
        )
    return lifted(values) if version == 1 else values


def _laid_out(value: object, indent: str = "") -> str:
    """JSON that a person can look through: named values one a line, a list of numbers on one."""
    deeper = indent + " "
    if isinstance(value, dict) and value:
        lines = (f"{deeper}{_dumps(key)}: {_laid_out(each, deeper)}" for key, each in value.items())
        return "{\n" + ",\n".join(lines) + f"\n{indent}}}"
    if isinstance(value, list) and any(isinstance(each, dict) for each in value):
        return "[\n" + ",\n".join(deeper + _laid_out(each, deeper) for each in value) + f"\n{indent}]"
    return _dumps(value)


def _dumps(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


def _no_constant(name: str) -> object:
    raise ValueError(f"{name} is no JSON number")
