"""Realistic mistakes in a Python file, each as the place and the text that would stand there instead."""

import ast
import builtins
import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import chain

SWAPPED_NAMES = [
    ("min", "max"), ("sin", "cos"), ("any", "all"), ("floor", "ceil"), ("start", "end"), ("first", "last"),
    ("left", "right"), ("top", "bottom"), ("length", "width"), ("inner", "outer"), ("before", "after"),
]  # fmt: skip
OTHER_NAME = dict(chain(SWAPPED_NAMES, ((b, a) for a, b in SWAPPED_NAMES)))
OPERATORS: dict[type[ast.AST], tuple[str, str]] = {
    ast.Add: ("+", "-"), ast.Sub: ("-", "+"), ast.Mult: ("*", "/"), ast.Div: ("/", "*"),
    ast.Lt: ("<", ">"), ast.Gt: (">", "<"), ast.LtE: ("<=", "<"), ast.GtE: (">=", ">"),
    ast.Eq: ("==", "!="), ast.NotEq: ("!=", "=="), ast.In: ("in", "not in"), ast.NotIn: ("not in", "in"),
    ast.Is: ("is", "is not"), ast.IsNot: ("is not", "is"),
}  # fmt: skip
EITHER_WAY = ("min", "max", "distance", "hypot", "isclose", "union", "intersection")  # arguments in any order
UNTOUCHED = (ast.Raise, ast.Assert, ast.Import, ast.ImportFrom)
SWAPPED_WORDS = [
    (b"left", b"right"), (b"up", b"down"), (b"top", b"bottom"), (b"inside", b"outside"), (b"before", b"after"),
    (b"largest", b"least"), (b"more", b"less"), (b"mm", b"in"), (b"front", b"back"), (b"first", b"last"),
    (b"above", b"below"), (b"from", b"to"), (b"start", b"end"), (b"in", b"mm"), (b"longer", b"shorter"),
]  # fmt: skip
OTHER_WORD = {b: a for a, b in SWAPPED_WORDS} | dict(SWAPPED_WORDS)
WORD = re.compile(rb"\b(" + b"|".join(OTHER_WORD) + rb")\b")


@dataclass(frozen=True)
class Mistake:
    """Bytes ``start`` to ``end`` of a file replaced by ``text``."""

    line: int
    kind: str
    start: int
    end: int
    text: bytes

    def planted(self, source: bytes) -> bytes:
        """The file with the mistake in it."""
        return source[: self.start] + self.text + source[self.end :]


