"""`arcbed demo` from nothing, step by step, beside another checkout: what its steps take in one and in the other.

    python tests/benchmarks/demo.py [--beside CHECKOUT] [--runs 2]

The two take turns, each time with no track made yet and nothing compiled. Wall and processor seconds of each step, medians
over the runs; then which of the tracks hold the same samples in both, and by how much the others differ.
"""

import argparse
import json
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

HERE = Path(__file__).resolve().parents[2]
STAGES = """
import contextlib, json, resource, sys, time
from pathlib import Path

def used():
    both = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return time.perf_counter(), sum(each.ru_utime + each.ru_stime for each in both)

def main():
    took = {}

    @contextlib.contextmanager
    def stage(name):
        before = used()
        yield lambda *_: None
        took[name] = [after - since for after, since in zip(used(), before)]

    begun = used()
    from pairing.workflow.demo import demo
    demo(Path("demo_class"), stage)
    took["in all"] = [after - since for after, since in zip(used(), begun)]
    print(json.dumps(took))

if __name__ == "__main__":
    main()
"""


def main() -> None:
    """Run them in turn, and print the tables."""
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("--beside", type=Path)
    words.add_argument("--runs", type=int, default=2)
    said = words.parse_args()
    checkouts = {"before": said.beside, "now": HERE} if said.beside else {"now": HERE}
    took: dict[str, list[dict[str, list[float]]]] = {name: [] for name in checkouts}
    with tempfile.TemporaryDirectory() as work:
        for _ in range(said.runs):
            for name, checkout in checkouts.items():
                took[name].append(run(checkout.resolve(), Path(work) / name))
                print(name, json.dumps(took[name][-1]), flush=True)
        table(took)
        if said.beside:
            compare(*(Path(work) / name / "demo_tracks_generated" for name in checkouts))


def run(checkout: Path, folder: Path) -> dict[str, list[float]]:
    """Wall and processor seconds of each step of one demo in an empty folder."""
    shutil.rmtree(folder, ignore_errors=True)
    (folder / "demo_tracks_generated").mkdir(parents=True)
    (folder / "pyproject.toml").touch()  # with it, the tracks are made here
    (folder / "stages.py").write_text(STAGES)
    environment = os.environ | {"PYTHONPATH": str(checkout), "NUMBA_CACHE_DIR": str(folder / "compiled")}
    done = subprocess.run(
        [sys.executable, "stages.py"], cwd=folder, env=environment, stdout=subprocess.PIPE, text=True, check=True
    )
    return json.loads(done.stdout.splitlines()[-1])


def table(took: dict[str, list[dict[str, list[float]]]]) -> None:
    """Medians of each step."""
    print("\n| step |", " | ".join(f"{name}, wall s | {name}, CPU s" for name in took), "|")
    print("|---" * (1 + 2 * len(took)) + "|")
    for step in dict.fromkeys(step for runs in took.values() for step in runs[0]):  # not each version has the same
        cells = [
            f"{statistics.median(run[step][which] for run in took[name]):.1f}" if step in took[name][0] else ""
            for name in took
            for which in (0, 1)
        ]
        print(f"| {step} |", " | ".join(cells), "|")


def compare(before: Path, now: Path) -> None:
    """Which tracks hold the same samples, and how far below the music the differences of the others lie."""
    sys.path.insert(0, str(HERE))
    import numpy as np

    from audio.files.decode import Decoder

    def samples(path: Path) -> "np.ndarray":
        with Decoder(path) as decoder:
            return np.concatenate([block.samples for block in decoder.blocks()])

    for path in sorted(path for path in now.iterdir() if path.suffix != ".json"):
        one, other = samples(before / path.name), samples(path)
        if one.shape != other.shape:
            print(f"{path.name}: {one.shape} and {other.shape}")
        elif not np.array_equal(one, other):
            below = 10 * np.log10(np.mean(np.square(one - other, dtype=float)) / np.mean(np.square(one, dtype=float)))
            print(f"{path.name}: differ by {below:.0f} dB")
        else:
            print(f"{path.name}: the same samples")


if __name__ == "__main__":
    main()
