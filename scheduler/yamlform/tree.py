"""YAML text to a plain tree in which every value is the text its writer typed, with its place.

No types are guessed (``18:30`` is no number, ``no`` is a word), so the reader of a key decides what
its text means. What no form has a use for is refused by name: anchors, aliases, tags, merge
keys, several documents, duplicate keys, tabs as indentation, control characters.

Source: YAML 1.1 specification, chapters 5 (characters), 6.9 (node properties) and 7 (documents).
"""

import re
from codecs import BOM_UTF8, BOM_UTF16_BE, BOM_UTF16_LE
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import NamedTuple

import yaml

from scheduler.errors import Problem, did_you_mean
from scheduler.yamlform.words import in_words

LARGEST = 1_000_000  # bytes
_DEEPEST = 20  # levels; a form has use for six
_HINTS = 50  # near words are searched for the first problems only: it takes time in a long file
LOADER: type = getattr(yaml, "CBaseLoader", yaml.BaseLoader)  # the first is much faster
_MEANT_AS_NOTHING = {"", "~", "null", "Null", "NULL"}
_NOT_TEXT = re.compile("[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_LINE_END = re.compile("\r\n|[\r\n\x85\u2028\u2029]")  # as YAML counts lines


class Mark(NamedTuple):
    """A place in the file; both count from 1."""

    line: int
    column: int


TOP = Mark(1, 1)


@dataclass(frozen=True, slots=True)
class Text:
    """A value or a key, as typed. ``quoted`` text is never taken for nothing."""

    value: str
    mark: Mark
    quoted: bool = False

    @property
    def empty(self) -> bool:
        """Whether nothing is there: ``key:``, ``key: ~`` or ``key: null``."""
        return not self.quoted and self.value in _MEANT_AS_NOTHING


@dataclass(frozen=True, slots=True)
class Items:
    """A list."""

    items: tuple["Node", ...]
    mark: Mark


@dataclass(frozen=True, slots=True)
class Block:
    """Keys with values, in the order of the file, each key once."""

    pairs: tuple[tuple[Text, "Node"], ...]
    mark: Mark


Node = Text | Items | Block


class Report:
    """The problems of one file, collected while reading goes on.

    Args:
        file: its name.
        kind: what it holds one of, ``job`` or ``class``, for messages.
    """

    def __init__(self, file: str, kind: str) -> None:
        self.file = file
        self.kind = kind
        self.problems: list[Problem] = []

    def add(self, mark: Mark, message: str) -> None:
        """Note a problem at a place."""
        self.problems.append(Problem(self.file, *mark, message))

    def near(self, word: str, known: Iterable[str]) -> str:
        """``"; did you mean 'grout'?"``, or nothing; see ``errors.did_you_mean``."""
        enough = len(self.problems) >= _HINTS or len(word) > 100
        return "" if enough else did_you_mean(word, known)


class Unreadable(Exception):
    """What stands there is no use, and the report says why."""


def tree(content: bytes, report: Report) -> Node:
    """The tree of a file's bytes.

    Raises:
        Unreadable: no tree can be had; what only has no place in it (anchors, tags, duplicate
            keys) is reported, and the tree goes on.
    """
    text = _decoded(content, report)
    try:
        return _Builder(text, report).document()
    except yaml.MarkedYAMLError as error:
        mark, message = in_words(error, _LINE_END.split(text), report.kind)
        report.add(Mark(*mark), message)
    except (yaml.YAMLError, ValueError, OverflowError):
        # The pure Python loader trips over "\UFFFFFFFF" where the other reports a place.
        report.add(TOP, "not readable as YAML: a backslash code in double quotes is wrong")
    raise Unreadable


class _NotText(Exception):
    def __init__(self, message: str, mark: Mark = TOP) -> None:
        super().__init__(message)
        self.mark = mark


def _decoded(content: bytes, report: Report) -> str:
    """The text of the file, if it is text and not too long."""
    try:
        return _text(content, report.kind)
    except _NotText as error:
        report.add(error.mark, str(error))
        raise Unreadable from None


def _text(content: bytes, kind: str) -> str:
    _refuse(content, kind)
    body = content.removeprefix(BOM_UTF8)
    try:
        text = body.decode()
    except UnicodeDecodeError as error:
        place = _place(body[: error.start].decode())
        byte = f"0x{body[error.start]:02X}"
        raise _NotText(f"not UTF-8 text (byte {byte}): save the file as UTF-8", place) from None
    _refuse_characters(text)
    return text


def _refuse(content: bytes, kind: str) -> None:
    """Raise for what is plainly no file of that kind."""
    if len(content) > LARGEST:
        size = f"{len(content) / 1_000_000:.1f} MB"
        raise _NotText(f"too big for a {kind} file: {size}, and 1 MB is the most")
    if content.startswith((BOM_UTF16_LE, BOM_UTF16_BE)):
        raise _NotText("this is UTF-16 text: save the file as UTF-8")
    if content.count(b"\0") > 1:
        raise _NotText(
            f"this is not a text file (it holds NUL bytes); save a {kind} file as UTF-8 text"
        )


def _refuse_characters(text: str) -> None:
    odd = _NOT_TEXT.search(text)
    if odd:
        name = f"U+{ord(odd.group()):04X}"
        message = f"a control character ({name}) that no text needs: take it out"
        raise _NotText(message, _place(text[: odd.start()]))


def _place(before: str) -> Mark:
    """Where the text after ``before`` is."""
    lines = _LINE_END.split(before)
    return Mark(len(lines), len(lines[-1]) + 1)


class _Builder:
    """Builds the tree from parser events, which never expand an alias or recurse on their own."""

    def __init__(self, text: str, report: Report) -> None:
        self.report = report
        self.kind = f"a {report.kind} file"
        self.events: Iterator[yaml.Event] = yaml.parse(text, Loader=LOADER)

    def document(self) -> Node:
        """The one document of the file."""
        next(self.events)  # the start of the stream
        if isinstance(next(self.events), yaml.StreamEndEvent):
            return Text("", TOP)
        root = self.node(next(self.events), 0)
        next(self.events)  # the end of the document
        after = next(self.events)
        if not isinstance(after, yaml.StreamEndEvent):
            words = f"a second document begins here: one file holds one {self.report.kind}"
            self.report.add(_mark(after), words)
        return root

    def node(self, event: yaml.Event, depth: int) -> Node:
        mark = _mark(event)
        if depth > _DEEPEST:
            self.report.add(mark, f"nested too deep: {self.kind} has no use for {_DEEPEST} levels")
            raise Unreadable
        self._refuse_properties(event, mark)
        match event:
            case yaml.ScalarEvent():
                return Text(event.value, mark, bool(event.style))
            case yaml.SequenceStartEvent():
                return Items(tuple(self._items(depth + 1)), mark)
            case yaml.MappingStartEvent():
                return Block(tuple(self._pairs(depth + 1)), mark)
        return Text(f"*{getattr(event, 'anchor', '')}", mark)  # an alias, reported

    def _refuse_properties(self, event: yaml.Event, mark: Mark) -> None:
        """Report what YAML hangs on a value and no form has a use for."""
        sign = "*" if isinstance(event, yaml.AliasEvent) else "&"
        if anchor := getattr(event, "anchor", None):
            self.report.add(
                mark,
                f"{sign}{shortened(anchor)}: anchors and aliases are no part of {self.kind}; "
                f"put quotes round text that starts with {sign}",
            )
        if getattr(event, "tag", None):
            words = f"no tags in {self.kind}; put quotes round text that starts with !"
            self.report.add(mark, words)

    def _items(self, depth: int) -> Iterator[Node]:
        while not isinstance(event := next(self.events), yaml.SequenceEndEvent):
            yield self.node(event, depth)

    def _pairs(self, depth: int) -> Iterator[tuple[Text, Node]]:
        first: dict[str, Mark] = {}
        while not isinstance(event := next(self.events), yaml.MappingEndEvent):
            key = self.node(event, depth)
            value = self.node(next(self.events), depth)
            if self._usable(key, first) and isinstance(key, Text):
                first[key.value] = key.mark
                yield key, value

    def _usable(self, key: Node, first: dict[str, Mark]) -> bool:
        """Whether a key is a word that is there for the first time; reports it if not."""
        if not isinstance(key, Text):
            self.report.add(key.mark, "a key must be a word; put quotes round text in { } or [ ]")
        elif key.value == "<<" and not key.quoted:
            words = f"merge keys (<<) are no part of {self.kind}; write it out"
            self.report.add(key.mark, words)
        elif key.value in first:
            line = first[key.value].line
            self.report.add(key.mark, f"{quoted(key.value)} is there twice (first in line {line})")
        else:
            return True
        return False


def _mark(event: yaml.Event) -> Mark:
    start = event.start_mark
    return Mark(start.line + 1, start.column + 1) if start else TOP


def found(node: Node) -> str:
    """What stands at a node, for a person: ``'ninety'``, ``nothing``, ``a list``."""
    if isinstance(node, Items):
        return "a list"
    if isinstance(node, Block):
        return "a block of keys"
    return "nothing" if node.empty else quoted(node.value)


def quoted(text: str) -> str:
    """Somebody's text in a message: in quotes, on one line, not too long."""
    return f"'{shortened(text)}'"


def shortened(text: str) -> str:
    """Text on one line of at most 40 characters, without control characters."""
    if len(text) <= 40 and text.isprintable():
        return text
    line = " ".join("".join(c if c.isprintable() else " " for c in text[:200]).split())
    return line if len(line) <= 40 else line[:39] + "…"
