"""The pose table: names, synonyms, usual holds, effort, cautions; and the compound sequences with their parts.

`poses.csv`: one pose a row. `mets` is the cost of the *held* pose, in METs; `mets_source` is "published" where a
measurement of this very pose or practice stands behind it and "editorial" where it is our estimate from the
published range of its family (review: held poses 2.2 +/- 0.7 METs, Larson-Meyer, MSSE 2016;48(8):1558-1569).
Holds are in full breaths, a side of a one-sided pose; 0.5 is one inhale or one exhale. Common practice, no source.
A move's `rep_breaths` is what one repetition takes, also where it is counted aloud: 0.5 is a count of two or three.
`compounds.csv`: the counted half-breaths of the salutations and the vinyasa.
`languages/poses_LANGUAGE.csv`: names in other languages. English goes first; then the languages by their file names.
`style_names.csv`: what a name means in a class of some style ("swan" on the mat is no pigeon).
"""

import csv
import functools
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from importlib import resources
from types import MappingProxyType
from typing import Literal

from pairing.model import OwnPose, Side
from pairing.plan.names import key, nearest, pictures_in_words, sanskrit_key, sanskrit_words, words

Breath = Literal["in", "out", "hold out"]
MetsSource = Literal["published", "editorial", "own"]

# Editorial: how alike a short and a long name, and how much more alike than the next, a correction must be.
CLEAR_SHORT, CLEAR, CLEAR_LEAD = 0.72, 0.8, 0.08
LEAST_OF_NAME, LEAST_OF_WORD = 5, 3  # letters of a Sanskrit name that is cut short, and of a word of it; editorial
_SANSKRIT = re.compile(r"asana\b|asan\b|namaskara?\b", re.IGNORECASE)
LONGEST_NAME = 12  # words; editorial
LEAST_BRIEF = 7  # letters of a name without its small words; editorial
_SMALL = frozenset(
    [
        "of",
        "the",
        "to",
        "in",
        "with",
        "and",
        "on",
        "a",
        "an",
        "up",
        "at",
        "à",
        "au",
        "aux",
        "de",
        "du",
        "des",
        "d",
        "la",
        "le",
        "les",
        "l",
        "en",
        "dans",
        "et",
        "sur",
        "sous",
        "im",
        "der",
        "die",
        "das",
        "den",
        "dem",
        "auf",
        "am",
        "mit",
        "zum",
        "zur",
        "und",
        "ins",
        "el",
        "los",
        "las",
        "del",
        "con",
        "al",
        "y",
        "por",
    ]
)
# Words that stand in names of the table but don't make a pose another one. Editorial.
_IDLE = (
    "deep slow long gentle soft full modified simple classic big free to in on at of and with a your into from over up"
    " slowly softly gently down back hold lift pulse prep preparation flow final stretch hop kick"
    " variation series practice"
    # Ordinary words that stand in some long name ("whatever you need", "walk to the top of the mat").
    " about across active add advanced again air all alternate alternating any anything as assisted attention ball band"
    " base beat bedtime best big bit block bolster both bottom breathe calm can car card choice choose close come"
    " comfortably conscious control cool count course creative deeply do dynamic easier easy empty end even exercise"
    " feel few find first fluid focus form freely freeze game get go good great gratitude grip grow growing guided hard"
    " harder hot how intention intuitive just kid last learn led length let letting level light like little long look"
    " loose maybe mindful morning move movement moving music musical my natural need needed neutral new next no not now"
    " observe off optional option organic other out own pace party passive path pause peace place play prenatal pull"
    " quick quiet race rag really relax release remove repeat rep round same say self set settle setting short"
    " slow small so song sound space speed spot start stay steady still stop strengthening strong style support"
    " sway swaying take teacher then there think this tight time tip touch train traditional try turn"
    " use version very warm way weather what whatever when wiggle work write yes you your"
    # Small words of names in other languages.
    " al an am auf aux avec bei beim con contra contre dans das de del dem den der des die du e ein eine einem einen el"
    " en es et fuer fur hacia im la las le les lo los mit nach o ohne ou para por pour sans sin sur u un una und une"
    " unter vom von vor y zu zum zur bloque brique coussin apoyo soutien pared wand mur wall"
)
IDLE_IN_NAMES = frozenset(_IDLE.split())

