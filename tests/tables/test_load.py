"""The tables that come with the package: whole, sourced, and loud about what is wrong in them."""

import dataclasses

import pytest

from flatgen.errors import InputError
from flatgen.tables import load
from flatgen.tables.materials import parse_materials, parse_radius_rows
from flatgen.tables.rows import line_of

WANTED = [
    "2024-O", "2024-T3", "2024-T3-clad", "6061-T4", "6061-T6", "5052-H32", "3003-H14", "7075-O", "7075-T6", "4130N",
    "304", "mild-steel", "copper-soft",
]  # fmt: skip
HEAD = "table,material,thickness_in,radius_in,radius_t,low_t,source,place,trust\n"
OWN = {
    "density_g_per_cm3": 2.8, "elastic_modulus_mpa": 72000, "yield_strength_mpa": 300, "ultimate_strength_mpa": 420,
    "source": "mill certificate",
}  # fmt: skip


def test_all_materials_are_there():
    assert sorted(WANTED) == sorted(load.materials())


@pytest.mark.parametrize("key", WANTED)
def test_every_number_of_a_material_has_a_source(key):
    alloy = load.material(key)
    needed = {"density", "elastic_modulus", "yield_strength", "ultimate_strength"}
    needed |= {
        field.name
        for field in dataclasses.fields(alloy)
        if field.name.startswith(("hardening", "ramberg")) and getattr(alloy, field.name) is not None
    }
    assert needed == set(alloy.sources)
    assert all(row.source.title for table in alloy.radius_tables for row in table.rows)


@pytest.mark.parametrize("key", WANTED)
def test_every_material_has_a_table_for_thin_sheet(key):
    # 0.020 to 0.090 in inside one table
    assert any(
        table.rows[0].thickness <= 0.508 and table.rows[-1].thickness >= 2.286
        for table in load.material(key).radius_tables
    )


@pytest.mark.parametrize(
    ("word", "key"),
    [("2024-T3 clad", "2024-T3-clad"), ("4130N", "4130N"), ("2024t3", "2024-T3"), ("mild steel", "mild-steel")],
)
def test_common_spellings(word, key):
    assert key == load.material(word).key


@pytest.mark.parametrize(("word", "near"), [("2024-T33", "2024-T3"), ("6061-T5", "6061-T")])
def test_an_unknown_material_names_the_nearest(word, near):
    with pytest.raises(InputError) as caught:
        load.material(word)
    assert f'no material "{word}". Did you mean "{near}' in str(caught.value)


def test_an_alloy_without_its_temper_is_not_guessed():
    # common practice: no temper, no bend radius
    with pytest.raises(InputError):
        load.material("2024")


def test_an_unknown_publication_names_the_nearest():
    with pytest.raises(InputError, match='no publication "machinery-30". Did you mean "machinery-31"'):
        load.source("machinery-30")


@pytest.mark.parametrize(
    ("row", "line", "says"),
    [
        ("a,6061-T6,.032,.06,,,,p,read", 2, "the row names no source"),
        ("a,6061-T6,.032,.06,,,nowhere,p,read", 2, 'no publication "nowhere"'),
        ("a,6061-T6,.032,.06,,,bench-practice,p,hearsay", 2, 'trust "hearsay" is not one of'),
        ("a,6061-T6,.032,-1,,,bench-practice,p,read", 2, "a radius cannot be below 0"),
        ("a,6061-T6,0,.06,,,bench-practice,p,read", 2, "thickness 0 must be above 0"),
        ("a,6061-T6,.032,,,,bench-practice,p,read", 2, "one of radius_in and radius_t must be given"),
        ("a,6061-T6,.032,x,,,bench-practice,p,read", 2, "could not convert string to float"),
        (
            "a,6061-T6,.032,.06,,,bench-practice,p,read\na,6061-T6,.032,.06,,,bench-practice,p,read",
            3,
            "the thickness does not rise",
        ),
        ("a,6061-T6,.032", 2, "the row must have 9 cells"),
    ],
)
def test_a_bad_radius_row_is_named_with_its_line(row, line, says):
    with pytest.raises(InputError) as caught:
        parse_radius_rows(load.source, HEAD + row + "\n")
    assert f"min_radius.csv, line {line}" in str(caught.value)
    assert says in str(caught.value)


