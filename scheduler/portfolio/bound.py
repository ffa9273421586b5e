"""What no plan of several jobs beats."""

from bisect import insort
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from scheduler.clock import DAY
from scheduler.hours import Spans
from scheduler.passes import Starts
from scheduler.portfolio.aim import Aim, Alone, lateness
from scheduler.portfolio.join import Member, Portfolio, jobs_with
from scheduler.watch import UNWATCHED, Patience

if TYPE_CHECKING:
    from scheduler.portfolio.energy import Calendar
    from scheduler.portfolio.firstdays import Idle

_BEYOND = 14 * DAY
"""How long after all is done now the days on which jobs may be done are told apart [min]: three
weeks come to the same bounds of ten jobs, one to a little less (seeds 0 to 4)."""

_SOON = 0.05
"""The constraint solver's deterministic time for what is to be found soon."""


def bound(  # noqa: PLR0913, PLR0917 (a question with all that it takes)
    jobs: Portfolio,
    each: Sequence[Alone],
    starts: Starts,
    effort: float = 0,
    watch: Patience = UNWATCHED,
    unused: "FirstDays | None" = None,
) -> Aim:
    """What no plan beats: its lateness, and of plans no later than this, its finishes.

    Args:
        jobs: the jobs.
        each: what each can come to by itself.
        starts: a plan of them.
        effort: the constraint solver's deterministic time for each of the two, and for what goes by
            unused of the first days of each person who is scarce; none for what is found soon.
        watch: may have enough of it.
        unused: what is known of that.
    """
    least, done = [own.finish for own in each], jobs.finishes(starts)
    found = _in_a_row(jobs, each, least)
    now = Aim(lateness(jobs.members, done), sum(done))
    if found >= now or not shared(jobs):
        return found
    from scheduler.portfolio.choosing import least_together

    days = _days(jobs, each, done)
    if effort:
        unused = unused or FirstDays(jobs, each)
        days = replace(days, idle=unused.idle(days, now.lateness, effort, watch))
    late, total = least_together(days, now.lateness, max(effort, _SOON), watch)
    return Aim(max(found.lateness, late), max(found.finishes, total))


def _days(jobs: Portfolio, each: Sequence[Alone], done: Sequence[int]) -> "Calendar":
    """The days on which jobs may be done, told apart beyond those on which they are."""
    from scheduler.portfolio.energy import calendar

    return calendar(jobs, each, [own.finish for own in each], max(done) + _BEYOND)


class FirstDays:
    """What goes by unused of the first days of those who are scarce, asked of each once.

    Args:
        jobs: the jobs.
        each: what each can come to by itself.
    """

    def __init__(self, jobs: Portfolio, each: Sequence[Alone]) -> None:
        self.jobs, self.each = jobs, each
        self._known: dict[str, Idle] = {}
        self._asked: dict[str, float] = {}

    def idle(
        self, days: "Calendar", late: float, effort: float, watch: Patience
    ) -> Mapping[str, "Idle"]:
        """What is known, of those who are scarce in plans so late asked with so much effort."""
        from scheduler.portfolio.choosing import scarce
        from scheduler.portfolio.firstdays import idle

        people = {who for who in scarce(days, late) if self._asked.get(who, 0) < effort}
        found = idle(self.jobs, self.each, people, effort, watch)
        self._known |= {who: _more(self._known.get(who), each) for who, each in found.items()}
        self._asked |= dict.fromkeys(found, effort)
        return self._known


def _more(known: "Idle | None", found: "Idle") -> "Idle":
    """What says that more goes by unused."""
    return found if known is None or known.minutes < found.minutes else known


class Proof:
    """Of plans ever better, what none beats: the most of all that was found for them.

    Args:
        jobs: the jobs.
        each: what each can come to by itself.
    """

    def __init__(self, jobs: Portfolio, each: Sequence[Alone]) -> None:
        self.jobs, self.each = jobs, each
        self._known: list[tuple[float, Aim]] = []  # of plans with so much lateness, or less
        self._unused = FirstDays(jobs, each)

    def prepare(self, starts: Starts, effort: float, watch: Patience) -> None:
        """Look at what hangs little on the plan, in which it takes long to look."""
        done = self.jobs.finishes(starts)
        if shared(self.jobs) and not self.settles(starts):
            days = _days(self.jobs, self.each, done)
            self._unused.idle(days, lateness(self.jobs.members, done), effort, watch)

    def look(self, starts: Starts, effort: float = 0, watch: Patience = UNWATCHED) -> Aim:
        """What no plan beats, looked for once more; the rest is as for ``bound``."""
        late = lateness(self.jobs.members, self.jobs.finishes(starts))
        self._known.append((late, bound(self.jobs, self.each, starts, effort, watch, self._unused)))
        return self.least(starts)

    def least(self, starts: Starts) -> Aim:
        """What no plan beats, as far as it is known of plans no later than this.

        It is looked for where nothing is known of plans as late, or with so little allowed.
        """
        late = lateness(self.jobs.members, self.jobs.finishes(starts))
        allowed = [of for of, _ in self._known]
        if not allowed or max(allowed) < late or min(allowed) > late:
            self._known.append((late, bound(self.jobs, self.each, starts)))
        return self._of_those(late)

    def settles(self, starts: Starts) -> bool:
        """Whether what is known already says that no plan beats this."""
        done = self.jobs.finishes(starts)
        late = lateness(self.jobs.members, done)
        return Aim(late, sum(done)) <= self._of_those(late)

    def _of_those(self, late: float) -> Aim:
        """The most that is known of plans with so much lateness allowed, or more."""
        known = [least for of, least in self._known if late <= of]
        return Aim(
            max((least.lateness for least in known), default=0),
            max((least.finishes for least in known), default=0),
        )


