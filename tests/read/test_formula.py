"""The arithmetic of descriptions, by head."""

import pytest

from flatgen.errors import InputError
from flatgen.read.formula import Value, evaluate

NAMES = {"leg": Value(25.4, 1), "count": Value(5), "bend": Value(60.0, angle=1)}


def lookup(name: str) -> Value:
    if name not in NAMES:
        raise InputError(f'there is no "{name}"')
    return NAMES[name]


@pytest.mark.parametrize(
    ("text", "number", "kind"),
    [
        ("2*leg - 1/2 in", 38.1, "length"),
        ("leg + 1", 50.8, "length"),  # a bare number is in the file's unit, inch here
        ("1 3/16 in", 30.1625, "length"),
        ("3/16 in + 3/4", 23.8125, "length"),
        ("leg*leg/leg", 25.4, "length"),
        ("(count - 1)*0.5 in", 50.8, "length"),
        ("leg*sin(30)", 12.7, "length"),
        ("leg*tan(bend/2)", 14.664697, "length"),
        ("acos(0.5)", 60, "angle"),
        ("-leg^2", -645.16, "area"),
        ("sqrt(leg*leg)", 25.4, "length"),
        ("min(leg, 20 mm, 1 ft)", 20, "length"),
        ("round(leg, 1/16 in)", 25.4, "length"),
        ("ceil(2.2)", 3, "number"),
        ("if(leg > 1/2 in and not count < 3, 10 mm, 5 mm)", 10, "length"),
        ("2^3^2", 512, "number"),
        ("8 - 3 - 2", 3, "number"),
        ("leg × 2 − ¼ in", 44.45, "length"),
        ("1½ in + leg", 63.5, "length"),
        ("2 ft 3 in - leg", 660.4, "length"),
        ("10' 6\" + 0 mm", 3200.4, "length"),
    ],
)
def test_value(text: str, number: float, kind: str) -> None:
    value = evaluate(text, lookup, "in")
    assert (number, kind) == (pytest.approx(value.number, abs=1e-6), value.kind)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("leg/(count - 5)", '"leg/(count - 5)" divides by zero'),
        ("leg + bend", "a length and an angle cannot go together"),
        ("leg + count", "a length and a number cannot go together"),
        ("sine(30)", 'there is no function "sine". Did you mean "sin"?'),
        ("leg +", "ends too soon"),
        ("tan(90)", "tan has no answer for 90"),
        ("leg > 3 > 2", 'compares twice in a row; join two comparisons with "and"'),
        ("leg + 1/leg", "a length and a value in length^-1 cannot go together"),
        ("3 in 2 ft", '"2 ft" was not expected here'),
        ("leg $ 2", '"$", which is no part of a formula'),
        ("1-3/16 in", "could be a fraction or a difference"),
        ("9^9^9^9", "comes out too large"),
        ("asin(2)", "asin has no answer for 2"),
        ("(" * 60 + "1" + ")" * 60, "nested deeper"),
        ("1 2", '"2" was not expected here'),
        ("__import__('os')", "which is no part of a formula"),
    ],
)
def test_what_has_no_value(text: str, message: str) -> None:
    with pytest.raises(InputError) as caught:
        evaluate(text, lookup, "in")
    assert message in str(caught.value)
