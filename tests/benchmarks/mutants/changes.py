"""The changes: of one expression each, in the order of the source."""

import ast
import copy
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class Spot:
    """Where an expression stands in a tree: its parent's field, and the function and statement around it."""

    node: ast.expr
    parent: ast.AST
    name: str
    index: int | None
    function: str
    returns: str
    statement: ast.stmt

    def put(self, new: ast.expr) -> None:
        """Put another expression in its place."""
        if self.index is None:
            setattr(self.parent, self.name, new)
        else:
            getattr(self.parent, self.name)[self.index] = new


@dataclass(frozen=True)
class Change:
    """One small change of one expression: of which kind, and what comes in its place."""

    spot: Spot
    kind: str
    new: ast.expr

    @property
    def words(self) -> str:
        """What it changes into what, as code."""
        return f"{ast.unparse(self.spot.node)}  ->  {ast.unparse(self.new)}"


_NO_CODE_FIELDS = {"annotation", "returns", "decorator_list", "type_params", "bases"}

_NO_CODE_CALLS = {"TypeVar", "NewType", "cast", "NamedTuple", "TypedDict", "ParamSpec"}

_COMPARISONS: Mapping[type[ast.cmpop], type[ast.cmpop]] = {
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

_ARITHMETIC: Mapping[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult,
    ast.Mod: ast.Mult,
    ast.Pow: ast.Mult,
    ast.BitOr: ast.BitAnd,
    ast.BitAnd: ast.BitOr,
}

_OPPOSITES = {"min": "max", "max": "min", "any": "all", "all": "any", "minimum": "maximum", "maximum": "minimum"}


def _is_text(node: ast.expr) -> bool:
    return isinstance(node, ast.JoinedStr) or (isinstance(node, ast.Constant) and isinstance(node.value, str))


def _called(node: ast.AST) -> str:
    if not isinstance(node, ast.Call):
        return ""
    return node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")


def spots(tree: ast.Module) -> Iterator[Spot]:
    """Every expression that does something, in the order of the source."""
    for statement in tree.body:
        yield from _in_statement(statement, "<module>", "")


def _in_statement(statement: ast.stmt, function: str, returns: str) -> Iterator[Spot]:
    if isinstance(statement, ast.Assert | ast.Import | ast.ImportFrom):
        return
    if isinstance(statement, ast.If) and ast.unparse(statement.test) == "TYPE_CHECKING":
        return
    if isinstance(statement, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
        if statement.name == "__repr__":
            return
        inner = statement.name if function == "<module>" else f"{function}.{statement.name}"
        if not isinstance(statement, ast.ClassDef):
            yield from _in_fields(statement.args, function, returns, statement)
            returns = ast.unparse(statement.returns) if statement.returns else ""
        for each in statement.body:
            yield from _in_statement(each, inner, returns)
        return
    yield from _in_fields(statement, function, returns, statement)


def _in_fields(parent: ast.AST, function: str, returns: str, statement: ast.stmt) -> Iterator[Spot]:
    for name, value in ast.iter_fields(parent):
        if name in _NO_CODE_FIELDS:
            continue
        each = value if isinstance(value, list) else [value]
        for index, node in enumerate(each):
            if not isinstance(node, ast.AST):
                continue
            if isinstance(node, ast.stmt):
                yield from _in_statement(node, function, returns)
                continue
            if isinstance(node, ast.JoinedStr) or _called(node) in _NO_CODE_CALLS:
                continue
            if _called(parent) == "isinstance" and name == "args" and index == 1:
                continue
            if isinstance(node, ast.expr):
                where = index if isinstance(value, list) else None
                yield Spot(node, parent, name, where, function, returns, statement)
            yield from _in_fields(node, function, returns, statement)


def changes(tree: ast.Module) -> Iterator[Change]:
    """Every change this tool knows, of every expression, in the order of the source."""
    for spot in spots(tree):
        for kind, make in MAKERS.items():
            for new in make(spot):
                yield Change(spot, kind, ast.copy_location(new, spot.node))


def _comparisons(spot: Spot) -> Iterator[ast.expr]:
    node = spot.node
    if isinstance(node, ast.Compare):
        for at, operator in enumerate(node.ops):
            new = copy.deepcopy(node)
            new.ops[at] = _COMPARISONS[type(operator)]()
            yield new


def _arithmetic(spot: Spot) -> Iterator[ast.expr]:
    node = spot.node
    if isinstance(node, ast.BinOp) and not (_is_text(node.left) or _is_text(node.right)):
        other = _ARITHMETIC.get(type(node.op))
        is_of_types = isinstance(node.op, ast.BitOr) and spot.function == "<module>"
        if other and not is_of_types:
            yield ast.BinOp(copy.deepcopy(node.left), other(), copy.deepcopy(node.right))
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub) and not isinstance(node.operand, ast.Constant):
        yield copy.deepcopy(node.operand)


def _booleans(spot: Spot) -> Iterator[ast.expr]:
    node = spot.node
    if isinstance(node, ast.BoolOp):
        yield ast.BoolOp(ast.Or() if isinstance(node.op, ast.And) else ast.And(), copy.deepcopy(node.values))
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
        yield copy.deepcopy(node.operand)


def _conditions(spot: Spot) -> Iterator[ast.expr]:
    is_test = (spot.name == "test" and isinstance(spot.parent, ast.If | ast.IfExp)) or spot.name == "ifs"
    if is_test:
        yield ast.Constant(True)
    if is_test or (spot.name == "test" and isinstance(spot.parent, ast.While)):
        yield ast.Constant(False)


def _constants(spot: Spot) -> Iterator[ast.expr]:
    value = getattr(spot.node, "value", None) if isinstance(spot.node, ast.Constant) else None
    if isinstance(value, bool):
        if spot.function != "<module>":
            yield ast.Constant(not value)
    elif isinstance(value, int):
        yield ast.Constant(value + 1)
    elif isinstance(value, float):
        yield ast.Constant(value * 1.1 if value else 1.0)


def _opposites(spot: Spot) -> Iterator[ast.expr]:
    other = _OPPOSITES.get(_called(spot.node))
    if isinstance(spot.node, ast.Call) and other:
        new = copy.deepcopy(spot.node)
        if isinstance(new.func, ast.Name):
            new.func.id = other
        elif isinstance(new.func, ast.Attribute):
            new.func.attr = other
        yield new


def _returns(spot: Spot) -> Iterator[ast.expr]:
    node = spot.node
    if not (isinstance(spot.parent, ast.Return) and spot.name == "value") or isinstance(node, ast.Constant):
        return
    same = copy.deepcopy(node)
    kind = spot.returns.strip("'\"")
    if kind == "bool":
        yield ast.UnaryOp(ast.Not(), same)
    elif kind in ("float", "Floats"):
        yield ast.BinOp(same, ast.Mult(), ast.Constant(1.1))
    elif kind == "int":
        yield ast.BinOp(same, ast.Add(), ast.Constant(1))
    elif kind.startswith(("list[", "Sequence[")) or (kind.startswith("tuple[") and kind.endswith("...]")):
        yield ast.Subscript(same, ast.Slice(None, ast.UnaryOp(ast.USub(), ast.Constant(1))), ast.Load())
    elif kind not in ("str", "") and ast.unparse(node) != "self":
        yield ast.Constant(None)


MAKERS: Mapping[str, Callable[[Spot], Iterator[ast.expr]]] = {
    "comparison": _comparisons,
    "arithmetic": _arithmetic,
    "boolean": _booleans,
    "condition": _conditions,
    "constant": _constants,
    "opposite call": _opposites,
    "return": _returns,
}
