"""Breaks the program in one small place at a time and sees whether the tests near it notice.

    python tests/mutants/run.py                       300 faults; a quarter of an hour
    python tests/mutants/run.py --count 20 --least 30 a sample, as `.ci/run` takes it
    python tests/mutants/run.py audio/measure/key.py  every fault of one file, or of its line: audio/measure/key.py:30

Each fault meets up to 200 quick tests and examples that run the function it lies in, the quickest first (`near.py`). A fault counts as
noticed where a test fails or runs past its time; that test is run once without any fault then, and must pass. Prints a
line a fault that no test noticed, and at the end how many were noticed, by package. The program is copied first, and
the checkout stays as it is; each try is a fork of one process that has libraries and program loaded, in which one
function gets other code. Where that can't be (what runs on import, compiled loops), the fork loads the program anew.
"""

import argparse
import ast
import math
import os
import random
import re
import shutil
import signal
import sys
import tempfile
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from breaking import Ran, compiled_callers, load, load_broken, module_of, swap_code
from near import Near, Place, functions
from sites import Site, broken, sites
from warm import BROKE_OFF, ROOT, in_forks, warm

PACKAGES = [
    "audio/measure",
    "audio/render",
    "pairing/solve",
    "pairing/effort",
    "pairing/plan",
    "pairing/checks",
    "pairing/alignment",
    "pairing/sets",
]
CALLS = 5  # that are followed upwards to a function that tests were seen in
PATIENCE, START_S, COMPILE_S = 3.0, 4.0, 30.0  # CPU time a test may take: so many times its usual, and so much more
EXAMPLES = "tests/docs/test_docstrings.py::test_examples_in_docstrings_hold"
LONGEST_S = 600.0
OUTCOMES = {0: "passed", 1: "failed", 2: "failed"}


@dataclass(frozen=True)
class Tried:
    """What became of a fault."""

    file: str
    site: Site
    outcome: str  # "passed", "failed" or "out of time"
    by: str  # the test that noticed, or was at work
    cpu_s: float


