"""The days on which people come: counted, kept to, and the fewest that any plan can do with."""

from collections.abc import Mapping
from datetime import date

from scheduler.clock import day_of
from scheduler.hours import Spans, intersect, spans
from scheduler.network import Network, days_of, on_days, presence
from scheduler.passes import Starts


def days_on_site(network: Network, starts: Starts) -> dict[str, frozenset[date]]:
    """The local calendar days on which each person comes, in a schedule and as booked."""
    zone = network.job.timezone
    days = {person: {*network.sure_days[person]} for person in network.job.people}
    for step, start in zip(network.steps, starts, strict=True):
        for person in step.task.who:
            days[person] |= days_of(presence(step, start), zone).keys()
    return {person: frozenset(found) for person, found in days.items()}


def on_site(network: Network, days: Mapping[str, frozenset[date]]) -> Network:
    """The network with people there on some days only."""
    zone = network.job.timezone
    return network.kept_to(
        {person: on_days(hours, days[person], zone) for person, hours in network.hours.items()}
    )


def count_visits(network: Network, starts: Starts) -> int:
    """The days on which somebody comes, each person's days apart."""
    return sum(map(len, days_on_site(network, starts).values()))


def least_visits(network: Network, early: Starts, late: Starts) -> int:
    """A number of visits that no schedule with starts in ``[early, late]`` is under."""
    return sum(
        max(
            len(_forced_days(network, person, early, late)),
            _days_gone(network, person) + _days_of_work(network, person, early, late),
        )
        for person in network.visitors
    )


def _forced_days(network: Network, person: str, early: Starts, late: Starts) -> set[date]:
    """Days that some task can't do without: it starts on that day wherever it starts, or has."""
    zone = network.job.timezone
    forced = {*network.sure_days[person]}
    for j in network.visitors[person]:
        first, last = day_of(early[j], zone), day_of(late[j], zone)
        if first == last:
            forced.add(first)
    return forced


def _days_gone(network: Network, person: str) -> int:
    """Days before today on which the person came."""
    today = day_of(network.job.now, network.job.timezone)
    return sum(day < today for day in network.sure_days[person])


def _days_of_work(network: Network, person: str, early: Starts, late: Starts) -> int:
    """How many of the longest days the person's work to come fills."""
    steps, zone, members = network.steps, network.job.timezone, network.visitors[person]
    if not members:
        return 0
    start, end = min(early[j] for j in members), max(steps[j].last_finish(late[j]) for j in members)
    start = max(start, network.job.now)
    hours: Spans = intersect(network.hours[person], spans([(start, end)]))
    count = network.job.people[person].count
    lengths = sorted(
        (sum(b - a for a, b in hours.within(*day)) for day in days_of(hours, zone).values()),
        reverse=True,
    )
    work = sum(steps[j].load * steps[j].hands.get(person, 0) for j in members)
    days = 0
    while work > 0 and days < len(lengths):
        work -= count * lengths[days]
        days += 1
    return days
