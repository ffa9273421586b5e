"""Forms of files: which keys a block has and how each is read, as a dataclass and as JSON Schema.

A form is written down once, as a dataclass whose fields are made with ``key``. Reading follows it
and so does the schema for editors, so that no key is in one but not in the other. Where a key
can't be read its default stands in, so that the rest is checked too.
"""

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, fields
from functools import cached_property
from typing import Any, Generic, TypeVar, cast

from scheduler.yamlform.fields import Place, Reader, Schema, attempt, refuse
from scheduler.yamlform.tree import TOP, Block, Mark, Node, Report, Text, Unreadable, quoted

T = TypeVar("T")
D = TypeVar("D")
_ID = re.compile(r"[^\W_][\w-]*")
_ID_SCHEMA = r"^[^\s!-/:-@\[-`{-~][^\s!-,./:-@\[-^`{-~]*$"  # the same, as far as editors need it
_LONGEST_ID = 60  # characters


@dataclass(frozen=True)
class Id:
    """A word of the writer's own, by which an entry is known in the rest of the file.

    Args:
        what: what it is the id of.
        reserved: words that can't be ids, each with the reason.
    """

    what: str
    reserved: Mapping[str, str] = field(default_factory=dict)

    def read(self, node: Node, place: Place, report: Report) -> str:
        """The word."""
        word = node.value if isinstance(node, Text) else ""
        if wrong := self._wrong(word):
            report.add(node.mark, f"{quoted(word)} can't be the id of a {self.what}: {wrong}")
            raise Unreadable
        return word

    def _wrong(self, word: str) -> str:
        if word in self.reserved:
            return self.reserved[word]
        if not _ID.fullmatch(word):
            return "letters, digits, - and _ only, a letter or digit first"
        return f"at most {_LONGEST_ID} characters" if len(word) > _LONGEST_ID else ""

    def schema(self) -> Schema:
        """Words, but for those that are reserved."""
        ids: Schema = {"pattern": _ID_SCHEMA, "maxLength": _LONGEST_ID}
        return ids | {"not": {"enum": sorted(self.reserved)}} if self.reserved else ids


@dataclass(frozen=True)
class Table(Generic[T]):
    """Entries, each under a key of its own.

    Args:
        what, several: what an entry is, and what they are.
        of: reads an entry.
        stand_in: takes the place of an entry that can't be read, so that its key is still known.
        says: what an entry is, for the editor.
        keys: reads a key: an ``Id``, or one of a few words.
        least, most: how many there may be.
    """

    what: str
    several: str
    of: Reader[T]
    stand_in: T
    says: str
    keys: Reader[str]
    least: int = 0
    most: int = 5000

    def read(self, node: Node, place: Place, report: Report) -> dict[str, T]:
        """The entries, in the order of the file."""
        block = _or_empty(node, may=not self.least)
        if not isinstance(block, Block):
            raise refuse(node, place, report, f"a block of {self.several}, each under its id")
        if len(block.pairs) < self.least:
            report.add(node.mark, f"{place} needs at least one {self.what}")
        if len(block.pairs) > self.most:
            words = f"{place} has more than {self.most} {self.several}: make several files"
            report.add(node.mark, words)
        for word, _ in block.pairs:
            attempt(self.keys, word, Place(f"a key of {place}", word.mark), report)
        return {word.value: self._entry(word, value, report) for word, value in block.pairs}

    def _entry(self, word: Text, value: Node, report: Report) -> T:
        place = Place(f"{self.what} {quoted(word.value)}", word.mark)
        got = attempt(self.of, value, place, report)
        return got.value if got else self.stand_in

    def schema(self) -> Schema:
        """An object with such keys."""
        return {
            "type": "object" if self.least else ["object", "null"],
            "propertyNames": self.keys.schema(),
            "minProperties": self.least,
            "maxProperties": self.most,
            "additionalProperties": {"description": self.says} | self.of.schema(),
        }


@dataclass(frozen=True)
class Key(Generic[T]):
    """A key of a form: how its value is read, what it says, what it must be if it is required."""

    reader: Reader[T]
    says: str
    required: str = ""


def key(reader: Reader[T], says: str, default: D, required: str = "") -> T | D:
    """A field of a form's dataclass.

    Args:
        reader: how the value is read.
        says: what the key means, for the editor.
        default: the value where the key is left out or can't be read.
        required: what the value must be, where the key may not be left out.
    """
    meta = {"key": Key(reader, says, required)}
    return cast(T | D, field(default_factory=lambda: default, metadata=meta))


