"""Breaks the program in one small place at a time and sees whether the tests near it notice.

    python tests/mutants/run.py                       300 faults; an hour or two
    python tests/mutants/run.py --count 20 --least 10 a sample, as `.ci/run` takes it
    python tests/mutants/run.py audio/measure/key.py  every fault of one file, or of its line: audio/measure/key.py:30

Each fault meets up to 16 quick tests that run the function it lies in, the quickest first (`near.py`). A fault counts as
noticed where a test fails or runs past its time; that test is run once without any fault then, and must pass. Prints a
line a fault that no test noticed, and at the end how many were noticed, by package. The program is copied first, and
the checkout stays as it is; each try is a fork of one process that has all libraries loaded.
"""

import argparse
import ast
import os
import random
import resource
import shutil
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass
from functools import cache
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from near import Near, Place, functions
from sites import Site, broken, sites

ROOT = Path(__file__).resolve().parents[2]
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
PATIENCE, START_S, COMPILE_S = 3.0, 15.0, 30.0  # CPU time a fault may take: so many times its tests', and so much more


@dataclass(frozen=True)
class Tried:
    """What became of a fault."""

    file: str
    site: Site
    outcome: str  # "passed", "failed" or "out of time"
    by: str  # the test that noticed, or was at work
    took_s: float


def main() -> None:
    """Try the faults asked for; exit 1 where too few are noticed, 2 where a test fails without any."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("places", nargs="*", help="source files, every fault of each, or FILE:LINE")
    parser.add_argument("--count", type=int, default=300, help="faults, the same number from every package")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--least", type=float, default=0.0, help="percent that must be noticed")
    parser.add_argument("--packages", nargs="*", default=PACKAGES)
    options = parser.parse_args()
    faults = [fault for place in options.places for fault in _at(place)]
    faults = faults if options.places else _chosen(options.packages, options.count, random.Random(options.seed))
    with tempfile.TemporaryDirectory(prefix="mutants-") as folder:
        share = _report(_tried(Path(folder), faults))
    sys.exit(0 if share >= options.least else 1)


def _at(place: str) -> Iterator[tuple[str, Site]]:
    file, _, line = place.partition(":")
    for site in sites((ROOT / file).read_text("utf-8")):
        if not line or site.line == int(line):
            yield file, site


def _chosen(packages: list[str], count: int, dice: random.Random) -> list[tuple[str, Site]]:
    chosen = []
    for number, package in enumerate(packages):
        files = [path.relative_to(ROOT).as_posix() for path in sorted((ROOT / package).glob("*.py"))]
        places = [(file, site) for file in files for site in sites((ROOT / file).read_text("utf-8"))]
        share = count * (number + 1) // len(packages) - count * number // len(packages)
        chosen += dice.sample(places, min(share, len(places)))
    dice.shuffle(chosen)  # so that what was done when it is stopped is a fair part
    return chosen


def _tried(folder: Path, faults: Iterable[tuple[str, Site]]) -> Iterator[Tried]:
    shutil.copytree(ROOT, folder, ignore=shutil.ignore_patterns(".git", ".venv*", "site"), dirs_exist_ok=True)
    os.environ.update(PYTHONPATH=str(folder), PYTEST_DISABLE_PLUGIN_AUTOLOAD="1")
    sys.path.insert(0, str(folder))
    os.chdir(folder)
    _warm()
    copy = _Copy(folder)
    for file, site in faults:
        yield copy.tried(file, site)


def _warm() -> None:
    """What tests need and no fault touches; each try is a fork of this process."""
    import av, httpx, hypothesis.extra.numpy, hypothesis.stateful, jinja2, jsonschema, librosa, mutagen, numba  # noqa: E401, F401, I001
    import pebble, pytest, resvg_py, rich.console, scipy.optimize, scipy.signal, scipy.stats, soundfile, soxr, typer.testing  # noqa: E401, F401


class _Copy:
    """The program's copy, in which one place at a time is broken."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._near = Near.read()
        self._sound: set[tuple[str, ...]] = set()  # tests that were seen to pass without a fault
        self._writes = 0
        self._said = folder / "at"

    def tried(self, file: str, site: Site) -> Tried:
        """Break it, run the tests near to it, mend it."""
        path, began_s = self._folder / file, time.monotonic()
        whole = path.read_text("utf-8")
        tests = [test for test in self._near.of(self._measured(places(file, site.line))) if _exists(test)]
        is_compiled = "@compiled(" in whole
        with _other_machine_code(path) if is_compiled else nullcontext(), self._broken(path, broken(whole, site)):
            outcome, by = self._outcome(tests, COMPILE_S if is_compiled else 0)
        if outcome != "passed":
            self._see_sound([by] if by else tests)
        return Tried(file, site, outcome, by, time.monotonic() - began_s)

    @contextmanager
    def _broken(self, path: Path, text: str) -> Iterator[None]:
        """With a time of its own, so that nothing compiled from another text passes for it."""
        whole, state = path.read_bytes(), path.stat()
        self._writes += 1
        path.write_text(text, "utf-8")
        os.utime(path, (1_000_000_000 + self._writes, 1_000_000_000 + self._writes))
        yield
        path.write_bytes(whole)
        os.utime(path, ns=(state.st_atime_ns, state.st_mtime_ns))

    def _measured(self, layer: list[Place]) -> list[Place]:
        """These functions, or where no test was seen in them (compiled, or newer), those that call them."""
        for _ in range(CALLS):
            if any(place in self._near.tests for place in layer):
                break
            layer = [caller for place in layer for caller in _callers(*place)]
        return layer

    def _see_sound(self, tests: list[str]) -> None:
        """A test that fails always notices nothing."""
        if tuple(tests) not in self._sound:
            outcome, _ = self._outcome(tests, 0)
            if outcome != "passed":
                print(f"fails without any fault, {outcome}: {' '.join(tests)}", file=sys.stderr)
                sys.exit(2)
            self._sound.add(tuple(tests))

    def _outcome(self, tests: list[str], extra_s: float) -> tuple[str, str]:
        """ "passed", "failed" or "out of time" of some tests, in a child that ends at the first failure; and which."""
        if not tests:
            return "passed", ""
        self._said.write_text("")
        limit_s = START_S + PATIENCE * sum(self._near.seconds[test] for test in tests) + extra_s
        child = os.fork()
        if child == 0:
            _become_quiet(limit_s)
            os._exit(_status(tests, self._said))
        deadline_s = time.monotonic() + 10 * limit_s
        while True:
            done, status = os.waitpid(child, os.WNOHANG)
            if done:
                outcome = {0: "passed", 1: "failed", 2: "failed"}.get(os.waitstatus_to_exitcode(status), "out of time")
                return outcome, self._said.read_text()
            if time.monotonic() > deadline_s:
                os.killpg(child, 9)
            time.sleep(0.02)


