"""The tokens of one chunk -> moves and how they are done."""

import re
from dataclasses import dataclass, field

from pairing.plan.line.amounts import Amount, add, merge
from pairing.plan.line.chunks import Chunk, is_attribute, is_size, wished
from pairing.plan.line.ends import VARIANTS, End
from pairing.plan.line.moves import Around, Line, Move, What
from pairing.plan.poses import Match
from pairing.plan.tokens import ORDINAL, Token

NAMED_HOLD = " hold"  # the end of names of poses that are held
SOUND_BATH = "Sound Bath"
_PARTS = {  # what a "twist" is after another pose of the line
    "chair": "revolved_chair",
    "high_lunge": "revolved_high_lunge",
    "low_lunge": "revolved_low_lunge",
    "runners_lunge": "open_lunge_twist",
}
COUNTED_BREATH = re.compile(r"\d{1,2}(?:-\d{1,2}){2,3}\b")  # "4-7-8": seconds in, held, out


_ONCE: tuple[tuple[str, What], ...] = (
    ("once.bell", "bell"),
    ("once.silence", "silence"),
    ("once.pause", "pause"),
    ("once.rest", "pause"),
    ("once.song", "song"),
    ("once.say", "say"),
    ("once.greet", "say"),
)


def _what_once(token: Token) -> What | None:
    """What a word that names no movement stands for."""
    return next((what for role, what in _ONCE if token.says(role)), None)


def _is_hold(token: Token) -> bool:
    """Whether a number behind it counts seconds: "hold 16", "plank hold 20"."""
    return token.says("how.hold") or (token.kind == "pose" and token.text.lower().endswith(NAMED_HOLD))


