"""How somebody comes: their usual week, and who has to agree to another one."""

from collections.abc import Mapping, Sequence
from datetime import date, timedelta

from scheduler.clock import DAY
from scheduler.faster.hours import comes_by_day
from scheduler.hours import Spans, spans
from scheduler.model import Person, Weekly
from scheduler.wayout.change import Asks

_AHEAD = 60  # days looked at, at most

Times = Mapping[str, tuple[int, int]]
"""When tasks start and finish in a plan with another rule lifted [UTC min]."""


def asked(person: Person) -> Asks:
    """Who has to agree where somebody is to come at other times: an owner, or a trade."""
    trade = person.skill == "trade" or person.price_per_hour is not None or person.crew
    return Asks.OTHERS if trade or comes_by_day(person) else Asks.OWNER


def of_week(person: Person) -> list[Weekly]:
    """Somebody's hours that come back every week."""
    return [line for line in person.hours if isinstance(line, Weekly)]


def on_weekday(weekday: int, lines: Sequence[Weekly]) -> Spans:
    """The minutes of a weekday that are in some lines, those of the night before counted in."""
    same = ((w.start, w.end if w.end > w.start else DAY) for w in lines if weekday in w.days)
    before = (weekday - 1) % 7
    over = ((0, w.end) for w in lines if before in w.days and w.end <= w.start)
    return spans([*same, *over])


def usual_week(person: Person) -> int:
    """The minutes that somebody has in a week."""
    return sum(on_weekday(weekday, of_week(person)).total for weekday in range(7))


def run_of_days(first: date, last: date) -> list[date]:
    """The days from one to another, both counted, as far ahead as is looked."""
    number = min((last - first).days + 1, _AHEAD)
    return [first + timedelta(days=n) for n in range(number)]
