"""How much the program holds: what can be reached from an object and from the modules of both packages."""

import gc
import sys
import weakref
from types import FrameType, FunctionType, ModuleType

import numpy as np

# Through the first three one reaches everything there is; what stands behind a proxy may be gone.
PASSED_OVER = (ModuleType, type, FrameType, *weakref.ProxyTypes)


def held_mb(*roots: object) -> float:
    """Size of all that the roots and the modules hold, each object once, arrays with their numbers."""
    gc.collect()
    seen: dict[int, object] = {}
    waiting: list[object] = [*roots, *(value for module in _ours() for value in vars(module).values())]
    while waiting:
        found = waiting.pop()
        if id(found) not in seen and not issubclass(type(found), PASSED_OVER):
            seen[id(found)] = found
            waiting += _held_by(found)
    return sum(map(sys.getsizeof, seen.values())) / 1e6


def _ours() -> list[ModuleType]:
    return [module for name, module in [*sys.modules.items()] if name.partition(".")[0] in ("audio", "pairing")]


def _held_by(found: object) -> list[object]:
    if isinstance(found, np.ndarray):
        return [found.base]  # of which it may be a small part
    if isinstance(found, FunctionType):
        return [found.__closure__, found.__defaults__, found.__dict__]  # its module's names aren't its own
    return gc.get_referents(found)
