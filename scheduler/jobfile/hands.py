"""The ``who`` of a task: one person, a list of them, or how many of each."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from scheduler.jobfile.values import COUNT, PERSON
from scheduler.yamlform.fields import Many, Place, Schema, attempt
from scheduler.yamlform.tree import Block, Mark, Node, Report, Text, quoted


class Hands(NamedTuple):
    """How many of a person a task takes; ``mark`` is where that stands in the file."""

    who: Text
    several: int
    mark: Mark


@dataclass(frozen=True)
class Together:
    """All who must be present: ids, or a block of ids with how many there must be of each."""

    def read(self, node: Node, place: Place, report: Report) -> tuple[Hands, ...]:
        """All that can be read."""
        if isinstance(node, Block):
            return tuple(self._counted(node, report))
        return tuple(Hands(who, 1, who.mark) for who in Many(PERSON).read(node, place, report))

    def _counted(self, block: Block, report: Report) -> Iterator[Hands]:
        for who, count in block.pairs:
            got = attempt(COUNT, count, Place(f"how many of {quoted(who.value)}", who.mark), report)
            yield Hands(who, got.value if got else 1, count.mark)

    def schema(self) -> Schema:
        """One, an array, or an object with a number for each."""
        counted = {"type": "object", "minProperties": 1, "additionalProperties": COUNT.schema()}
        return {"anyOf": [*Many(PERSON).schema()["anyOf"], counted]}


HANDS = Together()