def test_a_misnamed_column_is_refused():
    with pytest.raises(InputError, match=r"min_radius\.csv, line 1: the columns are table, alloy; they must be"):
        parse_radius_rows(load.source, "table,alloy\n")


GOOD = """[x]
family = "steel"
hardness = "hard"
density = { kg_per_m3 = 7850, source = "asm-handbook", trust = "memory" }
elastic_modulus = { gpa = 200, source = "asm-handbook", trust = "memory" }
yield_strength = { mpa = 250, source = "asm-handbook", trust = "memory" }
ultimate_strength = { mpa = 370, source = "asm-handbook", trust = "memory" }
"""


def test_a_material_entry_loads():
    made = parse_materials(load.source, {}, GOOD)["x"]
    assert (7.85e-3, 200e3) == (pytest.approx(made.density), pytest.approx(made.elastic_modulus))


@pytest.mark.parametrize(
    ("old", "new", "line", "says"),
    [
        ("gpa = 200, source", "gpa = 200, from", 5, "elastic_modulus names no source"),
        ("gpa = 200", "kg_per_m3 = 200", 5, "elastic_modulus must be given in msi or gpa or mpa"),
        ("mpa = 250", "mpa = -1", 6, "yield_strength is -1; it must be above 0"),
        ('family = "steel"', 'famly = "steel"', 2, 'no key "famly" here. Did you mean "family"?'),
        ('hardness = "hard"', 'hardness = "tough"', 3, 'hardness "tough" must be one of soft, medium, hard'),
        ("asm-handbook", "asm-hndbook", 4, 'no publication "asm-hndbook". Did you mean "asm-handbook"?'),
    ],
)
def test_a_bad_material_entry_is_named_with_its_line(old, new, line, says):
    with pytest.raises(InputError) as caught:
        parse_materials(load.source, {}, GOOD.replace(old, new, 1))
    assert f'materials.toml, line {line}, material "x": {says}' in str(caught.value)


def test_drills_rise_and_are_all_there():
    # 80 number and 26 letter sizes
    sizes = load.drill_sizes()
    assert 106 == len(sizes)
    assert list(sizes.values()) == sorted(set(sizes.values()))


def test_a_job_may_bring_its_own_material():
    made = load.material_from_table(
        "l163", {**OWN, "least_radius": [{"thickness": 1.0, "radius": 3.0}]}, known=load.materials()
    )
    assert (2.8e-3, "mill certificate") == (pytest.approx(made.density), made.sources["density"].title)
    assert 3.0 == made.radius_tables[0].rows[0].radius


def test_own_material_may_borrow_radii():
    made = load.material_from_table("x", {**OWN, "radius_like": "2024-T3"}, known=load.materials())
    assert load.material("2024-T3").radius_tables == made.radius_tables


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"source": ""}, "source is missing: say in words where the numbers are from"),
        ({"yield_strength_mpa": -3}, "yield_strength_mpa is -3; it must be a number above 0"),
        ({"density_g_cm3": 3}, 'no key "density_g_cm3" here. Did you mean "density_g_per_cm3"?'),
        ({"radius_like": "2024-T33"}, 'radius_like: no material "2024-T33". Did you mean "2024-T3"?'),
        ({"yield_strength_mpa": 500}, "strengths must rise from"),
        ({"least_radius": [{"thickness": 1.0}]}, "each entry of least_radius must be {thickness, radius}, in mm"),
        ({"hardness": "mild"}, 'hardness "mild" must be one of soft, medium, hard'),
    ],
)
def test_a_bad_own_material_is_named(change, says):
    with pytest.raises(InputError) as caught:
        load.material_from_table("x", {**OWN, **change}, known=load.materials(), file="job.toml", line=7)
    assert str(caught.value).startswith('job.toml, line 7, material "x": ' + says)


def test_line_of_an_entry_with_quotes():
    assert 3 == line_of('[a]\nx = 1\n["b.c"]\nx = 2\n', "b.c")
    assert 4 == line_of('[a]\nx = 1\n["b.c"]\nx = 2\n', "b.c", "x")
