"""A small job with a book, for the tests of the tally."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from small_shop import HEAD, SHOP

from flatgen.cli import flatgen

PARTS = """
[[part]]
id = "OX-9"
profile = "angle"
quantity = 7
[[part]]
id = "OX-8"
profile = "channel"
quantity = 4
"""


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """Two parts, no test bends."""
    (tmp_path / "shop.toml").write_text('work = "general"\n' + SHOP)
    (tmp_path / "job.toml").write_text(HEAD + PARTS)
    return tmp_path / "job.toml"


@pytest.fixture
def run() -> Callable[..., Result]:
    """A command of flatgen that ends with 0, or with what is said."""

    def call(*words: Any, ok: int = 0, typed: str | None = None) -> Result:
        result = CliRunner().invoke(flatgen, [str(word) for word in words], input=typed)
        assert ok == result.exit_code, result.output
        return result

    return call
