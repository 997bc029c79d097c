"""The small faults that a module can have: another comparison, another sign, one more."""

from __future__ import annotations

import ast
import copy
from collections.abc import Iterator
from pathlib import Path

__all__ = ["mutant", "mutants_of"]

_COMPARED: dict[type[ast.cmpop], type[ast.cmpop]] = {
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
_WORKED_OUT: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Add,
    ast.FloorDiv: ast.Mult,
    ast.Div: ast.Mult,
    ast.Mod: ast.Add,
}
_CALLED = {"min": "max", "max": "min", "any": "all", "all": "any"}


def _places(tree: ast.Module) -> Iterator[tuple[ast.AST, str]]:
    """Every node that can be another, and what it would be, always in the same order. What is said
    to people and what only types read is left alone."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Compare) and type(node.ops[0]) in _COMPARED:
            yield node, "compared otherwise"
        elif isinstance(node, ast.BinOp) and type(node.op) in _WORKED_OUT:
            # A union of types is no sum.
            yield node, "worked out otherwise"
        elif isinstance(node, ast.BoolOp):
            yield node, "and for or"
        elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
            yield node, "without not"
        elif isinstance(node, ast.Constant) and type(node.value) is int:
            yield node, "one more"
        elif isinstance(node, ast.Constant) and type(node.value) is bool:
            yield node, "the other of true and false"
        elif (
            isinstance(node, ast.Call)
            and isinstance(node.func, ast.Name)
            and node.func.id in _CALLED
        ):
            yield node, f"{_CALLED[node.func.id]} for {node.func.id}"


def _change(node: ast.AST) -> None:
    if isinstance(node, ast.Compare):
        node.ops[0] = _COMPARED[type(node.ops[0])]()
    elif isinstance(node, ast.BinOp):
        node.op = _WORKED_OUT[type(node.op)]()
    elif isinstance(node, ast.BoolOp):
        node.op = ast.Or() if isinstance(node.op, ast.And) else ast.And()
    elif isinstance(node, ast.UnaryOp):
        # `not not x` is what `x` comes to as a condition.
        node.operand = ast.UnaryOp(ast.Not(), node.operand)
    elif isinstance(node, ast.Constant):
        node.value = not node.value if isinstance(node.value, bool) else int(node.value) + 1  # type: ignore[arg-type]
    elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
        node.func.id = _CALLED[node.func.id]


def mutants_of(path: Path) -> list[str]:
    """Each fault of a module in words, with its line."""
    source = path.read_text()
    lines = source.splitlines()
    return [
        f"{getattr(node, 'lineno', 0)}: {what}: {lines[getattr(node, 'lineno', 1) - 1].strip()}"
        for node, what in _places(ast.parse(source))
    ]


def mutant(path: Path, index: int) -> ast.Module:
    """The module with one fault."""
    tree = copy.deepcopy(ast.parse(path.read_text()))
    node, _ = list(_places(tree))[index]
    _change(node)
    return ast.fix_missing_locations(tree)
