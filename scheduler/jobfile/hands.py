"""The ``who`` of a task: one person, a list, how many of each; or ways to do it to choose among."""
# ruff: noqa: RUF009 (key() makes a field of a dataclass, as dataclasses.field() does)

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from scheduler.jobfile.values import COUNT, PERSON, RESERVED, WORK, WorkTime
from scheduler.yamlform.fields import Many, Place, Schema, attempt, refuse
from scheduler.yamlform.forms import Entry, Form, key
from scheduler.yamlform.tree import Block, Items, Mark, Node, Report, Text, Unreadable, quoted


class Hands(NamedTuple):
    """How many of a person a task takes; ``mark`` is where that stands in the file."""

    who: Text
    several: int
    mark: Mark


class WayEntry(NamedTuple):
    """One way to do a task; without ``work`` of its own it takes the task's."""

    hands: tuple[Hands, ...]
    work: WorkTime | None
    mark: Mark


@dataclass(frozen=True)
class Together:
    """All who must be present: ids, or a block of ids with how many there must be of each."""

    def read(self, node: Node, place: Place, report: Report) -> tuple[Hands, ...]:
        """All that can be read."""
        if isinstance(node, Block):
            if given := _only("all", node, place, report):
                return self.read(given, Place("'all'", node.mark), report)
            return tuple(self._counted(node, report))
        return tuple(Hands(who, 1, who.mark) for who in Many(PERSON).read(node, place, report))

    def _counted(self, block: Block, report: Report) -> Iterator[Hands]:
        for who, count in block.pairs:
            got = attempt(COUNT, count, Place(f"how many of {quoted(who.value)}", who.mark), report)
            yield Hands(who, got.value if got else 1, count.mark)

    def schema(self) -> Schema:
        """One, an array, or an object with a number for each."""
        plain = [*Many(PERSON).schema()["anyOf"], _counted()]
        every = _under("all", "All who must be present.", {"anyOf": plain})
        return {"anyOf": [*plain, every]}


def _counted() -> Schema:
    return {
        "type": "object",
        "minProperties": 1,
        "propertyNames": {"not": {"enum": sorted(RESERVED)}},
        "additionalProperties": COUNT.schema(),
    }


def _under(word: str, says: str, form: Schema) -> Schema:
    return {
        "type": "object",
        "properties": {word: {"description": says} | form},
        "required": [word],
        "additionalProperties": False,
    }


def _only(word: str, block: Block, place: Place, report: Report) -> Node | None:
    """What stands under a word that has no other beside it; None where the word isn't there."""
    given = {name.value: value for name, value in block.pairs}
    if word not in given:
        return None
    for name, _ in block.pairs:
        if name.value != word:
            words = f"{quoted(name.value)} can't stand beside '{word}' in {place}"
            report.add(name.mark, f"{words}: '{word}' has a list of its own")
    return given[word]


TOGETHER = Together()


@dataclass(frozen=True)
class TimedEntry(Entry):
    """A way that takes a time of its own."""

    who: tuple[Hands, ...] = key(
        TOGETHER, "Who does it this way: a person, a list, or how many of each.", (),
        required="a person, a list such as [me, helper], or {me: 1, helper: 2}",
    )  # fmt: skip
    work: WorkTime | None = key(
        WORK, "How long it takes this way; as long as the task's `work` if left out.", None
    )


TIMED = Form(TimedEntry, "{who: [me, helper], work: 2.5 h}")


@dataclass(frozen=True)
class Who:
    """Who does a task: all of some people, or any one of several ways."""

    words = "a list of ways to do it, such as [me, {who: [me, helper], work: 2.5 h}]"

    def read(self, node: Node, place: Place, report: Report) -> tuple[WayEntry, ...]:
        """The ways that can be read; one where there is no choice, none where nobody is named."""
        ways = _only("any", node, place, report) if isinstance(node, Block) else None
        if ways is None:
            hands = TOGETHER.read(node, place, report)
            return (WayEntry(hands, None, node.mark),) if hands else ()
        if not isinstance(ways, Items):
            raise refuse(ways, Place("'any'", node.mark), report, self.words)
        if not ways.items:
            report.add(ways.mark, "'any' needs at least one way to do it (found an empty list)")
            raise Unreadable
        place = Place("an entry of 'any'", node.mark)
        read = (attempt(_Way(), item, place, report) for item in ways.items)
        return tuple(got.value for got in read if got)

    def schema(self) -> Schema:
        """All of some people, or an object with a list of ways."""
        ways = {"type": "array", "minItems": 1, "items": _Way().schema()}
        choice = _under("any", "Ways to do it: the plan takes one of them.", ways)
        return {"anyOf": [*TOGETHER.schema()["anyOf"], choice]}


class _Way:
    """One of several ways to do a task."""

    def read(self, node: Node, place: Place, report: Report) -> WayEntry:
        """Those who do it, with the time it takes them where that is said."""
        keys = {name.value for name, _ in node.pairs} if isinstance(node, Block) else set()
        if "any" in keys:
            raise refuse(node, place, report, "one way to do it, with no choice in it")
        timed = TIMED.read(node, place, report) if "who" in keys else None
        hands = timed.who if timed else TOGETHER.read(node, place, report)
        if not hands:
            report.add(node.mark, f"{place} needs somebody who does it")
            raise Unreadable
        return WayEntry(hands, timed.work if timed else None, node.mark)

    def schema(self) -> Schema:
        """All of some people, or an object with them and a time."""
        return {"anyOf": [*TOGETHER.schema()["anyOf"], TIMED.schema()]}


WHO = Who()
