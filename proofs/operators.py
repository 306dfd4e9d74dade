"""Faults of a calculation, as changes of one node of the syntax tree: what a tired hand gets wrong."""

from __future__ import annotations

import ast
import copy
from collections.abc import Iterator
from dataclasses import dataclass

UNITS = {3600.0, 86400.0, 1000.0, 1e-3, 273.15, 1.8, 32.0, 0.3048, 60.0, 24.0, 100.0, 365.0, 8760.0, 12.0}
PAIRS = [
    ("inside", "outside"), ("indoor", "outdoor"), ("supply", "return_"), ("supply", "exhaust"), ("warm", "cool"),
    ("warm", "cold"), ("heating", "cooling"), ("heat", "cool"), ("low", "high"), ("above", "below"), ("up", "down"),
    ("inner", "outer"), ("before", "after"), ("least", "most"), ("one", "two"), ("width", "height"), ("x", "y"),
]  # fmt: skip
UNORDERED = (
    "max", "min", "maximum", "minimum", "hypot", "next", "map", "where", "isinstance", "getattr", "zip", "interp", "filter",
    "full", "sum", "any", "all", "sorted",
)  # fmt: skip
"""Calls whose first two arguments cannot be mistaken: the order means nothing, or the other order cannot run."""
LEAST = 1e-6  # a constant below it is a tolerance of arithmetic: which side it errs to decides nothing
SHIFTED: dict[type[ast.cmpop], type[ast.cmpop]] = {ast.Lt: ast.Gt, ast.LtE: ast.GtE, ast.Gt: ast.Lt, ast.GtE: ast.LtE}


@dataclass(frozen=True)
class Fault:
    """One change: the file, the public calculation that it lies in, the line, its kind, the text before and after."""

    file: str
    calculation: str
    line: int
    kind: str
    before: str
    after: str
    source: str

    @property
    def name(self) -> str:
        """How the list of survivors names it."""
        return f"{self.file} {self.calculation} {self.kind}: {self.before} -> {self.after}"


def faults_of(file: str, text: str) -> list[Fault]:
    """Every fault of one file."""
    tree = ast.parse(text)
    told = []
    for owner, function in _functions(tree):
        for node in _calculating(function):
            for kind, new in _changes(node, function):
                before, after = ast.unparse(node), ast.unparse(new)
                if before != after:
                    source = with_change(text, node, after)
                    told.append(Fault(file, owner, node.lineno, kind, before[:90], after[:90], source))
    return told


def _functions(tree: ast.Module) -> Iterator[tuple[str, ast.FunctionDef]]:
    """Functions and methods with the public name that they serve: their own, else that of what stands above them."""
    public = ""
    for node in tree.body:
        if isinstance(node, ast.FunctionDef):
            public = public if node.name.startswith("_") and public else node.name
            yield public, node
        elif isinstance(node, ast.ClassDef):
            for inner in node.body:
                if isinstance(inner, ast.FunctionDef):
                    yield f"{node.name}.{inner.name}", inner


def _calculating(function: ast.FunctionDef) -> Iterator[ast.expr]:
    """Expressions in a body; no docstrings, no annotations, no texts, nothing that only words an error."""
    skip: set[int] = set()
    for node in ast.walk(function):
        if isinstance(node, ast.Raise | ast.Assert | ast.JoinedStr) or _is_text(node):
            skip |= {id(n) for n in ast.walk(node)}
    for statement in function.body:
        for node in ast.walk(statement):
            if isinstance(node, ast.expr) and id(node) not in skip and hasattr(node, "lineno"):
                yield node


def _is_text(node: ast.AST) -> bool:
    return isinstance(node, ast.Call) and getattr(node.func, "id", "") in ("Finding", "InputRefused", "NotConverged")


