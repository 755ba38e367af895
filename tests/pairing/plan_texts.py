"""Plans as text, made up at random from the plan language, for the laws that hold for every plan."""

import re

from hypothesis import strategies as st

NAMES = ["plank", "warrior two", "pigeon", "child's pose", "vinyasa", "sun salutation A", "crow", "cat cow", "tree"]
LENGTHS = ["", ", 1 breath", ", 3 breaths", ", 3-5 breaths", ", inhale"]
FILTERS = ["", ", optional", ", from round 2", ", last round", ", not last round"]
ATTRIBUTES = [
    "",
    ", 2 rounds",
    ", 3 rounds, each round 15% quicker",
    ", both sides",
    ", both sides, 2 rounds",
    ", optional",
]
EXTRA = ["", ", between 10 seconds", ", breath 7 seconds"]

breath_lines = st.builds("- {}{}{}".format, st.sampled_from(NAMES), st.sampled_from(LENGTHS), st.sampled_from(FILTERS))
other_lines = st.sampled_from(
    [
        "- say: hello, 20 seconds",
        "- bell x3",
        "- song: Quay",
        "- pause: water, 30 seconds",
        "- child's pose, 2 minutes",
        "- silence, 1 minute",
    ]
)
minutes = st.sampled_from(["", ", 4 minutes", ", what is left, at least 3 minutes"])


def section(attributes: str, extra: str, lines: list[str]) -> str:
    return f"\n## Part: flow{attributes}{extra}\n" + "\n".join(fitting(attributes, line) for line in lines) + "\n"


def fitting(attributes: str, line: str) -> str:
    """Leave out the rounds a line names where its section has but one."""
    return line if "rounds" in attributes else re.sub(r", (from round 2|(not )?last round)", "", line)


def sections(lines: st.SearchStrategy[str], extra: st.SearchStrategy[str]) -> st.SearchStrategy[str]:
    return st.builds(section, st.sampled_from(ATTRIBUTES), extra, st.lists(lines, max_size=6))


again = st.sampled_from(["", "\n## Again: flow, repeat Part\n", "\n## Again: flow, repeat Part, 2 rounds\n"])
plans = st.builds(
    "{}{}".format,
    st.lists(
        sections(st.one_of(breath_lines, other_lines), st.one_of(st.sampled_from(EXTRA), minutes)),
        min_size=1,
        max_size=4,
    ).map("".join),
    again,
)
