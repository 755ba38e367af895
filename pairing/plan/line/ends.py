"""Sizes, sides and words of a chunk that opened no move: to which move of the line they belong."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from pairing.model import Length
from pairing.plan.line.amounts import Amount, exactly, merge, middle
from pairing.plan.line.chunks import is_size
from pairing.plan.line.moves import Around, Line, Move
from pairing.plan.poses import PoseTable
from pairing.plan.tokens import Token

BRIEF_REST_S = 15.0  # between two sets of a line, without a length; editorial
BREATHING = "Belly Breathing"
OFTEN = 6  # "x3 (1 min)" is three minutes, "x6 (12 min)" twelve; editorial
LONG_TOTAL_S = 180.0  # behind a dash, so many minutes are those of all poses before it; editorial
FEW_MOVES = 2  # and more with arrows between them have the minutes behind a comma together; editorial
MUCH_TOTAL_S = 120.0  # a length of several poses from here on; editorial
LONGEST_REP_S = 30.0  # of one repetition that is held; editorial
LEAST_TOTAL_S = 60.0  # of several poses together, behind a comma; editorial
VARIANTS = {"A", "B", "C", "D", "E", "F", "I", "II", "III", "IV", "1", "2", "3"}


@dataclass(slots=True)
class End:
    """What a chunk holds that opened no move of its own."""

    before: str  # what stands before the chunk
    tokens: list[Token]
    line: Line
    around: Around
    lead: Amount
    words: list[Token]

    def close(self) -> None:
        """Give what is left to the moves before it, or make a move of it."""
        real = [
            word
            for word in self.words
            if word.kind in ("unknown", "pose")
            or word.says(
                "moves",
                "kinds",
                "once",
                "columns",
                "top",
                "music",
                "intervals",
                "join.of",
                "units",
                "moves.counted",
                "again",
            )
        ]
        if real and self.line.moves and _variant(real, self.line.moves[-1]):
            _add_variants(real, self.line.moves, self.around.table, self.lead)
            return
        last = self.line.moves[-1] if self.line.moves else None
        if real and last and self.before in ("+", "&") and not last.amount.has_size() and self.lead.has_size():
            last.notes.append(" ".join(word.text for word in self.words))
            merge(last.amount, self.lead)
            return
        if any(word.says("top.total") for word in self.words) and self.lead.lengths and self.line.moves:
            self.line.minutes = self.lead.lengths[0]  # "neck rolls -> side bends, 5 mins all together"
            return
        if self.lead.chain and (self.lead.times or self.lead.tempo) and not self.line.moves and not real:
            breaths = any(token.says("tempo.breath") for token in self.tokens)  # "breathe in 4 out 6, 8 times"
            match = self.around.table.look_up(BREATHING) if breaths else None
            move = Move("pose", "breath", match, self.lead) if match else Move("move", "tempo", None, self.lead)
            move.joined = self.before  # "down 3 up 1 x8"
            self.line.moves.append(move)
            return
        if self._is_cue_with_number():
            self.line.leftover.append(" ".join(token.text for token in self.tokens))
            return
        substantive = [
            word
            for word in real
            if word.kind in ("unknown", "pose")
            or (word.says("moves.short", "kinds") and not word.says("moves.counted"))
        ]
        if substantive and self.lead.has_size() and self._is_own_move(substantive):
            name = " ".join(word.text for word in self.words)
            minutes = bool(self.lead.lengths) or (self.around.yin and bool(self.lead.numbers))
            known = minutes and all(word.says("kinds", "easy", "join") for word in self.words)
            self.line.moves.append(Move("gap", name, None, self.lead, joined=self.before, unknown=not known))
            return
        if self.words:
            (self.line.moves[-1].notes if self.line.moves else self.line.notes).append(
                " ".join(word.text for word in self.words)
            )
        if self.lead.has_any():
            self._to_those_before()

    def _is_cue_with_number(self) -> bool:
        """ "hands 2 high" behind a pose: a number in the middle of words that name nothing."""
        inside = len(self.tokens) > 2 and self.tokens[0].kind == self.tokens[-1].kind == "unknown"
        only = self.lead.numbers and not (self.lead.lengths or self.lead.times or self.lead.counts)
        return bool(self.line.moves and inside and only)

    def _is_own_move(self, substantive: list[Token]) -> bool:
        """Whether unknown words with a size are a movement of their own, not "10 slow" or "wide 2nd"."""
        first = self.tokens[0]
        return not (self.line.moves and is_size(first) and first.kind == "number" and len(substantive) == 1)

    def _to_those_before(self) -> None:
        """Give a size or a side that stands alone to the move before it, or to all moves of the line."""
        moves, lead = self.line.moves, self.lead
        if not moves:
            merge(self.line.shared, lead)
            self.line.in_front = self.before in ("(", ")")
            return
        last = moves[-1]
        if self._holds_repetitions():
            for move in moves:
                move.amount.times, move.amount.numbers = move.amount.times or move.amount.numbers, []
                move.amount.lengths = [*lead.lengths]
            return
        if (done := self._done_before_rest()) is not None:
            moves.append(Move(done.what, done.name, done.match, lead, joined=","))
            return
        if last.what == "bell" and lead.lengths:  # "chimes, come back slowly 3 min": a bell takes no time
            moves.append(Move("pause", " ".join(last.notes) or last.name, None, lead, joined=self.before))
            return
        side = lead.side
        label_side = any(token.says("sides.right", "sides.left") for token in self.line.label_tokens)
        if side in ("right", "left") and label_side and self.before == "/":
            self.line.other_side = True  # "R: ..., ... / L"
            return
        if side in ("right", "left") and self._turns_over(side, lead):
            self.line.other_side = True
            return
        if side in ("right", "left"):
            earlier = next((move for move in reversed(moves) if move.amount.side in ("right", "left")), None)
            if earlier is not None and earlier.amount.side != side:
                anew = Move(earlier.what, earlier.name, earlier.match, lead, joined=",")
                if not lead.has_size():
                    anew.amount.lengths, anew.amount.numbers, anew.amount.times = (
                        list(earlier.amount.lengths),
                        list(earlier.amount.numbers),
                        list(earlier.amount.times),
                    )
                moves.append(anew)
                return
        if replace(lead, side=None) == Amount() and side == "each" and self._closes_run():
            self.line.other_side = True
            return
        if self.before == "/" and lead.lengths and lead.lengths == last.amount.lengths and not last.amount.side:
            last.amount.side = "each"  # "30s/30s"
            return
        sided = any(move.amount.side for move in moves)
        if side == "each" and lead.rounds and lead.times and len(moves) > 1 and not (lead.lengths or sided):
            self.line.sets, self.line.other_side = max(1, int(middle(lead.times[0]))), True  # "..., 3 rounds each side"
            return
        bare = [move for move in moves if not move.amount.has_size() and move.what in ("pose", "gap", "move")]
        if lead.ea and len(lead.lengths) == 1 and lead.lengths[0].unit == "breaths" and len(bare) == len(moves) > 1:
            for move in moves:  # "W2 → side angle → half moon, 5 br ea"
                merge(move.amount, replace(lead, side=None))
        elif self._is_one_stay(lead, bare):
            first, *others = moves
            merge(first.amount, lead)
            first.notes += [word for move in others for word in (move.name, *move.notes)]
            del moves[1:]
        elif (
            (self._is_total(lead) and len(moves) > 1 and len(bare) == len(moves))
            or self._holds_all(lead)
            or self._is_of_run(lead)
        ):
            self.line.minutes = lead.lengths[0]
        elif self._is_number_of_all(lead, bare):
            self.line.minutes = Length("seconds", 60 * middle(lead.numbers[0]), *(60 * end for end in lead.numbers[0]))
        elif self.before in ("—", "(") and len(moves) > 1 and len(bare) == len(moves) and not lead.each:
            merge(self.line.shared, lead)
        elif self._counts_both_sides(lead):
            moves[-2].amount.times = moves[-1].amount.times = [*lead.times]
        elif self._counts_the_run(lead) or self._counts_all(lead):
            self.line.sets = max(1, int(middle(lead.times[0])))
        elif lead.each and len(moves) > 1 and lead.lengths and not any(move.amount.lengths for move in moves):
            for move in moves:  # "cobra x2 / locust x2 / bow x2, all 5 br"
                merge(move.amount, replace(lead, each=False))
        elif lead.each and len(bare) > 1:
            for move in bare:
                merge(move.amount, replace(lead, each=False))
        elif (lead.rounds and lead.times and len(moves) > 1 and len(bare) == len(moves)) or (
            lead.rounds and lead.times and self.before == "—"
        ):
            merge(self.line.shared, lead)
        elif self.before == "→" and last.amount.lengths and lead.lengths and lead.side == "each":
            moves.append(Move(last.what, last.name, last.match, lead, joined="→"))  # "plank 1 min -> side 30 s e/s"
        elif last.amount.has_size() and lead.numbers and (lead.slow or lead.quick):
            moves.append(Move(last.what, last.name, last.match, lead, joined=","))
        elif last.amount.has_size() and lead.numbers and not lead.lengths and last.amount.numbers:
            last.amount.numbers += lead.numbers
        else:
            merge(last.amount, lead)

    def _holds_repetitions(self) -> bool:
        """ "Leg extensions 8x R, 8x L, each 5 s held": each of those that are counted is held so long."""
        lead, moves = self.lead, self.line.moves
        brief = len(lead.lengths) == 1 and lead.lengths[0].unit == "seconds" and lead.lengths[0].likely <= LONGEST_REP_S
        each = lead.each or lead.side == "each" or self.line.of_each
        counted = all((move.amount.times or move.amount.numbers) and not move.amount.lengths for move in moves)
        moved = all(move.pose is not None and move.pose.rep_breaths is not None for move in moves)
        held = any(token.says("how.hold") for token in self.tokens)
        return brief and each and counted and moved and held and not lead.times

    def _done_before_rest(self) -> Move | None:
        """ "Plank 45 s - rest 15 s - 45 s": what a size behind a rest is that of."""
        if len(self.line.moves) < 2 or self.line.moves[-1].what != "pause":
            return None
        before, rest = self.line.moves[-2], self.line.moves[-1].amount
        if not rest.lengths:  # "sit to stand 8, rest, 8"
            alike = bool(before.amount.numbers and self.lead.numbers) or bool(before.amount.times and self.lead.times)
            if before.what != "pose" or not alike or rest.has_size() or self.lead.lengths:
                return None
            rest.lengths = [exactly("seconds", BRIEF_REST_S)]
            return before
        again = any(token.says("again.repeat", "again.same") for token in self.tokens)
        timed = bool(before.amount.lengths and self.lead.lengths and not self.lead.times)
        counted = again and bool(self.lead.times or self.lead.numbers) and before.amount.has_size()
        return before if before.what == "pose" and (timed or counted) else None

    def _turns_over(self, side: str, lead: Amount) -> bool:
        """ "Three-legged dog R > crescent > triangle / then L": a side alone behind a run that began on the other."""
        first, *later = self.line.moves
        alone = replace(lead, side=None) == Amount() and first.amount.side in ("right", "left")
        return alone and len(later) > 1 and first.amount.side != side and not any(move.amount.side for move in later)

    def _is_total(self, lead: Amount) -> bool:
        """ "Neck + shoulders, 3 min": minutes by themselves behind a comma or a sum are those of the line."""
        alone = len(lead.lengths) == 1 and replace(lead, lengths=[], length_end=0) == Amount()
        minutes = alone and lead.lengths[0].unit == "seconds" and lead.lengths[0].likely >= LEAST_TOTAL_S
        joined = {move.joined for move in self.line.moves[1:]}
        long = minutes and lead.lengths[0].likely >= LONG_TOTAL_S
        sums = self.before in ("—", "(") and joined <= ({"+", "&", ","} if long else {"+", "&"})
        return minutes and (sums or self.before == ",") and "→" not in joined

    def _is_of_run(self, lead: Amount) -> bool:
        """ "Cat cow → thread needle → tiger curls, 3 min", "waves x6 → lunge R, lunge L ... 3 min": of all of it."""
        moves = self.line.moves
        alone = len(lead.lengths) == 1 and replace(lead, lengths=[], length_end=0) == Amount()
        minutes = alone and lead.lengths[0].unit == "seconds" and lead.lengths[0].likely >= MUCH_TOTAL_S
        apart = self.before == "—" or (self.before == "," and not any(move.amount.has_size() for move in moves))
        run = len(moves) > FEW_MOVES and any(move.joined in ("→", "to") for move in moves[1:])
        told = any(length.unit == "seconds" for move in moves for length in move.amount.lengths)
        return minutes and apart and run and not told

    def _is_one_stay(self, lead: Amount, bare: Sequence[Move]) -> bool:
        """ "Shoelace, fold, 4 min each side": in a class of long holds, the words before the minutes are one pose."""
        moves = self.line.moves
        timed = len(lead.lengths) == 1 and lead.lengths[0].unit == "seconds" and lead.side == "each"
        poses = all(move.what == "pose" and move.joined in (",", "or") for move in moves[1:])
        return self.around.yin and timed and len(moves) > 1 and len(bare) == len(moves) and poses

    def _is_number_of_all(self, lead: Amount, bare: Sequence[Move]) -> bool:
        """ "Knees to chest, rock - 1": in a class of long holds, the minutes of poses one of which is moved in."""
        moves, alone = self.line.moves, len(lead.numbers) == 1 and replace(lead, numbers=[]) == Amount()
        moved = any(move.pose is None or move.pose.rep_breaths is not None for move in moves)
        short = alone and (moved or middle(lead.numbers[0]) <= 1)
        return short and self.around.yin and self.before == "—" and len(moves) > 1 and len(bare) == len(moves)

    def _holds_all(self, lead: Amount) -> bool:
        """ "Crescent 5br, dancer 30s e/s (10m)", "suns x6 (12 min)": minutes in a bracket behind other sizes."""
        moves = self.line.moves
        alone = len(lead.lengths) == 1 and replace(lead, lengths=[], length_end=0) == Amount()
        minutes = alone and lead.lengths[0].unit == "seconds" and lead.lengths[0].likely >= LEAST_TOTAL_S
        whole = moves[0].pose is not None and self.around.table.compound(moves[0].pose.id)  # "suns x3 (6 min)"
        often = len(moves) > 1 or any(low >= (2 if whole else OFTEN) for low, _ in moves[0].amount.times)
        sized = all(move.amount.has_size() for move in moves)
        long = len(moves) > 1 and minutes and lead.lengths[0].likely >= LONG_TOTAL_S  # "child -> cat -> dog (4 min)"
        return minutes and self.before == "(" and (long or (often and sized))

    def _closes_run(self) -> bool:
        """Whether a side by itself behind several poses holds for them all: "w1 3br, w2 3br, triangle 3br, R & L"."""
        moves = self.line.moves
        gaps = all(move.what == "gap" and move.amount.lengths for move in moves)  # "push 10 s, pull 10 s, ea side"
        poses = [move for move in moves if (move.pose is not None and move.pose.sided) or gaps]
        alone = self.before in (",", ";", "—", "(", "→", "/", ".") and not any(move.amount.side for move in moves)
        return alone and len(poses) > 1 and (gaps or all(move.what == "pose" for move in moves))

    def _counts_both_sides(self, lead: Amount) -> bool:
        """ "Neck: look R, look L, 3 times"."""
        if len(self.line.moves) < 2 or not lead.times or lead.lengths:
            return False
        one, other = self.line.moves[-2:]
        sides = {one.amount.side, other.amount.side} == {"right", "left"}
        return sides and one.pose is other.pose and not (one.amount.times or other.amount.times)

    def _counts_the_run(self, lead: Amount) -> bool:
        """ "crow 5 breaths -> chaturanga, x3": a count behind a comma holds for the run of the line."""
        alone = replace(lead, times=[], rounds=False) == Amount() and len(lead.times) == 1
        run = len(self.line.moves) > 1 and any(move.joined in ("→", "to") for move in self.line.moves[1:])
        return alone and run and self.before in (",", ";", "—", "(", ")", "→")

    def _counts_all(self, lead: Amount) -> bool:
        """ "Lift 12, pulse 12, hold 8 - x3": a count behind a dash holds for all that has a size of its own."""
        alone = replace(lead, times=[], rounds=False) == Amount() and len(lead.times) == 1
        sized = len(self.line.moves) > 1 and all(move.amount.has_size() for move in self.line.moves)
        return alone and sized and self.before in ("—", "→", ",", ".", ";")


def _variant(words: Sequence[Token], last: Move) -> bool:
    """Whether these words are but a letter or number of the pose before: "A, B, C", "I & II"."""
    return last.pose is not None and all(word.text.upper() in VARIANTS for word in words)


def _add_variants(words: Sequence[Token], moves: list[Move], table: PoseTable, lead: Amount) -> None:
    last = moves[-1]
    for word in words:
        stem = " ".join(last.name.split()[:-1]) if last.name.split()[-1].upper() in VARIANTS else last.name
        named = table.look_up(f"{stem} {word.text}")
        match = named if named.pose and named.pose is not last.pose and not named.extra else last.match
        moves.append(Move("pose", f"{stem} {word.text}", match, joined="&"))
    if lead.has_any():
        merge(moves[-1].amount, lead)