@dataclass(frozen=True)
class Entry:
    """What a form's dataclass has beside its keys: where it and they are in the file.

    ``where`` is where the entry's own key stands, ``marks`` where the values of its keys do, in the
    order of the file. Entries that say the same are equal, wherever they stand.
    """

    where: Mark = field(default=TOP, compare=False, repr=False)
    marks: Mapping[str, Mark] = field(default_factory=dict, compare=False, repr=False)
    unread: frozenset[str] = field(default=frozenset(), compare=False, repr=False)

    def has(self, name: str) -> bool:
        """Whether the key is there."""
        return name in self.marks

    def said(self) -> dict[str, Any]:
        """The value of each key, defaults included."""
        return {name: getattr(self, attribute) for name, attribute in _names(type(self)).items()}


@dataclass(frozen=True)
class OneOf:
    """Sets of keys of which one at least must be there, whole.

    ``says`` is what is missing where none is.
    """

    sets: tuple[tuple[str, ...], ...]
    says: str

    def met_by(self, there: Iterable[str]) -> bool:
        """Whether one of the sets is there."""
        keys = set(there)
        return any(keys.issuperset(each) for each in self.sets)


E = TypeVar("E", bound=Entry)


def _names(make: type[Entry]) -> dict[str, str]:
    """The field of each key; a key that is a Python word has a ``_`` behind it."""
    return {f.name.rstrip("_"): f.name for f in fields(make) if "key" in f.metadata}


def _nothing(entry: Entry, report: Report) -> None:
    """No key of the form depends on another."""


@dataclass(frozen=True)
class Form(Generic[E]):
    """A block with the keys of a dataclass.

    Args:
        make: the dataclass.
        like: what such a block looks like.
        empty: whether nothing at all may stand there.
        agree: reports which values don't go together; asked where nothing else is wrong.
        either: keys of which some must be there.
    """

    make: type[E]
    like: str
    empty: bool = False
    agree: Callable[[E, Report], None] = _nothing
    either: OneOf | None = None

    @cached_property
    def names(self) -> dict[str, str]:
        """The field of each key."""
        return _names(self.make)

    @cached_property
    def keys(self) -> dict[str, Key[Any]]:
        """The keys, in order."""
        metadata = {f.name: f.metadata for f in fields(self.make)}
        return {name: metadata[attribute]["key"] for name, attribute in self.names.items()}

    def read(self, node: Node, place: Place, report: Report) -> E:
        """The entry, with defaults for what is left out or can't be read."""
        block = _or_empty(node, may=self.empty)
        if not isinstance(block, Block):
            raise refuse(node, place, report, f"a block of keys such as {self.like}")
        before = len(report.problems)
        _report_unknown(block, self.keys, place, report)
        _report_missing(block, self.keys, place, report)
        if self.either and not self.either.met_by(key.value for key, _ in block.pairs):
            report.add(place.mark, f"{place} needs {self.either.says}")
        entry = self._entry(block, place, report)
        if len(report.problems) == before:
            self.agree(entry, report)
        return entry

    def _entry(self, block: Block, place: Place, report: Report) -> E:
        there = [(k, value) for k, value in block.pairs if k.value in self.keys]
        read = {
            k.value: attempt(
                self.keys[k.value].reader, value, Place(quoted(k.value), k.mark), report
            )
            for k, value in there
        }
        return self.make(
            where=place.mark,
            marks={k.value: value.mark for k, value in there},
            unread=frozenset(name for name, got in read.items() if not got),
            **{self.names[name]: got.value for name, got in read.items() if got},
        )

    def schema(self) -> Schema:
        """An object with these keys and no others."""
        choice = [{"required": [*each]} for each in self.either.sets] if self.either else []
        return ({"anyOf": choice} if choice else {}) | {
            "type": ["object", "null"] if self.empty else "object",
            "properties": {
                name: {"description": key.says} | key.reader.schema()
                for name, key in self.keys.items()
            },
            "required": [name for name, key in self.keys.items() if key.required],
            "additionalProperties": False,
        }


def _or_empty(node: Node, *, may: bool) -> Node:
    """Nothing at all as a block without keys, where that may be; anything else as it is."""
    return Block((), node.mark) if may and isinstance(node, Text) and node.empty else node


def _report_unknown(
    block: Block, keys: Mapping[str, Key[Any]], place: Place, report: Report
) -> None:
    for key_text, _ in block.pairs:
        if key_text.value not in keys:
            near = report.near(key_text.value, keys) or f"; known: {', '.join(keys)}"
            if key_text.value.partition(":")[0] in keys:
                near = "; put a space after the colon"
            report.add(key_text.mark, f"unknown key {quoted(key_text.value)} in {place}{near}")


def _report_missing(
    block: Block, keys: Mapping[str, Key[Any]], place: Place, report: Report
) -> None:
    there = {key_text.value for key_text, _ in block.pairs}
    for name, wanted in keys.items():
        if wanted.required and name not in there:
            report.add(place.mark, f"{place} needs '{name}': {wanted.required}")
