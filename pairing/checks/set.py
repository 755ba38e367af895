"""Checks of a set: is the class covered to the second, does the rest get what a rest needs, are changes well placed.

Each check is one function that yields findings, registered with their codes. Times are class seconds. All thresholds
are editorial unless a source stands beside them.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np

from audio.files.folders import common_folder
from audio.text import clock, shown
from audio.track import Track
from pairing.alignment.cuts import plays_whole
from pairing.alignment.reach import are_alike
from pairing.checks.byhand import is_by_hand, without_swaps
from pairing.checks.register import Register
from pairing.checks.rest import REST_CODES, has_unfit, rest_findings
from pairing.model import (
    ChooseAnew,
    Curve,
    Finding,
    Kind,
    MakeRest,
    Mark,
    Pick,
    Scan,
    SectionTime,
    SetList,
    SetPlan,
    Swap,
    Where,
)
from pairing.temper import livelier_by

FILE_GONE = "file-gone"
EXACT_S = 0.05  # "to the second" leaves room for rounding only
TAIL_S = 15.0  # the track before the rest may sound so long into it
LIVELIER = 0.12  # played energy above the target, in the rest
TOO_LIVELY_S = 5.0  # for so long
MISS = 0.15  # mean energy by which the peak may fall short or be overdone
BESIDE_S = 3.0  # a change so near the edge of a hold or of talk does no harm
CLIP_S = 90.0  # under it a track is a clip
SHORT_CLIP_S = 45.0
VOICE = 0.5  # likelihood from which a second counts as sung or spoken
VOICED_SHARE = 0.05  # of the seconds that shall be free of voice
VOICED_TALK_S = 3  # seconds of talk that may seem to be sung over
LOW_CORRELATION = 0.7


@dataclass(frozen=True, slots=True)
class _Set:
    setlist: SetList
    tracks: Mapping[str, Track]  # by fingerprint
    missing_files: tuple[str, ...]
    plan_text: str | None

    def is_silent(self, start_s: float, end_s: float) -> bool:
        """Say whether no music is asked for between two moments."""
        return any(low <= start_s + EXACT_S and end_s - EXACT_S <= high for low, high in self.setlist.frame.silent_s)


_CHECKS = Register[_Set]()  # what else is found of a set comes from choosing its music


def check_set(
    setlist: SetList,
    *,
    missing_files: tuple[str, ...] = (),
    tracks: Sequence[Track] = (),
    plan_text: str | None = None,
) -> tuple[Finding, ...]:
    """Look over a set.

    Args:
        setlist: as read or as made.
        missing_files: paths of picks that are gone.
        tracks: the library, for what only it knows (voice); without it that check says nothing.
        plan_text: the plan as it is now; None: not compared.
    """
    it = _Set(setlist, {track.fingerprint: track for track in tracks}, missing_files, plan_text)
    return tuple(without_swaps(setlist, _CHECKS.findings(it)))


def renewed(stored: Iterable[Finding], checked: Iterable[Finding]) -> tuple[Finding, ...]:
    """The findings of a set that changed: what only its making could tell, then what the checks say now."""
    return tuple(dict.fromkeys((*(finding for finding in stored if finding.code not in _CHECKS.codes), *checked)))


# ---- files and plan ----------------------------------------------------------------------------------------------


@_CHECKS.finds(FILE_GONE)
def _files(it: _Set) -> Iterator[Finding]:
    yield from files_gone(it.setlist, it.missing_files)


def files_gone(setlist: SetList, paths: Sequence[str]) -> Iterator[Finding]:
    """Name the picks whose files are gone, by their paths; all of them in one sentence."""
    if len(paths) == len(setlist.picks) > 1:
        folder = common_folder(map(Path, paths))
        yield Finding(
            "must",
            FILE_GONE,
            Where(name="library"),
            f"None of this class's music can be found now{f' in {shown(folder)}' if folder else ''}. "
            "Is its disk plugged in?",
            "If the music was moved, scan the folder it is in now.",
            deeds=(Scan(),),
        )
        return
    for pick in setlist.picks:
        if pick.path in paths:
            yield Finding(
                "must",
                FILE_GONE,
                _track(pick),
                f'"{pick.path}" is gone.',
                "Scan its folder again, or choose another track.",
                deeds=(Scan(), Swap(pick.n)),
            )


@_CHECKS.finds("plan-changed")
def _plan_changed(it: _Set) -> Iterator[Finding]:
    if it.plan_text is None or SetPlan.digest(it.plan_text) == it.setlist.plan.sha256:
        return
    yield Finding(
        "should",
        "plan-changed",
        Where(it.setlist.plan.path or it.setlist.title),
        "You changed the plan after its music was chosen.",
        "Choose the music again to follow the plan as it is now; what fits stays.",
        deeds=(ChooseAnew(),),
    )


# ---- cover -------------------------------------------------------------------------------------------------------


@_CHECKS.finds("gap", "runs-over")
def _cover(it: _Set) -> Iterator[Finding]:
    """From the first second to the last there is music, except where the plan asks for none."""
    at_s, class_s = 0.0, it.setlist.class_s
    for pick in it.setlist.picks:
        if pick.class_start_s > at_s + EXACT_S and not it.is_silent(at_s, pick.class_start_s):
            yield _gap(Where(name=f"before track {pick.n}"), at_s, pick.class_start_s, max(pick.n - 1, 1))
        at_s = max(at_s, pick.class_end_s)
    if at_s < class_s - EXACT_S and not it.is_silent(at_s, class_s):
        yield _gap(Where(name="the end"), at_s, class_s, max(len(it.setlist.picks), 1))
    allowed_s = class_s + it.setlist.frame.after_s
    if at_s > allowed_s + EXACT_S:
        yield Finding(
            "must",
            "runs-over",
            Where(name="the end"),
            f"The music ends {clock(at_s - allowed_s)} after the class.",
            "Choose the music of the rest again, or all of it.",
            deeds=(MakeRest(), ChooseAnew()),
        )


def _gap(where: Where, start_s: float, end_s: float, before: int) -> Finding:
    return Finding(
        "must",
        "gap",
        where,
        f"No music from {clock(start_s)} to {clock(end_s)}, though the plan asks for some.",
        "Choose a longer track before it, or all the music again.",
        deeds=(Swap(before), ChooseAnew()),
    )


@_CHECKS.finds("overlap")
def _joints(it: _Set) -> Iterator[Finding]:
    """Two tracks sound together only while they are faded."""
    for one, two in pairwise(it.setlist.picks):
        overlap_s = one.class_end_s - two.class_start_s
        faded_s = max(one.fade_out_s, two.fade_in_s)
        if overlap_s > faded_s + EXACT_S:
            yield Finding(
                "must",
                "overlap",
                Where(tracks=(one.n, two.n)),
                f"They play together for {overlap_s:.1f} s, but fade over {faded_s:.1f} s.",
                "Choose another track for one of them.",
                deeds=(Swap(two.n),),
            )


@_CHECKS.finds("repeated-track")
def _repeats(it: _Set) -> Iterator[Finding]:
    if it.setlist.options.allow_repeats:
        return
    first: dict[str, Pick] = {}
    for pick in it.setlist.picks:
        before = first.setdefault(pick.fingerprint or str(pick.track_id), pick)
        if before is not pick:
            yield Finding(
                "note" if before.pinned or pick.pinned else "should",
                "repeated-track",
                _track(pick),
                f'"{pick.title}" plays twice; it is track {before.n} too.',
                "Choose another track.",
                deeds=(Swap(pick.n),),
            )


# ---- the rest ----------------------------------------------------------------------------------------------------


@_CHECKS.finds("rest-start")
def _rest_start(it: _Set) -> Iterator[Finding]:
    rest = it.setlist.rest
    if rest is None or it.is_silent(rest.start_s, rest.start_s + EXACT_S):
        return
    off_s = min((abs(pick.class_start_s - rest.start_s) for pick in it.setlist.picks), default=0.0)
    if off_s > EXACT_S:
        yield Finding(
            "must",
            "rest-start",
            Where(name="the rest"),
            f"No track begins with the rest ({clock(rest.start_s)}).",
            "Choose the music of the rest again.",
            deeds=(MakeRest(),),
        )


@_CHECKS.finds("rest-too-lively")
def _rest_energy(it: _Set) -> Iterator[Finding]:
    rest = it.setlist.rest
    if rest is None or has_unfit(it.setlist, it.tracks):  # then the calmest that there was is named, and why
        return
    span = slice(int(rest.start_s + TAIL_S), int(rest.end_s))
    above = _difference(it.setlist, span) > LIVELIER
    if above.sum() <= TOO_LIVELY_S:
        return
    at_s = span.start + int(np.argmax(above))
    yield Finding(
        "should",
        "rest-too-lively",
        _where(it, at_s),
        f"In the rest the music is livelier than asked for during {int(above.sum())} s, first at {clock(at_s)}.",
        "Choose calmer tracks for it.",
        deeds=(MakeRest(),),
    )


@_CHECKS.finds("voice")
def _voice(it: _Set) -> Iterator[Finding]:
    """No voice sounds where the plan wants none."""
    for pick in it.setlist.picks:
        track = it.tracks.get(pick.fingerprint)
        if track is None or track.marks.get("voice") == "no":
            continue
        sung = _sung(it, pick, track.analysis.curves.voice)
        if sung.size and sung.mean() > VOICED_SHARE:
            yield Finding(
                "should",
                "voice",
                _track(pick),
                f"There is probably a voice in {sung.mean():.0%} of the time for which the plan asks for none.",
                _if_voiced(it, pick),
                deeds=(Mark(track.id, "voice=no"), Swap(pick.n)),
            )


@_CHECKS.finds("voice-under-talk")
def _voice_under_talk(it: _Set) -> Iterator[Finding]:
    """Nobody sings while the teacher speaks, where the plan asks for that."""
    for pick in it.setlist.picks:
        track = it.tracks.get(pick.fingerprint)
        if track is None or track.marks.get("voice") == "no":
            continue
        sung = _heard_in(it.setlist.frame.spoken_s, pick, track.analysis.curves.voice) >= VOICE
        if sung.sum() > VOICED_TALK_S:
            yield Finding(
                "should",
                "voice-under-talk",
                _track(pick),
                f"There is probably a voice in {int(sung.sum())} of the {len(sung)} s in which you speak over it.",
                _if_voiced(it, pick),
                deeds=(Mark(track.id, "voice=no"), Swap(pick.n)),
            )


def _if_voiced(it: _Set, pick: Pick) -> str:
    own = is_by_hand(it.setlist, pick.n)
    return f"If it has none, say so{'' if own else '; if it has one, choose another track'}."


def _sung(it: _Set, pick: Pick, voice: Curve) -> np.ndarray:
    """Which of the pick's seconds without a wish for voice have one; its fades don't count."""
    none = [(rule.start_s, rule.end_s) for rule in it.setlist.frame.rules if rule.no_voice]
    return np.asarray(_heard_in(none, pick, voice) >= VOICE)


def _heard_in(stretches: Sequence[tuple[float, float]], pick: Pick, voice: Curve) -> np.ndarray:
    """The values of a pick's curve for the class seconds of some stretches that it plays in, its fades left out."""
    first, last = pick.class_start_s + pick.fade_in_s, pick.class_end_s - pick.fade_out_s
    seconds = np.arange(np.ceil(first), np.floor(last))
    wanted = np.zeros(len(seconds), bool)
    for start_s, end_s in stretches:
        wanted |= (seconds >= start_s) & (seconds < end_s)
    at = (seconds[wanted] - pick.class_start_s + pick.track_start_s).astype(int)
    return np.asarray(voice[at[at < len(voice)]])


