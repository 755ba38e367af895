"""The whole job on invented music: make tracks, scan them, pair the demo class, write what to walk in with."""

import threading
from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path

from audio.errors import OutputError
from audio.files.whole import write_text
from audio.listened import Listened, listen
from audio.progress import Progress
from audio.scan import scan
from audio.synth.tracks import Then, make_tracks
from pairing.model import PairOptions
from pairing.solve.compiling import compile_here
from pairing.workflow import music, outputs, sets

NAME = "demo-class"
Announce = Callable[[str], AbstractContextManager[Progress]]


@dataclass(frozen=True, slots=True, eq=False)
class Demo:
    """The results, in one folder, and where the tracks lie."""

    folder: Path
    tracks_folder: Path
    made: sets.SetFile
    files: tuple[Path, ...]


def demo(folder: Path, stage: Announce) -> Demo:
    """Do the whole job in `folder`; a plan that stands there already, perhaps changed, is used as it is.

    Args:
        folder: for the results and a library of their own; made if it isn't there.
        stage: opens a progress bar of a name.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputError(f"can't be made ({error.strerror}).", where=str(folder)) from error
    library = folder / "library.sqlite"
    with stage("Making the tracks and listening to them") as progress:
        tracks_folder = _make_and_listen(library, progress)
    plan = _plan_in(folder)
    with stage("Choosing and ordering") as progress:
        made = sets.pair_plan(plan, folder / f"{NAME}.json", library, PairOptions())
    with stage("Writing the mix") as progress:
        mix = folder / f"{NAME}.mp3"
        outputs.write_whole_mix(made, mix, under_voice=False, replace=True, progress=progress)
    lists = (folder / f"{NAME}.m3u8", folder / f"{NAME}.xspf")
    for playlist in lists:
        outputs.write_playlist(made, playlist)
    sheet, picture = folder / f"{NAME}.html", folder / f"{NAME}.svg"
    outputs.write_sheet(made, sheet, audio=mix)
    outputs.write_picture(made, picture)
    return Demo(folder, tracks_folder, made, (plan, made.path, mix, *lists, sheet, picture))


def try_it(folder: Path, library: Path | None, progress: Progress) -> Path:
    """Make the tracks and listen to them, and put the class that goes with them into `folder`; gives its plan.

    A plan of that name that stands there already is left as it is.
    """
    _make_and_listen(library, progress)
    return _plan_in(folder)


def _make_and_listen(library: Path | None, progress: Progress) -> Path:
    """Bring the tracks and what is known of them up to date; gives their folder.

    Each is listened to by the process that made it, and what was heard is kept, also of a making that is stopped. What
    stood there already is listened to afterwards, if need be.
    """
    threading.Thread(target=compile_here, daemon=True).start()  # choosing needn't wait for it then
    folder = folder_of_tracks()
    with Listened() as listened:
        try:
            make_tracks(folder, progress=progress, then=Then(listen, listened.take))
        finally:
            if listened.paths:
                scan(listened.paths, music.library_path(library), executor=listened)
    music.scan_music([folder], library, jobs=None, progress=progress)
    return folder


def _plan_in(folder: Path) -> Path:
    plan = folder / f"{NAME}.md"
    if not plan.exists():
        folder.mkdir(parents=True, exist_ok=True)
        write_text(plan, files("pairing.plan").joinpath(f"{NAME}.md").read_text("utf-8"))
    return plan


def folder_of_tracks() -> Path:
    """`demo_tracks_generated` of the checkout this runs in or from, else a folder of the user's data."""
    for top in (Path.cwd(), Path(__file__).parents[2]):
        if (top / "pyproject.toml").is_file() and (top / "demo_tracks_generated").is_dir():
            return top / "demo_tracks_generated"
    from platformdirs import user_data_path

    return user_data_path("arcbed") / "demo_tracks"
