"""The small arithmetic allowed in descriptions: numbers with units, names, + - * / ^, comparisons, a dozen functions.

Lengths and angles are kept apart: a length plus an angle is an error, a length times a length an area. A bare number
beside a length is in the file's declared unit. Nothing is ever handed to Python to run.
"""

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

from flatgen.errors import InputError, nearest
from flatgen.units import ANGLES, LENGTHS, parse_number, plain_signs

LONGEST = 500  # characters
DEEPEST = 40  # nested brackets
FEET, INCHES = ("ft", "'", "′"), ("in", "inch", "inches", '"', "″")
COMPARISONS = ("<", ">", "<=", ">=", "==", "!=")


class Value(NamedTuple):
    """A number [mm, deg or plain] with the powers of length and angle in it; ``bare``: written without a unit."""

    number: float
    length: int = 0
    angle: int = 0
    bare: bool = False

    @property
    def kind(self) -> str:
        """What the value is, in a word."""
        names = {(0, 0): "number", (1, 0): "length", (0, 1): "angle", (2, 0): "area", (3, 0): "volume"}
        powers = (("length", self.length), ("angle", self.angle))
        told = " · ".join(f"{what}^{power}" if power != 1 else what for what, power in powers if power)
        return names.get((self.length, self.angle), f"value in {told}")


Lookup = Callable[[str], Value]
_LITERAL = re.compile(
    r"((?:\d+\s+)?\d+\s*/\s*\d+(?=\s*(?:in\b|inch|ft\b|mm\b|[\"″'′]|thou\b))|(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)"
    r"\s*(mm\b|cm\b|inches\b|inch\b|in\b|ft\b|thou\b|mil\b|deg\b|rad\b|m\b|[°\"″'′])?"
)
_NAME = re.compile(r"[A-Za-z_][A-Za-z0-9_]*")
_OPERATOR = re.compile(r"<=|>=|==|!=|\*\*|[-+*/^(),<>]")
_HYPHENED = re.compile(r"\d-\d+\s*/\s*\d+\s*(?:in\b|inch|ft\b|mm\b|\")")
_POWER = {"or": 1, "and": 2, "<": 4, ">": 4, "<=": 4, ">=": 4, "==": 4, "!=": 4, "+": 5, "-": 5, "*": 6, "/": 6}


def evaluate(text: str, lookup: Lookup, units: str) -> Value:
    """Value of a formula; ``lookup`` gives the value of a name or raises InputError; bare numbers are in ``units``.

    >>> evaluate("2*leg - 1 1/2 in", lambda name: Value(50.8, 1), "in").number
    63.5
    """
    text = plain_signs(text)
    if len(text) > LONGEST:
        raise InputError(f"the formula is {len(text)} characters long; at most {LONGEST} are read")
    if _HYPHENED.search(text):
        raise InputError(f'"{text}" could be a fraction or a difference; write "1 3/16 in" or "1 in - 3/16 in"')
    parser = _Parser(text, _tokens(text), lookup, units)
    try:
        value = parser.expression(0)
    except OverflowError:
        raise InputError(f'"{text}" comes out too large') from None
    parser.end()
    if not math.isfinite(value.number):
        raise InputError(f'"{text}" does not come out as a finite number')
    return value


class _Token(NamedTuple):
    kind: str
    text: str
    value: Value | None = None
    feet: bool = False  # inches may follow, as in 2 ft 3 in

    @property
    def number(self) -> float:
        """Its number in mm or degrees; 0 for what is no number."""
        return self.value.number if self.value else 0.0


def _tokens(text: str) -> list[_Token]:
    tokens: list[_Token] = []
    at = 0
    while at < len(text):
        if text[at].isspace():
            at += 1
            continue
        if match := _LITERAL.match(text, at):
            value = _literal(match.group(1), match.group(2))
            if tokens and tokens[-1].feet and match.group(2) in INCHES:
                value = value._replace(number=value.number + tokens.pop().number)
            tokens.append(_Token("number", match.group(0), value, match.group(2) in FEET))
        elif match := _NAME.match(text, at):
            tokens.append(_Token("name", match.group(0)))
        elif match := _OPERATOR.match(text, at):
            tokens.append(_Token("operator", match.group(0).replace("**", "^")))
        else:
            raise InputError(f'"{text}" has "{text[at]}", which is no part of a formula')
        at = match.end()
    return tokens


def _literal(number: str, unit: str | None) -> Value:
    value = parse_number(number)
    if unit in (None, ""):
        return Value(value, bare=True)
    if unit in ("deg", "rad", "°"):
        return Value(value * ANGLES[unit], angle=1)
    return Value(value * LENGTHS[unit or ""], length=1)


