"""What a line was taken for, in words for the teacher: "Warrior II, 5 breaths, each side"."""

from collections.abc import Sequence

from pairing.model import Element, Group, Wishes
from pairing.plan.poses import PoseTable
from pairing.plan.words import show_length, show_number, show_seconds

MOST_PARTS = 12  # shown of one line


def says_of_parts(parts: Sequence[Element | Group], table: PoseTable) -> str:
    """Say what parts of a class are."""
    shown = [_says(part, table) for part in parts[:MOST_PARTS]]
    more = [f"and {len(parts) - MOST_PARTS} more"] if len(parts) > MOST_PARTS else []
    return "; ".join([*shown, *more])


def says_of(wishes: Wishes) -> str:
    """Say what is asked of the music."""
    said = [f"{wishes.level} music" if wishes.level else "", "no music" if wishes.no_music else ""]
    said += [f"music of energy {wishes.energy:.0%}" if wishes.energy is not None else ""]
    said += [f"a beat of {' to '.join(dict.fromkeys(map(show_number, wishes.beat_bpm)))}" if wishes.beat_bpm else ""]
    said += [f'music from "{wishes.folder}"' if wishes.folder else ""]
    said += ["no voice" if wishes.no_voice else "", "the same music" if wishes.same_music else ""]
    said += [
        "no singing while you speak" if wishes.clear_talk else "",
        "music that rises into it" if wishes.rises_into else "",
        "a break in the music" if wishes.breaks_at else "",
        f"silent for the last {show_seconds(wishes.silent_last_s)}" if wishes.silent_last_s else "",
    ]
    return ", ".join(filter(None, said)) or "as it is"


def _says(part: Element | Group, table: PoseTable) -> str:
    if isinstance(part, Group):
        inner = says_of_parts(part.parts, table)
        how = [f"{part.rounds} rounds" if part.rounds > 1 else "", "right, then left" if part.both_sides else ""]
        how.append(f"{show_length(part.minutes)} in all" if part.minutes else "")
        words = ", ".join(filter(None, how))
        return f"{inner} ({words})" if words else inner
    said = [_name(part, table), show_length(part.length) if part.length else ""]
    said += [f"x{part.times}" if part.times and part.times > 1 else "", "each side" if part.each_side else ""]
    said += [f"on the {part.side}" if part.side else "", "if there is time" if part.optional else ""]
    said += [f"or {' or '.join(part.alternatives)}" if part.alternatives else ""]
    said += [says_of(part.wishes) if part.wishes != Wishes() else "", "no hold" if part.no_hold else ""]
    said += [f"[{part.note}]" if part.note else ""]
    return ", ".join(filter(None, said))


def _name(part: Element, table: PoseTable) -> str:
    if part.pose_id:
        english = table.get(part.pose_id).english.removesuffix(" Pose")
        return english
    words = {
        "say": "talk",
        "gap": "open",
        "pause": "pause",
        "silence": "silence",
        "bell": "bell",
        "song": "song",
    }
    return f"{words[part.what]}: {part.name}" if part.name and part.name != words[part.what] else words[part.what]
