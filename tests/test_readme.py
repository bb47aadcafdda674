"""The README keeps to what the code says."""

import re

from flatgen.rules_reference import table


def block(text: str, name: str) -> str:
    return text.split(f"<!-- {name}: begin -->\n")[1].split(f"<!-- {name}: end -->")[0].strip()


def test_table_of_rules_is_the_codes_own(root) -> None:
    """Printed by ``python -m flatgen.rules_reference``."""
    assert table() == block((root / "README.md").read_text(encoding="utf-8"), "rules")


def test_every_rule_that_the_brake_names_is_known(root) -> None:
    from flatgen.brake.rules import BRAKE_RULES

    named = set()
    for path in (root / "flatgen" / "brake").glob("*.py"):
        named |= set(re.findall(r'"(brake-[a-z-]+)"', path.read_text(encoding="utf-8")))
    assert named == set(BRAKE_RULES)
