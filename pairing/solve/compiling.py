"""How the solver's inner loops become machine code: ahead of time where the program was built so, else when imported.

numba compiles a loop for stated argument types when its module is first imported, which takes seconds, and keeps the
result beside the module or in its cache folder. A bundle can't compile and shouldn't carry a compiler: there the loops
lie ready in the extension module `pairing.solve._ahead`, made by `.ci/bundle.py`, and numba is not imported at all.
"""

from collections.abc import Callable
from functools import cache
from importlib import import_module
from typing import Any, cast

F4, F42, F8, F82 = "f4[::1]", "f4[:,::1]", "f8[::1]", "f8[:,::1]"
I4, I42, I8, I82 = "i4[::1]", "i4[:,::1]", "i8[::1]", "i8[:,::1]"


def compiled(*types: str, gives: str = "void") -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Compile for these argument types alone, when the module is first imported, and keep the result."""

    def wrap(function: Callable[..., Any]) -> Callable[..., Any]:
        ready = getattr(_ahead(), name_ahead(function), None)
        return cast(Callable[..., Any], ready) if ready is not None else _now(function, f"{gives}({', '.join(types)})")

    return wrap


def name_ahead(function: Callable[..., Any]) -> str:
    """The name of a loop in the extension module."""
    return f"{function.__module__.rpartition('.')[2]}_{function.__name__.lstrip('_')}"


def _now(function: Callable[..., Any], signature: str) -> Callable[..., Any]:
    import numba

    return cast(Callable[..., Any], numba.njit(signature, cache=True, error_model="numpy")(function))


@cache
def _ahead() -> Any:
    try:
        return import_module("pairing.solve._ahead")
    except ModuleNotFoundError:
        return None