def _changes(node: ast.expr, function: ast.FunctionDef) -> Iterator[tuple[str, ast.expr]]:
    if isinstance(node, ast.BinOp):
        yield from _of_operation(node)
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub) and not isinstance(node.operand, ast.Constant):
        yield "sign", node.operand
    elif isinstance(node, ast.Compare) and len(node.ops) == 1 and type(node.ops[0]) in SHIFTED:
        new = copy.deepcopy(node)
        new.ops = [SHIFTED[type(node.ops[0])]()]
        yield "comparison", new
    elif isinstance(node, ast.Call) and len(node.args) >= 2 and not any(isinstance(a, ast.Starred) for a in node.args):
        if getattr(node.func, "attr", getattr(node.func, "id", "")) not in UNORDERED:
            swapped = copy.deepcopy(node)
            swapped.args[0], swapped.args[1] = swapped.args[1], swapped.args[0]
            yield "arguments", swapped
    elif isinstance(node, ast.Name | ast.Attribute) and isinstance(node.ctx, ast.Load):
        yield from _exchanged(node, function)


def _of_operation(node: ast.BinOp) -> Iterator[tuple[str, ast.expr]]:
    if _is_texty(node) or any(is_tolerance(side) for side in (node.left, node.right)):
        return
    if isinstance(node.op, ast.Add | ast.Sub):
        new = copy.deepcopy(node)
        new.op = ast.Sub() if isinstance(node.op, ast.Add) else ast.Add()
        yield "sign", new
        yield "term", node.left
    if isinstance(node.op, ast.Mult | ast.Div):
        for kind, factor in (("factor 2", 2.0), ("factor 1.8", 1.8)):
            yield kind, ast.BinOp(ast.Constant(factor), ast.Mult(), copy.deepcopy(node))
        for side, other in ((node.left, node.right), (node.right, node.left)):
            if isinstance(side, ast.Constant) and isinstance(side.value, int | float) and float(side.value) in UNITS:
                yield "unit", other


def is_tolerance(node: ast.expr) -> bool:
    """A constant so small that it only keeps arithmetic from dividing by nothing."""
    return isinstance(node, ast.Constant) and isinstance(node.value, float) and 0.0 < abs(node.value) <= LEAST


def _is_texty(node: ast.BinOp) -> bool:
    kinds = (ast.List, ast.Tuple, ast.Set, ast.Dict, ast.JoinedStr, ast.ListComp)
    return any(
        isinstance(n, kinds) or (isinstance(n, ast.Constant) and isinstance(n.value, str))
        for n in (node.left, node.right)
    )


def _exchanged(node: ast.Name | ast.Attribute, function: ast.FunctionDef) -> Iterator[tuple[str, ast.expr]]:
    """A name with its opposite, where both are read in the same function."""
    own = node.id if isinstance(node, ast.Name) else node.attr
    known = {n.id for n in ast.walk(function) if isinstance(n, ast.Name)}
    known |= {n.attr for n in ast.walk(function) if isinstance(n, ast.Attribute)}
    known |= {a.arg for a in (*function.args.args, *function.args.kwonlyargs)}
    parts = own.split("_")
    for pair in PAIRS:
        for one, two in (pair, pair[::-1]):
            if one in parts:
                other = "_".join(two if part == one else part for part in parts)
                if other in known and other != own:
                    new = copy.deepcopy(node)
                    if isinstance(new, ast.Name):
                        new.id = other
                    else:
                        new.attr = other
                    yield "exchange", new


def with_change(text: str, node: ast.expr, after: str) -> str:
    """The source with one expression written anew."""
    lines = text.splitlines(keepends=True)
    assert node.end_lineno is not None
    assert node.end_col_offset is not None
    head = lines[node.lineno - 1].encode()[: node.col_offset].decode()
    tail = lines[node.end_lineno - 1].encode()[node.end_col_offset :].decode()
    return "".join([*lines[: node.lineno - 1], f"{head}({after}){tail}", *lines[node.end_lineno :]])
