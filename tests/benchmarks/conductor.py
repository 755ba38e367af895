"""Ten thousand simulated classes that don't go by the plan through the conductor; needs node.

    .venv/bin/python tests/benchmarks/conductor.py [CLASSES] [FIRST_SEED] [DRIFT]

Invented classes of 45 to 90 minutes; late by 0 to 8 minutes in portions at random places, stays of 5 to 180 s, ons, parts
left out, freezes of up to 30 s, reloads, to the rest, softer. What is looked at stands in
`tests/pairing/simulate_classes.js`.
"""

import json
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "pairing"))

from run_js import answer_of

if __name__ == "__main__":
    classes = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    drift = float(sys.argv[3]) if len(sys.argv) > 3 else 0.0
    script = f"return simulationOf(conductorOf).main({classes}, {first}, {drift});"
    print(json.dumps(answer_of(script, "conductor.js", "simulate_classes.js"), indent=1))
