"""An opened heading with its lines -> a section or group of the plan."""

from dataclasses import replace

from pairing.constants import USUAL_BREATH_S
from pairing.model import Element, Group, Kind, Length, Place, Section, Wishes
from pairing.plan.headings import Opened, guess_kind
from pairing.plan.names import key
from pairing.plan.problems import Problems
from pairing.plan.said import Said


class Groups:
    """Makes groups and sections, and knows those made so far by name."""

    def __init__(self, problems: Problems) -> None:
        self._problems = problems
        self._named: dict[str, Group] = {}

    def group(self, opened: Opened, breath_s: float | None) -> Group:
        """Make a group; `breath_s` is the class's breath, for lengths given in breaths."""
        said = opened.said
        group = Group(
            name=opened.name,
            place=Place(opened.line.number, opened.line.column()),
            parts=tuple(opened.parts),
            rounds=said.rounds or 1,
            quicker=said.quicker or 0.0,
            both_sides=said.each_side,
            first_side=said.first_side or "right",
            minutes=_in_seconds(said.length, said, breath_s),
            what_is_left=said.what_is_left or said.at_least is not None,
            at_least_s=_seconds(said.at_least, said, breath_s),
            breath_s=_seconds(said.breath, said, breath_s),
            between_s=_seconds(said.between, said, breath_s),
            optional=said.optional,
            note="\n".join(filter(None, (note.strip(" >\t") for note in opened.notes))),
            wishes=said.wishes,
        )
        if said.at_least is not None and not said.what_is_left:
            self._problems.liberty(opened.line, "what-is-left", '"at least" is read as "what is left, at least".')
        group = self._repeated(opened, group) if said.repeats else group
        self._remember(group)
        return group

    def section(self, opened: Opened, breath_s: float | None, *, first: bool) -> Section:
        """Make a section; `first` says that none stands before it."""
        group = self.group(opened, breath_s)
        earlier = self._named.get(key(group.repeats or ""))
        kind = opened.kind or (earlier.kind if isinstance(earlier, Section) else None)
        kind = kind or guess_kind(opened, group, first=first, problems=self._problems)
        if kind is Kind.REST and not group.parts:
            group = replace(group, parts=(self._lying_still(opened),))
        values = {name: getattr(group, name) for name in Group.__dataclass_fields__} | {
            "name": group.name or kind.value
        }
        section = Section(**values, kind=kind)
        self._remember(section)
        if not section.repeats:  # its lines were looked at where they stand
            self._check_lines(section, sides=False, rounds=1)
        return section

    def _lying_still(self, opened: Opened) -> Element:
        self._problems.liberty(opened.line, "rest-empty", f'"{opened.name}" has no lines; savasana is assumed.')
        return Element("pose", "savasana", Place(opened.line.number), pose_id="corpse")

    def _remember(self, group: Group) -> None:
        if group.name:
            self._named[key(group.name)] = group

    def _repeated(self, opened: Opened, group: Group) -> Group:
        wanted = opened.said.repeats or ""
        earlier = self._named.get(key(wanted))
        if earlier is None:
            self._problems.unknown_repeat(opened.line, wanted, [known.name for known in self._named.values()])
            return group
        if group.parts:
            self._problems.at(
                opened.line,
                "repeat-with-lines",
                f'"repeat {wanted}" can\'t have lines of its own.',
                "Put them under a heading of their own.",
            )
        told = opened.said.told
        same = {name: getattr(earlier, name) for name, word in _SAME_UNLESS_SAID.items() if word not in told}
        wishes = group.wishes if group.wishes != Wishes() else earlier.wishes
        return replace(group, **same, parts=earlier.parts, repeats=earlier.name, wishes=wishes)

    def _check_lines(self, group: Group, *, sides: bool, rounds: int) -> None:
        sides = sides or group.both_sides
        rounds = group.rounds if group.rounds > 1 else rounds
        for part in group.parts:
            if isinstance(part, Group) and not part.repeats:
                self._check_lines(part, sides=sides, rounds=rounds)
            elif isinstance(part, Element):
                self._problems.sides_and_rounds(part, sides=sides, rounds=rounds)


_SAME_UNLESS_SAID = {
    "rounds": "rounds",
    "quicker": "quicker",
    "both_sides": "each_side",
    "first_side": "first_side",
    "minutes": "length",
    "breath_s": "breath",
    "between_s": "between",
}


def _in_seconds(length: Length | None, said: Said, breath_s: float | None) -> Length | None:
    if length is None or length.unit == "seconds":
        return length
    own = said.breath.likely if said.breath and said.breath.unit == "seconds" else None
    breath = own or breath_s or USUAL_BREATH_S
    return Length("seconds", length.likely * breath, length.shortest * breath, length.longest * breath)


def _seconds(length: Length | None, said: Said, breath_s: float | None) -> float | None:
    in_seconds = _in_seconds(length, said, breath_s)
    return in_seconds.likely if in_seconds else None
