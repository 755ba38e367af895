"""Makes the demo's invented music as tagged files, on all cores; what stands complete already is kept.

A list beside the files says from which recipe each was made and how long it is in bytes, so that only missing, cut and
outdated ones are made again. The same recipe gives the same samples on the same machine.
"""

import functools
import hashlib
import json
import multiprocessing
import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from audio.errors import OutputError
from audio.files.whole import write_text
from audio.inherited import settings
from audio.progress import Progress
from audio.synth.recipes import RECIPES, Recipe
from audio.track import Tags

_LIST = "made.json"
_BLOCK = 1 << 16  # frames handed to the encoder at once


@dataclass(frozen=True, slots=True)
class Then:
    """What is done with each track as soon as it stands, while others are still made."""

    task: Callable[[Path], Any]  # called in the process that made the track
    take: Callable[[Path, Any], None]  # called in this one, with what the task gave


def make_tracks(
    folder: Path,
    *,
    jobs: int | None = None,
    progress: Progress | None = None,
    recipes: Sequence[Recipe] = RECIPES,
    seconds: float | None = None,
    then: Then | None = None,
) -> tuple[Path, ...]:
    """Make the tracks that are missing in `folder`, which is created if need be.

    Args:
        folder: where the files go; nothing is touched there but what was made by this function.
        jobs: processes at once; all cores if None, none of its own if 1.
        progress: called after each track that was made, with how many are done, how many had to be made, and its title.
        recipes: which tracks.
        seconds: make only the start of each, for a quick look.
        then: what is done with each track that was made.
    Returns:
        The paths of all tracks, in the order of the recipes.
    Raises:
        OutputError: the folder can't be made or written to.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputError(f"can't be made ({error.strerror}).", where=str(folder)) from error
    made = _without_outdated(folder, _read_list(folder))
    missing = [r for r in recipes if not _stands(folder, made.get(r.filename), r, seconds)]
    task = then.task if then else None
    for done, (recipe, given) in enumerate(_each_made(folder, missing, jobs, seconds, task), 1):
        made[recipe.filename] = _entry(folder, recipe, seconds)
        if then:
            then.take(folder / recipe.filename, given)
        write_text(folder / _LIST, json.dumps(made, indent=1, sort_keys=True) + "\n")
        if progress:
            progress(done, len(missing), recipe.title)
    return tuple(folder / recipe.filename for recipe in recipes)


def make_track(folder: Path, recipe: Recipe, seconds: float | None = None) -> None:
    """Make one track as a tagged file in `folder`; it appears there whole or not at all.

    Raises:
        OutputError: the file can't be written.
    """
    from audio.files.encode import Encoder
    from audio.files.tags import write_tags
    from audio.synth.desk import render
    from audio.synth.instruments import RATE

    path = folder / recipe.filename
    samples = render(recipe, seconds)
    with Encoder(path, rate=RATE) as encoder:
        for start in range(0, len(samples), _BLOCK):
            encoder.write(samples[start : start + _BLOCK])
    tags = Tags(recipe.title, recipe.artist, recipe.album)
    write_tags(path, tags, tempo_bpm=recipe.tempo_bpm, key=recipe.key)


def _made_and_done(folder: Path, recipe: Recipe, seconds: float | None, task: Callable[[Path], Any] | None) -> Any:
    make_track(folder, recipe, seconds)
    return task(folder / recipe.filename) if task else None


def _each_made(
    folder: Path,
    missing: Sequence[Recipe],
    jobs: int | None,
    seconds: float | None,
    task: Callable[[Path], Any] | None,
) -> Iterator[tuple[Recipe, Any]]:
    """Make the tracks and give each recipe as its file stands, and what the task gave for it.

    The longest come first, so that no core waits at the end.
    """
    queue = sorted(missing, key=lambda recipe: -recipe.seconds)
    workers = min(jobs or os.cpu_count() or 1, len(queue))
    if workers <= 1:
        for recipe in queue:
            yield recipe, _made_and_done(folder, recipe, seconds, task)
        return
    # Started afresh rather than forked: the same on every system, and safe beside the threads of a caller.
    with settings(), ProcessPoolExecutor(workers, multiprocessing.get_context("spawn")) as pool:
        waiting = {pool.submit(_made_and_done, folder, recipe, seconds, task): recipe for recipe in queue}
        try:
            for future in as_completed(waiting):
                yield waiting[future], future.result()
        except BaseException:
            pool.shutdown(wait=False, cancel_futures=True)
            raise


def _read_list(folder: Path) -> dict[str, dict[str, object]]:
    try:
        made = json.loads((folder / _LIST).read_text("utf-8"))
    except (OSError, ValueError):
        return {}
    entries = made.items() if isinstance(made, dict) else ()
    return {name: entry for name, entry in entries if isinstance(entry, dict)}


def _without_outdated(folder: Path, made: dict[str, dict[str, object]]) -> dict[str, dict[str, object]]:
    """Remove files that were made here, are unchanged since, and that no recipe makes any more."""
    current = {recipe.filename for recipe in RECIPES}
    for name in made.keys() - current:
        path = folder / Path(name).name
        if path.is_file() and path.stat().st_size == made[name].get("bytes"):
            path.unlink()
    return {name: entry for name, entry in made.items() if name in current}


def _stands(folder: Path, entry: dict[str, object] | None, recipe: Recipe, seconds: float | None) -> bool:
    path = folder / recipe.filename
    return path.is_file() and entry == _entry(folder, recipe, seconds)


def _entry(folder: Path, recipe: Recipe, seconds: float | None) -> dict[str, object]:
    recipe_hash = hashlib.sha256(repr((_sound(), seconds, recipe)).encode()).hexdigest()
    return {"recipe": recipe_hash, "bytes": (folder / recipe.filename).stat().st_size}


@functools.cache
def _sound() -> str:
    """Version of the sound: this package's own text, so that no one has to remember to raise a number."""
    sources = sorted(Path(__file__).parent.glob("*.py"))
    return hashlib.sha256(b"".join(source.read_bytes() for source in sources)).hexdigest()
