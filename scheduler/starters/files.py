"""The files in ``data/starters``: starters, and the parts that they share. Data, never code.

A starter names its questions and its parts; a part is a few tasks in the order of the trade. An
entry with a ``when`` is only taken where the answers say so, and what waits for a task that is not
taken simply doesn't wait for it. See ``data/starters/shared.yaml``.
"""
# ruff: noqa: RUF009 (key() makes a field of a dataclass, as dataclasses.field() does)

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources.abc import Traversable
from types import MappingProxyType
from typing import TypeVar

from scheduler.datafile import read
from scheduler.resources import data
from scheduler.yamlform.amounts import LINE
from scheduler.yamlform.fields import Many, Place, Reader, Schema, YesNo, refuse
from scheduler.yamlform.forms import Entry, Form, Id, Table, key
from scheduler.yamlform.tree import TOP, Block, Node, Report, Text

When = Mapping[str, tuple[str, ...]]
"""Answers, each with the words that let an entry in."""


@dataclass(frozen=True)
class _ByName:
    """What a reader makes of each value of a block, by its key."""

    of: Reader[tuple[str, ...]]

    def read(self, node: Node, place: Place, report: Report) -> When:
        """The values."""
        if not isinstance(node, Block):
            raise refuse(node, place, report, "words by name, such as {pan: ready}")
        return {
            word.value: self.of.read(value, Place(word.value, word.mark), report)
            for word, value in node.pairs
        }

    def schema(self) -> Schema:
        """An object."""
        return {"type": "object"}


@dataclass(frozen=True)
class _Answers:
    """Answers as they stand; their own form reads them."""

    def read(self, node: Node, place: Place, report: Report) -> Block:
        """The block."""
        if not isinstance(node, Block):
            raise refuse(node, place, report, "a block of answers")
        return node

    def schema(self) -> Schema:
        """An object."""
        return {"type": "object"}


E = TypeVar("E", bound=Entry)
_MANY = Many(LINE)
_WHEN = _ByName(_MANY)
_NONE_SAID = Block((), TOP)


@dataclass(frozen=True)
class LinkPart(Entry):
    """What a task waits for, as in a job file."""

    task: str = key(LINE, "The other task.", "", required="a task")
    stage: str = key(LINE, "Its stage.", "")
    wait: str = key(LINE, "A fixed wait.", "")
    within: str = key(LINE, "A window.", "")
    when: When = key(_WHEN, "Where it counts.", {})


@dataclass(frozen=True)
class _Link:
    """A task's id, or a link in full."""

    form = Form(LinkPart, "{task: coat-1, stage: recoat}")

    def read(self, node: Node, place: Place, report: Report) -> LinkPart:
        """The link."""
        if isinstance(node, Text) and not node.empty:
            return LinkPart(where=node.mark, task=node.value)
        return self.form.read(node, place, report)

    def schema(self) -> Schema:
        """As the form's."""
        return self.form.schema()


@dataclass(frozen=True)
class RatedWork(Entry):
    """Work by its kind and a size of the job."""

    rate: str = key(LINE, "A rate of data/rates.yaml.", "", required="a rate")
    of: str = key(LINE, "A size, see scheduler/starters/sizes.py.", "", required="a size")


@dataclass(frozen=True)
class _Work:
    """A time, or a rate and what it is a rate of."""

    form = Form(RatedWork, "{rate: wall-tile, of: tiled}")

    def read(self, node: Node, place: Place, report: Report) -> str | RatedWork:
        """The work."""
        if isinstance(node, Text) and not node.empty:
            return node.value
        return self.form.read(node, place, report)

    def schema(self) -> Schema:
        """As the form's."""
        return self.form.schema()


@dataclass(frozen=True)
class TaskPart(Entry):
    """A task of a part; keys of the job file, and what the writer needs to know.

    ``beside`` are comments beside keys, ``comment`` stands above ``after``; ``may_stop`` says where
    work that should go on in one go can be left, if there is more of it than anybody has time for.
    """

    name: str = key(LINE, "In words.", "", required="the task in words")
    when: When = key(_WHEN, "Where it is taken.", {})
    who: str = key(LINE, "me, plumber, electrician or inspector.", "")
    room: str = key(LINE, "wet or dry.", "")
    work: str | RatedWork = key(_Work(), "Its work; a milestone if left out.", "0 min")
    applies: str = key(LINE, "A product of shared.yaml.", "")
    uses: When = key(_WHEN, "Sizes of what it uses besides.", {})
    split: bool | None = key(YesNo(), "As in a job file.", None)
    may_stop: str = key(LINE, "Where it may be left.", "")
    dusty: bool = key(YesNo(), "As in a job file.", False)
    hold: bool = key(YesNo(), "As in a job file.", False)
    comment: str = key(LINE, "A comment above 'after'.", "")
    after: tuple[LinkPart, ...] = key(Many(_Link()), "What it waits for.", ())
    beside: When = key(_WHEN, "Comments beside keys.", {})
    notes: str = key(LINE, "As in a job file.", "")


