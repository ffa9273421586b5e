"""Days that suit several jobs at once, by hand, and the orders that come of them."""

import random
from itertools import islice, product

import numpy as np
import pytest

from scheduler.clock import DAY
from scheduler.passes import Schedule
from scheduler.portfolio import crossing
from scheduler.portfolio.aim import LATE, alone, short
from scheduler.portfolio.choosing import InParts
from scheduler.portfolio.crossing import JobsCrossing
from scheduler.portfolio.energy import FINE, Calendar, calendar
from scheduler.portfolio.join import Portfolio, member, portfolio
from scheduler.portfolio.suited import suited
from scheduler.watch import UNWATCHED
from tests.support.portfolios import generated, job

DAYS = 30  # that are looked at


def houses(*wishes: str) -> tuple[Portfolio, Calendar]:
    """Houses of four days of work each, of one person who has eight hours on every day."""
    crew = "people: {me: {hours: daily 8:00-16:00}}\n"
    text = "tasks: {all: {who: me, work: 32 h}}\n"
    jobs = [job(f"House {n}", f"{wish}\n{text}", crew) for n, wish in enumerate(wishes)]
    members = [member(one, frozenset(), one.start + 60 * DAY) for one in jobs]
    joined, each = portfolio(members), [alone(m) for m in members]
    least = [own.finish for own in each]
    return joined, calendar(joined, each, least, jobs[0].start + DAYS * DAY)


def day(jobs: Portfolio, minute: int) -> int:
    """The day of a minute, the first being 1."""
    return 1 + (minute - jobs.members[0].job.start) // DAY


@pytest.mark.parametrize(
    ("used", "first", "second"), [(1, 4, 6.5), (0.8, 4.2, 8), (0.5, 5.25, 12.5)]
)
def test_days_keep_to_the_hours_that_are_used(used: float, first: float, second: float) -> None:
    """By hand, the first house counted ten times: a quarter of a house is done on each day.

    None is before the fourth, so that is when the first house is done, and of the second a quarter
    on each of the four days after. Of 0.8 of all hours there come 0.8 houses by the fourth day, and
    0.2 on each day after; of half of them, 0.5 and 0.125.
    """
    jobs, days = houses("", "")
    parts = InParts(days)
    worth = [[10 * minute for minute in days.finishes[0]], days.finishes[1]]
    assert parts.least(worth) is not None  # what is stated for all hours is then asked anew
    shares = parts.least(worth, used)
    assert shares is not None
    done = [
        sum(share * day(jobs, minute) for share, minute in zip(of, on.first, strict=True))
        for of, on in zip(shares, days.days, strict=True)
    ]
    assert done == pytest.approx([first, second], abs=0.01)


def test_there_are_no_days_where_there_is_no_time_for_all_but_the_open_one() -> None:
    """Six houses need 24 days of all hours: with a third of them not even two fit in thirty."""
    _, days = houses(*[""] * 6)
    shares = InParts(days).least(days.finishes, 1 / 3)
    assert shares is not None
    assert sum(float(of[:-1].sum()) for of in shares) == pytest.approx(DAYS / 12, abs=0.5)


COUNTED = ((1, 1), (10, 1), (1, 10))


@pytest.mark.parametrize("late", [0, 1, 5])  # days that the second house may be late at most
def test_prices_of_any_question_bound_whole_days_and_those_of_their_own_do_as_parts_of_days(
    late: int,
) -> None:
    """Beside them all pairs of whole days that keep to people's hours, tried one by one."""
    _, days = houses("", "finish_by: 2027-01-14")
    most = FINE * late * DAY
    pairs = [pair for pair in product(*map(range, map(len, days.finishes))) if fits(days, pair)]
    in_time = [pair for pair in pairs if days.lateness[1][pair[1]] <= most]
    parts = InParts(days, [(days.lateness, most)])
    for asked in COUNTED:
        worth = counted(days, asked)
        assert parts.no_less_than(worth) <= min(total(worth, pair) for pair in in_time)
        shares = parts.least(worth)
        assert shares is not None
        in_parts = sum(
            share * each
            for of, on in zip(shares, worth, strict=True)
            for share, each in zip(of, on, strict=True)
        )
        assert parts.no_less_than(worth) == pytest.approx(in_parts, abs=1)
        for other in COUNTED:
            worth = counted(days, other)
            assert parts.no_less_than(worth) <= min(total(worth, pair) for pair in in_time)


def fits(days: Calendar, pair: tuple[int, ...]) -> bool:
    """Whether all work fits into people's hours where houses are done on some days."""
    shares = [np.eye(len(of))[day] for of, day in zip(days.finishes, pair, strict=True)]
    return not any(days.broken(shares))


def counted(days: Calendar, counts: tuple[int, int]) -> list[list[int]]:
    """Finishes, each house counted so many times."""
    return [[n * each for each in of] for n, of in zip(counts, days.finishes, strict=True)]


def total(worth: list[list[int]], pair: tuple[int, ...]) -> int:
    """What some days come to."""
    return sum(of[day] for of, day in zip(worth, pair, strict=True))


def test_before_anything_is_asked_prices_are_nothing() -> None:
    _, days = houses("", "")
    assert InParts(days).no_less_than(days.finishes) == sum(map(min, days.finishes))


def test_who_has_a_date_is_meant_for_it_and_chance_draws_who_else_is_first() -> None:
    """By hand: three times as dear, it is done on the fourth day, but for a part on the fifth."""
    jobs, days = houses("", "finish_by: 2027-01-13\npriority: 3", "")
    found = [*islice(suited(days, random.Random(1)), 40)]
    assert {day(jobs, ends[1]) for ends in found} == {4, 5}
    assert {ends.index(max(ends)) for ends in found} == {0, 2}
    assert [*islice(suited(days, random.Random(1)), 40)] == found


class Scored(JobsCrossing):
    """Crossing that writes down what orders come to."""

    def __init__(self, seed: int) -> None:
        own = [member(job, frozenset(), job.start + 150 * DAY) for job in generated(seed, 10, 40)]
        super().__init__(portfolio(own), [alone(m) for m in own], UNWATCHED)
        self.scores: list[float] = []

    def add(self, at: Schedule) -> None:
        """Take a schedule into stock."""
        super().add(at)
        late, finishes, _ = short(self.jobs, at.starts)
        self.scores.append(LATE * late + finishes)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_orders_by_days_that_suit_are_better_than_those_by_chance(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of thirty each, none crossed, half of those by such days are as good as few by chance."""
    monkeypatch.setattr(crossing, "_SOON", 0)
    found = []
    for share in (1, 0):
        monkeypatch.setattr(crossing, "_SUITED", share)
        tried = Scored(seed)
        tried.first(30)
        found.append(sorted(tried.scores))
    suiting, chance = found
    assert len(suiting) >= 28
    assert suiting[14] < chance[9]