@contextmanager
def _other_machine_code(path: Path) -> Iterator[None]:
    """None of a broken file, nor of one that may call it; what was there comes back afterwards."""
    folder = path.parent / "__pycache__"
    before = {kept: kept.read_bytes() for kept in folder.glob("*.nb?")}
    callers = [other.stem for other in path.parent.glob("*.py") if f".{path.stem} import" in other.read_text("utf-8")]
    for stale in before:
        if stale.name.partition(".")[0] in (path.stem, *callers):
            stale.unlink()
    yield
    for made in folder.glob("*.nb?"):
        made.unlink()
    for kept, content in before.items():
        kept.write_bytes(content)


def places(file: str, line: int) -> list[Place]:
    """Where a fault in a line may show: in its function, or in all that read what the line makes when imported."""
    tree = ast.parse((ROOT / file).read_text("utf-8"))
    for name, node in functions(tree):
        if node.lineno <= line <= (node.end_lineno or line):
            return [(file, name)]
    module = file.removesuffix(".py").replace("/", ".")
    made = {name for node in tree.body if node.lineno <= line <= (node.end_lineno or line) for name in _names(node)}
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
    for path in sorted([*ROOT.glob("audio/**/*.py"), *ROOT.glob("pairing/**/*.py")]):
        for name, node in functions(ast.parse(path.read_text("utf-8"))):
            words = {one.id for one in ast.walk(node) if isinstance(one, ast.Name)}
            words |= {one.attr for one in ast.walk(node) if isinstance(one, ast.Attribute)}
            found.append((path.relative_to(ROOT).as_posix(), name, frozenset(words)))
    return found


@cache
def _of(file: str) -> frozenset[str]:
    """Modules that a file imports, or imports from."""
    nodes = list(ast.walk(ast.parse((ROOT / file).read_text("utf-8"))))
    froms = [node for node in nodes if isinstance(node, ast.ImportFrom) and node.module]
    return frozenset(
        {f"{node.module}.{name.name}" for node in froms for name in node.names} | {str(node.module) for node in froms}
    )


@cache
def _exists(test: str) -> bool:
    file, _, name = test.partition("::")
    return (ROOT / file).exists() and f"def {name.split('::')[-1]}(" in (ROOT / file).read_text("utf-8")


def _status(tests: list[str], said: Path) -> int:
    """Of the tests; the one at work is written down before each."""
    import pytest

    class Diary:
        def pytest_runtest_logstart(self, nodeid: str) -> None:
            said.write_text(nodeid.partition("[")[0])

    words = ["-x", "-q", "--tb=no", "-p", "no:cacheprovider"]
    status = int(pytest.main([*words, *tests], plugins=[Diary()]))
    if status == 0:
        said.write_text("")
    return status


def _become_quiet(limit_s: float) -> None:
    os.setpgid(0, 0)
    resource.setrlimit(resource.RLIMIT_CPU, (round(limit_s), round(limit_s) + 5))
    nowhere = os.open(os.devnull, os.O_RDWR)
    for stream in (0, 1, 2):
        os.dup2(nowhere, stream)


def _report(tried: Iterable[Tried]) -> float:
    all_of, noticed = Counter[str](), Counter[str]()
    for one in tried:
        package = str(Path(one.file).parent)
        all_of[package] += 1
        noticed[package] += one.outcome != "passed"
        place, fault = f"{one.file}:{one.site.line}", f"{one.site.before}  ->  {one.site.after}"
        print(f"{place} {one.outcome} {one.took_s:.0f} s {one.by}", file=sys.stderr, flush=True)
        if one.outcome == "passed":
            print(f"{place}: {fault}", flush=True)
    print("\n| package | faults | noticed | % |\n|---|---|---|---|")
    for package, count in [*sorted(all_of.items()), ("all", all_of.total())]:
        found = noticed.total() if package == "all" else noticed[package]
        print(f"| {package} | {count} | {found} | {100 * found / max(count, 1):.0f} |")
    return 100 * noticed.total() / max(all_of.total(), 1)


if __name__ == "__main__":
    main()
