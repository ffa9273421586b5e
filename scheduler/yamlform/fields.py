"""Typed readers over a YAML tree. Each reads one kind of value and states it as JSON Schema.

A reader reports what is wrong and raises ``Unreadable``; whoever called it goes on with the next
value, so that every problem of a file is found at once.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Generic, NamedTuple, Protocol, TypeVar

from scheduler.yamlform.tree import Items, Mark, Node, Report, Text, Unreadable, found

Schema = dict[str, Any]
T = TypeVar("T")
T_co = TypeVar("T_co", covariant=True)

TEXT: Schema = {"type": ["string", "number", "boolean"]}  # an editor reads 2027 as a number


class Place(NamedTuple):
    """What a node is called in messages, ``'work'`` or ``task 'tile'``, and where its key is."""

    words: str
    mark: Mark

    def __str__(self) -> str:
        return self.words


class Reader(Protocol[T_co]):
    """Reads a node, or reports what is wrong with it and raises ``Unreadable``."""

    def read(self, node: Node, place: Place, report: Report) -> T_co:
        """What the node says."""

    def schema(self) -> Schema:
        """What the node may be, for an editor."""


def refuse(node: Node, place: Place, report: Report, words: str, hint: str = "") -> Unreadable:
    """Report that what stands at a node isn't what it must be; the caller raises the answer."""
    report.add(node.mark, f"{place} must be {words} (found {found(node)}){hint}")
    return Unreadable()


@dataclass(frozen=True)
class Value(Generic[T]):
    """One value, written as text.

    Args:
        words: completes "must be"; said where nothing or no text stands.
        parse: text to value; its ``ValueError`` completes "must be", and may have a second
            argument, a hint for the end of the message.
        form: the JSON Schema of the text.
    """

    words: str
    parse: Callable[[str], T]
    form: Schema

    def read(self, node: Node, place: Place, report: Report) -> T:
        """The value."""
        if not isinstance(node, Text) or node.empty:
            raise refuse(node, place, report, self.words)
        try:
            return self.parse(node.value)
        except ValueError as error:
            raise refuse(node, place, report, *error.args) from None

    def schema(self) -> Schema:
        """The form of the text."""
        return self.form


@dataclass(frozen=True)
class Name:
    """A word with its place, so that what it names can be looked up later."""

    what: str
    form: Callable[[], Schema] = lambda: {"type": ["string", "integer"]}

    def read(self, node: Node, place: Place, report: Report) -> Text:
        """The id and its mark."""
        if not isinstance(node, Text) or node.empty:
            raise refuse(node, place, report, self.what)
        return node

    def schema(self) -> Schema:
        """The form of the word; which ids there are depends on the file."""
        return self.form()


@dataclass(frozen=True)
class Choice(Generic[T]):
    """One of a few words, each with its value."""

    words: Mapping[str, T]

    def read(self, node: Node, place: Place, report: Report) -> T:
        """The value of the word."""
        listed = either(self.words)
        if not isinstance(node, Text) or node.empty:
            raise refuse(node, place, report, listed)
        if node.value not in self.words:
            raise refuse(node, place, report, listed, report.near(node.value, self.words))
        return self.words[node.value]

    def schema(self) -> Schema:
        """The words."""
        return {"enum": list(self.words)}


@dataclass(frozen=True)
class YesNo:
    """``yes`` or ``no``; ``true`` and ``false`` do as well."""

    def read(self, node: Node, place: Place, report: Report) -> bool:
        """Yes is true."""
        word = node.value.lower() if isinstance(node, Text) and not node.empty else ""
        if word in {"yes", "true"}:
            return True
        if word in {"no", "false"}:
            return False
        raise refuse(node, place, report, "yes or no")

    def schema(self) -> Schema:
        """Words, or the booleans that an editor makes of them."""
        any_case = "|".join(
            "".join(f"[{c.upper()}{c}]" for c in w) for w in ("yes", "no", "true", "false")
        )
        words = {"type": "string", "pattern": f"^({any_case})$"}
        return {"anyOf": [{"enum": ["yes", "no", True, False]}, words]}


@dataclass(frozen=True)
class Many(Generic[T]):
    """One or a list of them."""

    of: Reader[T]
    least: int = 0

    def read(self, node: Node, place: Place, report: Report) -> tuple[T, ...]:
        """All that can be read."""
        nodes = node.items if isinstance(node, Items) else (node,)
        if len(nodes) < self.least:
            report.add(node.mark, f"{place} needs at least one entry (found an empty list)")
            raise Unreadable
        values = [value for item in nodes if (value := attempt(self.of, item, place, report))]
        return tuple(v.value for v in values)

    def schema(self) -> Schema:
        """One, or an array."""
        one = self.of.schema()
        return {"anyOf": [one, {"type": "array", "items": one, "minItems": self.least}]}


@dataclass(frozen=True)
class Got(Generic[T]):
    """A value that could be read (it may well be None or 0)."""

    value: T


def attempt(reader: Reader[T], node: Node, place: Place, report: Report) -> Got[T] | None:
    """What a reader makes of a node, or None when it had to report it."""
    try:
        return Got(reader.read(node, place, report))
    except Unreadable:
        return None


def either(words: Iterable[str]) -> str:
    """``a, b or c``, as messages list what may stand somewhere."""
    *some, last = words
    return f"{', '.join(some)} or {last}" if some else last
