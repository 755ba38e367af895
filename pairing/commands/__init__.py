"""The command line: one file a group of commands, no logic."""


def main() -> None:
    """Run the command line."""
    from pairing.commands.app import run

    run()
