"""Name to object tables that refuse doubles and find their members by scanning a folder."""

import importlib
import pkgutil
from collections.abc import Iterator
from typing import Generic, TypeVar

T = TypeVar("T")


class Registry(Generic[T]):
    """Members by name; modules of ``package`` are imported once, on first look."""

    def __init__(self, kind: str, package: str) -> None:
        """Remember what the members are called and which package holds them."""
        self.kind = kind
        self.package = package
        self._members: dict[str, T] = {}
        self._scanned = False

    def add(self, name: str, member: T) -> None:
        """Enter a member; a second use of a name is our mistake."""
        if name in self._members:
            raise ValueError(f"{self.kind} {name!r} is registered twice")
        self._members[name] = member

    def scan(self) -> None:
        """Import every module of the package so that its members register themselves."""
        if self._scanned:
            return
        self._scanned = True
        package = importlib.import_module(self.package)
        for module in sorted(info.name for info in pkgutil.iter_modules(package.__path__)):
            importlib.import_module(f"{self.package}.{module}")

    def __iter__(self) -> Iterator[tuple[str, T]]:
        """Names and members, sorted by name."""
        self.scan()
        return iter(sorted(self._members.items()))

    def __contains__(self, name: str) -> bool:
        """Whether a member has this name."""
        self.scan()
        return name in self._members

    def __getitem__(self, name: str) -> T:
        """Look a member up by its name."""
        self.scan()
        return self._members[name]

    def names(self) -> tuple[str, ...]:
        """All names, sorted."""
        self.scan()
        return tuple(sorted(self._members))
