"""What answers may be: sizes within reason, tile, how high to tile, and what is not known."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Generic, NamedTuple, TypeVar

from scheduler import quantities
from scheduler.jobfile.zones import zone
from scheduler.quantities import Units
from scheduler.yamlform.fields import TEXT, Place, Reader, Schema, Value, refuse
from scheduler.yamlform.tree import Node, Report, Text, Unreadable

T = TypeVar("T")
T_co = TypeVar("T_co", covariant=True)
UNKNOWN = "unknown"
HEAD, CEILING = "head", "ceiling"
_BETWEEN_SIDES = re.compile(r"\s*(?:\bx\b|(?<=[0-9\s\"'])x(?=[0-9\s])|×|\bby\b)\s*")
_UNIT = re.compile(r"[a-z\"']+\.?$")


class Tile(NamedTuple):
    """The sides of a tile [mm]."""

    width: float
    height: float


@dataclass(frozen=True)
class Size:
    """A length that makes sense where it is asked for.

    Args:
        least, most: the range, as text.
        example: what is usual.
        step: what a size is rounded to where it is shown in metres [mm].
    """

    least: str
    most: str
    example: str
    step: float = 10

    @property
    def words(self) -> str:
        """Completes "must be"."""
        ends = [_metric(quantities.length(end), 1) for end in (self.least, self.most)]
        return (
            f"a length from {self.least} to {self.most} ({ends[0]} to {ends[1]}), "
            f"such as {self.example}"
        )

    def parse(self, text: str) -> float:
        """The length [mm]; ValueError outside the range."""
        try:
            size = quantities.length(text)
        except ValueError:
            raise ValueError(self.words) from None
        if not quantities.length(self.least) <= size <= quantities.length(self.most):
            raise ValueError(self.words)
        return size

    def read(self, node: Node, place: Place, report: Report) -> float:
        """The length [mm]."""
        return Value(self.words, self.parse, TEXT).read(node, place, report)

    def schema(self) -> Schema:
        """Text."""
        return TEXT

    def shown(self, text: str, units: Units) -> str:
        """A size of ours in the reader's units, as somebody would say it."""
        return text if units == "imperial" else _metric(self.parse(text), self.step)


def _metric(size: float, step: float) -> str:
    return quantities.show_length(round(size / step) * step, "metric")


_TILE_WORDS = "the two sides of a tile such as 12 in x 24 in or 300 x 600 mm"
_SIDE = Size("3/8 in", "48 in", "12 in", 5)


@dataclass(frozen=True)
class TileSize:
    """The sides of a tile: ``12 in x 24 in``, ``300 x 600 mm``."""

    words = _TILE_WORDS

    @staticmethod
    def parse(text: str) -> Tile:
        """The sides [mm]; a side without a unit has the other's.

        >>> TileSize.parse("300 x 600 mm"), TileSize.parse("3 in x 6 in")
        (Tile(width=300.0, height=600.0), Tile(width=76.2, height=152.4))
        """
        sides = _BETWEEN_SIDES.split(text.lower().strip())
        if len(sides) != 2:
            raise ValueError(_TILE_WORDS)
        unit = _UNIT.search(sides[1])
        first = sides[0] if _UNIT.search(sides[0]) or not unit else f"{sides[0]} {unit[0]}"
        try:
            return Tile(_SIDE.parse(first), _SIDE.parse(sides[1]))
        except ValueError:
            raise ValueError(f"{_TILE_WORDS}, each from 3/8 in to 48 in") from None

    def read(self, node: Node, place: Place, report: Report) -> Tile:
        """The sides [mm]."""
        return Value(self.words, self.parse, TEXT).read(node, place, report)

    def schema(self) -> Schema:
        """Text."""
        return TEXT

    def shown(self, text: str, units: Units) -> str:
        """A tile of ours in the reader's units."""
        if units == "imperial":
            return text
        return " x ".join(_metric(side, _SIDE.step) for side in self.parse(text))


_TILE_TO = Size("2 ft", "13 ft", "4 ft")


@dataclass(frozen=True)
class TileTo:
    """How high walls are tiled: a length, or ``head`` or ``ceiling``."""

    words = "a height such as 4 ft or 1.2 m, or head (over the shower head), or ceiling"

    def parse(self, text: str) -> float | str:
        """The height [mm], or the word."""
        if text.lower() in {HEAD, CEILING}:
            return text.lower()
        try:
            return _TILE_TO.parse(text)
        except ValueError:
            raise ValueError(f"{self.words}; from {_TILE_TO.least} to {_TILE_TO.most}") from None

    def read(self, node: Node, place: Place, report: Report) -> float | str:
        """The height [mm], or the word."""
        return Value(self.words, self.parse, TEXT).read(node, place, report)

    def schema(self) -> Schema:
        """Text."""
        return TEXT


class Said(NamedTuple, Generic[T]):
    """A value, and how it was written."""

    text: str
    value: T


@dataclass(frozen=True)
class Kept(Generic[T]):
    """A value of the job file, kept as it was written, so that it can be written again."""

    of: Reader[T]

    def read(self, node: Node, place: Place, report: Report) -> Said[T]:
        """The value, once it has been read."""
        value = self.of.read(node, place, report)
        return Said(node.value if isinstance(node, Text) else "", value)

    def schema(self) -> Schema:
        """As the value's."""
        return self.of.schema()


@dataclass(frozen=True)
class OrUnknown(Generic[T]):
    """A value, or the word ``unknown``."""

    of: Value[T]

    def read(self, node: Node, place: Place, report: Report) -> Said[T] | None:
        """The value, None if it is not known."""
        if isinstance(node, Text) and node.value.lower() == UNKNOWN:
            return None
        words = f"{self.of.words}, or {UNKNOWN}"
        return Kept(Value(words, _alternatively(self.of.parse), TEXT)).read(node, place, report)

    def schema(self) -> Schema:
        """Text."""
        return TEXT


def _alternatively(parse: Callable[[str], T]) -> Callable[[str], T]:
    def checked(text: str) -> T:
        try:
            return parse(text)
        except ValueError as error:
            raise ValueError(f"{error.args[0]}, or {UNKNOWN}", *error.args[1:]) from None

    return checked


@dataclass(frozen=True)
class Zone:
    """An IANA time zone."""

    words = "an IANA time zone such as America/Toronto or Europe/Berlin"

    def read(self, node: Node, place: Place, report: Report) -> str:
        """Its name."""
        if not isinstance(node, Text) or node.empty:
            raise refuse(node, place, report, self.words)
        if not (name := zone(node, report)):
            raise Unreadable
        return name

    def schema(self) -> Schema:
        """Text."""
        return TEXT


@dataclass(frozen=True)
class Word:
    """One of the words of a table that is only read when it is asked for."""

    known: Callable[[], Mapping[str, object]]

    def read(self, node: Node, place: Place, report: Report) -> str:
        """The word."""
        words = f"one of {', '.join(self.known())}"
        if not isinstance(node, Text) or node.empty:
            raise refuse(node, place, report, words)
        if node.value not in self.known():
            raise refuse(node, place, report, words, report.near(node.value, self.known()))
        return node.value

    def schema(self) -> Schema:
        """The words."""
        return {"enum": list(self.known())}