# Names that other words easily narrow to another pose ("tandem stand"). Editorial.
_BROAD = (
    "stand seat sit sitting seated dog core breathing fold hang table relaxation kneel kneeling lunge squat rest om"
    " bicycle push roll release balance stretch breathwork pranayama leg legup rolling rocking humming"
    " circle arms breath walk dance shake table massage march jump standing shoulder wrist ankle quad calf joint game"
    " story core abs swim reverse thread needle square log tuck snake prayer mantra curl kick seal saw swan salute hip"
    " knee belly grounding neutral mouse egg bound volcano journey toad diamond"
)
BROAD_NAMES = frozenset(_BROAD.split())

# Names that teachers use for several poses: what is taken first, then the others. Editorial.
SHARED_NAMES: dict[str, tuple[str, ...]] = {
    "crescent": ("high_lunge", "low_lunge"),
    "lunge": ("high_lunge", "low_lunge"),
    "half moon": ("half_moon", "standing_side_bend"),
    "twist": ("supine_twist", "easy_twist", "revolved_chair"),
    "sun salutation": ("sun_salutation_a", "sun_salutation_classical", "sun_salutation_b"),
    "surya namaskara": ("sun_salutation_classical", "sun_salutation_a"),
    "surya namaskar": ("sun_salutation_classical", "sun_salutation_a"),
    "salutation": ("sun_salutation_a", "sun_salutation_classical"),
    "warrior": ("warrior_2", "warrior_1", "warrior_3"),
    "pigeon": ("half_pigeon", "one_legged_king_pigeon"),
    "forward fold": ("standing_forward_fold", "seated_forward_fold"),
    "forward bend": ("standing_forward_fold", "seated_forward_fold"),
    "fold": ("standing_forward_fold", "seated_forward_fold"),
    "side bend": ("standing_side_bend", "seated_side_bend"),
    "side stretch": ("standing_side_bend", "seated_side_bend"),
    "chair figure four": ("chair_figure_four", "seated_figure_four"),
    "backbend": ("standing_backbend", "bridge", "wheel"),
    "twisted lunge": ("revolved_high_lunge", "revolved_low_lunge"),
    "lunge twist": ("revolved_high_lunge", "open_lunge_twist", "revolved_low_lunge"),
    "open twist": ("open_lunge_twist", "easy_twist"),
    "split": ("full_split", "half_split", "standing_split"),
    "dragon": ("low_lunge", "lizard"),
    "dog": ("downward_dog", "upward_dog"),
    "figure four": ("reclined_figure_four", "chair_figure_four"),
    "meditation": ("seated_meditation", "corpse"),
    "straddle": ("wide_seated_fold", "wide_leg_fold"),
    "frog": ("frog", "frog_backbend"),
    "reverse": ("reverse_warrior", "reverse_plank"),
    "shoulder opener": ("puppy", "thread_the_needle"),
    "shoulder stretch": ("puppy", "thread_the_needle"),
    "side opener": ("standing_side_bend", "seated_side_bend"),
}
# What is called by the part it opens, and heads whole sections too: poses to name instead. Editorial.
OPENERS: dict[str, tuple[str, ...]] = {"hip opener": ("half_pigeon", "lizard", "garland")}


