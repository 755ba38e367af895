"""Commands about sets: pair, swap, rest, used."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pairing.commands.app import AsJson, LibraryFile, Misuse, Numbers, app, end, end_with_gaps, say, show, show_json
from pairing.commands.which import which, which_pick

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pairing.alignment.sedative import RestCandidate
    from pairing.sets.rest import Bell
    from pairing.sets.swap import Wish
    from pairing.workflow.sets import SetFile

SetPath = Annotated[Path, typer.Argument(metavar="MUSIC", help="The class's music: the file that pair wrote.")]
Out = Annotated[
    Path | None, typer.Option("--out", metavar="FILE", help="Write to another file, and leave this one as it is.")
]


@app.command()
def pair(
    plan: Annotated[Path, typer.Argument(metavar="PLAN", help="The class plan.")],
    out: Annotated[Path, typer.Option("--out", metavar="MUSIC", help="The file to write the class's music to, .json.")],
    keep: Annotated[
        Path | None, typer.Option("--keep", metavar="MUSIC", help="Start from an earlier file; what still fits stays.")
    ] = None,
    other_than: Annotated[
        list[Path] | None,
        typer.Option("--other-than", metavar="MUSIC", help="Play other music than this class does; can be repeated."),
    ] = None,
    fresh: Annotated[bool, typer.Option("--fresh", help="Avoid what you played lately (see: arcbed used).")] = False,
    prefer: Annotated[
        str,
        typer.Option(
            metavar="WISH",
            help="What matters most: balanced, close fit, whole songs, few changes, smooth changes or even sides.",
        ),
    ] = "balanced",
    without: Annotated[
        list[str] | None,
        typer.Option(
            "--without",
            metavar="TRACK",
            help="A track to leave out: its number, or words of its title; can be repeated.",
        ),
    ] = None,
    allow_repeats: Annotated[
        bool, typer.Option("--allow-repeats", help="Let a track play twice if there is too little music.")
    ] = False,
    numbers: Numbers = False,
    library: LibraryFile = None,
    as_json: AsJson = False,
) -> None:
    """Choose the music of a class, put it in order and cut it to fit.

    Example: arcbed pair saturday.md --out saturday.json
    """
    from pairing.alignment.options import preference
    from pairing.model import PairOptions
    from pairing.show.screen import waiting
    from pairing.workflow import music, sets

    known = music.all_tracks(library) if without else []
    left_out = tuple(which(words, known).id for words in without or ())
    options = PairOptions(preference(prefer), fresh, allow_repeats, left_out)
    with waiting("Choosing the music"):
        found = sets.pair_plan(plan, out, library, options, keep=keep, other_than=other_than or ())
    _show_set(found, as_json, numbers=numbers)
    end_with_gaps(found.setlist)


@app.command()
def swap(
    set_file: SetPath,
    track: Annotated[
        str | None, typer.Argument(metavar="N", help="The track: its number in the class, or words of its title.")
    ] = None,
    best: Annotated[bool, typer.Option("--best", help="Take the best one.")] = False,
    with_track: Annotated[
        str | None,
        typer.Option("--with", metavar="TRACK", help="Take this track: its number, or words of its title."),
    ] = None,
    quieter: Annotated[bool, typer.Option("--quieter", help="Only music calmer than now.")] = False,
    livelier: Annotated[bool, typer.Option("--livelier", help="Only music livelier than now.")] = False,
    longer: Annotated[bool, typer.Option("--longer", help="Only music that plays longer than now.")] = False,
    pin: Annotated[bool, typer.Option("--pin", help="Keep this track here whatever changes later.")] = False,
    unpin: Annotated[bool, typer.Option("--unpin", help="Let this track be changed again.")] = False,
    undo: Annotated[bool, typer.Option("--undo", help="Undo the last change.")] = False,
    numbers: Numbers = False,
    out: Out = None,
    library: LibraryFile = None,
    as_json: AsJson = False,
) -> None:
    """Show what else could play in a track's place, or change it. Everything else stays.

    Example: arcbed swap saturday.json 4 --quieter
    """
    from pairing.show.terminal import nothing_else
    from pairing.workflow import sets

    _at_most_one({"--best": best, "--with": with_track is not None, "--pin": pin, "--unpin": unpin, "--undo": undo})
    _at_most_one({"--quieter": quieter, "--livelier": livelier, "--longer": longer})
    found = sets.open_set(set_file, library)
    target = out or set_file
    if undo:
        undone = found.setlist.previous[-1].what if found.setlist.previous else None
        return _show_change(found, sets.undo(found, target), as_json, undone=undone)
    if track is None:
        raise Misuse("say which track.", remedy="Its number in the class, or words of its title.")
    n = which_pick(track, found.setlist)
    if pin or unpin:
        return _show_change(found, sets.pin(found, n, pin, target), as_json)
    wish: Wish | None = "quieter" if quieter else "livelier" if livelier else "longer" if longer else None
    if with_track is not None:
        taken = which(with_track, found.tracks).id
        return _show_change(found, sets.swap_with(found, n, taken, target, wish), as_json)
    if best:
        changed = sets.swap_best(found, n, wish, target)
        if changed is not None:
            return _show_change(found, changed, as_json)
        say(f"{nothing_else(wish)} All stays as it was.")
        return None
    return _show_alternatives(found, n, wish, as_json, numbers=numbers)


@app.command()
def rest(
    set_file: SetPath,
    minutes: Annotated[
        float | None, typer.Option("--minutes", metavar="MINUTES", min=0.5, help="How long the rest is.")
    ] = None,
    bell: Annotated[
        list[str] | None,
        typer.Option("--bell", metavar="WHEN", help="When a soft bell rings: start, end, both or none."),
    ] = None,
    silence: Annotated[
        float | None,
        typer.Option("--silence", metavar="MINUTES", min=0, help="How many minutes at the end have no music."),
    ] = None,
    candidates: Annotated[
        bool, typer.Option("--candidates", help="Only show how well each track suits a rest.")
    ] = False,
    out: Out = None,
    library: LibraryFile = None,
    as_json: AsJson = False,
) -> None:
    """Choose new music for the closing rest. Everything before it stays.

    Example: arcbed rest saturday.json --silence 2 --bell end
    """
    from pairing.workflow import sets

    found = sets.open_set(set_file, library)
    if candidates:
        return _show_candidates(sets.rest_candidates(found), as_json)
    changed = sets.rebuild_rest(found, out or set_file, minutes=minutes, bells=_bells(bell), silence_minutes=silence)
    return _show_change(found, changed, as_json)


@app.command()
def used(set_file: SetPath, library: LibraryFile = None) -> None:
    """Note that you played this music in a class, so that pair --fresh avoids it for some weeks.

    Example: arcbed used saturday.json
    """
    from pairing.workflow import sets

    setlist = sets.note_used(set_file, library)
    say(f"Noted: you played the {len(setlist.picks)} tracks of {set_file.name}. Next time: arcbed pair PLAN --fresh")


def _show_set(found: "SetFile", as_json: bool, *, numbers: bool) -> None:
    from pairing.sets.codec import to_json
    from pairing.show.terminal import set_text

    if as_json:
        show_json(to_json(found.setlist, found.path.absolute().parent))
    else:
        show(set_text(found.setlist, found.path, numbers=numbers))
    end(found.setlist.findings)


def _show_change(before: "SetFile", after: "SetFile", as_json: bool, *, undone: str | None = None) -> None:
    from pairing.show.changetext import change_text

    if as_json:
        _show_set(after, as_json, numbers=False)
    else:
        show(change_text(before.setlist, after.setlist, after.path, undone=undone))
    if after.path != before.path:
        say(f"Wrote {after.path.name}; {before.path.name} is as it was.")
    end(after.setlist.findings)


def _show_alternatives(found: "SetFile", n: int, wish: "Wish | None", as_json: bool, *, numbers: bool) -> None:
    from pairing.show.asjson import alternatives_json
    from pairing.show.terminal import alternatives_table
    from pairing.workflow import sets

    ranked = sets.alternatives(found, n, wish, 12)
    if as_json:
        show_json(alternatives_json(ranked))
    else:
        show(alternatives_table(found.setlist, n, ranked, found.path, wish=wish, numbers=numbers))


def _show_candidates(ranked: "Sequence[RestCandidate]", as_json: bool) -> None:
    from pairing.show.asjson import candidates_json
    from pairing.show.terminal import rest_table

    if as_json:
        show_json(candidates_json(ranked))
    else:
        show(rest_table(ranked))


def _bells(words: list[str] | None) -> "list[Bell] | None":
    if words is None:
        return None
    known: dict[str, list[Bell]] = {"start": ["start"], "end": ["end"], "both": ["start", "end"], "none": []}
    for word in words:
        if word not in known:
            raise Misuse(f'a bell can\'t ring at "{word}".', remedy="It can at the start, the end, both or none.")
    return list(dict.fromkeys(bell for word in words for bell in known[word]))


def _at_most_one(given: dict[str, bool]) -> None:
    named = [name for name, is_given in given.items() if is_given]
    if len(named) > 1:
        raise Misuse(f"{' and '.join(named)} don't go together.", remedy="Ask for one at a time.")
