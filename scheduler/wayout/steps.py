"""The least step that does: from small to large, then by halves."""

from collections.abc import Callable
from datetime import timedelta

from scheduler.clock import HOUR, day_end, day_of, day_start

QUARTER = 15  # min: nobody writes a time of day more finely


def least_step(does: Callable[[int], bool], most: int) -> int | None:
    """The least of the steps 1 to ``most`` that does, where one that does is done by all above it.

    What is given was asked. None where none was found to do.

    >>> least_step(lambda n: n >= 11, 100), least_step(lambda n: False, 9)
    (11, None)
    """
    low, high = 0, 1
    while not does(min(high, most)):
        if high >= most:
            return None
        low, high = high, 2 * high
    high = min(high, most)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if does(middle) else (middle, high)
    return high


def later_moment(does: Callable[[int], bool], than: int, zone: str, most: int) -> int | None:
    """The first moment after a minute that does, as people name moments.

    It is the end of a day where ``than`` is one, else a quarter of an hour.

    Args:
        does: whether a UTC minute does; all later ones do then, too.
        than: the minute [UTC min] that does not.
        zone: IANA name.
        most: how many days later at most.
    """
    first = day_of(than - 1, zone)

    def evening(n: int) -> int:
        return day_end(first + timedelta(days=n), zone)

    whole = evening(0) == than
    days = least_step(lambda n: does(evening(n if whole else n - 1)), most)
    if days is None or whole:
        return None if days is None else evening(days)
    morning = max(than, day_start(first + timedelta(days=days - 1), zone))
    since = morning // QUARTER * QUARTER
    quarters = least_step(
        lambda n: does(since + n * QUARTER), -(-(evening(days - 1) - since) // QUARTER)
    )
    return None if quarters is None else since + quarters * QUARTER


def earlier_moment(does: Callable[[int], bool], than: int, zone: str, floor: int) -> int | None:
    """The last moment before a minute that does: the start of a day where ``than`` is one.

    Else a quarter of an hour. ``floor`` is the first minute [UTC min] that is of any use.
    """
    last = day_of(than, zone)
    whole = day_start(last, zone) == than
    step = 24 * HOUR if whole else QUARTER

    def before(n: int) -> int:
        if whole:
            return day_start(last - timedelta(days=n), zone)
        return than - n * QUARTER

    steps = least_step(lambda n: does(before(n)), max(1, -(-(than - floor) // step)))
    return None if steps is None else before(steps)


def unit_of(minutes: int) -> int:
    """In what steps a span is named [min]: quarters of an hour, from 4 h on whole hours."""
    return HOUR if minutes >= 4 * HOUR else QUARTER


def longer_span(does: Callable[[int], bool], than: int, most: int) -> int | None:
    """The least span over ``than`` that does, in steps that people name [min]."""
    unit = unit_of(than)
    steps = least_step(lambda n: does((than // unit + n) * unit), -(-most // unit))
    return None if steps is None else (than // unit + steps) * unit


def shorter_span(does: Callable[[int], bool], than: int) -> int | None:
    """The greatest span under ``than`` that does, down to none at all, in steps as above [min]."""
    unit = unit_of(than)
    top = -(-than // unit)
    steps = least_step(lambda n: does((top - n) * unit), top)
    return None if steps is None else (top - steps) * unit
