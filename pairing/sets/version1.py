"""Set files of version 1, lifted to the version of today."""

from typing import Any

Json = dict[str, Any]


def lifted(values: Json) -> Json:
    """The values of a set of version 1 as those of version 2; what is no such set is left for its types to name.

    The frame stood among the options then, a section kept only one of its wishes, and earlier states lacked what can't
    be had without the library, so they are left behind: a change made by a former arcbed can't be taken back.
    """
    options = values.get("options")
    frame = options.get("frame") if isinstance(options, dict) else None
    return values | {
        "version": 2,
        "frame": frame if frame is not None else {},
        "sections": _sections(values.get("sections")),
        "previous": [],
    }


def _sections(sections: Any) -> Any:
    if not isinstance(sections, list) or not all(isinstance(section, dict) for section in sections):
        return sections
    return [section | {"wishes": {"same_music": section.get("same_music")}} for section in sections]