def main() -> None:
    """Try the faults asked for; exit 1 where too few are noticed, 2 where a test fails without any."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("places", nargs="*", help="source files, every fault of each, or FILE:LINE")
    parser.add_argument("--count", type=int, default=300, help="faults, the same number from every package")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--least", type=float, default=0.0, help="percent that must be noticed")
    parser.add_argument("--packages", nargs="*", default=PACKAGES)
    parser.add_argument("--at-once", type=int, default=1, help="tries beside each other")
    options = parser.parse_args()
    faults = [fault for place in options.places for fault in _at(place)]
    faults = faults if options.places else _chosen(options.packages, options.count, random.Random(options.seed))
    with tempfile.TemporaryDirectory(prefix="mutants-") as folder:
        share = _report(_tried(Path(folder), faults, options.at_once))
    sys.exit(0 if share >= options.least else 1)


def _at(place: str) -> Iterator[tuple[str, Site]]:
    file, _, line = place.partition(":")
    for site in sites((ROOT / file).read_text("utf-8")):
        if not line or site.line == int(line):
            yield file, site


def _chosen(packages: list[str], count: int, dice: random.Random) -> list[tuple[str, Site]]:
    chosen = []
    for number, package in enumerate(packages):
        files = [path.relative_to(ROOT).as_posix() for path in sorted((ROOT / package).rglob("*.py"))]
        places = [(file, site) for file in files for site in sites((ROOT / file).read_text("utf-8"))]
        share = count * (number + 1) // len(packages) - count * number // len(packages)
        chosen += dice.sample(places, min(share, len(places)))
    dice.shuffle(chosen)  # so that what was done when it is stopped is a fair part
    return chosen


def _tried(folder: Path, faults: list[tuple[str, Site]], at_once: int) -> Iterator[Tried]:
    shutil.copytree(ROOT, folder, ignore=shutil.ignore_patterns(".git", ".venv*", "site"), dirs_exist_ok=True)
    os.environ.update(PYTHONPATH=str(folder), PYTEST_DISABLE_PLUGIN_AUTOLOAD="1")
    sys.dont_write_bytecode = False  # else every try would compile the tests again
    sys.path.insert(0, str(folder))
    os.chdir(folder)
    warm()
    copy = _Copy(folder, load(folder))
    for ended in in_forks(lambda number: copy.status(number, *faults[number]), len(faults), at_once):
        if ended.status == BROKE_OFF:
            print(f"could not be broken: {faults[ended.number]}", file=sys.stderr)
            sys.exit(2)
        yield copy.tried(ended.number, *faults[ended.number], OUTCOMES.get(ended.status, "out of time"), ended.cpu_s)


class _Copy:
    """The program's copy, in which one place at a time is broken."""

    def __init__(self, folder: Path, at_import: Ran) -> None:
        self._folder, self._at_import = folder, at_import
        self._near = Near.read()
        self._sound: set[str] = set()  # tests that were seen to pass without a fault

    def status(self, number: int, file: str, site: Site) -> int:
        """In a fork: break it and run the tests near to it."""
        tests = self._tests(file, site)
        path = self._folder / file
        whole = path.read_text("utf-8")
        loops = compiled_callers(self._folder, file, site.line) if "@compiled(" in whole else set()
        name = _function(file, site.line)
        ran_at_import = (str(path), name) in self._at_import
        if loops or ran_at_import or not (name and swap_code(path, name, broken(whole, site))):
            load_broken(self._folder, file, broken(whole, site), loops)
        return _status(tests, self._said(number), self._near.seconds, COMPILE_S if loops else 0.0) if tests else 0

    def tried(self, number: int, file: str, site: Site, outcome: str, cpu_s: float) -> Tried:
        """What came of it; ends the run where the test that noticed it notices nothing."""
        said = self._said(number)
        by = said.read_text() if said.exists() else ""
        if outcome != "passed":
            self._see_sound(by, self._tests(file, site))
        return Tried(file, site, outcome, by, cpu_s)

    def _said(self, number: int) -> Path:
        return self._folder / f"at-{number}"

    def _tests(self, file: str, site: Site) -> list[str]:
        """The examples in the file's own docstrings, then those that were measured."""
        near = [test for test in self._near.of(self._measured(places(file, site.line))) if _exists(test)]
        has_examples = re.search(r"^\s*>>> ", Path(file).read_text("utf-8"), re.M)
        return [f"{EXAMPLES}[{module_of(Path(file))}]", *near] if has_examples else near

    def _measured(self, layer: list[Place]) -> list[Place]:
        """These functions, or where no test was seen in them (compiled, or newer), those that call them."""
        for _ in range(CALLS):
            if any(place in self._near.tests for place in layer):
                break
            layer = [caller for place in layer for caller in _callers(*place)]
        return layer

    def _see_sound(self, by: str, tests: list[str]) -> None:
        """A test that fails always notices nothing; nor does one that isn't known which."""
        meant = [by] if by else tests
        if set(meant) <= self._sound:
            return
        ended = next(iter(in_forks(lambda _: _status(meant, self._folder / "sound", {}, math.inf), 1, 1)))
        if ended.status != 0:
            print(f"fails without any fault ({ended.status}): {' '.join(meant)}", file=sys.stderr)
            sys.exit(2)
        self._sound |= set(meant)


def _function(file: str, line: int) -> str:
    """The function a line stands in, or nothing."""
    for name, node in functions(ast.parse(Path(file).read_text("utf-8"))):
        if node.lineno <= line <= (node.end_lineno or line):
            return name
    return ""


def places(file: str, line: int) -> list[Place]:
    """Where a fault in a line may show: in its function, or in all that read what the line makes when imported."""
    function = _function(file, line)
    if function:
        return [(file, function)]
    module = file.removesuffix(".py").replace("/", ".")
    body = ast.parse(Path(file).read_text("utf-8")).body
    made = {name for node in body if node.lineno <= line <= (node.end_lineno or line) for name in _names(node)}
    return [
        (other, name) for other, name, read in _readers() if read & made and (other == file or module in _of(other))
    ]


