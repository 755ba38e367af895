"""Measures which quick tests run which function, for `run.py`: all of them in one process, a quarter of an hour.

    python tests/mutants/measure_near.py                    renews near.txt
    python tests/mutants/measure_near.py tests/audio/...    from these tests alone

Every line of a function gets those tests that run it and take the least time, and those that run the least beside it.
"""

import ast
import sys
import time
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import coverage
import pytest

sys.path.insert(0, str(Path(__file__).parent))

from near import MOST, MOST_S, STORED, Place, functions

ROOT = Path(__file__).resolve().parents[2]
A_LINE = 3  # tests of each of both sorts


class Watch:
    """A pytest plugin that tells coverage who runs, and how long each takes with the fixtures that it needs."""

    def __init__(self, watched: coverage.Coverage) -> None:
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

    @pytest.hookimpl(hookwrapper=True)
    def pytest_runtest_protocol(self, item: Any) -> Iterator[None]:
        name = _name(item.nodeid)
        self._watched.switch_context(name)
        self._made_s, began_s = 0.0, time.process_time()
        yield
        self._own_s[name] += time.process_time() - began_s - self._made_s
        self._needs[name] |= {one for many in item._fixtureinfo.name2fixturedefs.values() for one in many}

    @pytest.hookimpl(hookwrapper=True)
    def pytest_fixture_setup(self, fixturedef: Any) -> Iterator[None]:
        began_s, made_before_s = time.process_time(), self._made_s
        yield
        if fixturedef.scope != "function":
            inner_s = self._made_s - made_before_s
            self._shared_s[fixturedef] += time.process_time() - began_s - inner_s
            self._made_s += time.process_time() - began_s - inner_s

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed:
            self.failed.add(_name(report.nodeid))


def _name(node: str) -> str:
    return node.partition("[")[0].replace(" ", "")


def main() -> None:
    """Run the tests and write the file."""
    watched = coverage.Coverage(data_file=None, include=["audio/*", "pairing/*"], config_file=False)
    watch = Watch(watched)
    watched.start()
    words = ["-q", "-p", "no:cacheprovider", "-m", "not browser and not slow"]
    pytest.main([*words, *(sys.argv[1:] or ["tests"])], plugins=[watch])
    watched.stop()
    seconds = watch.seconds()
    names = {name: number for number, name in enumerate(sorted(seconds))}
    lines = [f"test {seconds[name]:.2f} {name}" for name in names]
    for (file, function), tests in sorted(chosen(watched.get_data(), seconds).items()):
        lines.append(f"near {file} {function} {' '.join(str(names[test]) for test in tests)}")
    STORED.write_text("\n".join(lines) + "\n", "utf-8")
    print(f"{len(seconds)} tests passed, {len(watch.failed)} did not: {' '.join(sorted(watch.failed))}")


def chosen(data: coverage.CoverageData, seconds: dict[str, float]) -> dict[Place, list[str]]:
    """The tests of every function."""
    runs = {Path(file): data.contexts_by_lineno(file) for file in data.measured_files()}
    breadth: dict[str, int] = defaultdict(int)
    for lines in runs.values():
        for names in lines.values():
            for name in names:
                breadth[name] += 1
    return {
        (file.relative_to(ROOT).as_posix(), function): tests
        for file, lines in runs.items()
        if file.suffix == ".py"  # templates are measured too
        for function, first, last in _spans(file)
        if (
            tests := _of_lines(
                [set(lines.get(line, ())) & set(seconds) for line in range(first, last + 1)], seconds, breadth
            )
        )
    }


def _spans(file: Path) -> Iterator[tuple[str, int, int]]:
    """Every function with the lines of its body."""
    for function, node in functions(ast.parse(file.read_text("utf-8"))):
        yield function, node.body[0].lineno, node.end_lineno or node.lineno


def _of_lines(lines: list[set[str]], seconds: dict[str, float], breadth: dict[str, int]) -> list[str]:
    """Some of the tests that run these lines: for each line in turn the quickest and the narrowest."""
    kept: dict[str, None] = {}
    for rank in range(A_LINE):
        for tests in lines:
            for order in (seconds, breadth):
                kept |= dict.fromkeys(sorted(tests, key=lambda test: (order[test], test))[rank : rank + 1])
    few = [test for test in kept if seconds[test] <= MOST_S][:MOST] or list(kept)[:1]
    return sorted(few, key=lambda test: (seconds[test], test))


if __name__ == "__main__":
    main()
