"""Set files as a stranger might make them, grown by coverage (atheris), through all that is done with a set.

    pip install atheris                                             Python 3.11 to 3.13, Linux
    python tests/benchmarks/fuzz_set_file.py -max_total_time=300    five minutes; other options are libFuzzer's

A sound set file is changed in up to six places, in its JSON's values and in its structure, so that what is tried gets past
the first checks of the reader. Anything but an answer or an error for people ends it with a traceback, and a file
`crash-...` that repeats it when it is named on the command line.
"""

import copy
import json
import sys
import tempfile
from pathlib import Path
from typing import Any

import atheris

HERE = Path(__file__).resolve()
sys.path[:0] = [str(HERE.parents[2]), str(HERE.parents[1] / "pairing")]

# The compiled loops stay as they are: numba reads their bytecode.
with atheris.instrument_imports(include=["pairing.sets", "pairing.show", "pairing.checks", "pairing.workflow"]):
    from test_setfile import a_set
    from test_strangers_sets import HOSTILE, do_everything, places

    from pairing.model import SetPlan
    from pairing.sets.codec import to_json

from invented_music import library  # noqa: E402

from audio.errors import ArcbedError  # noqa: E402

PLAN = "# Tide\n\n## Sit: opening, 3 minutes\n- easy seat\n\n## Rest: rest, 10 seconds\n- savasana\n"
MOST_CHANGES = 6


def main() -> None:
    """Fuzz until time is over or something breaks."""
    with tempfile.TemporaryDirectory() as made_here:
        folder = Path(made_here)
        whole = json.loads(
            json.dumps(to_json(a_set(folder, plan=SetPlan(str(folder / "p.md"), PLAN, "0" * 64)), folder))
        )
        tracks = library(6)

        def one(data: bytes) -> None:
            path = folder / "set.json"
            text = json.dumps(changed(whole, atheris.FuzzedDataProvider(data)))
            path.write_bytes(text.encode("utf-8", "surrogatepass"))
            try:
                do_everything(path, tracks)
            except ArcbedError as error:
                assert str(error)  # noqa: PT017

        atheris.Setup([sys.argv[0], "-max_len=256", "-len_control=0", *sys.argv[1:]], one)
        atheris.Fuzz()


def changed(whole: dict[str, Any], choice: "atheris.FuzzedDataProvider") -> dict[str, Any]:
    """The set with some of its values changed, moved or taken away."""
    value = copy.deepcopy(whole)
    for _ in range(choice.ConsumeIntInRange(1, MOST_CHANGES)):
        known = list(places(value))
        if not known:
            break
        place = known[choice.ConsumeIntInRange(0, len(known) - 1)]
        holder = at(value, place[:-1])
        holder[place[-1]] = other(holder[place[-1]], value, known, choice)
        if choice.ConsumeIntInRange(0, 7) == 0:
            reshape(holder, place[-1], choice)
    return value


def other(now: Any, whole: Any, known: list[tuple[Any, ...]], choice: "atheris.FuzzedDataProvider") -> Any:
    """A value that might pass for the one at hand: near it, or of its kind; now and then anything."""
    kind = choice.ConsumeIntInRange(0, 5)
    if kind == 0:
        return HOSTILE[choice.ConsumeIntInRange(0, len(HOSTILE) - 1)]
    if kind == 1:
        return copy.deepcopy(at(whole, known[choice.ConsumeIntInRange(0, len(known) - 1)]))
    if isinstance(now, bool):
        return not now
    if isinstance(now, int | float):
        return now + choice.ConsumeIntInRange(-5, 5) if kind < 4 else now * choice.ConsumeFloatInRange(-2.0, 4.0)
    if isinstance(now, str):
        return now + choice.ConsumeUnicode(8) if kind < 4 else choice.ConsumeUnicode(24)
    return choice.ConsumeFloatInRange(-1e4, 1e4) if now is None else now


def reshape(holder: Any, key: Any, choice: "atheris.FuzzedDataProvider") -> None:
    """Take an entry away, double it, or turn the list around."""
    act = choice.ConsumeIntInRange(0, 2)
    if act == 0 or isinstance(holder, dict):
        del holder[key]
    elif act == 1:
        holder.insert(key, copy.deepcopy(holder[key]))
    else:
        holder.reverse()


def at(value: Any, place: tuple[Any, ...]) -> Any:
    """What stands at a place."""
    for key in place:
        value = value[key]
    return value


if __name__ == "__main__":
    main()