@dataclass(slots=True)
class _Parser:
    """Reads operators by their binding power and computes as it goes."""

    text: str
    tokens: list[_Token]
    lookup: Lookup
    units: str
    at: int = 0
    depth: int = 0

    def peek(self) -> str:
        return self.tokens[self.at].text if self.at < len(self.tokens) else ""

    def take(self) -> _Token:
        if self.at >= len(self.tokens):
            raise InputError(f'"{self.text}" ends too soon')
        self.at += 1
        return self.tokens[self.at - 1]

    def end(self) -> None:
        if self.at < len(self.tokens):
            raise InputError(f'"{self.text}": "{self.peek()}" was not expected here')

    def expect(self, symbol: str) -> None:
        if self.peek() != symbol:
            found = f'"{self.peek()}"' if self.peek() else "the end"
            raise InputError(f'"{self.text}": expected "{symbol}", found {found}')
        self.at += 1

    def expression(self, power: int) -> Value:
        self.depth += 1
        if self.depth > DEEPEST:
            raise InputError(f'"{self.text[:40]}…" is nested deeper than {DEEPEST} levels')
        left = self.prefix()
        before = ""
        while (op := self.peek()) and _POWER.get(op, 0) > power:
            if op in COMPARISONS and before in COMPARISONS:
                raise InputError(f'"{self.text}" compares twice in a row; join two comparisons with "and"')
            before = op
            self.at += 1
            left = self.infix(op, left, self.expression(_POWER[op]))
        self.depth -= 1
        return left

    def prefix(self) -> Value:
        token = self.take()
        if token.value is not None:
            value = token.value
        elif token.text == "(":
            value = self.expression(0)
            self.expect(")")
        elif token.text in ("-", "+"):
            value = self.expression(5)
            return value._replace(number=-value.number) if token.text == "-" else value
        elif token.text == "not":
            return Value(float(not self.expression(3).number))
        elif token.kind != "name":
            raise InputError(f'"{self.text}": "{token.text}" was not expected here')
        elif self.peek() == "(":
            value = self.call(token.text)
        else:
            value = Value(math.pi) if token.text == "pi" else self.lookup(token.text)
        if self.peek() == "^":
            self.at += 1
            return self.raised(value, self.prefix())
        return value

    def call(self, name: str) -> Value:
        if name not in FUNCTIONS and name != "if":
            raise InputError(f'"{self.text}": there is no function "{name}". {nearest(name, [*FUNCTIONS, "if"])}')
        self.expect("(")
        arguments = [] if self.peek() == ")" else [self.expression(0)]
        while self.peek() == ",":
            self.at += 1
            arguments.append(self.expression(0))
        self.expect(")")
        if name == "if":
            if len(arguments) != 3:
                raise InputError(f'"{self.text}": if(condition, then, else) takes three values')
            condition, then, other = arguments
            then, other = self.alike(then, other)
            return then if condition.number else other
        least, most, function = FUNCTIONS[name]
        if not least <= len(arguments) <= most:
            count = str(least) if least == most else f"{least} to {most}"
            raise InputError(f'"{self.text}": {name} takes {count} values, not {len(arguments)}')
        try:
            return function(self, arguments)
        except ValueError as error:
            if isinstance(error, InputError):
                raise
            raise InputError(f'"{self.text}": {name} has no answer for {arguments[0].number:g}') from None

    def alike(self, a: Value, b: Value) -> tuple[Value, Value]:
        """Both values in the same kind; a bare number takes the other's unit."""
        if (a.length, a.angle) == (b.length, b.angle):
            return a, b
        if a.bare and (b.length, b.angle) in ((1, 0), (0, 1)):
            return self.in_unit(a, b), b
        if b.bare and (a.length, a.angle) in ((1, 0), (0, 1)):
            return a, self.in_unit(b, a)
        raise InputError(f'"{self.text}": {_article(a.kind)} and {_article(b.kind)} cannot go together')

    def in_unit(self, bare: Value, like: Value) -> Value:
        return Value(bare.number * (LENGTHS[self.units] if like.length else 1.0), like.length, like.angle)

    def infix(self, op: str, a: Value, b: Value) -> Value:
        if op == "*":
            return Value(a.number * b.number, a.length + b.length, a.angle + b.angle, a.bare and b.bare)
        if op == "/":
            if b.number == 0.0:
                raise InputError(f'"{self.text}" divides by zero')
            return Value(a.number / b.number, a.length - b.length, a.angle - b.angle, a.bare and b.bare)
        if op in ("and", "or"):
            truth = (a.number and b.number) if op == "and" else (a.number or b.number)
            return Value(float(bool(truth)))
        a, b = self.alike(a, b)
        if op in ("+", "-"):
            return a._replace(number=a.number + (b.number if op == "+" else -b.number), bare=a.bare and b.bare)
        truth = {
            "<": a.number < b.number - 1e-9,
            ">": a.number > b.number + 1e-9,
            "<=": a.number <= b.number + 1e-9,
            ">=": a.number >= b.number - 1e-9,
            "==": abs(a.number - b.number) <= 1e-9,
            "!=": abs(a.number - b.number) > 1e-9,
        }[op]
        return Value(float(truth))

    def raised(self, base: Value, power: Value) -> Value:
        if power.length or power.angle:
            raise InputError(f'"{self.text}": the power must be a plain number')
        if not math.isfinite(power.number):
            raise InputError(f'"{self.text}": the power does not come out as a finite number')
        whole = round(power.number)
        if (base.length or base.angle) and abs(power.number - whole) > 1e-12:
            raise InputError(f'"{self.text}": {_article(base.kind)} can only be raised to a whole power')
        try:
            number = base.number**power.number
        except ZeroDivisionError:
            raise InputError(f'"{self.text}" divides by zero') from None
        if isinstance(number, complex):
            raise InputError(f'"{self.text}": a negative number has no broken power')
        return Value(number, base.length * whole, base.angle * whole, base.bare)


