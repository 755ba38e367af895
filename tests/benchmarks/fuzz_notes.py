"""Read mutated notes, and notes far larger than any class: no traceback, time that grows with the length.

    python tests/benchmarks/fuzz_notes.py [COUNT] [SEED]

Lines of the plans in tests/pairing/plans are mixed and changed at random (5,000 notes unless COUNT says otherwise): letters
put in, taken out, doubled, any Unicode among them. Then one line of 4,000 attributes, 300 lines, 20,000 lines and 10 MB.
CPU time.
"""

import random
import sys
import time
from pathlib import Path

from pairing.errors import PlanError
from pairing.plan.read import read_plan

PLANS = Path(__file__).parents[1] / "pairing" / "plans"
LINES = [line for path in sorted(PLANS.glob("*.[mt][dx]*")) for line in path.read_text(encoding="utf-8").splitlines()]


def mutated(chance: random.Random) -> str:
    """A note of up to 40 lines, up to 12 places of it changed."""
    text = "\n".join(chance.choices(LINES, k=chance.randint(1, 40)))
    for _ in range(chance.randint(0, 12)):
        at = chance.randrange(len(text) + 1)
        bit = "".join(chr(chance.choice((chance.randrange(32, 127), chance.randrange(0xD7FF)))) for _ in range(3))
        text = text[:at] + bit[: chance.randint(0, 3)] + text[at + chance.randint(0, 4) :]
    return text


def spent_s(text: str) -> tuple[float, str]:
    """CPU seconds that reading takes, and what came of it."""
    start = time.process_time()
    try:
        result = f"{len(read_plan(text).lines)} lines"
    except PlanError as error:
        result = str(error).split(": ")[-1]
    return time.process_time() - start, result


def main(count: int = 5000, seed: int = 1) -> None:
    """Print what came of it; any other error than a refusal ends the run with its traceback."""
    chance = random.Random(seed)
    refused, slowest = 0, 0.0
    for _ in range(count):
        taken, result = spent_s(mutated(chance))
        slowest = max(slowest, taken)
        refused += "nothing" in result
    print(f"{count} notes: {refused} refused as holding nothing, slowest {1000 * slowest:.0f} ms")
    for name, text in {
        "one line of 4,000 attributes": "## A: flow\n- tree" + ", 5 breaths" * 4000,
        "300 lines": "\n".join(chance.choices(LINES, k=300)),
        "3,000 lines": "\n".join(chance.choices(LINES, k=3000)),
        "12,000 lines": "\n".join(chance.choices(LINES, k=12000)),
        "100,000 lines": "tree 5br\n" * 100_000,
        "10 MB": "tree 5br, " * 1_000_000,
    }.items():
        taken, result = spent_s(text)
        print(f"{name:>30}: {1000 * taken:8.0f} ms  {result}")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
