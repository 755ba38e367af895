"""Songs the plan names: found by title, pinned where they begin, heard whole."""

import unicodedata
from collections.abc import Iterator, Sequence

from audio.track import Track
from pairing.alignment.cuts import music_ends, music_starts
from pairing.alignment.frame import Frame
from pairing.alignment.options import PinWish
from pairing.model import Finding, LookUp, Song, Where

PLAYED_OUT_S = 5.0  # the last seconds of a song lie under the next track's start


def find_title(title: str, tracks: Sequence[Track]) -> Track | None:
    """The track of this title, without regard to case, accents and punctuation; else the only one that contains it."""
    wanted = _plain(title)
    exact = [track for track in tracks if _plain(track.title) == wanted]
    if exact:
        return exact[0]
    holding = [track for track in tracks if wanted and wanted in _plain(f"{track.tags.artist} {track.title}")]
    return holding[0] if len(holding) == 1 else None


def pins(frame: Frame, tracks: Sequence[Track], file: str) -> Iterator[PinWish | Finding]:
    """A pin for every song that is there, a finding for every one that isn't or can't be heard whole."""
    songs = sorted(frame.songs, key=lambda song: song.at_s)
    for index, song in enumerate(songs):
        track = find_title(song.title, tracks)
        where = Where(file, song.line) if song.line else Where(name=song.title)
        if track is None:
            yield Finding(
                "must",
                "song-not-found",
                where,
                f'None of your tracks has the title "{song.title}".',
                "Look up its title among your tracks.",
                deeds=(LookUp(),),
            )
            continue
        following = songs[index + 1].at_s if index + 1 < len(songs) else None
        begin, end = music_starts(track.analysis), music_ends(track.analysis)
        over_s = song.at_s + end - begin
        border = _border(frame, song, following)
        if over_s > border + 0.5:
            yield Finding(
                "should",
                "song-cut",
                where,
                f'"{song.title}" can\'t be heard whole: it lasts {over_s - border:.0f} s longer than there is time.',
                "Let it begin earlier, or give the section more time.",
            )
        hand_over_s = border if over_s > border - 12 else over_s - PLAYED_OUT_S
        yield PinWish(track.id, song.at_s, min(hand_over_s, over_s), begin)


def _border(frame: Frame, song: Song, following: float | None) -> float:
    """The next moment at which the song must be over."""
    edges = [start for start, _ in frame.silent if start > song.at_s]
    edges += [at for at in frame.breaks() if at > song.at_s]
    edges += [following] if following is not None else []
    if frame.rest is not None and frame.rest.start_s > song.at_s:
        edges.append(frame.rest.start_s)
    return min([*edges, frame.class_s + frame.after_s])


def _plain(text: str) -> str:
    letters = unicodedata.normalize("NFKD", text.casefold())
    return "".join(letter for letter in letters if letter.isalnum())