def _callers(file: str, function: str) -> list[Place]:
    module, called = file.removesuffix(".py").replace("/", "."), function.rpartition(".")[2]
    return [
        (other, name)
        for other, name, read in _readers()
        if called in read and (other == file or module in _of(other)) and (other, name) != (file, function)
    ]


def _names(node: ast.stmt) -> set[str]:
    if isinstance(node, ast.ClassDef):
        return {node.name}
    return {one.id for one in ast.walk(node) if isinstance(one, ast.Name) and isinstance(one.ctx, ast.Store)}


@cache
def _readers() -> list[tuple[str, str, frozenset[str]]]:
    """Every function of the program and the names in it."""
    found = []
    for path in sorted([*Path("audio").rglob("*.py"), *Path("pairing").rglob("*.py")]):
        for name, node in functions(ast.parse(path.read_text("utf-8"))):
            words = {one.id for one in ast.walk(node) if isinstance(one, ast.Name)}
            words |= {one.attr for one in ast.walk(node) if isinstance(one, ast.Attribute)}
            found.append((path.as_posix(), name, frozenset(words)))
    return found


@cache
def _of(file: str) -> frozenset[str]:
    """Modules that a file imports, or imports from."""
    nodes = list(ast.walk(ast.parse(Path(file).read_text("utf-8"))))
    froms = [node for node in nodes if isinstance(node, ast.ImportFrom) and node.module]
    return frozenset(
        {f"{node.module}.{name.name}" for node in froms for name in node.names} | {str(node.module) for node in froms}
    )


@cache
def _exists(test: str) -> bool:
    file, _, name = test.partition("[")[0].partition("::")
    return Path(file).exists() and f"def {name.split('::')[-1]}(" in Path(file).read_text("utf-8")


def _status(tests: list[str], said: Path, seconds: Mapping[str, float], more_s: float) -> int:
    """Of the tests; the one at work is written down before each, and ends the process where it takes too long.

    Args:
        seconds: of CPU that tests usually take.
        more_s: that are granted all together, for compiling.
    """
    import pytest

    place = {test: number for number, test in enumerate(tests)}

    def asked(nodeid: str) -> str:
        """The example, or the test with all of its examples."""
        return nodeid if nodeid in place else nodeid.partition("[")[0]

    class Diary:
        def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
            items[:] = sorted(
                (one for one in items if asked(one.nodeid) in place), key=lambda one: place[asked(one.nodeid)]
            )

        def pytest_runtest_logstart(self, nodeid: str) -> None:
            said.write_text(nodeid)
            if math.isfinite(more_s):
                usual_s = seconds.get(asked(nodeid), 1.0)
                signal.setitimer(signal.ITIMER_PROF, START_S + PATIENCE * usual_s + more_s)

    signal.setitimer(signal.ITIMER_REAL, LONGEST_S)  # where it only waits
    # Asked for as whole tests, so that an example that is gone since is no error.
    words = ["-x", "-q", "--tb=no", "-p", "no:cacheprovider"]
    status = int(pytest.main([*words, *dict.fromkeys(test.partition("[")[0] for test in tests)], plugins=[Diary()]))
    if status in (0, 5):  # all passed, or what was asked for is gone
        said.write_text("")
        return 0
    return status


def _report(tried: Iterable[Tried]) -> float:
    all_of, noticed = Counter[str](), Counter[str]()
    for one in tried:
        package = str(Path(one.file).parent)
        all_of[package] += 1
        noticed[package] += one.outcome != "passed"
        place, fault = f"{one.file}:{one.site.line}", f"{one.site.before}  ->  {one.site.after}"
        print(f"{place} {one.outcome} {one.cpu_s:.1f} s {one.by}", file=sys.stderr, flush=True)
        if one.outcome == "passed":
            print(f"{place}: {fault}", flush=True)
    print("\n| package | faults | noticed | % |\n|---|---|---|---|")
    for package, count in [*sorted(all_of.items()), ("all", all_of.total())]:
        found = noticed.total() if package == "all" else noticed[package]
        print(f"| {package} | {count} | {found} | {100 * found / max(count, 1):.0f} |")
    return 100 * noticed.total() / max(all_of.total(), 1)


if __name__ == "__main__":
    main()
