"""Puts a fault into the program in this process, for good: meant for a fork."""

import ast
import gc
import importlib.abc
import importlib.util
import sys
from collections.abc import Iterator
from functools import cache
from importlib.machinery import ModuleSpec, SourceFileLoader
from pathlib import Path
from types import CodeType, FunctionType
from typing import Any

from near import functions

Ran = set[tuple[str, str]]  # files, and functions in them
_LISTED = ("pairing.checks", "pairing.commands", "pairing.page")


def load(root: Path) -> Ran:
    """Import the whole program; which of its functions ran meanwhile."""
    ran: Ran = set()

    def note(frame: Any, event: str, _: Any) -> None:
        if event == "call":
            ran.add((frame.f_code.co_filename, frame.f_code.co_qualname))

    sys.setprofile(note)
    for package in ("audio", "pairing"):
        for path in sorted((root / package).rglob("*.py")):
            if path.stem != "__main__":
                importlib.import_module(module_of(path.relative_to(root)))
    sys.setprofile(None)
    _imports(root)  # before forks need it
    return ran


def module_of(file: Path) -> str:
    """`pairing/plan/read.py` as it is imported."""
    return ".".join(file.with_suffix("").parts).removesuffix(".__init__")


def swap_code(path: Path, function: str, tree: ast.Module) -> bool:
    """Give a loaded function its code from this tree; False where that changes nothing or there is no such function."""
    meant = _code(tree, path, function)
    held = [
        one
        for one in gc.get_objects()
        if isinstance(one, FunctionType)
        and one.__code__.co_filename == str(path)
        and one.__code__.co_qualname == function
    ]
    if meant is None or not held or meant == _code(ast.parse(path.read_text("utf-8")), path, function):
        return False
    for one in held:
        one.__code__ = meant
    return True


def _code(tree: ast.Module, path: Path, function: str) -> CodeType | None:
    found = [code for code in _codes(compile(tree, str(path), "exec")) if code.co_qualname == function]
    return found[0] if len(found) == 1 else None


def _codes(code: CodeType) -> Iterator[CodeType]:
    for one in code.co_consts:
        if isinstance(one, CodeType):
            yield one
            yield from _codes(one)


def load_broken(root: Path, file: str, tree: ast.Module, compiled_anew: set[str]) -> None:
    """Forget a file and all that imports it, so that they are imported again, the file from this tree.

    Args:
        compiled_anew: loops that are compiled again then.
    """
    files = {file}
    if compiled_anew:
        files |= {path.relative_to(root).as_posix() for path in (root / "pairing/solve").glob("*.py")}
    for name in _with_importers(root, {module_of(Path(one)) for one in files}):
        if sys.modules.pop(name, None):
            package, _, last = name.rpartition(".")
            vars(sys.modules.get(package, sys)).pop(
                last, None
            )  # else "from package import last" would find the old one
    sys.meta_path.insert(0, _Finder(module_of(Path(file)), root / file, tree))
    if compiled_anew:
        _compile_anew(compiled_anew)


def _with_importers(root: Path, modules: set[str]) -> set[str]:
    """Modules of the program, and those that import them at any remove."""
    found = set(modules)
    while more := {name for name, has in _imports(root).items() if has & found or _is_told(name, found)} - found:
        found |= more
    return found


@cache
def _imports(root: Path) -> dict[str, set[str]]:
    """What each module of the program imports."""
    return {
        module_of(path.relative_to(root)): _imported(ast.parse(path.read_text("utf-8")))
        for package in ("audio", "pairing")
        for path in (root / package).rglob("*.py")
    }


def _is_told(module: str, others: set[str]) -> bool:
    """Whether a module goes with others of its package, which tell a list of it what they hold."""
    package = module.rpartition(".")[0]
    return package in _LISTED and any(name.startswith(f"{package}.") for name in others)


def _imported(tree: ast.Module) -> set[str]:
    """What a file imports, wherever in it: modules, and names in them, which may be modules."""
    found = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found |= {name.name for name in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found |= {node.module, *(f"{node.module}.{name.name}" for name in node.names)}
    return found


class _Finder(importlib.abc.MetaPathFinder):
    def __init__(self, module: str, path: Path, tree: ast.Module) -> None:
        self._module, self._loader = module, _Loader(module, path, tree)

    def find_spec(self, fullname: str, path: object, target: object = None) -> ModuleSpec | None:
        if fullname != self._module:
            return None
        return importlib.util.spec_from_file_location(fullname, self._loader.path, loader=self._loader)


class _Loader(SourceFileLoader):
    def __init__(self, module: str, path: Path, tree: ast.Module) -> None:
        super().__init__(module, str(path))
        self._tree = tree

    def get_code(self, fullname: str) -> CodeType:
        return compile(self._tree, self.path, "exec")


def _compile_anew(names: set[str]) -> None:
    import numba

    real = numba.njit

    def njit(signature: str, *, cache: bool, **words: Any) -> Any:
        return lambda function: real(signature, cache=cache and function.__name__ not in names, **words)(function)

    numba.njit = njit


def compiled_callers(root: Path, file: str, line: int) -> set[str]:
    """The compiled loop a line stands in, and those that call it, at any remove; all of a file outside of its loops."""
    loops = {
        name: (path, node)
        for path in (root / "pairing/solve").glob("*.py")
        for name, node in functions(ast.parse(path.read_text("utf-8")))
        if any(ast.unparse(one).startswith("compiled(") for one in node.decorator_list)
    }
    own = {name: node for name, (path, node) in loops.items() if path == root / file}
    found = {name for name, node in own.items() if node.lineno <= line <= (node.end_lineno or line)} or set(own)
    while True:
        more = {
            name
            for name, (_, node) in loops.items()
            if found & {one.id for one in ast.walk(node) if isinstance(one, ast.Name)}
        }
        if more <= found:
            return found
        found |= more
