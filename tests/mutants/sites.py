"""Where a source file can be broken, one small fault a place: a comparison, an operator, a sign, a number."""

import ast
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass

_COMPARISONS = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
}
_OPERATORS = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult,
    ast.Pow: ast.Mult,
    ast.Mod: ast.Add,
    ast.BitAnd: ast.BitOr,
    ast.BitOr: ast.BitAnd,
}
_FUNCTIONS = {"min": "max", "max": "min", "any": "all", "all": "any", "minimum": "maximum", "maximum": "minimum",
              "floor": "ceil", "ceil": "floor", "sin": "cos", "cos": "sin"}  # fmt: skip
_SAME = {"strict", "copy", "slots", "frozen", "kw_only"}  # words that change nothing where the program is right
_AT_ONCE = re.compile(r"_?[A-Z_]+ = [\d_.]+ +#.*(?:at once|little memory|done together)")
_ALL_EDITORIAL = re.compile(r"\b[Aa]ll\s+(?:numbers|thresholds|values)\b[^.]*\beditorial\b")
_GUARD = 1e-5  # smaller numbers only keep a division from zero


@dataclass(frozen=True)
class Site:
    """One fault: where it lies, what stood there and what stands there now."""

    line: int
    before: str
    after: str
    place: int  # among all sites of the file


def sites(source: str) -> list[Site]:
    """Every fault that `broken` can make in a file.

    Left out: annotations, decorators, texts, what only a type checker sees; values marked as editorial, which are a
    matter of taste and which no published truth can hold; and how much is done at once, which changes no result.
    """
    tree = ast.parse(source)
    tastes, found = _of_taste(source.split("\n")) | _all_of_taste(tree), []
    for place, (node, fault) in enumerate(_faults(tree)):
        before = ast.unparse(node)
        fault()
        found.append(Site(node.lineno, before, ast.unparse(node), place))
    return [site for site in found if site.before != site.after and site.line not in tastes]


def _of_taste(lines: list[str]) -> set[int]:
    """Lines that are marked as a matter of taste; a comment of its own, or one of "the next", holds up to a blank line.

    Constants of how much is done at once say so in their comment.
    """
    marked, goes_on = set(), False
    for number, line in enumerate(lines, 1):
        if _AT_ONCE.match(line):
            marked.add(number)
        if "editorial" in line.lower():
            goes_on = goes_on or line.lstrip().startswith("#") or "the next" in line
            marked.add(number)
        goes_on = goes_on and bool(line.strip())
        if goes_on:
            marked.add(number)
    return marked


def _all_of_taste(tree: ast.Module) -> set[int]:
    """The lines of a file's constants, where its head says that all its numbers are a matter of taste."""
    if not _ALL_EDITORIAL.search(ast.get_docstring(tree) or ""):
        return set()
    constants = [node for node in tree.body if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]).isupper()]
    return {line for node in constants for line in range(node.lineno, (node.end_lineno or node.lineno) + 1)}


def broken(source: str, site: Site) -> ast.Module:
    """The file with this one fault, every line where it was."""
    tree = ast.parse(source)
    next(fault for place, (_, fault) in enumerate(_faults(tree)) if place == site.place)()
    return ast.fix_missing_locations(tree)


def _faults(tree: ast.AST) -> Iterator[tuple[ast.expr, Callable[[], None]]]:
    for node in list(_code(tree)):
        yield from _faults_of(node)


def _code(node: ast.AST) -> Iterator[ast.AST]:
    """All nodes but those that do nothing when the program runs."""
    yield node
    for name, value in ast.iter_fields(node):
        if name in ("annotation", "returns", "decorator_list", "keywords" if isinstance(node, ast.ClassDef) else ""):
            continue
        for child in value if isinstance(value, list) else [value]:
            if isinstance(child, ast.AST) and not _is_idle(child):
                yield from _code(child)


def _is_idle(node: ast.AST) -> bool:
    if isinstance(node, ast.If):
        return ast.unparse(node.test) == "TYPE_CHECKING"
    is_text = isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    if isinstance(node, ast.keyword) and node.arg in _SAME:
        return True
    return is_text or isinstance(node, (ast.JoinedStr, ast.Assert, ast.Raise, ast.Import, ast.ImportFrom))


def _faults_of(node: ast.AST) -> Iterator[tuple[ast.expr, Callable[[], None]]]:
    match node:
        case ast.Compare(ops=[first, *_]) if type(first) in _COMPARISONS:
            yield node, lambda: node.ops.__setitem__(0, _COMPARISONS[type(first)]())
        case ast.BinOp(op=operator) if type(operator) in _OPERATORS:
            yield node, lambda: setattr(node, "op", _OPERATORS[type(operator)]())
        case ast.BoolOp(op=operator):
            yield node, lambda: setattr(node, "op", ast.Or() if isinstance(operator, ast.And) else ast.And())
        case ast.UnaryOp(op=ast.USub()):
            yield node, lambda: setattr(node, "op", ast.UAdd())
        case ast.UnaryOp(op=ast.Not()):
            yield node, lambda: setattr(node, "operand", ast.UnaryOp(ast.Not(), node.operand))
        case ast.Name(id=name, ctx=ast.Load()) if name in _FUNCTIONS:
            yield node, lambda: setattr(node, "id", _FUNCTIONS[name])
        case ast.Attribute(attr=name, ctx=ast.Load()) if name in _FUNCTIONS:
            yield node, lambda: setattr(node, "attr", _FUNCTIONS[name])
        case ast.Constant(value=bool() as value):
            yield node, lambda: setattr(node, "value", not value)
        case ast.Constant(value=int() as value):
            yield node, lambda: setattr(node, "value", value + 1)
        case ast.Constant(value=float() as value) if value == 0 or abs(value) > _GUARD:
            yield node, lambda: setattr(node, "value", value * 1.5 if value else 1.0)
