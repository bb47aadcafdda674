"""Small pieces of what is said about bad input: sizes in both units, keys, limits that many keys share. Lengths mm."""

from collections.abc import Iterator
from contextlib import contextmanager

from flatgen.errors import InputError
from flatgen.said import fine, said

shown = fine  # a length as errors give it


@contextmanager
def at_key(key: str) -> Iterator[None]:
    """Say the key of whatever goes wrong inside."""
    try:
        yield
    except InputError as error:
        if error.where or error.file is not None:
            raise
        raise InputError(error.message, where=key) from error


def positive(value: float, what: str) -> float:
    """The value, when it is more than 0."""
    if value <= 0:
        raise InputError(said(f"{what} is ", shown(value), "; it must be more than 0"))
    return value


def at_least_0(value: float, what: str) -> float:
    """The value, when it is not less than 0."""
    if value < 0:
        raise InputError(said(f"{what} is ", shown(value), "; it must be 0 or more"))
    return value