@dataclass(frozen=True, slots=True)
class Pose:
    """One pose or flowing sequence; see the head of this module for units and sources."""

    id: str
    english: str
    sanskrit: str  # "" where there is no settled name
    aliases: tuple[str, ...]
    family: str
    sided: bool
    hold_breaths_flow: float  # full breaths, a side
    hold_breaths_slow: float
    rep_breaths: float | None  # breaths of one repetition, for moves done N times
    mets: float  # held, 1.0 at rest
    mets_source: MetsSource
    cautions: tuple[str, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """All names, the English one first."""
        return tuple(name for name in (self.english, self.sanskrit, *self.aliases) if name)


@dataclass(frozen=True, slots=True)
class CompoundStep:
    """One half-breath of a compound: `side` is the leading leg where there is one."""

    breath: Breath
    pose_id: str
    side: Side | None
    hold_breaths: float  # full breaths stayed on top of the half-breath


@dataclass(frozen=True, slots=True)
class Match:
    """What a typed name was taken for."""

    pose: Pose | None
    nearest: tuple[str, ...] = ()  # known names that look like it, where no pose has this name
    note: str = ""  # "also a name of ..." where several poses share it
    extra: str = ""  # words around the pose's name that name no pose


@dataclass(frozen=True, slots=True)
class PoseTable:
    """All poses by id, found by any of their names."""

    poses: Mapping[str, Pose]
    compounds: Mapping[str, tuple[CompoundStep, ...]]
    _by_key: Mapping[str, str] = field(default_factory=dict, repr=False)
    _by_sound: Mapping[str, str] = field(default_factory=dict, repr=False)
    _by_words: Mapping[str, str] = field(default_factory=dict, repr=False)  # words in any order
    _own_keys: frozenset[str] = frozenset()
    _foreign: tuple[str, ...] = ()  # names in other languages

    def get(self, pose_id: str) -> Pose:
        """Give the pose of this id. Raises KeyError where there is none."""
        return self.poses[pose_id]

    def compound(self, pose_id: str) -> tuple[CompoundStep, ...]:
        """Give the half-breaths of a compound sequence in order; () for a plain pose."""
        return self.compounds.get(pose_id, ())

    def find(self, name: str) -> Match:
        """Give the pose that goes by this name, as `look_up` does, or the nearest known names."""
        match = self.look_up(name)
        return match if match.pose else Match(None, nearest=self.nearest(name))

    def look_up(self, name: str) -> Match:
        """Give the pose that goes by this name, in any usual spelling.

        A name that several poses share gives the usual one and a note; a known name among other words gives its
        pose and these words in `extra`, unless they belong to the names of other poses ("revolved", "flying").
        """
        exact = self._exact(key(name))
        if exact:
            return exact
        pose_id = self._by_sound.get(sanskrit_key(name)) or self._by_words.get(_any_order(name))
        if pose_id:
            return Match(self.poses[pose_id])
        inside = self._inside(name)
        if inside:
            return inside
        in_words = pictures_in_words(name)
        return self.look_up(in_words) if in_words != name else Match(None)

    def knows(self, name: str) -> bool:
        """Say whether this is the full name of a pose, in a usual spelling."""
        wanted = key(name)
        return wanted in self._by_key or wanted in _shared_keys()

    def exact(self, wanted: str) -> Match | None:
        """Give the pose whose name has this key, None where there is none."""
        return self._exact(wanted)

    def by_sound(self, name: str) -> Match | None:
        """Give the pose whose Sanskrit name this is in another romanisation."""
        pose_id = self._by_sound.get(sanskrit_key(name))
        return Match(self.poses[pose_id]) if pose_id else None

    def cut_short(self, name: str) -> Match | None:
        """Give the pose whose Sanskrit name begins with these words, each of them cut short: "ūrdhva dhanur".

        Where several begin so, the one with the shortest name is taken, and the match says so.
        """
        typed = sanskrit_words(name)
        least = LEAST_OF_NAME - (not name.isascii())  # "śīrṣ"
        if not typed or sum(map(len, typed)) < least or min(map(len, typed)) < LEAST_OF_WORD:
            return None
        begin = [
            (len(known), pose_id)
            for known, pose_id in _sanskrit_names().get(typed[0][:LEAST_OF_WORD], ())
            if len(known) >= len(typed) and all(map(str.startswith, known, typed))
        ]
        if not begin:
            return None
        fewest = min(length for length, _ in begin)
        best = list(dict.fromkeys(pose_id for length, pose_id in begin if length == fewest))
        others = " or ".join(self.poses[other].english.lower() for other in best[1:])
        return Match(self.poses[best[0]], note=f"also the beginning of {others}" if others else "")

    def tells(self, word: str) -> bool:
        """Say whether a word beside a name may make it another pose: "revolved", "flying"."""
        return any(part in _telling_words(self) and part not in BROAD_NAMES for part in words(word))

    def whole(self, word: str) -> bool:
        """Say whether a word stands in the table's names as it is typed."""
        return word in _words_of_table()

    def mended(self, word: str) -> str | None:
        """Give the one word of the table's names that a mistyped `word` is a slip of, by one letter."""
        near = {known for cut in _cuts(word) for known in _words_by_cut().get(cut, ())} if len(word) > 3 else set()
        best = {known for known in near if known[0] == word[0] and abs(len(known) - len(word)) <= 1}
        return best.pop() if len(best) == 1 else None

    def nearest(self, name: str) -> tuple[str, ...]:
        """Give up to three known names that look most like `name`, at most one a pose."""
        return tuple(known for _, known in self._nearest(name))

    def meant(self, name: str) -> str | None:
        """Give the one known name that a mistyped `name` can only mean; None where that isn't clear."""
        best = self._nearest(name)
        clear = (
            best
            and len(key(name)) > 3
            and best[0][0] >= (CLEAR_SHORT if len(key(name)) <= 5 else CLEAR)
            and abs(len(key(name)) - len(key(best[0][1]))) <= 2
            and (len(best) == 1 or best[0][0] - best[1][0] >= CLEAR_LEAD)
        )
        return best[0][1] if clear else None

    def _nearest(self, name: str) -> list[tuple[float, str]]:
        first: dict[str, tuple[float, str]] = {}
        for score, known in _look_alikes(name, self.own_names()):
            first.setdefault(self._by_key[key(known)], (score, known.lower().removesuffix(" pose")))
        return list(first.values())[:3]

    def own_names(self) -> tuple[str, ...]:
        """Give the names of the teacher's own poses."""
        if not self._own_keys:
            return ()
        return tuple(pose.english for pose_id, pose in self.poses.items() if pose_id.startswith("own_"))

    def openers(self, name: str) -> tuple[str, ...]:
        """Give the English names of poses that a word like "hip opener" may stand for; () for any other."""
        ids = next((ids for known, ids in OPENERS.items() if key(known) == key(name)), ())
        return tuple(self.poses[pose_id].english.lower().removesuffix(" pose") for pose_id in ids)

    def search(self, word: str) -> list[Pose]:
        """Give the poses with `word` in a name, the family, the id or a caution, best first; all for ""."""
        wanted = key(word)
        ranked = [(rank, pose) for pose in self.poses.values() if (rank := _rank(pose, wanted)) is not None]
        return [pose for _, pose in sorted(ranked, key=lambda pair: (pair[0], pair[1].english))]

    def in_style(self, style: str) -> "PoseTable":
        """Give a table that takes names as classes of this style mean them; this one where the style has no such names.

        >>> pose_table().in_style("mat").find("roll-up").pose.id
        'pilates_roll_up'
        """
        meant = _style_names().get(style)
        if not meant:
            return self
        return replace(self, _by_key=MappingProxyType({**self._by_key, **meant}), _own_keys=self._own_keys | set(meant))

    def with_own(self, own_poses: Iterable[OwnPose]) -> "PoseTable":
        """Give a table that knows the teacher's own poses too; their names go before those of the table."""
        table = self
        for own in own_poses:
            table = table._with(own)
        return table

    def _with(self, own: OwnPose) -> "PoseTable":
        pose = _own_pose(own, self.poses.get(own.like or ""))
        steps = self.compound(own.like or "")
        return replace(
            self,
            poses=MappingProxyType({**self.poses, pose.id: pose}),
            compounds=MappingProxyType({**self.compounds, pose.id: steps} if steps else dict(self.compounds)),
            _by_key=MappingProxyType({**self._by_key, key(own.name): pose.id}),
            _own_keys=self._own_keys | {key(own.name)},
        )

    def _shared(self, wanted: str) -> Match:
        taken, *others = _shared_keys()[wanted]
        names = " or ".join(self.poses[other].english.lower() for other in others)
        return Match(self.poses[taken], note=f"also a name of {names}")

    def _inside(self, name: str) -> Match | None:
        """Find the longest run of words that names a pose, if what is left over can't make it another pose."""
        typed = words(name)
        if len(typed) > LONGEST_NAME:
            return None
        for length in range(min(len(typed) - 1, 6), 0, -1):
            for start in range(len(typed) - length + 1):
                run = "".join(typed[start : start + length])
                match = self._exact(run)
                left = typed[:start] + typed[start + length :]
                if match and all(word in IDLE_IN_NAMES or self._tells_nothing(word, run, match) for word in left):
                    return Match(match.pose, note=match.note, extra=" ".join(left))
        return None

    def _tells_nothing(self, word: str, run: str, match: Match) -> bool:
        """Whether a word beside a name leaves the pose the same; beside a broad or loose one ("twist") few do."""
        return not (is_loose(run, match) or run in BROAD_NAMES or word.isdigit() or word in _telling_words(self))

    def _exact(self, wanted: str) -> Match | None:
        if wanted not in self._own_keys and wanted in _shared_keys():
            return self._shared(wanted)
        pose_id = self._by_key.get(wanted)
        return Match(self.poses[pose_id]) if pose_id else None


@functools.lru_cache(maxsize=1024)
def _look_alikes(name: str, own: tuple[str, ...]) -> tuple[tuple[float, str], ...]:
    """The names of the table, and a teacher's own, that look most like it; kept, as a note is read at each key."""
    return tuple(nearest(name, (*_names_of_table(), *own), count=8))


def is_loose(wanted: str, match: Match) -> bool:
    """Say whether a name, by its key, is one of several poses ("twist") or one word unlike its pose's own ("moon")."""
    pose = match.pose
    if pose is None or match.note:
        return bool(match.note)
    own = {*words(pose.english), *words(pose.sanskrit)}
    return wanted not in own and any(words(alias) == (wanted,) for alias in pose.aliases)


@functools.cache
def pose_table() -> PoseTable:
    """Give the table of the package, read once."""
    poses = {pose.id: pose for pose in map(_pose, _rows("poses.csv"))}
    compounds: dict[str, tuple[CompoundStep, ...]] = {}
    for row in _rows("compounds.csv"):
        compounds[row["compound"]] = (*compounds.get(row["compound"], ()), _step(row))
    names = [(name, pose.id) for pose in poses.values() for name in pose.names]
    foreign = _foreign_names()
    brief = _alone(_without_small_words((*names, *foreign)))
    return PoseTable(
        poses=MappingProxyType(poses),
        compounds=MappingProxyType(compounds),
        _by_key=MappingProxyType({key(name): pose_id for name, pose_id in reversed((*names, *foreign, *brief))}),
        _by_sound=MappingProxyType(_unshared((sanskrit_key(name), pose_id) for name, pose_id in names)),
        _by_words=MappingProxyType(_unshared((_any_order(name), pose_id) for name, pose_id in names)),
        _foreign=tuple(name for name, _ in foreign),
    )


def _alone(names: Iterable[tuple[str, str]]) -> list[tuple[str, str]]:
    """Those that one pose alone goes by."""
    poses: dict[str, set[str]] = {}
    found = list(names)
    for name, pose_id in found:
        poses.setdefault(key(name), set()).add(pose_id)
    return [(name, pose_id) for name, pose_id in found if len(poses[key(name)]) == 1]


def _without_small_words(names: Iterable[tuple[str, str]]) -> Iterator[tuple[str, str]]:
    """Names of several words as one notes them in a hurry: "legs wall", "head knee", "salut soleil", "fil aiguille"."""
    for name, pose_id in names:
        parts = name.lower().replace("'", " ").replace("’", " ").split()
        kept = [part for part in parts[:-1] if part not in _SMALL] + parts[-1:]  # "sun salutation A" keeps its letter
        told = any(map(str.isdecimal, words(name)))  # "series of five": a number may be that of minutes
        if 1 < len(kept) < len(parts) and sum(map(len, kept)) >= LEAST_BRIEF and not told:
            yield " ".join(kept), pose_id


def own_id(name: str) -> str:
    """Give the id of a teacher's own pose of this name."""
    return "own_" + "_".join(words(name))


def _rows(name: str) -> list[dict[str, str]]:
    text = resources.files("pairing.plan").joinpath(name).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


@functools.cache
def _foreign_names() -> tuple[tuple[str, str], ...]:
    """Give (name, pose id) of all languages, in the order of their files."""
    folder = resources.files("pairing.plan").joinpath("languages")
    files = sorted(file.name for file in folder.iterdir() if re.fullmatch(r"poses_\w+\.csv", file.name))
    rows = [row for file in files for row in _rows(f"languages/{file}")]
    return tuple((name, row["pose_id"]) for row in rows for name in row["names"].split("|"))


@functools.cache
def _style_names() -> dict[str, dict[str, str]]:
    """Give for each style the keys of the names it means in its own way, and their poses."""
    meant: dict[str, dict[str, str]] = {}
    for row in _rows("style_names.csv"):
        meant.setdefault(row["style"], {})[key(row["name"])] = row["pose_id"]
    return meant


def _pose(row: dict[str, str]) -> Pose:
    return Pose(
        id=row["id"],
        english=row["english"],
        sanskrit=row["sanskrit"],
        aliases=_list(row["aliases"]),
        family=row["family"],
        sided=row["sided"] == "yes",
        hold_breaths_flow=float(row["hold_breaths_flow"]),
        hold_breaths_slow=float(row["hold_breaths_slow"]),
        rep_breaths=float(row["rep_breaths"]) if row["rep_breaths"] else None,
        mets=float(row["mets"]),
        mets_source="published" if row["mets_source"] == "published" else "editorial",
        cautions=_list(row["cautions"]),
    )


def _step(row: dict[str, str]) -> CompoundStep:
    breath: dict[str, Breath] = {"in": "in", "out": "out", "hold out": "hold out"}
    sides: dict[str, Side | None] = {"": None, "right": "right", "left": "left"}
    return CompoundStep(breath[row["breath"]], row["pose_id"], sides[row["side"]], float(row["hold_breaths"]))


def _list(cell: str) -> tuple[str, ...]:
    return tuple(cell.split(";")) if cell else ()


def _any_order(name: str) -> str:
    return " ".join(sorted(set(words(name)) - _JOINING))


_JOINING = {"of", "to", "and", "with", "on", "in"}


def _unshared(pairs: Iterable[tuple[str, str]]) -> dict[str, str]:
    """Keep the keys that lead to one pose only."""
    owners: dict[str, set[str]] = {}
    for sound, pose_id in pairs:
        owners.setdefault(sound, set()).add(pose_id)
    return {sound: next(iter(ids)) for sound, ids in owners.items() if len(ids) == 1 and sound}


def _own_pose(own: OwnPose, like: Pose | None) -> Pose:
    base = like or Pose("", "", "", (), "own", own.sided, 3.0, 5.0, None, 2.2, "own", ())
    mets = base.mets if own.mets is None else own.mets
    source: MetsSource = base.mets_source if own.mets is None else "own"
    return replace(
        base,
        id=own_id(own.name),
        english=own.name,
        sanskrit="",
        aliases=(),
        sided=own.sided,
        mets=mets,
        mets_source=source,
    )


@functools.cache
def _shared_keys() -> dict[str, tuple[str, ...]]:
    return {key(name): ids for name, ids in SHARED_NAMES.items()}


@functools.cache
def _names_of_table() -> tuple[str, ...]:
    table = pose_table()
    return (*(name for pose in table.poses.values() for name in pose.names), *table._foreign)


@functools.cache
def _words_of_table() -> frozenset[str]:
    table = pose_table()
    names = [name for pose in table.poses.values() for name in pose.names]
    return frozenset(word for name in names for word in words(name)) | _narrowing(_foreign_names())


def _narrowing(names: Iterable[tuple[str, str]]) -> frozenset[str]:
    """Words that make the name of a pose that of another: "invertido" in "guerrero invertido"."""
    poses = {frozenset(words(name)) - IDLE_IN_NAMES: pose_id for name, pose_id in names}
    poses.pop(frozenset(), None)
    return frozenset(
        word for found, pose_id in poses.items() for word in found if poses.get(found - {word}, pose_id) != pose_id
    )


@functools.cache
def _sanskrit_names() -> dict[str, list[tuple[tuple[str, ...], str]]]:
    """Sanskrit names as the sounds of their words, under the first letters of the first, with their poses."""
    found: dict[str, list[tuple[tuple[str, ...], str]]] = {}
    poses = pose_table().poses.values()
    english = {word for pose in poses for word in words(pose.english)}
    for pose in poses:
        for name in (pose.sanskrit, *pose.aliases):
            if name and _SANSKRIT.search(name) and english.isdisjoint(words(name)[:1]):
                heard = sanskrit_words(name)
                for known in {heard, ("".join(heard),)}:
                    found.setdefault(known[0][:LEAST_OF_WORD], []).append((known, pose.id))
    return found


@functools.cache
def _words_by_cut() -> dict[str, frozenset[str]]:
    """Words of names under each text that is left when one letter of theirs is taken out."""
    found: dict[str, set[str]] = {}
    for word in _words_of_table():
        if len(word) > 3 and word.isalpha():
            for cut in _cuts(word):
                found.setdefault(cut, set()).add(word)
    return {cut: frozenset(words_) for cut, words_ in found.items()}


def _cuts(word: str) -> set[str]:
    return {word, *(word[:at] + word[at + 1 :] for at in range(len(word)))}


def _telling_words(table: PoseTable) -> frozenset[str]:
    """Words that make one pose another: those which stand in the names of poses."""
    own = table.own_names()
    return (
        _telling_words_of_table() | frozenset(word for name in own for word in words(name))
        if own
        else (_telling_words_of_table())
    )


@functools.cache
def _telling_words_of_table() -> frozenset[str]:
    return _words_of_table() - IDLE_IN_NAMES


def _rank(pose: Pose, wanted: str) -> int | None:
    keys = [key(name) for name in pose.names]
    tests = (
        wanted in keys,
        any(k.startswith(wanted) for k in keys),
        any(wanted in k for k in keys),
        any(wanted in key(other) for other in (pose.family, pose.id, *pose.cautions)),
    )
    return next((rank for rank, hit in enumerate(tests) if hit), None)