# ---- changes and energy ------------------------------------------------------------------------------------------


@_CHECKS.finds("change-in-stillness")
def _changes(it: _Set) -> Iterator[Finding]:
    """No track changes while a pose is held or the teacher speaks; a rest longer than a track can't help it."""
    for pick in it.setlist.picks[1:]:
        at_s = pick.class_start_s
        section = _section(it.setlist, at_s)
        if section is None or section.kind == Kind.REST:
            continue
        for start_s, end_s in (*it.setlist.frame.held_s, *it.setlist.frame.talk_s):
            if start_s + BESIDE_S < at_s < end_s - BESIDE_S:
                yield Finding(
                    "note",
                    "change-in-stillness",
                    _track(pick),
                    f'The music changes at {clock(at_s)}, while a pose is held or you speak in "{section.name}" '
                    f"({clock(start_s)} to {clock(end_s)}).",
                    "Another track before it may end at a better moment.",
                    deeds=(Swap(max(1, pick.n - 1)),),
                )


@_CHECKS.finds("short-clip")
def _clips(it: _Set) -> Iterator[Finding]:
    for pick in it.setlist.picks:
        long_s = pick.class_end_s - pick.class_start_s
        section = _section(it.setlist, (pick.class_start_s + pick.class_end_s) / 2)
        short_section = section is not None and section.end_s - section.start_s < CLIP_S
        if long_s < CLIP_S and not pick.pinned and not short_section:
            track = it.tracks.get(pick.fingerprint)
            whole = track is not None and plays_whole(track.analysis, pick.track_start_s, pick.track_end_s)
            yield Finding(
                "should" if long_s < SHORT_CLIP_S else "note",
                "short-clip",
                _track(pick),
                f"It plays for only {clock(long_s)}{', all of it' if whole else ''}.",
                "A longer track could play in its place."
                if whole
                else "With more tracks as lively as this one, each could play longer.",
            )


