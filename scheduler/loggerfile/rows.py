"""What a file of the air says, and how it is refused."""

from dataclasses import dataclass
from typing import NamedTuple

from scheduler.errors import BadFile, Problem

COLDEST, WARMEST = -40.0, 70.0
"""Degrees Celsius; outside it a sensor speaks of itself and not of a room."""

DAMPEST = 1.05
"""Relative humidity up to which a sensor in saturated air may err; it counts as 1."""


class Row(NamedTuple):
    """The air at a UTC minute: [°C], [0..1]; None for what is missing."""

    at: int
    temperature: float | None
    humidity: float | None


@dataclass(frozen=True)
class Rows:
    """The air over time, rising strictly, and every assumption made, everything left out."""

    rows: tuple[Row, ...]
    notes: tuple[str, ...] = ()


def refused(name: str, message: str, line: int = 1) -> BadFile:
    """The error of a file that is no record of the air."""
    return BadFile([Problem(name, line, 1, message)])


def within_bounds(temperature: float | None, humidity: float | None) -> bool:
    """Whether nothing of it is beyond what there can be in a room or outdoors."""
    return (temperature is None or COLDEST <= temperature <= WARMEST) and (
        humidity is None or 0 < humidity <= DAMPEST
    )