@dataclass(slots=True)
class Chunker:
    """Reads the tokens of one chunk in order."""

    chunk: Chunk
    tokens: list[Token]
    line: Line
    around: Around
    current: Move | None = None
    lead: Amount = field(default_factory=Amount)
    words: list[Token] = field(default_factory=list)  # before the first move
    tail: bool = False  # behind "with", "at": a note
    at: int = 0

    def read(self) -> None:
        """Note in the line what the chunk says."""
        for at, token in enumerate(self.tokens):
            self.at = at
            self._token(token)
        if self.current is None:
            End(self.chunk.before, self.tokens, self.line, self.around, self.lead, self.words).close()

    def _token(self, token: Token) -> None:
        if token.text.upper() in VARIANTS and token.kind in ("word", "unknown") and not token.says("sides"):
            (self.words if self.current is None else []).append(token)
            return
        if token.kind == "pose" or (token.match and self._stands_alone()):
            self._pose(token)
        elif token.kind == "word" and token.says("music") and self._is_wish(token):
            self.line.wishes = wished(self.line.wishes, token)
        elif token.says("units.pulses") or token.kind == "pulses":
            self._pulse(token)
        elif token.says("how.hold"):
            self._hold(token)
        elif token.says("moves.short") and self.current is None and not (self.words and not self._size_behind()):
            self._start(Move("move", self._phrase(token)))
            self.words = []
        elif token.says("once") and self.current is None and not self.words and not token.says("top.theme"):
            self._once(token)
        elif token.says("join.with") and (self.current or self.words) and not token.says("join.between"):
            self.tail = True
            (self.current.notes if self.current else []).append(token.text)
            if not self.current:
                self.words.append(token)
        elif token.says("kinds.breathing") and self.current is None and token.kind == "word":
            self.words.append(token)
        elif self._holds_for_all(token):
            self.lead.each = True
        elif is_size(token) or token.says("sides", "how", "units", "again"):
            self._attribute(token)
        elif token.says("join.each"):
            self._target().each = True
        elif token.kind == "word" and token.says("intervals") and self._target().lengths:
            return
        elif self.current is None:
            self.words.append(token)
        else:
            behind = self.at > 0 and self.tokens[self.at - 1].kind == "pose" and token.kind == "unknown"
            self.current.doubt = self.current.doubt or (behind and self.around.table.tells(token.text))
            self.current.notes.append(token.text)

    def _holds_for_all(self, token: Token) -> bool:
        """ "..., all 5 br": behind several moves, what stands beside "all" is the length of each."""
        behind = self.tokens[self.at + 1 : self.at + 2]
        length = bool(behind) and behind[0].kind == "length"
        return token.says("again.all") and self.current is None and len(self.line.moves) > 1 and length

    def _is_wish(self, token: Token) -> bool:
        alone = len(token.text.split()) > 1 or token.says("music.word")
        return alone or (len(self.tokens) == 1 and self.chunk.before in (",", "—", ";", "(", "."))

    def _stands_alone(self) -> bool:
        """A name that is a small word too, alone in its chunk: "seat, om x3"."""
        others = [token for token in self.tokens if not is_attribute(token) or token.match]
        return (
            len(others) == 1
            and self.current is None
            and not self.tokens[self.at].says("moves", "how", "once", "sides", "join", "again")
        )

    def _phrase(self, token: Token) -> str:
        names = [other.text for other in (*self.words, token)]
        for other in self.tokens[self.at + 1 :]:
            if other.kind != "unknown" and not other.says("moves", "kinds"):
                break
            names.append(other.text)
        return " ".join(names)

    def _size_behind(self) -> bool:
        return any(map(is_size, self.tokens[self.at + 1 :])) or self.lead.has_size()

    def _pose(self, token: Token) -> None:
        seconds = COUNTED_BREATH.match(token.text)
        counted = tuple(map(float, seconds.group().split("-"))) if seconds else ()
        if counted and self.current is not None:
            self.current.amount.chain = counted
            return
        self.lead.chain = self.lead.chain or counted
        if self.current and self.current.picture and not self.current.amount.has_any():
            self.line.moves.remove(self.current)
            self.current = None
        talks = self.current is not None and self.current.what == "say"  # "talk about the moon"
        if self.current is not None and (self.tail or token.broad or talks or self._is_cue(token)):
            self.current.notes.append(token.text)
            return
        if self.current is not None and self._goes_on_in_it(token):
            self.current.notes.append(token.text)
            return
        if (dog := self._pedalled(token)) is not None:
            self.current = dog
            dog.notes.append(token.text)
            return
        last = self.line.moves[-1] if self.line.moves and self.current is None else None
        adds = (
            last is not None
            and token.broad
            and self.chunk.before in ("+", "&")
            and not (self.words or self.lead.has_any())
        )
        if last is not None and adds and last.what == "pose" and not last.amount.has_any() and not last.picture:
            self.current = last  # "step touch + arms 4 x 8"
            last.notes.append(token.text)
            return
        if self.current is None and self.tail and self.line.moves:
            self.words.append(token)  # "calves on a chair"
            return
        if self.current is None and token.broad and self.lead.numbers and self.line.moves and not self.words:
            self.words.append(token)  # "8 reverse"
            return
        self._start(
            Move("pose", token.text, self._in_place(token), picture=token.picture, broad=token.broad, roles=token.roles)
        )

    def _goes_on_in_it(self, token: Token) -> bool:
        """ "Goddess arm circles 1 min": a movement right behind a held pose, in the time of it."""
        held, moved = self.current.pose if self.current else None, token.match.pose if token.match else None
        if held is None or moved is None or self.current is None or self.current.amount.has_any():
            return False
        right_behind = self.at > 0 and self.tokens[self.at - 1].match is self.current.match
        timed = any(other.kind == "length" and other.unit == "seconds" for other in self.tokens[self.at :])
        small = moved.rep_breaths is not None and moved.rep_breaths <= 1 and moved.family != "flow transition"
        return right_behind and timed and small and held.family in ("standing", "balance", "seated", "kneeling")

    def _pedalled(self, token: Token) -> Move | None:
        """ "Down dog 1 min, pedal it out": the dog in whose time one does."""
        before = self.current or (self.line.moves[-1] if self.line.moves else None)
        ids = [each.pose.id for each in (before, token.match) if each and each.pose]
        own_time = before is not None and before.amount.has_size() and self._size_behind()
        return before if ids == ["downward_dog", "pedal_dog"] and not own_time else None

    def _is_cue(self, token: Token) -> bool:
        """The same pose named again right behind itself ("bridge bridge"), or a name behind another without a size."""
        same = self.current is not None and self.current.pose is token.match.pose if token.match else False
        return same and not (self.current and self.current.amount.has_any())

    def _in_place(self, token: Token) -> Match | None:
        """What a name that several poses share means after the pose before it on the line."""
        match = token.match
        before = self.line.moves[-1].pose if self.line.moves else None
        if match and match.pose and match.note and before and match.pose.id == "supine_twist" and before.id in _PARTS:
            return Match(self.around.table.get(_PARTS[before.id]))
        if match and match.pose and match.note and before and before.id in _PARTS.values():
            return Match(before) if match.pose.id == "supine_twist" else match  # "chair, twist R, twist L"
        return match

    def _start(self, move: Move) -> None:
        joined = self.chunk.before if self.current is None else ","
        if self.current is None and self.line.moves and self._is_alternative(joined, move):
            self.line.moves[-1].alternatives.append(move.name)
            self.current = self.line.moves[-1]
            self._merge_lead()
            return
        move.joined = joined
        tells = self.around.table.tells
        move.doubt = move.what == "pose" and any(
            word.kind == "unknown" and not ORDINAL.fullmatch(word.text) and tells(word.text) for word in self.words[-1:]
        )
        self.line.moves.append(move)
        self.current = move
        move.notes += [word.text for word in self.words if word.kind != "mark"]
        self.words = []
        self._merge_lead()

    def _is_alternative(self, joined: str, move: Move) -> bool:
        if joined == "/" and (self.line.of_each or (self.line.moves[-1].amount.has_size() and self._size_behind())):
            return False  # "malasana 1 min / crow 2 min"
        return joined == "or" or (joined == "/" and move.what == self.line.moves[-1].what == "pose")

    def _merge_lead(self) -> None:
        if self.current is not None and self.lead.has_any():
            merge(self.current.amount, self.lead)
        self.lead = Amount()

    def _pulse(self, token: Token) -> None:
        fresh = self.current is None or self.current.amount.has_size() or self.current.what != "pose"
        if fresh or token.kind != "pulses":
            self._start(Move("pulse", token.text))
        if token.kind == "pulses" and self.current is not None:
            self.current.amount.counts += (token.low + token.high) / 2

    def _hold(self, token: Token) -> None:
        behind = self.tokens[self.at + 1 :]
        if any(other.kind == "pose" and not other.broad for other in behind[:2]):
            return  # "hold the down dog 5 breaths"
        if self.current is None and self.lead.has_size() and self.line.moves and self.line.moves[-1].amount.has_size():
            self._start(Move("hold", token.text))  # "bridge x8, then 5 breaths hold"
            return
        timed = self.current is not None and bool(self.current.amount.lengths)
        has_size = any(is_size(other) and not (timed and other.kind == "times") for other in behind)  # "30 s hold x2"
        after_size = self.current is not None and self.current.amount.has_size()
        last = self.tail and any(token.says("how.last") for token in self.tokens[: self.at])  # "the last one hold 20 s"
        alone = self.current is None and (last or not self.words) and bool(self.line.moves or self.around.before)
        if has_size and (after_size or (alone and (not self.line.moves or self.line.moves[-1].amount.has_size()))):
            self._start(Move("hold", token.text))

    def _once(self, token: Token) -> None:
        before = self.line.moves[-1] if self.line.moves else None
        if token.says("once.pause") and before and before.what == "pause" and not self._size_behind():
            before.notes.append(token.text)  # "rest 30 s, water"
            return
        if (
            token.says("once.rest")
            and not token.says("once.pause")
            and not self._size_behind()
            and len(self.tokens) > 1
        ):
            self.words.append(token)
            return
        if token.says("once.bell") and self._sounds_on():
            self._start(Move("pose", token.text, self.around.table.look_up(SOUND_BATH)))
            return
        what = _what_once(token)
        if what is not None and not (what == "song" and token.says("music.word") and not self.words):
            self._start(Move(what, token.text, roles=token.roles, greets=what == "say" and token.says("once.greet")))

    def _sounds_on(self) -> bool:
        """ "Gongs 10 min": they are played, not struck once."""
        sizes = [*self.lead.lengths, *(token.length for token in self.tokens[self.at :] if token.kind == "length")]
        return any(length.unit == "seconds" for length in sizes)

    def _attribute(self, token: Token) -> None:
        if self.tail and self.current is not None and not self.current.amount.lengths and is_size(token):
            self.tail = False
        elif self.tail and self.current is not None and self.current.amount.has_size() and is_size(token):
            self.current.notes.append(token.text)
            return
        if self.tail and is_size(token) is False and token.says("how.last", "how.first"):
            return
        if token.kind == "number" and self._counts_next(token):
            self.current = None
        target = self._target()
        if token.kind == "number" and self.around.counts and self.at and _is_hold(self.tokens[self.at - 1]):
            target.counts += (token.low + token.high) / 2  # "C-curve hold 16"
            return
        if self._splits(token, target):
            return
        if token.says("how.last", "how.first"):
            self.tail = True
            return
        add(target, token)

    def _counts_next(self, token: Token) -> bool:
        """ "3A 3B": a number without a blank behind it counts what comes."""
        behind = self.tokens[self.at + 1] if self.at + 1 < len(self.tokens) else None
        return behind is not None and behind.kind == "pose" and behind.start == token.end

    def _target(self) -> Amount:
        return self.current.amount if self.current is not None else self.lead

    def _splits(self, token: Token, target: Amount) -> bool:
        """A second side, or a second length behind a side, opens the same pose anew: "twist 1 min r 1 min l"."""
        current = self.current
        if current is None:
            return False
        other = (
            token.says("sides.left", "sides.right")
            and target.side in ("right", "left")
            and not token.says(f"sides.{target.side}")
        )
        if not other:
            return False
        anew = Move(current.what, current.name, current.match, joined=",")
        if len(target.lengths) > 1:  # "1 min r 1 min l": the second length belongs to the second side
            anew.amount.lengths = [target.lengths.pop()]
        elif len(target.numbers) > 1:
            anew.amount.numbers = [target.numbers.pop()]
        anew.amount.side = "left" if token.says("sides.left") else "right"
        self.line.moves.append(anew)
        self.current = anew
        if not anew.amount.has_size() and not any(map(is_size, self.tokens[self.at + 1 :])):
            anew.amount.lengths, anew.amount.numbers, anew.amount.times = (
                list(target.lengths),
                list(target.numbers),
                list(target.times),
            )
        return True
