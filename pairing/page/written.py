"""What lies beside a class to walk in with, and whether it is of the class as it is now."""

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from audio.files.encode import ENDINGS
from pairing.model import SetList
from pairing.sets.mixmark import Age, age_of, age_of_text

TEXTS = {".html": "sheet", ".m3u8": "playlist", ".xspf": "playlist"}


@dataclass(frozen=True, slots=True)
class ClassFile:
    """A file of the class's name: what it is, and of which version."""

    path: Path
    name: str  # "mix", "sheet", "playlist"
    age: Age


def written_beside(set_path: Path, setlist: SetList) -> tuple[ClassFile, ...]:
    """The mix, the sheet and the playlists that bear the name of a class."""
    found = [(set_path.with_suffix(ending), "mix") for ending in ENDINGS]
    found += [(set_path.with_suffix(ending), name) for ending, name in TEXTS.items()]
    return tuple(
        ClassFile(path, name, _age(path, path.stat().st_mtime_ns, name == "mix", setlist))
        for path, name in found
        if path.is_file()
    )


@lru_cache(maxsize=32)
def _age(path: Path, modified_ns: int, sounds: bool, setlist: SetList) -> Age:
    """Kept as long as neither the file nor the class changes."""
    return age_of(path, setlist) if sounds else age_of_text(path, setlist)
