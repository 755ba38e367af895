"""Compile the solver's loops into `pairing.solve._ahead`, for any processor of this kind.

Run in the environment that is bundled. numba's own way to do so (`numba.pycc`) is to go one day; it is used here alone.
"""

import sys
from importlib import import_module
from pathlib import Path


def main(folder: Path | None = None) -> None:
    """Write the extension module into `folder`; beside the solver if none is named."""
    from numba.core.dispatcher import Dispatcher
    from numba.pycc import CC  # needs setuptools

    made = CC("_ahead")
    beside = Path(str(import_module("pairing.solve").__file__)).parent
    for former in beside.glob("_ahead.*"):  # its loops would be taken as they are, and not be compiled into this one
        former.unlink()
    made.output_dir = str(folder or beside)
    for name in compiling().LOOPS:
        module = import_module(name)
        for loop in vars(module).values():
            if isinstance(loop, Dispatcher) and loop.py_func.__module__ == module.__name__:
                made.export(compiling().name_ahead(loop.py_func), loop.nopython_signatures[0])(loop.py_func)
    made.compile()


def compiling():  # type: ignore[no-untyped-def]
    """The module that looks the loops up again."""
    return import_module("pairing.solve.compiling")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else None)
