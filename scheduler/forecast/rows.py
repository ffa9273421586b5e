"""What a forecast says, whatever wrote it."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from scheduler.air import saturation_pressure
from scheduler.loggerfile import Row
from scheduler.loggerfile.rows import within_bounds


@dataclass(frozen=True)
class Forecast:
    """The air to come.

    Args:
        rows: rising strictly.
        notes: every assumption made, everything left out.
        outdoor: whether it is the air outdoors and not that of a room.
        room: of which room it is, by id; None for the rooms that have the job's air.
    """

    rows: tuple[Row, ...]
    notes: tuple[str, ...] = ()
    outdoor: bool = False
    room: str | None = None


def humidity(t: float, dew_point: float) -> float:
    """Relative humidity [0..1] of air [°C] by its dew point [°C]."""
    return min(saturation_pressure(dew_point) / saturation_pressure(t), 1.0)


def in_order(rows: Iterable[Row]) -> Iterator[Row]:
    """Rows in order, one a minute, less those that say nothing or more than air can be."""
    last = None
    for row in sorted(rows, key=lambda row: row.at):
        empty = row.temperature is None and row.humidity is None
        if row.at != last and not empty and within_bounds(row.temperature, row.humidity):
            last = row.at
            yield row
