"""README and the guides keep to what the code says."""

import importlib
import re

import pytest

from flatgen.rules_reference import table


def block(text: str, name: str) -> str:
    return text.split(f"<!-- {name}: begin -->\n")[1].split(f"<!-- {name}: end -->")[0].strip()


def test_table_of_rules_is_the_codes_own(root) -> None:
    """Printed by ``python -m flatgen.rules_reference``."""
    assert table() == block((root / "flatgen" / "checks" / "README.md").read_text(encoding="utf-8"), "rules")


def test_every_rule_that_the_brake_names_is_known(root) -> None:
    from flatgen.brake.rules import BRAKE_RULES

    named = set()
    for path in (root / "flatgen" / "brake").glob("*.py"):
        named |= set(re.findall(r'"(brake-[a-z-]+)"', path.read_text(encoding="utf-8")))
    assert named == set(BRAKE_RULES)


@pytest.mark.parametrize("folder", ["examples", "profiles"])
def test_file_reference_is_the_codes_own(folder, root) -> None:
    """Printed by ``python -m flatgen.read.reference FOLDER``."""
    from flatgen.read.reference import reference

    assert reference(folder) == block((root / folder / "README.md").read_text(encoding="utf-8"), "keys")


def test_readme_is_read_in_ten_minutes(root) -> None:
    assert len((root / "README.md").read_bytes()) < 14_000


def test_file_reference_leaves_out_no_table_of_keys(root) -> None:
    """Whatever tuple of keys a module of the reader holds, a heading of the reference stands for it."""
    from flatgen.read.keys import Key
    from flatgen.read.reference import FILES

    printed = {id(keys) for files in FILES.values() for tables in files.values() for keys in tables.values()}
    within = {
        id(key) for files in FILES.values() for tables in files.values() for keys in tables.values() for key in keys
    }
    missing = []
    for path in sorted((root / "flatgen" / "read").glob("*.py")):
        module = importlib.import_module(f"flatgen.read.{path.stem}")
        for name, value in vars(module).items():
            keys = isinstance(value, tuple) and value and all(isinstance(item, Key) for item in value)
            if keys and id(value) not in printed and not all(id(key) in within for key in value):
                missing.append(f"{path.stem}.{name}")
    assert [] == missing
