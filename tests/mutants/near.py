"""Which quick tests are near to each function, as `measure_near.py` found and `near.txt` keeps it."""

import ast
import itertools
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

STORED = Path(__file__).with_name("near.txt")
MOST, MOST_S = 200, 24.0  # tests that meet one fault, and their CPU time

Place = tuple[str, str]  # a file, and a function in it; "" for what stands outside of functions


@dataclass(frozen=True)
class Near:
    """Tests, or single examples of them, with their CPU seconds; by place, those to try first coming first."""

    seconds: dict[str, float]
    tests: dict[Place, list[str]]

    @classmethod
    def read(cls) -> "Near":
        """`near.txt`: a line a file, below it a line for each of its tests, or for each place with the numbers of its tests."""
        file, names, seconds, tests = "", [], {}, {}
        for line in STORED.read_text("utf-8").splitlines():
            kind, first, *rest = line.split(" ", 2)
            if kind == "file":
                file = first
            elif kind == "test":
                names.append(f"{file}::{rest[0]}")
                seconds[names[-1]] = float(first)
            else:
                tests[file, first] = [names[int(number)] for number in rest[0].split(" ")]
        return cls(seconds, tests)

    def write(self) -> None:
        """Store it as `read` reads it; tests that are near to nothing are left out, with all of their examples."""
        near = {test for tests in self.tests.values() for test in tests}
        names = sorted(near | {test.partition("[")[0] for test in near})
        numbers = {name: str(number) for number, name in enumerate(names)}
        lines: list[str] = []
        for file, inside in itertools.groupby(names, key=lambda name: name.partition("::")[0]):
            lines.append(f"file {file}")
            lines += [f"test {self.seconds[name]:.2f} {name.partition('::')[2]}" for name in inside]
        for file, places in itertools.groupby(sorted(self.tests), key=lambda place: place[0]):
            lines.append(f"file {file}")
            lines += [f"near {place[1]} {' '.join(numbers[test] for test in self.tests[place])}" for place in places]
        STORED.write_text("\n".join(lines) + "\n", "utf-8")

    def without(self, files: Iterable[str]) -> "Near":
        """All but the tests of these files."""
        gone = set(files)
        seconds = {test: took_s for test, took_s in self.seconds.items() if test.partition("::")[0] not in gone}
        return Near(seconds, {place: [one for one in tests if one in seconds] for place, tests in self.tests.items()})

    def of(self, places: Iterable[Place]) -> list[str]:
        """The tests to try for a fault that may show at any of the places: the first of each, then the second..."""
        places = list(places)
        rows = [self.tests[place] for place in places if place in self.tests]
        files = {file for file, _ in places}
        rows = rows or [row for (file, _), row in self.tests.items() if file in files]
        longest = max(map(len, rows), default=0)
        merged = dict.fromkeys(row[rank] for rank in range(longest) for row in rows if rank < len(row))
        return within_reason(merged, self.seconds)


def within_reason(tests: Iterable[str], seconds: dict[str, float]) -> list[str]:
    """The first tests that are few and quick enough; at least one."""
    kept, spent_s = [], 0.0
    for test in tests:
        if not kept or (spent_s + seconds[test] <= MOST_S and len(kept) < MOST):
            kept.append(test)
            spent_s += seconds[test]
    return kept


def functions(tree: ast.AST, above: str = "") -> Iterator[tuple[str, ast.FunctionDef | ast.AsyncFunctionDef]]:
    """Every function of a file with its full name; one inside of another belongs to that."""
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield above + node.name, node
        elif isinstance(node, ast.ClassDef):
            yield from functions(node, f"{above}{node.name}.")
