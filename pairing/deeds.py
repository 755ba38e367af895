"""What helps, as the command that does it: for the terminal, the cue sheet and JSON; the page has buttons for deeds."""

from typing import assert_never

from pairing.model import Apply, ChooseAnew, Deed, Finding, LookUp, MakeRest, Mark, Scan, Swap, WriteMix


def command(deed: Deed, set_file: str = "SET", plan: str = "PLAN") -> str:
    """The command that does a deed; the files' names as they are typed.

    >>> command(Swap(5), "saturday.json"), command(Mark(12, "voice=no"))
    ('arcbed swap saturday.json 5', 'arcbed tracks --mark 12 voice=no')
    """
    match deed:
        case Swap():
            return f"arcbed swap {set_file} {deed.n}"
        case ChooseAnew():
            return f"arcbed pair {plan} --out {set_file} --keep {set_file}"
        case MakeRest():
            return f"arcbed rest {set_file}{' --silence MINUTES --bell end' if deed.silent else ''}"
        case Scan():
            return "arcbed scan FOLDER"
        case LookUp():
            return "arcbed tracks"
        case Mark():
            return f"arcbed tracks --mark {deed.track_id} {deed.word}"
        case Apply():
            return f"arcbed plan {plan} --apply {deed.remedy}"
        case WriteMix():
            return f"arcbed mix {set_file} --out {deed.out} --force"
        case _:
            assert_never(deed)


def remedy_words(finding: Finding, set_file: str = "SET", plan: str = "PLAN") -> str | None:
    """What to do about a finding, with what is typed for it; None where nothing can be done."""
    commands = ", or ".join(command(deed, set_file, plan) for deed in finding.deeds)
    if not commands or finding.remedy is None:
        return commands or finding.remedy
    return f"{finding.remedy.rstrip('.')}: {commands}"
