"""Problems as values with a place and a hint, and the errors that reach a person.

ThenwaitError            anything said to a person on stderr; exit code 1
├── BadFile              a file that can't be understood; carries every Problem; exit code 2
├── BadInput             a value on the command line that can't be understood; exit code 2
└── NoPlan               no plan can exist; carries the smallest Conflict; exit code 1
"""

import difflib
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from scheduler.conflict import Conflict
    from scheduler.site import Site


@dataclass(frozen=True, order=True)
class Problem:
    """One thing wrong in a file, where it is, and what would be right.

    ``line`` and ``column`` count from 1. Problems sort in the order of the file.
    """

    file: str
    line: int
    column: int
    message: str

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}: {self.message}"


class ThenwaitError(Exception):
    """An error meant for a person; its text says what to do.

    ``prose`` says that its lines are sentences, to be broken at the width of the terminal.
    """

    exit_code = 1
    prose = False


class BadInput(ThenwaitError):
    """A value on the command line that can't be understood."""

    exit_code = 2


class BadFile(ThenwaitError):
    """A file that can't be understood; every problem in it, in the order of the file."""

    exit_code = 2

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(sorted(set(problems)))
        super().__init__("\n".join(map(str, self.problems)))


class NoPlan(ThenwaitError):
    """No plan can exist; says which rules of a ``site`` cannot all hold, its ``conflict``."""

    prose = True

    def __init__(self, text: str, site: "Site", conflict: "Conflict") -> None:
        self.site, self.conflict = site, conflict
        super().__init__(text)


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """``"; did you mean 'grout'?"`` for the nearest known words, or nothing.

    >>> did_you_mean("gruot", ["tile", "grout"])
    "; did you mean 'grout'?"
    >>> did_you_mean("xyz", ["tile", "grout"])
    ''
    """
    near = difflib.get_close_matches(word, sorted(known), n=3, cutoff=0.6)
    return f"; did you mean {' or '.join(repr(n) for n in near)}?" if near else ""