@dataclass(frozen=True)
class Part(Entry):
    """A few tasks under a heading."""

    heading: str = key(LINE, "Its heading.", "", required="a heading")
    when: When = key(_WHEN, "Where it is taken.", {})
    tasks: dict[str, TaskPart] = key(
        Table("task", "tasks", Form(TaskPart, "{name: Grout the floor}"), TaskPart(), "A task.",
              Id("task"), least=1),
        "Its tasks.", {}, required="tasks",
    )  # fmt: skip


@dataclass(frozen=True)
class ProductPart(Entry):
    """A product, as in a job file; ``example`` is a line that is written as a comment."""

    class_: str = key(LINE, "Its class.", "", required="a class")
    when: When = key(_WHEN, "Where it is taken.", {})
    label: str = key(LINE, "As in a job file.", "")
    thickness: str = key(LINE, "As in a job file.", "")
    use: str = key(LINE, "As in a job file.", "")
    comment: str = key(LINE, "A comment above it.", "")
    example: str = key(LINE, "A key left to the owner.", "")


@dataclass(frozen=True)
class Saying(Entry):
    """Words that hang on answers."""

    says: str = key(LINE, "The words.", "")
    when: When = key(_WHEN, "Where they are taken.", {})


@dataclass(frozen=True)
class Allowed(Entry):
    """The words that a starter allows for an answer, and why."""

    words: tuple[str, ...] = key(_MANY, "The words.", (), required="words")
    why: str = key(LINE, "Why no others.", "", required="why")


@dataclass(frozen=True)
class Shared(Entry):
    """What all starters share."""

    starters: tuple[str, ...] = key(_MANY, "In the order they are shown.", ())
    defaults: Block = key(_Answers(), "Answers not given.", _NONE_SAID, required="answers")
    asks: tuple[str, ...] = key(_MANY, "Asked for every starter.", (), required="questions")
    seldom: tuple[str, ...] = key(_MANY, "Not asked on a terminal.", ())
    only_if: dict[str, When] = key(
        Table("question", "questions", _WHEN, {}, "Where it is asked.", Id("question")),
        "Questions.",
        {},
    )
    preamble: tuple[Saying, ...] = key(
        Many(Form(Saying, "{says: ...}")), "Comments above every job file.", ()
    )
    words: dict[str, tuple[Saying, ...]] = key(
        Table("word", "words", Many(Form(Saying, "{says: ...}")), (), "The first that fits.",
              Id("word")),
        "Words filled in.", {},
    )  # fmt: skip
    products: dict[str, tuple[ProductPart, ...]] = key(
        Table("product", "products", Many(Form(ProductPart, "{class: grout}"), least=1), (),
              "The first that fits.", Id("product")),
        "Products by id.", {}, required="products",
    )  # fmt: skip


@dataclass(frozen=True)
class Starter(Entry):
    """A kind of job."""

    title: str = key(LINE, "What the job is called.", "", required="a title")
    says: str = key(LINE, "What it is.", "", required="what it is")
    rooms: dict[str, str] = key(
        Table("room", "rooms", LINE, "", "Its id in the job file.", Id("room")), "wet and dry.", {},
        required="rooms",
    )  # fmt: skip
    asks: tuple[str, ...] = key(_MANY, "Its questions.", (), required="questions")
    only_if: dict[str, When] = key(
        Table("question", "questions", _WHEN, {}, "Where it is asked.", Id("question")),
        "Questions.",
        {},
    )
    allows: dict[str, Allowed] = key(
        Table("answer", "answers", Form(Allowed, "{words: [ceiling], why: ...}"), Allowed(),
              "What is allowed.", Id("answer")),
        "Answers with fewer words than usual.", {},
    )  # fmt: skip
    defaults: Block = key(_Answers(), "Answers not given.", _NONE_SAID)
    parts: tuple[str, ...] = key(_MANY, "Its parts, in order.", (), required="parts")


@lru_cache(maxsize=1)
def shared() -> Shared:
    """What all starters share."""
    return _read(_folder() / "shared.yaml", Form(Shared, "defaults, asks, products"))


@lru_cache(maxsize=1)
def starters() -> Mapping[str, Starter]:
    """The starters, by name, the common ones first."""
    form = Form(Starter, "title, says, rooms, asks, parts")
    found = {name: _read(file, form) for name, file in _files(_folder()) if name != "shared"}
    first = dict.fromkeys(shared().starters)
    return MappingProxyType({name: found[name] for name in (*first, *found) if name in found})


@lru_cache(maxsize=1)
def parts() -> Mapping[str, Part]:
    """The parts, by name."""
    form = Form(Part, "heading, tasks")
    return MappingProxyType({name: _read(file, form) for name, file in _files(_folder() / "parts")})


def _folder() -> Traversable:
    return data() / "starters"


def _files(folder: Traversable) -> Iterable[tuple[str, Traversable]]:
    """The YAML files of a folder by name, in alphabetical order."""
    found = [(f.name.removesuffix(".yaml"), f) for f in folder.iterdir() if f.is_file()]
    return sorted(found, key=lambda each: each[0])


def _read(file: Traversable, form: Form[E]) -> E:
    return read(file.read_text(encoding="utf-8"), file.name, form)