@_CHECKS.finds("peak-missed")
def _peak(it: _Set) -> Iterator[Finding]:
    """The music meets the energy of the peak."""
    for section in it.setlist.sections:
        if section.kind != Kind.PEAK:
            continue
        off = _difference(it.setlist, slice(int(section.start_s), max(int(section.start_s) + 1, int(section.end_s))))
        off = off[~np.isnan(off)]
        if off.size and abs(off.mean()) > MISS:
            how = livelier_by(float(off.mean()))
            yield Finding(
                "should",
                "peak-missed",
                Where(section=section.name),
                f"The music at the peak is {how} than the class asks.",
                "See what comes closer; you may need more lively music."
                if off.mean() < 0
                else "See what comes closer.",
                deeds=(Swap(_at(it.setlist, (section.start_s + section.end_s) / 2)),),
            )


@_CHECKS.finds("arc-hardly-followed")
def _fit(it: _Set) -> Iterator[Finding]:
    fit = it.setlist.fit
    said = are_alike(it.setlist.arc, it.setlist.target_energy)  # then the reason is told already
    if fit.correlation < LOW_CORRELATION and not said:
        yield Finding(
            "note",
            "arc-hardly-followed",
            Where(name=it.setlist.title),
            "The music follows the class only loosely.",
            "More music as calm or as lively as what is missing helps most.",
        )


@_CHECKS.finds(*REST_CODES)
def _rest_music(it: _Set) -> Iterator[Finding]:
    return rest_findings(it.setlist, it.tracks)


def _difference(setlist: SetList, span: slice) -> Curve:
    return setlist.played_energy[span] - setlist.target_energy[span]


def _section(setlist: SetList, at_s: float) -> SectionTime | None:
    return next((section for section in setlist.sections if section.start_s <= at_s < section.end_s), None)


def _where(it: _Set, at_s: float) -> Where:
    sounding = [pick for pick in it.setlist.picks if pick.class_start_s <= at_s < pick.class_end_s]
    return _track(sounding[-1]) if sounding else Where(name="the rest")


def _at(setlist: SetList, at_s: float) -> int:
    """The number of the track that plays then."""
    return max((pick.n for pick in setlist.picks if pick.class_start_s <= at_s), default=1)


def _track(pick: Pick) -> Where:
    return Where(tracks=(pick.n,))