def _article(kind: str) -> str:
    return f"an {kind}" if kind[0] in "aeiou" else f"a {kind}"


def _angle_of(p: _Parser, v: Value) -> float:
    if v.length or v.angle not in (0, 1):
        raise InputError(f'"{p.text}": expected an angle, found {_article(v.kind)}')
    return math.radians(v.number)


def _tangent(turn: float) -> float:
    if abs(math.cos(turn)) < 1e-12:
        raise ValueError
    return math.tan(turn)


def _plain(p: _Parser, v: Value) -> float:
    if v.length or v.angle:
        raise InputError(f'"{p.text}": expected a plain number, found {_article(v.kind)}')
    return v.number


def _fold(pick: Callable[[list[float]], float]) -> Callable[[_Parser, list[Value]], Value]:
    def function(p: _Parser, values: list[Value]) -> Value:
        like = next((v for v in values if not v.bare), values[0])
        same = [p.alike(v, like)[0] for v in values]
        return like._replace(number=pick([v.number for v in same]))

    return function


def _step(to_whole: Callable[[float], float]) -> Callable[[_Parser, list[Value]], Value]:
    def function(p: _Parser, values: list[Value]) -> Value:
        v, step = p.alike(values[0], values[1] if len(values) > 1 else values[0]._replace(number=1.0))
        if step.number <= 0:
            raise InputError(f'"{p.text}": the step to round to must be more than 0')
        return v._replace(number=to_whole(v.number / step.number) * step.number)

    return function


def _root(p: _Parser, values: list[Value]) -> Value:
    v = values[0]
    if v.length % 2 or v.angle % 2:
        raise InputError(f'"{p.text}": {_article(v.kind)} has no square root here')
    return Value(math.sqrt(v.number), v.length // 2, v.angle // 2, v.bare)


def _atan2(p: _Parser, values: list[Value]) -> Value:
    y, x = p.alike(values[0], values[1])
    return Value(math.degrees(math.atan2(y.number, x.number)), angle=1)


# name: (least arguments, most, function)
FUNCTIONS: dict[str, tuple[int, int, Callable[[_Parser, list[Value]], Value]]] = {
    "sin": (1, 1, lambda p, v: Value(math.sin(_angle_of(p, v[0])))),
    "cos": (1, 1, lambda p, v: Value(math.cos(_angle_of(p, v[0])))),
    "tan": (1, 1, lambda p, v: Value(_tangent(_angle_of(p, v[0])))),
    "asin": (1, 1, lambda p, v: Value(math.degrees(math.asin(_plain(p, v[0]))), angle=1)),
    "acos": (1, 1, lambda p, v: Value(math.degrees(math.acos(_plain(p, v[0]))), angle=1)),
    "atan": (1, 1, lambda p, v: Value(math.degrees(math.atan(_plain(p, v[0]))), angle=1)),
    "atan2": (2, 2, _atan2),
    "sqrt": (1, 1, _root),
    "abs": (1, 1, lambda p, v: v[0]._replace(number=abs(v[0].number))),
    "min": (1, 9, _fold(min)),
    "max": (1, 9, _fold(max)),
    "round": (1, 2, _step(lambda x: math.floor(x + 0.5))),
    "floor": (1, 2, _step(lambda x: math.floor(x + 1e-9))),
    "ceil": (1, 2, _step(lambda x: math.ceil(x - 1e-9))),
}
