"""Checks and the codes of what they find: a check registers itself where it stands."""

from collections.abc import Callable, Iterator
from typing import Generic, TypeVar

from pairing.model import Finding

It = TypeVar("It")
Check = Callable[[It], Iterator[Finding]]


class Register(Generic[It]):
    """The checks of one kind of thing, in the order in which they stand."""

    def __init__(self) -> None:
        self._checks: list[tuple[Check[It], frozenset[str]]] = []

    def finds(self, *codes: str) -> Callable[[Check[It]], Check[It]]:
        """Register the check below, which finds these things and no others."""

        def registered(check: Check[It]) -> Check[It]:
            self._checks.append((check, frozenset(codes)))
            return check

        return registered

    @property
    def codes(self) -> frozenset[str]:
        """The codes of all that these checks can find."""
        return frozenset().union(*(codes for _, codes in self._checks))

    def findings(self, it: It) -> Iterator[Finding]:
        """What the checks find, check by check.

        Raises:
            ValueError: a check found what it isn't registered with.
        """
        for check, codes in self._checks:
            for finding in check(it):
                if finding.code not in codes:
                    raise ValueError(f"{check.__name__} isn't registered with {finding.code!r}")
                yield finding
