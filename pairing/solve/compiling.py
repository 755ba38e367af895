"""How the solver's inner loops become machine code: ahead of time where the program was built so, else when imported.

numba compiles a loop for stated argument types when its module is first imported, which takes seconds, and keeps the
result beside the module or in its cache folder. A bundle can't compile and shouldn't carry a compiler: there the loops
lie ready in the extension module `pairing.solve._ahead`, made by `.ci/bundle/ahead.py`, and nothing imports numba.

No loop has memory of its own: what it writes to is given to it. So numba need not count who holds which array, at
each slice of 32 numbers.
"""

import contextlib
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from functools import cache
from importlib import import_module
from typing import Any, cast

try:
    import fcntl
except ImportError:  # Windows
    fcntl = None  # type: ignore[assignment]

F4, F42, F8, F82 = "f4[::1]", "f4[:,::1]", "f8[::1]", "f8[:,::1]"
I4, I42, I8, I82 = "i4[::1]", "i4[:,::1]", "i8[::1]", "i8[:,::1]"
LOOPS = ("pairing.solve.kernels", "pairing.solve.placing", "pairing.solve.chains")  # what compiles when imported


def compiled(*types: str, gives: str = "void") -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Compile for these argument types alone, when the module is first imported, and keep the result."""

    def wrap(function: Callable[..., Any]) -> Callable[..., Any]:
        ready = getattr(_ahead(), name_ahead(function), None)
        return cast(Callable[..., Any], ready) if ready is not None else _now(function, f"{gives}({', '.join(types)})")

    return wrap


def struct(*types: str) -> str:
    """The type of a plain tuple of such: a named one would need numba where the loops lie ready."""
    return f"Tuple(({', '.join(types)},))"


def compile_here() -> None:
    """Have the loops compiled in this process, or read as they were kept; the solver imports them only when it runs."""
    for name in LOOPS:
        import_module(name)


@cache
def compile_apart() -> None:
    """Have the loops compiled by another process, once, beside whatever is done now: choosing music needn't wait then.

    Where they are compiled already, that process sees so within a second; none is started where they lie ready, nor
    where this process has them itself.
    """
    if _ahead() is None and not sys.modules.keys() >= set(LOOPS):
        threading.Thread(target=_import_apart, daemon=True).start()


def _import_apart() -> None:
    quietly = subprocess.DEVNULL
    words = [sys.executable, "-P", "-c", "from pairing.solve.compiling import compile_here as now; now()"]
    with contextlib.suppress(OSError):  # then they are compiled when they are needed
        subprocess.run(words, stdin=quietly, stdout=quietly, stderr=quietly, check=False)


def name_ahead(function: Callable[..., Any]) -> str:
    """The name of a loop in the extension module."""
    return f"{function.__module__.rpartition('.')[2]}_{function.__name__.lstrip('_')}"


@cache
def _without_linear_algebra() -> None:
    """Keep numba from loading all of scipy's only to know that it is there: no loop has any."""
    with contextlib.suppress(ImportError, AttributeError):  # another numba has other parts, and loads what it likes
        linalg: Any = import_module("numba.np.linalg")
        look = linalg.ensure_blas
        linalg.ensure_blas = _not_there
        try:
            import_module("numba.np.arraymath")
        finally:
            linalg.ensure_blas = look


def _not_there() -> None:
    raise ImportError


def _now(function: Callable[..., Any], signature: str) -> Callable[..., Any]:
    import numba

    _without_linear_algebra()
    with _alone_at(function.__code__.co_filename):
        options: dict[str, Any] = {"cache": True, "error_model": "numpy", "_nrt": False}
        return cast(Callable[..., Any], numba.njit(signature, **options)(function))


@contextlib.contextmanager
def _alone_at(path: str) -> Iterator[None]:
    """One process after the other, as far as the system can; whoever waited finds the loop compiled and kept."""
    with contextlib.ExitStack() as stack:
        if fcntl is not None:
            with contextlib.suppress(OSError):
                fcntl.flock(stack.enter_context(open(path, "rb")), fcntl.LOCK_EX)
        yield


@cache
def _ahead() -> Any:
    try:
        return import_module("pairing.solve._ahead")
    except ModuleNotFoundError:
        return None