def shared(jobs: Portfolio) -> bool:
    """Whether any person has something to do in two jobs."""
    return any(len(jobs_with(jobs, person)) > 1 for person in jobs.open.crews)


def _in_a_row(jobs: Portfolio, each: Sequence[Alone], finishes: Sequence[int]) -> Aim:
    """What jobs come to alone, and with the people that they share going from one to the next.

    Args:
        jobs: the jobs.
        each: what each can come to by itself.
        finishes: the least finish of each by itself [UTC min].

    However jobs follow one another, the i-th of them can't be done with a person before the person
    has had time for the i jobs with the least work left, each from when it can begin (shortest
    remaining work first is best at every moment, Schrage 1968). What each job needs after that
    person comes on top, the least of it.
    """
    members = jobs.members
    late, total = lateness(members, finishes), sum(finishes)
    for person in jobs.open.crews:
        sharing = jobs_with(jobs, person)
        if len(sharing) < 2:
            continue
        least = _one_by_one(jobs, each, person, sharing)
        own = sorted(finishes[k] for k in sharing)
        both = [max(pair) for pair in zip(own, least, strict=True)]
        total = max(total, sum(finishes) - sum(own) + sum(both))
        late = max(late, _late(members, finishes, sharing, both))
    return Aim(late, total)


def _late(
    members: Sequence[Member], alone: Sequence[int], sharing: Collection[int], both: Sequence[int]
) -> float:
    """Weighted lateness that no plan is under, given the least finishes of some jobs in a row.

    Finishes and dates in the same order is the pairing with the least lateness in all; the least
    priority is that of every minute. A job without a date is late never.
    """
    dates = sorted(
        far if (by := members[k].job.finish_by) is None else by
        for k in sharing
        for far in (max(both),)
    )
    over = sum(max(0, done - by) for done, by in zip(both, dates, strict=True))
    others = [k for k in range(len(members)) if k not in sharing]
    rest = lateness([members[k] for k in others], [alone[k] for k in others])
    return rest + min(members[k].job.priority for k in sharing) * over


def _one_by_one(
    jobs: Portfolio, each: Sequence[Alone], person: str, sharing: Sequence[int]
) -> list[int]:
    """The least finishes of the jobs that share a person, the first first."""
    hours = jobs.network.hours[person]
    count = jobs.network.job.people[person].count
    heads, loads, tails = [], [], []
    for k in sharing:
        head, load, tail = _with(jobs, each[k], person, k)
        heads.append(head)
        loads.append(load // count)  # several alike are that much faster, which no plan beats
        tails.append(tail)
    return [done + min(tails) for done in _shortest_first(hours, heads, loads)]


def _with(jobs: Portfolio, own: Alone, person: str, k: int) -> tuple[int, int, int]:
    """From when a job has work for a person, how much, and what it needs after that [min]."""
    part, steps, now = jobs.parts[k], jobs.open.steps, jobs.members[k].job.now
    theirs = [j for j in jobs.open.crews[person] if j in part]
    head = min(max(own.early[j - part.start], now) for j in theirs)
    return head, sum(steps[j].load * steps[j].hands[person] for j in theirs), 0


def _shortest_first(hours: Spans, heads: Sequence[int], loads: Sequence[int]) -> list[int]:
    """When one job after the other is done with a person, the least work left always first."""
    come = sorted(zip(map(hours.count, heads), loads, strict=True))
    waiting: list[int] = []
    clock, done, i = 0, [], 0
    while i < len(come) or waiting:
        if not waiting:
            clock = max(clock, come[i][0])
        while i < len(come) and come[i][0] <= clock:
            insort(waiting, come[i][1])
            i += 1
        until = come[i][0] if i < len(come) else clock + waiting[0]
        worked = min(waiting[0], until - clock)
        clock += worked
        if waiting[0] == worked:
            waiting.pop(0)
            done.append(hours.minute(max(clock - 1, 0)) + 1)
        else:
            waiting[0] -= worked
    return done
