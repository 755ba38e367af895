"""The command line: one file a group of commands, no logic."""


def main() -> None:
    """Run the command line."""
    from pairing.commands import demo, music, open, outputs, pace, plans, sets  # noqa: A004, F401  (they add their commands)
    from pairing.commands.app import run

    run()
