"""Measures which quick tests run which function, for `run.py`: every test file in a fork of one warm process.

    python tests/mutants/measure_near.py                    renews near.txt; ten minutes of CPU on two cores
    python tests/mutants/measure_near.py tests/audio/...    what these files hold, beside what is known of the others

Every line of a function gets those tests that run it and take the least time, those that run the least beside it, and
a few that run the most of its file, as those do that hold many examples. A test of many examples that takes longer is
known example by example.
"""

import ast
import os
import pickle
import sys
import tempfile
import time
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent))

from near import MOST, MOST_S, Near, Place, functions
from warm import ROOT, in_forks, warm

A_LINE = 15  # tests of each of the first two sorts
BROAD, BROAD_S = 4, 6.0  # of the third, none of more seconds
WHOLE_S = 0.3  # up to which the examples of a test stay together
AT_ONCE = 2


@dataclass
class Seen:
    """What test files showed: CPU seconds of every test, which of them failed, and by file and line who ran it."""

    seconds: dict[str, float] = field(default_factory=dict)
    failed: set[str] = field(default_factory=set)
    ran: dict[str, dict[int, set[str]]] = field(default_factory=lambda: defaultdict(lambda: defaultdict(set)))

    def add(self, other: "Seen") -> None:
        """All that the other saw."""
        self.seconds |= other.seconds
        self.failed |= other.failed
        for file, lines in other.ran.items():
            for line, tests in lines.items():
                self.ran[file][line] |= tests

    def gathered(self) -> "Seen":
        """The same with the examples of each quick test together."""
        took_s: dict[str, float] = defaultdict(float)
        for name, seconds in self.seconds.items():
            took_s[_test(name)] += seconds
        together = {name: _test(name) if took_s[_test(name)] <= WHOLE_S else name for name in self.seconds}
        seen = Seen(failed=self.failed)
        for name, seconds in self.seconds.items():
            seen.seconds[together[name]] = seen.seconds.get(together[name], 0.0) + seconds
        for file, lines in self.ran.items():
            for line, tests in lines.items():
                seen.ran[file][line] = {together[test] for test in tests}
        return seen


class Watch:
    """A pytest plugin that tells coverage who runs, and how long each takes with the fixtures that it needs."""

    def __init__(self, watched: Any) -> None:
        self._watched = watched
        self._own_s: dict[str, float] = defaultdict(float)
        self._needs: dict[str, set[Any]] = defaultdict(set)
        self._shared_s: dict[Any, float] = defaultdict(float)  # fixtures of a whole file, made once
        self._made_s = 0.0  # in the test at hand
        self.failed: set[str] = set()

    def seconds(self) -> dict[str, float]:
        """CPU time of every test that passed, alone."""
        return {
            name: own_s + sum(self._shared_s[fixture] for fixture in self._needs[name])
            for name, own_s in self._own_s.items()
            if name not in self.failed
        }

    def pytest_runtest_protocol(self, item: Any) -> Iterator[None]:
        name = item.nodeid
        self._watched.switch_context(name)
        self._made_s, began_s = 0.0, time.process_time()
        yield
        self._own_s[name] += time.process_time() - began_s - self._made_s
        self._needs[name] |= {one for many in item._fixtureinfo.name2fixturedefs.values() for one in many}

    def pytest_fixture_setup(self, fixturedef: Any) -> Iterator[None]:
        began_s, made_before_s = time.process_time(), self._made_s
        yield
        if fixturedef.scope != "function":
            inner_s = self._made_s - made_before_s
            self._shared_s[fixturedef] += time.process_time() - began_s - inner_s
            self._made_s += time.process_time() - began_s - inner_s

    def pytest_runtest_logreport(self, report: Any) -> None:
        if report.failed:
            self.failed.add(report.nodeid)


def _test(example: str) -> str:
    return example.partition("[")[0]


