"""What the trade fixes by number when it measures up: ``data/takeoff.yaml``, read and checked."""
# ruff: noqa: RUF009 (key() makes a field of a dataclass, as dataclasses.field() does)

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import TypeVar

from scheduler.datafile import LENGTH, SHARE, Sourced, read
from scheduler.measures import USAGE_WORDS, usage
from scheduler.resources import data
from scheduler.yamlform.amounts import LINE, SOME_TIME
from scheduler.yamlform.fields import TEXT, Value
from scheduler.yamlform.forms import Entry, Form, Id, Table, key

E = TypeVar("E", bound=Entry)


def _mortar(text: str) -> float:
    read = usage(text)
    if (read.unit, read.per) != ("kg", "m2"):
        raise ValueError("a usage in mass by area, such as 95 sq ft per 50 lb")
    return read.size


MORTAR = Value(USAGE_WORDS, _mortar, TEXT)


@dataclass(frozen=True)
class Notch(Sourced):
    """A trowel: ``use`` [kg/m2] of dry thin-set, for tile up to ``tile_up_to`` [mm] long."""

    title: str = key(LINE, "The trowel in words.", "", required="the trowel in words")
    tile_up_to: float = key(LENGTH, "Longest side of the tile.", 1.0, required=LENGTH.words)
    use: float = key(MORTAR, "Dry mortar.", 1.0, required=USAGE_WORDS)


@dataclass(frozen=True)
class Board(Sourced):
    """A board as sold [mm], with the most between two screws on a stud."""

    title: str = key(LINE, "The board in words.", "", required="the board in words")
    length: float = key(LENGTH, "The longer side.", 1.0, required=LENGTH.words)
    width: float = key(LENGTH, "The shorter side.", 1.0, required=LENGTH.words)
    framing: float = key(LENGTH, "Studs, centre to centre.", 1.0, required=LENGTH.words)
    wall_spacing: float = key(LENGTH, "Between screws, walls.", 1.0, required=LENGTH.words)
    ceiling_spacing: float = key(LENGTH, "Between screws, ceilings.", 1.0, required=LENGTH.words)
    edge: float = key(LENGTH, "Screws to the edge, at the least.", 1.0, required=LENGTH.words)
    waste: float = key(SHARE, "Offcuts, as a share.", 0.0, required=SHARE.words)


@dataclass(frozen=True)
class Slope(Entry):
    """So much ``rise`` in so much ``run`` [mm]."""

    rise: float = key(LENGTH, "How much higher.", 1.0, required=LENGTH.words)
    run: float = key(LENGTH, "In what length.", 1.0, required=LENGTH.words)

    @property
    def share(self) -> float:
        """Rise over run: 1/4 in per foot is 0.0208."""
        return self.rise / self.run


SLOPE = Form(Slope, "{rise: 1/4 in, run: 1 ft}")


@dataclass(frozen=True)
class PanRules(Sourced):
    """A built shower pan: slope to the drain; liner's upturn, thickness at the drain [mm]."""

    lowest: Slope = key(SLOPE, "Least slope.", Slope(), required=SLOPE.like)
    steepest: Slope = key(SLOPE, "Most slope.", Slope(), required=SLOPE.like)
    upturn: float = key(LENGTH, "Liner, up the walls.", 1.0, required=LENGTH.words)
    least_bed: float = key(LENGTH, "Bed at the drain.", 1.0, required=LENGTH.words)

    @property
    def least_slope(self) -> float:
        """Rise over run, at the least."""
        return self.lowest.share

    @property
    def most_slope(self) -> float:
        """Rise over run, at the most."""
        return self.steepest.share


@dataclass(frozen=True)
class WaterTest(Sourced):
    """A test under water: ``depth`` [mm] for ``time`` [min]; None where nothing limits it."""

    title: str = key(LINE, "The test in words.", "", required="the test in words")
    depth: float = key(LENGTH, "Water, at the threshold.", 1.0, required=LENGTH.words)
    time: int = key(SOME_TIME, "How long, at the least.", 0, required=SOME_TIME.words)
    most_depth: float | None = key(LENGTH, "Water, at the most.", None)
    most_time: int | None = key(SOME_TIME, "How long, at the most.", None)
    most_slope: float | None = key(SHARE, "Slope under the water, at the most.", None)


@dataclass(frozen=True)
class Movement(Sourced):
    """The longest field of tile between soft joints, each way [mm]."""

    interior: float = key(LENGTH, "Indoors.", 1.0, required=LENGTH.words)
    damp_or_sunny: float = key(LENGTH, "In moisture or sun.", 1.0, required=LENGTH.words)


def _table(what: str, make: type[E]) -> Table[E]:
    return Table(what, f"{what}s", Form(make, "keys and values"), make(), what, Id(what), least=1)


@dataclass(frozen=True)
class _File(Entry):
    notches: dict[str, Notch] = key(_table("notch", Notch), "Trowels.", {}, required="trowels")
    boards: dict[str, Board] = key(_table("board", Board), "Boards.", {}, required="boards")
    pan: PanRules = key(Form(PanRules, "slopes"), "Pans.", PanRules(), required="a pan's rules")
    tests: dict[str, WaterTest] = key(_table("test", WaterTest), "Tests.", {}, required="tests")
    movement: Movement = key(
        Form(Movement, "lengths"), "Soft joints.", Movement(), required="fields of tile"
    )


@dataclass(frozen=True)
class Allowances:
    """All of it. Notches are in order, finest first; boards and tests are by name."""

    notches: tuple[Notch, ...]
    boards: Mapping[str, Board]
    pan: PanRules
    tests: Mapping[str, WaterTest]
    movement: Movement


@lru_cache(maxsize=1)
def allowances() -> Allowances:
    """What comes with the program."""
    return read_allowances((data() / "takeoff.yaml").read_text(encoding="utf-8"), "takeoff.yaml")


def read_allowances(text: str, file: str) -> Allowances:
    """What the text of a file says; ``BadFile`` with everything wrong in it."""
    said = read(text, file, Form(_File, "notches, boards, pan, tests and movement"))
    return Allowances(
        tuple(said.notches.values()), said.boards, said.pan, said.tests, said.movement
    )
