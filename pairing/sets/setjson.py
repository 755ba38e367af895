"""A set as the plain values of its file; docs/setfile.schema.json describes them."""

import math
from collections.abc import Mapping, Sequence
from pathlib import Path

from pairing.model import Curve, Finding, Fit, Pick, Rest, SectionTime, SetList

FORMAT = "arcbed-set"
VERSION = 1


def to_json(setlist: SetList, base: Path) -> dict[str, object]:
    """A set as plain values.

    Args:
        setlist: the set.
        base: folder of the set file; files below it are named relative to it.
    """
    return {
        "format": FORMAT,
        "version": VERSION,
        "title": setlist.title,
        "plan": {
            "path": _relative(setlist.plan_path, base),
            "sha256": setlist.plan_sha256,
            "text": setlist.plan_text,
        },
        "options": setlist.options,
        "class_s": float(setlist.class_s),
        "slot_s": None if setlist.slot_s is None else float(setlist.slot_s),
        "sections": [_section_json(section) for section in setlist.sections],
        "arc": _curve_json(setlist.arc),
        "target_energy": _curve_json(setlist.target_energy),
        "played_energy": _curve_json(setlist.played_energy),
        "fit": fit_json(setlist.fit),
        "rest": rest_json(setlist.rest),
        "picks": [pick_json(pick, base) for pick in setlist.picks],
        "findings": [finding_json(finding) for finding in setlist.findings],
        "previous": [_state_json(state, base) for state in setlist.previous],
    }


def times_json(setlist: SetList) -> dict[str, object]:
    """The class's length and all that lies in it, as plain values."""
    frame = setlist.options["frame"]
    return times_values(setlist.class_s, setlist.sections, setlist.arc, setlist.target_energy, frame)


def times_values(
    class_s: float, sections: Sequence[SectionTime], arc: Curve, target: Curve, frame: object
) -> dict[str, object]:
    """The same from its parts."""
    return {
        "class_s": float(class_s),
        "sections": [_section_json(section) for section in sections],
        "arc": _curve_json(arc),
        "target_energy": _curve_json(target),
        "frame": frame,
    }


def pick_json(pick: Pick, base: Path | None = None) -> dict[str, object]:
    """A pick as plain values; its path relative to `base` where it lies below."""
    return {
        "n": pick.n,
        "track_id": pick.track_id,
        "fingerprint": pick.fingerprint,
        "path": _relative(pick.path, base) if base else pick.path,
        "title": pick.title,
        "artist": pick.artist,
        "class_start_s": float(pick.class_start_s),
        "class_end_s": float(pick.class_end_s),
        "track_start_s": float(pick.track_start_s),
        "track_end_s": round(pick.track_end_s, 6),
        "fade_in_s": float(pick.fade_in_s),
        "fade_out_s": float(pick.fade_out_s),
        "gain_db": float(pick.gain_db),
        "section": pick.section,
        "pinned": pick.pinned,
        "why": pick.why,
    }


def fit_json(fit: Fit) -> dict[str, object]:
    """A fit as plain values."""
    return {"rmse": fit.rmse, "bound_rmse": fit.bound_rmse, "gap": fit.gap, "correlation": fit.correlation}


def rest_json(rest: Rest | None) -> dict[str, object] | None:
    """The rest as plain values."""
    if rest is None:
        return None
    return {
        "start_s": float(rest.start_s),
        "end_s": float(rest.end_s),
        "bells_s": [float(at) for at in rest.bells_s],
        "silence_s": float(rest.silence_s),
        "bed_lufs": float(rest.bed_lufs),
    }


def finding_json(finding: Finding) -> dict[str, object]:
    """A finding as plain values."""
    return {
        "level": finding.level,
        "code": finding.code,
        "where": finding.where,
        "message": finding.message,
        "remedy": finding.remedy,
    }


def _relative(path: str, base: Path) -> str:
    if not path:
        return path
    try:
        return Path(path).relative_to(base).as_posix() if Path(path).is_absolute() else Path(path).as_posix()
    except ValueError:
        return path


def _curve_json(curve: Curve) -> list[float | None]:
    return [None if math.isnan(value) else round(value, 4) for value in curve.tolist()]


def _section_json(section: SectionTime) -> dict[str, object]:
    wishes = section.wishes
    return {
        "name": section.name,
        "kind": str(section.kind),
        "start_s": float(section.start_s),
        "end_s": float(section.end_s),
        "mean_mets": float(section.mean_mets),
        "passes": [
            {"round": each.round, "side": each.side, "start_s": float(each.start_s), "end_s": float(each.end_s)}
            for each in section.passes
        ],
        "breath_s": float(section.breath_s),
        "same_music": wishes.same_music,
    }


def _state_json(state: Mapping[str, object], base: Path) -> dict[str, object]:
    picks = state["picks"]
    assert isinstance(picks, list)
    return {**state, "picks": [pick | {"path": _relative(pick["path"], base)} for pick in picks]}
