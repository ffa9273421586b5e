"""The files in ``data/``: read by a form, every entry saying what it knows and where it is from."""
# ruff: noqa: RUF009 (key() makes a field of a dataclass, as dataclasses.field() does)

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeVar

from scheduler import quantities
from scheduler.errors import BadFile
from scheduler.laws import LAWS
from scheduler.measures import STUFF_WORDS, USAGE_WORDS, Usage, stuff, usage
from scheduler.model import Basis, Measure
from scheduler.yamlform.amounts import LINE
from scheduler.yamlform.fields import TEXT, Choice, Place, Value
from scheduler.yamlform.forms import Entry, Form, key
from scheduler.yamlform.tree import TOP, Report, Unreadable, tree

T = TypeVar("T", int, float)
E = TypeVar("E", bound=Entry)


def read(text: str, file: str, form: Form[E]) -> E:
    """What a data file says.

    Args:
        text: the text of the file.
        file: what it is called in messages.
        form: its form.

    Raises:
        BadFile: with everything wrong in it.
    """
    report = Report(file, "data")
    try:
        entry = form.read(tree(text.encode(), report), Place("the file", TOP), report)
    except Unreadable:
        raise BadFile(report.problems) from None
    if report.problems:
        raise BadFile(report.problems)
    return entry


def above_zero(parse: Callable[[str], T], words: str) -> Callable[[str], T]:
    """A parser that refuses nought."""

    def checked(text: str) -> T:
        if (size := parse(text)) <= 0:
            raise ValueError(f"{words}, above 0")
        return size

    return checked


def number(text: str) -> float:
    """A plain number, 0 or above."""
    try:
        size = float(text)
    except ValueError:
        raise ValueError(_NUMBER_WORDS) from None
    if not 0 <= size < 1_000_000:
        raise ValueError(_NUMBER_WORDS)
    return size


def share(text: str) -> float:
    """A share [0..1], such as ``10 %``."""
    try:
        return quantities.humidity(text)  # the same text, of something else
    except ValueError:
        raise ValueError("a share from 0 % to 100 %, such as 10 %") from None


_NUMBER_WORDS = "a number such as 3.5"
_LENGTH_WORDS = "a length such as 3/8 in or 10 mm"
_LIFE_WORDS = "a time such as 90 d"
LENGTH = Value(_LENGTH_WORDS, above_zero(quantities.length, _LENGTH_WORDS), TEXT)
LIFE = Value(_LIFE_WORDS, above_zero(quantities.duration, _LIFE_WORDS), TEXT)
SHARE = Value("a share such as 10 %", share, TEXT)
NUMBER = Value(_NUMBER_WORDS, number, TEXT)
STUFF = Value[Measure](STUFF_WORDS, stuff, TEXT)
USAGE = Value[Usage](USAGE_WORDS, usage, TEXT)
KNOWN: tuple[Basis, ...] = ("published", "common practice", "from memory")
LAW = Choice({law: law for law in LAWS})
BASIS = Choice[Basis]({basis: basis for basis in KNOWN})


@dataclass(frozen=True)
class Sourced(Entry):
    """What an entry says of itself: what kind of knowledge it is, and where it is from."""

    basis: Basis = key(BASIS, "What kind of knowledge.", KNOWN[1], required=" or ".join(KNOWN))
    source: str = key(LINE, "Where it is from.", "", required="where it is from")