class Finder:
    """Finds every mistake of the known kinds in the bodies of a file's functions."""

    def __init__(self, source: bytes) -> None:
        self.source = source
        self.lines = [0]
        for line in source.splitlines(keepends=True):
            self.lines.append(self.lines[-1] + len(line))

    def found(self) -> list[Mistake]:
        """All of them, in the order of the file."""
        functions = (node for node in ast.walk(ast.parse(self.source)) if isinstance(node, ast.FunctionDef))
        mistakes = {one for function in functions for statement in function.body for one in self.within(statement)}
        return sorted(mistakes, key=lambda one: (one.start, one.end, one.text))

    def within(self, node: ast.AST) -> Iterator[Mistake]:
        if isinstance(node, UNTOUCHED) or (isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)):
            return
        yield from self.at(node)
        if isinstance(node, ast.JoinedStr):  # places within are only told right from Python 3.12 on
            return
        for name, value in ast.iter_fields(node):
            for child in value if isinstance(value, list) else [value]:
                if isinstance(child, ast.AST) and name not in ("annotation", "returns"):
                    yield from self.within(child)

    def at(self, node: ast.AST) -> Iterator[Mistake]:
        """The mistakes that could be made in writing this very node."""
        if isinstance(node, ast.BinOp):
            yield from self.operator(node.left, node.op, node.right)
        elif isinstance(node, ast.Compare) and len(node.ops) == 1:
            yield from self.operator(node.left, node.ops[0], node.comparators[0])
        elif isinstance(node, ast.UnaryOp) and isinstance(node.op, (ast.USub, ast.Not)):
            kind = "sign" if isinstance(node.op, ast.USub) else "dropped not"
            yield self.mistake(kind, node, self.text(node.operand))
        elif isinstance(node, ast.BoolOp):
            spans = [self.span(one) for one in node.values]
            if len(spans) == 2:
                for one in node.values:
                    yield self.mistake("dropped condition", node, self.text(one))
            else:
                for a, b in ((spans[0][0], spans[1][0]), (spans[-2][1], spans[-1][1])):
                    yield Mistake(self.source.count(b"\n", 0, a) + 1, "dropped condition", a, b, b"")
        elif isinstance(node, ast.IfExp):
            yield self.swapped("other branch", node.body, node.orelse)
        elif isinstance(node, ast.Call) and len(node.args) >= 2:
            called = ast.unparse(node.func).rpartition(".")[2]
            texts = [self.is_text(one) for one in node.args[:2]]  # a text in a number's place is too plain a mistake
            starred = any(isinstance(one, ast.Starred) for one in node.args[:2])
            if called not in EITHER_WAY and texts[0] == texts[1] and not starred:
                yield self.swapped("swapped arguments", node.args[0], node.args[1])
        elif isinstance(node, ast.comprehension) and node.ifs:
            yield self.mistake("dropped condition", node.ifs[0], b"True")
        elif isinstance(node, (ast.Name, ast.Attribute)):
            name = node.id if isinstance(node, ast.Name) else node.attr
            if name in OTHER_NAME and isinstance(node.ctx, ast.Load) and self.known(OTHER_NAME[name]):
                end = self.place(node.end_lineno, node.end_col_offset)
                yield Mistake(node.lineno, "other of a pair", end - len(name), end, OTHER_NAME[name].encode())
        elif isinstance(node, ast.Expr) and isinstance(node.value, ast.Call):
            yield self.mistake("lost line", node.value, b"None")
        elif isinstance(node, ast.JoinedStr) or (isinstance(node, ast.Constant) and isinstance(node.value, str)):
            start, end = self.span(node)
            for word in WORD.finditer(self.source, start, end):
                line = self.source.count(b"\n", 0, word.start()) + 1
                yield Mistake(line, "other word", *word.span(), OTHER_WORD[word.group()])
        elif isinstance(node, ast.Constant) and type(node.value) is int and abs(node.value) < 10:
            yield self.mistake("one more", node, str(node.value + 1).encode())

    def known(self, name: str) -> bool:
        """Whether the file knows a name: a checker of names would find one that it does not."""
        return hasattr(builtins, name) or re.search(rb"\b%s\b" % name.encode(), self.source) is not None

    def operator(self, left: ast.expr, operator: ast.AST, right: ast.expr) -> Iterator[Mistake]:
        if type(operator) in OPERATORS and not isinstance(left, ast.JoinedStr) and not self.is_text(left, right):
            old, new = OPERATORS[type(operator)]
            begin, end = self.span(left)[1], self.span(right)[0]
            at = self.source.find(old.encode(), begin, end)
            if at >= 0:
                kind = "sign" if old in "+-*/" else "comparison"
                yield Mistake(self.source.count(b"\n", 0, at) + 1, kind, at, at + len(old), new.encode())

    @staticmethod
    def is_text(*nodes: ast.expr) -> bool:
        return any(isinstance(node, ast.Constant) and isinstance(node.value, str) for node in nodes)

    def swapped(self, kind: str, one: ast.expr, other: ast.expr) -> Mistake:
        (a, b), (c, d) = sorted((self.span(one), self.span(other)))
        text = self.source[c:d] + self.source[b:c] + self.source[a:b]
        return Mistake(min(one.lineno, other.lineno), kind, a, d, text)

    def mistake(self, kind: str, node: ast.expr, text: bytes) -> Mistake:
        return Mistake(node.lineno, kind, *self.span(node), text)

    def text(self, node: ast.expr) -> bytes:
        start, end = self.span(node)
        return b"(" + self.source[start:end] + b")"

    def span(self, node: ast.expr) -> tuple[int, int]:
        return self.place(node.lineno, node.col_offset), self.place(node.end_lineno, node.end_col_offset)

    def place(self, line: int | None, column: int | None) -> int:
        return self.lines[(line or 1) - 1] + (column or 0)


def mistakes(source: bytes) -> list[Mistake]:
    """Every mistake of the known kinds in ``source``."""
    return Finder(source).found()


def changes(source: bytes, mistake: Mistake) -> bool:
    """Whether it leaves ``source`` a program and makes it another one."""
    try:
        return ast.dump(ast.parse(mistake.planted(source))) != ast.dump(ast.parse(source))
    except SyntaxError:
        return False
