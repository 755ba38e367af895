"""How long a plan of 300 lines takes to be read, timed and checked: CPU milliseconds, the median of 15 runs.

    python tests/benchmarks/plan_speed.py

The bar: under 50 ms after start-up. The second plan doesn't fit its slot, so that some sixty remedies are timed too.
"""

import statistics
import time
from collections.abc import Callable

from pairing.checks.plan import check_plan
from pairing.checks.slot import check_slot
from pairing.effort.arc import make_arc
from pairing.effort.timetable import build_timetable
from pairing.plan.poses import pose_table
from pairing.plan.read import read_plan

LINES = """
- warrior two, 3-5 breaths
- reverse warrior, 1 breath
- extended side angle, 2 breaths (long line)
- side plank, 1 breath, from round 2
- vinyasa, optional
- three-legged dog, 1 breath
- knee to nose x3
- triangle, 5 breaths
- half moon 3 breaths with a block
- downward dog, 5 breaths
- chair, 5 breaths
- plank, 30 seconds
""".strip()
REST = "## Rest: rest, what is left, at least 5 minutes, silent last 2 minutes\n- savasana\n- bell"


def plan_text(slot_minutes: int) -> str:
    """A class of 300 lines."""
    parts = [f"## Part {n}: flow, both sides, 2 rounds, each round 10% quicker\n{LINES}\n" for n in range(21)]
    top = f"# Long\nslot: {slot_minutes} minutes\nsettle: 3 minutes\nbreath: 5 seconds\n"
    return "\n".join([top, *parts, REST])


def median_ms(work: Callable[[], object]) -> float:
    """CPU time of one call, the median of 15."""
    spent = []
    for _ in range(15):
        start = time.process_time()
        work()
        spent.append(1000 * (time.process_time() - start))
    return statistics.median(spent)


def main() -> None:
    """Print one row a plan."""
    poses = pose_table()
    print(f"{'slot':>8} {'lines':>6} {'read':>6} {'time':>6} {'slot':>6} {'class':>6} {'all':>6} {'arc':>6}")
    for slot in (360, 60):
        text = plan_text(slot)
        plan = read_plan(text, file="long.md")
        timetable = build_timetable(plan, poses)
        parts = [
            median_ms(lambda text=text: read_plan(text, file="long.md")),
            median_ms(lambda plan=plan: build_timetable(plan, poses)),
            median_ms(lambda plan=plan, timetable=timetable: check_slot(plan, timetable, poses)),
            median_ms(lambda plan=plan, timetable=timetable: check_plan(plan, timetable, poses)),
        ]
        arc = median_ms(lambda timetable=timetable: make_arc(timetable))
        figures = " ".join(f"{part:6.1f}" for part in (*parts, sum(parts), arc))
        print(f"{slot:>4} min {len(text.splitlines()):>6} {figures}")


if __name__ == "__main__":
    main()
