"""What jobs prefer to the finish, and days that nobody has to come on, once there is a plan."""

from collections.abc import Callable
from datetime import date
from functools import partial

from scheduler import solve as solving
from scheduler.anyplan import Unsolved
from scheduler.clock import day_end, day_of
from scheduler.firstplan import priority_order, serial
from scheduler.hours import NEVER
from scheduler.limits import kept
from scheduler.network import Network, days_of, presence
from scheduler.passes import Schedule, Starts, order_arcs
from scheduler.portfolio.aim import aim, preferred
from scheduler.portfolio.elsewhere import held_elsewhere
from scheduler.portfolio.join import Portfolio, preferring
from scheduler.retime import settled
from scheduler.visits import days_on_site, on_site
from scheduler.watch import Patience
from scheduler.without import drawn_together

Worth = Callable[[Portfolio, Starts], tuple[float, ...]]
"""What of a plan of several jobs is to be least."""


def worth(jobs: Portfolio, starts: Starts) -> tuple[float, ...]:
    """What is to be least: what jobs prefer to the finish, then what they come to together."""
    return *preferred(jobs, starts), *aim(jobs, starts)


def by_preference(
    jobs: Portfolio,
    floor: Starts,
    starts: list[int],
    alone: solving.Effort,
    tries: tuple[int, Patience],
) -> list[int]:
    """Each job between the others by what it prefers to the finish; what is closed, closed late.

    Args:
        jobs: the jobs.
        floor: the least starts of all.
        starts: the best where nobody prefers anything to the finish.
        alone: how hard to search for each job.
        tries: see ``fewer_days``.
    """
    for k, member in enumerate(jobs.members):
        if member.job.prefer == "finish" and not member.job.closes:
            continue
        network = preferring(held_elsewhere(jobs, starts, k), member.job.prefer)
        try:
            moved = jobs.moved(starts, k, _best(network, jobs.of_job(k, starts), alone))
        except Unsolved:
            continue  # where several are alike too few may be left
        sound = order_arcs(jobs.network, moved) is not None and kept(jobs.network, moved)
        if sound and worth(jobs, moved) < worth(jobs, starts):
            starts = moved
    if any(member.job.prefer == "fewest-visits" for member in jobs.members):
        starts = fewer_days(jobs, floor, starts, tries, worth)
    return starts


def _best(network: Network, starts: list[int], effort: solving.Effort) -> Starts:
    """A job in its place; where it prefers the finish, it has it, and is only drawn together."""
    if network.job.prefer == "finish":
        return drawn_together(network, starts)
    return solving.solve(network, effort, keep=Schedule(network, starts)).starts


def fewer_days(
    jobs: Portfolio, floor: Starts, starts: list[int], tries: tuple[int, Patience], by: Worth
) -> list[int]:
    """All placed anew in the same order, with somebody there one day less.

    Args:
        jobs: the jobs.
        floor: the least starts of all.
        starts: of a plan.
        tries: how many days to leave out, and who may have enough of it before.
        by: what is to be less then.
    """
    left, watch = tries
    while left > 0:
        for who, day in _shortest_first(jobs, starts)[:left]:
            left -= 1
            found = [] if watch.enough() else _left_out(jobs.network, floor, starts, who, day)
            better = min(found, key=partial(by, jobs), default=starts)
            if by(jobs, better) < by(jobs, starts):
                starts = better
                break
        else:
            break
    return min(starts, settled(jobs.network, starts), key=partial(by, jobs))


def _left_out(
    network: Network, floor: Starts, starts: Starts, who: str, day: date
) -> list[list[int]]:
    """All placed anew on the days on which people come, less one of somebody's.

    In the same order, and with what was done on that day after what is done on their next.
    """
    days, zone = days_on_site(network, starts), network.job.timezone
    site = on_site(network, {**days, who: days[who] - {day}})
    least = [step.first(start) for step, start in zip(site.steps, floor, strict=True)]
    if max(least) >= NEVER:
        return []
    later = day_end(min((other for other in days[who] if other > day), default=day), zone)
    after = [
        later if who in step.task.who and day_of(start, zone) == day else start
        for step, start in zip(network.steps, starts, strict=True)
    ]
    tries = (serial(site, least, priority_order(site, keys)) for keys in (starts, after))
    return [found for found in tries if found is not None and kept(network, found)]


def _shortest_first(jobs: Portfolio, starts: Starts) -> list[tuple[str, date]]:
    """The days to come on which people come, those with the least work first."""
    network, minutes = jobs.network, dict[tuple[str, date], int]()
    zone = network.job.timezone
    for step, start in zip(network.steps, starts, strict=True):
        if step.state != "open":
            continue
        there = presence(step, start)
        for day, span in days_of(there, zone).items():
            worked = sum(b - a for a, b in there.within(*span))
            for who in step.task.who:
                minutes[who, day] = minutes.get((who, day), 0) + worked
    return sorted(minutes, key=lambda each: (minutes[each], each[1], each[0]))
