"""What can go wrong, said to the person at the bench. Below everything but the sentences that it is told in.

What is doubtful is a Finding in the result; only what makes it impossible to go on is raised.
"""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from difflib import get_close_matches
from pathlib import Path

from flatgen.said import Text


class FlatgenError(Exception):
    """Root of all our errors; ``exit_status`` is what the command ends with."""

    exit_status = 1


class InputError(FlatgenError, ValueError):
    """Something written in a file or on the command line cannot be used."""

    exit_status = 2

    def __init__(
        self, message: Text, *, file: Path | str | None = None, line: int | None = None, where: str = ""
    ) -> None:
        """Keep the parts: file, line and where (part and key) build the head of the sentence."""
        self.message = message
        self.file = file
        self.line = line
        self.where = where
        super().__init__(message)

    def __str__(self) -> str:
        """One sentence: file, line, part and key, then what was found and what was expected."""
        head = []
        if self.file is not None:
            head.append(str(self.file) + (f", line {self.line}" if self.line else ""))
        if self.where:
            head.append(self.where)
        return f"{', '.join(head)}: {self.message}" if head else str(self.message)


MOST_LINES = 25  # of a list of errors


class InputErrors(InputError):
    """Several input errors, gathered so that one run gives one list."""

    def __init__(self, errors: Iterable[InputError], *, ended: bool = False) -> None:
        """Keep each error; the sentence is one line an error, of very many the first ones.

        ended : nothing was looked at after the last of them
        """
        self.errors = tuple(errors)
        lines = [str(error) for error in self.errors]
        if len(lines) > MOST_LINES:
            lines[MOST_LINES:] = [f"and {len(lines) - MOST_LINES} more; correct these first, many may have one cause"]
        elif ended:
            lines.append("what comes after these was not looked at; correct them first, many may have one cause")
        super().__init__("\n".join(lines))


@contextmanager
def of_file(file: Path | None) -> Iterator[None]:
    """Name the file that entries came from when one of them is refused later, by the book or by the job."""
    try:
        yield
    except InputErrors as several:
        named = [one if one.file else InputError(one.message, file=file, where=one.where) for one in several.errors]
        raise InputErrors(named) from several
    except InputError as error:
        if error.file:
            raise
        raise InputError(error.message, file=file, where=error.where) from error


class OutOfRange(FlatgenError, ValueError):
    """A value lies outside what a formula or table covers."""

    exit_status = 2

    def __init__(self, what: str, value: float, limit: str, source: str = "") -> None:
        """Keep name, value, limit and source as fields."""
        self.what, self.value, self.limit, self.source = what, value, limit, source
        super().__init__(what)

    def __str__(self) -> str:
        """State value and limit, and who says so."""
        tail = f" ({self.source})" if self.source else ""
        return f"{self.what} is {self.value:.6g}; it must be {self.limit}{tail}"


class CannotMake(FlatgenError):
    """The geometry asked for has no solution, or there is no stock for it.

    flange, key : what of the description is at fault, where that is known
    """

    exit_status = 2

    def __init__(self, message: Text, flange: str = "", key: str = "") -> None:
        """Keep what is at fault, for whoever knows where it is written."""
        self.message, self.flange, self.key = message, flange, key
        super().__init__(message)


class RecordError(FlatgenError):
    """The shop's book cannot be read or written."""


class NoBackup(UserWarning):
    """The day's copy of the shop's book could not be kept; the entry was made all the same."""


class LettersMissing(UserWarning):
    """Letters of a text that the font of the paper has not: a box is printed in their place."""

    def __init__(self, letters: str) -> None:
        """Keep the letters."""
        self.letters = letters
        super().__init__(letters)

    def __str__(self) -> str:
        """Name them with their numbers in the standard."""
        listed = ", ".join(f'"{letter}" (U+{ord(letter):04X})' for letter in self.letters)
        return f"on paper a box stands for {listed}, which the font has not; write such text in other letters"


def nearest(word: str, choices: Iterable[str]) -> str:
    """Sentence tail that names the valid choice nearest to a misspelt word, or lists them all."""
    names = sorted(set(choices))
    close = get_close_matches(word, names, n=1, cutoff=0.6)
    if close:
        return f'Did you mean "{close[0]}"?'
    return f"Known here: {', '.join(names)}." if names else "None is known here."