def main() -> None:
    """Run the tests and write the file."""
    named = sys.argv[1:] or [str(path.relative_to(ROOT)) for path in sorted((ROOT / "tests").rglob("test_*.py"))]
    os.chdir(ROOT)
    sys.path.insert(0, str(ROOT))
    warm()
    seen = Seen()
    with tempfile.TemporaryDirectory() as folder:
        for ended in in_forks(lambda number: _watch(named[number], Path(folder, str(number))), len(named), AT_ONCE):
            kept = Path(folder, str(ended.number))
            if kept.exists():
                seen.add(pickle.loads(kept.read_bytes()))
            print(named[ended.number], f"{ended.cpu_s:.0f} s" if kept.exists() else "did not end", file=sys.stderr)
    known = Near.read() if sys.argv[1:] else Near({}, {})
    _store(known.without(named), seen.gathered())
    print(f"{len(seen.seconds)} tests passed, {len(seen.failed)} did not: {' '.join(sorted(seen.failed))}")


def _watch(tests: str, kept: Path) -> int:
    """Run one test file and keep what was seen."""
    import coverage
    import pytest

    watched = coverage.Coverage(data_file=None, include=["audio/*", "pairing/*"], config_file=False)
    watch = Watch(watched)
    for hook in (Watch.pytest_runtest_protocol, Watch.pytest_fixture_setup):
        pytest.hookimpl(hookwrapper=True)(hook)
    watched.start()
    pytest.main(["-q", "-p", "no:cacheprovider", "-m", "not browser and not slow", tests], plugins=[watch])
    watched.stop()
    seen, data = Seen(watch.seconds(), watch.failed), watched.get_data()
    ran = {
        Path(file).relative_to(ROOT).as_posix(): {
            line: set(names) & set(seen.seconds) for line, names in data.contexts_by_lineno(file).items()
        }
        for file in data.measured_files()
        if file.endswith(".py")  # templates are measured too
    }
    seen.ran = ran  # type: ignore[assignment]
    kept.write_bytes(pickle.dumps(seen))
    return 0


def _store(known: Near, seen: Seen) -> None:
    seconds = known.seconds | seen.seconds
    for name, took_s in seen.seconds.items():
        if name != _test(name):  # its examples all together are one more
            seconds[_test(name)] = seconds.get(_test(name), 0.0) + took_s
    Near(seconds, chosen(known, seen, seconds)).write()


def chosen(known: Near, seen: Seen, seconds: dict[str, float]) -> dict[Place, list[str]]:
    """The tests of every function, of those known before and those seen now."""
    breadth: dict[str, int] = defaultdict(int)
    for lines in seen.ran.values():
        for tests in lines.values():
            for test in tests:
                breadth[test] += 1
    near = dict(known.tests)
    for file, lines in seen.ran.items():
        inside = Counter(test for tests in lines.values() for test in set(map(_test, tests)))
        for function, first, last in _spans(ROOT / file):
            of_lines = _of_lines([lines.get(line, set()) for line in range(first, last + 1)], seconds, breadth, inside)
            if of_lines:
                near[file, function] = _few([*of_lines, *known.tests.get((file, function), [])], seconds)
    return {place: tests for place, tests in near.items() if tests}


def _spans(file: Path) -> Iterator[tuple[str, int, int]]:
    """Every function with the lines of its body."""
    for function, node in functions(ast.parse(file.read_text("utf-8"))):
        yield function, node.body[0].lineno, node.end_lineno or node.lineno


def _of_lines(
    lines: list[set[str]], seconds: dict[str, float], breadth: dict[str, int], inside: Counter[str]
) -> list[str]:
    """Some of the tests that run these lines: for each line in turn the quickest, the narrowest, and of the broad ones."""
    orders = [[_ordered(tests, order)[:A_LINE] for order in (seconds, breadth)] for tests in lines]
    for tests, ordered in zip(lines, orders, strict=True):
        quick = {test for test in map(_test, tests) if seconds[test] <= BROAD_S}
        ordered.append(sorted(quick, key=lambda test: (-inside[test], test))[:BROAD])
    ranks = range(max(A_LINE, BROAD))
    return list(dict.fromkeys(row[rank] for rank in ranks for rows in orders for row in rows if rank < len(row)))


def _ordered(tests: set[str], order: Mapping[str, float]) -> list[str]:
    return sorted(tests, key=lambda test: (order[test], test))


def _few(tests: list[str], seconds: dict[str, float]) -> list[str]:
    few = [test for test in tests if seconds[test] <= MOST_S][:MOST] or tests[:1]
    return sorted(few, key=lambda test: (seconds[test], test))


if __name__ == "__main__":
    main()
