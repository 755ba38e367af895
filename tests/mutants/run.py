"""Breaks the program in one small place at a time and sees whether the tests near it notice.

    python tests/mutants/run.py                       300 faults; an hour or two
    python tests/mutants/run.py --count 20 --least 70 a sample, as `.ci/run` takes it
    python tests/mutants/run.py audio/measure/key.py  every fault of one file

Prints a line a fault that no test noticed, and at the end how many were noticed, by package. A fault counts as noticed
where a test fails or runs past its time, so all tests must pass without any. The program is copied first, and the
checkout stays as it is; one process computes at a time.
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
from collections.abc import Iterable
from functools import cache
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from sites import Site, broken, sites

ROOT = Path(__file__).resolve().parents[2]
LIMIT_S = 60  # of CPU time a fault
MANY = 4  # test files that meet a fault at most

# Tests that are near to all of a package; those that import the broken module come first.
NEAR = {
    "audio/measure": "audio/test_against_ebu_tech_3342 audio/test_key audio/test_rises audio/test_tempo_and_beats"
    " audio/test_against_ebu_tech_3341",
    "audio/render": "audio/test_fade audio/test_bell audio/test_gain_ride audio/test_mixer",
    "pairing/solve": "pairing/test_solve_arrays pairing/test_solve_search pairing/test_solve_voice",
    "pairing/effort": "pairing/test_arc pairing/test_breath pairing/test_against_published_effort pairing/test_timetable",
    "pairing/plan": "pairing/test_plan_slips pairing/test_plans_by_instinct pairing/test_plan_language",
    "pairing/checks": "pairing/test_set_checks pairing/test_plan_checks pairing/test_slot_check",
    "pairing/alignment": "pairing/test_cuts pairing/test_sedative pairing/test_rules_of_place pairing/test_reach"
    " pairing/test_pair",
    "pairing/sets": "pairing/test_setfile pairing/test_played pairing/test_hostile_chapters pairing/test_swap_and_rest"
    " pairing/test_pair",
}
# Those that take long meet a fault only where no quicker test is near.
LONG = {
    f"tests/{name}.py"
    for name in (
        "audio/test_analysis", "audio/test_master", "audio/test_synth", "audio/test_against_librosa",
        "pairing/test_rest_in_the_mix", "pairing/test_whole_job", "pairing/test_heard", "pairing/test_solve_against_highs",
        "pairing/test_levels_against_libebur128", "pairing/test_strangers_sets", "pairing/test_interruptions",
        "pairing/test_plan_properties", "pairing/test_pack",
    )
}  # fmt: skip


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("files", nargs="*", type=Path, help="source files, every fault of each")
    parser.add_argument("--count", type=int, default=300, help="faults, the same number from every package")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--least", type=float, default=0.0, help="percent that must be noticed")
    parser.add_argument("--packages", nargs="*", default=list(NEAR))
    options = parser.parse_args()
    faults = [(file.as_posix(), site) for file in options.files for site in sites((ROOT / file).read_text("utf-8"))]
    faults = faults or _chosen(options.packages, options.count, random.Random(options.seed))
    with tempfile.TemporaryDirectory(prefix="mutants-") as folder:
        share = _report(_tried(Path(folder), faults))
    sys.exit(0 if share >= options.least else 1)


def _chosen(packages: Iterable[str], count: int, dice: random.Random) -> list[tuple[str, Site]]:
    names = list(packages)
    chosen = []
    for number, package in enumerate(names):
        files = [path.relative_to(ROOT).as_posix() for path in sorted((ROOT / package).glob("*.py"))]
        places = [(file, site) for file in files for site in sites((ROOT / file).read_text("utf-8"))]
        share = count * (number + 1) // len(names) - count * number // len(names)
        chosen += dice.sample(places, min(share, len(places)))
    dice.shuffle(chosen)  # so that what was done when it is stopped is a fair part
    return chosen


def _tried(folder: Path, faults: Iterable[tuple[str, Site]]) -> Iterable[tuple[str, Site, str]]:
    shutil.copytree(ROOT, folder, ignore=shutil.ignore_patterns(".git", ".venv*", "site"), dirs_exist_ok=True)
    os.environ.update(PYTHONPATH=str(folder), NUMBA_CACHE_DIR=str(folder / "compiled"))
    sys.path.insert(0, str(folder))
    os.chdir(folder)
    _warm()
    for number, (file, site) in enumerate(faults):
        sound = (folder / file).read_text("utf-8")
        _write(folder / file, broken(sound, site), number)
        compiled = folder / (f"compiled-{number}" if "numba" in sound else "compiled")
        began_s = time.monotonic()
        outcome = _outcome(_near(file), compiled, LIMIT_S)
        _write(folder / file, sound, number)
        print(f"{file}:{site.line} {outcome} {time.monotonic() - began_s:.0f} s", file=sys.stderr, flush=True)
        yield file, site, outcome


def _write(path: Path, text: str, number: int) -> None:
    """With a time of its own, so that no compiled file passes for that of another text."""
    path.write_text(text, "utf-8")
    os.utime(path, (1_000_000_000 + number, 1_000_000_000 + number))


def _warm() -> None:
    """What every test needs and no fault touches; each try is a fork of this process."""
    import av, hypothesis, jinja2, mutagen, numba, pytest, rich, scipy.signal, soundfile, soxr, typer  # noqa: E401, F401, I001


def _near(file: str) -> list[str]:
    package = str(Path(file).parent)
    module = file.removesuffix(".py").replace("/", ".")
    direct = [test for test, imported in _imports().items() if module in imported]
    usual = [f"tests/{name}.py" for name in NEAR[package].split()]
    quick = [test for test in direct if test not in LONG]
    near = dict.fromkeys([*(test for test in usual if test in quick), *quick, *usual])
    return list(near)[:MANY] if quick or not direct else [*list(near)[: MANY - 1], direct[0]]


@cache
def _imports() -> dict[str, set[str]]:
    """Modules that each quick test file imports."""
    found = {}
    for path in sorted(ROOT.glob("tests/*/test_*.py")):
        text = path.read_text("utf-8")
        if (
            "pytestmark = pytest.mark.browser" in text
            or "pytestmark = pytest.mark.slow" in text
            or "_page" in path.name
        ):
            continue
        nodes = [node for node in ast.walk(ast.parse(text)) if isinstance(node, ast.ImportFrom) and node.module]
        names = {f"{node.module}.{name.name}" for node in nodes for name in node.names}
        found[path.relative_to(ROOT).as_posix()] = names | {str(node.module) for node in nodes}
    return found


def _outcome(tests: list[str], compiled: Path, limit_s: float) -> str:
    """ "passed", "failed" or "out of time" of some test files, in a child that ends at the first failure."""
    child = os.fork()
    if child == 0:
        _become_quiet(compiled, limit_s)
        import pytest

        words = ["-x", "-q", "-p", "no:cacheprovider", "-m", "not browser and not slow", "--hypothesis-seed=1"]
        os._exit(0 if pytest.main([*words, *tests]) in (0, 5) else 1)
    deadline_s = time.monotonic() + 10 * limit_s
    while True:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            return {0: "passed", 1: "failed"}.get(os.waitstatus_to_exitcode(status), "out of time")
        if time.monotonic() > deadline_s:
            os.killpg(child, 9)
        time.sleep(0.05)


def _become_quiet(compiled: Path, limit_s: float) -> None:
    os.setpgid(0, 0)
    os.environ["NUMBA_CACHE_DIR"] = str(compiled)
    resource.setrlimit(resource.RLIMIT_CPU, (round(limit_s), round(limit_s) + 5))
    nowhere = os.open(os.devnull, os.O_RDWR)
    for stream in (0, 1, 2):
        os.dup2(nowhere, stream)


def _report(tried: Iterable[tuple[str, Site, str]]) -> float:
    all_of, noticed = Counter[str](), Counter[str]()
    for file, site, outcome in tried:
        package = str(Path(file).parent)
        all_of[package] += 1
        noticed[package] += outcome != "passed"
        if outcome == "passed":
            print(f"{file}:{site.line}: {site.before}  ->  {site.after}", flush=True)
    print("\n| package | faults | noticed | % |\n|---|---|---|---|")
    for package, count in [*sorted(all_of.items()), ("all", all_of.total())]:
        found = noticed.total() if package == "all" else noticed[package]
        print(f"| {package} | {count} | {found} | {100 * found / max(count, 1):.0f} |")
    return 100 * noticed.total() / max(all_of.total(), 1)


if __name__ == "__main__":
    main()
