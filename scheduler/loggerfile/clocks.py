"""Wall times of a logger to UTC minutes, through the changes of the clocks."""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from scheduler.clock import instant
from scheduler.loggerfile.stamps import Stamp

_EPOCH = datetime(1970, 1, 1)  # noqa: DTZ001 (a wall time)
_QUARTER = timedelta(minutes=15)  # offsets change on whole ones


def minutes(stamps: Sequence[Stamp], zone: str) -> tuple[list[int], tuple[str, ...]]:
    """The UTC minutes of times in the order of the file, and what was supposed.

    The hour that autumn has twice is told apart by the order: where the time would not advance, it
    is the second. A time in the hour that spring leaves out shows that the logger's clock was not
    moved: all are then read by the offset that was right for the first.

    Args:
        stamps: naive times with their offsets [min], None for the zone's wall clock.
        zone: IANA name of the zone of those without an offset.
    """
    exact = [at for at, offset in stamps if offset is not None]
    if len(exact) == len(stamps):
        return [_since_epoch(at) - (offset or 0) for at, offset in stamps], ()
    walls = _Walls(ZoneInfo(zone))
    note = f"times that name no zone are read as those of {zone}"
    if any(walls.skipped(at) for at, offset in stamps if offset is None):
        fixed = walls.offset(next(at for at, offset in stamps if offset is None))
        note = "the logger's clock was not put forward in spring: read without the change"
        return [
            _since_epoch(at) - (fixed if offset is None else offset) for at, offset in stamps
        ], (note,)
    return walls.in_order(stamps), (note,)


def _since_epoch(at: datetime) -> int:
    return (at - _EPOCH) // timedelta(minutes=1)


class _Walls:
    """Offsets of a zone by wall time, looked up once a quarter of an hour."""

    def __init__(self, zone: ZoneInfo) -> None:
        self._zone = zone
        self._known: dict[datetime, tuple[int, int]] = {}

    def _offsets(self, at: datetime) -> tuple[int, int]:
        """The offset [min] that a wall time has at first, and the second time."""
        quarter = at - (at - _EPOCH) % _QUARTER
        if quarter not in self._known:
            wall = quarter.replace(tzinfo=self._zone)
            first, second = (
                _since_epoch(quarter) - instant(wall.replace(fold=fold).astimezone(UTC))
                for fold in (0, 1)
            )
            self._known[quarter] = first, second
        return self._known[quarter]

    def offset(self, at: datetime) -> int:
        """The offset [min] of a wall time, the first where there are two."""
        return self._offsets(at)[0]

    def skipped(self, at: datetime) -> bool:
        """Whether no clock that is moved with the season ever shows this."""
        first, second = self._offsets(at)
        return second > first

    def in_order(self, stamps: Sequence[Stamp]) -> list[int]:
        """The UTC minutes of times that follow each other."""
        read: list[int] = []
        last = -(10**12)
        for at, offset in stamps:
            first, second = self._offsets(at) if offset is None else (offset, offset)
            early, late = _since_epoch(at) - first, _since_epoch(at) - second
            last = late if early <= last < late else early
            read.append(last)
        return read
