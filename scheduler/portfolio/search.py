"""A plan of several jobs: placed one by one in many orders, then improved a part at a time.

What is to be least is in ``aim``. Effort is counted in orders and in the constraint solver's own
time, never in seconds, so that the same files give the same plan.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from scheduler import solve as solving
from scheduler.anyplan import Unsolved
from scheduler.passes import Schedule, Starts
from scheduler.portfolio import freed
from scheduler.portfolio.aim import Alone, Watch, aim
from scheduler.portfolio.bound import Proof
from scheduler.portfolio.crossing import JobsCrossing, Nobody, tries_of
from scheduler.portfolio.elsewhere import held_elsewhere, placed
from scheduler.portfolio.join import Portfolio, portfolio
from scheduler.portfolio.preferred import by_preference, fewer_days, worth
from scheduler.retime import as_early, kept_to_order, no_earlier, settled, stands
from scheduler.watch import UNWATCHED, Unheard


@dataclass(frozen=True)
class Effort:
    """How hard to search.

    ``tries`` are orders for a first plan of 400 tasks, fewer of more, and ``crossed`` those made of
    them; ``rounds`` how many times some tasks are freed, and ``alone`` the effort for a job by
    itself between the others, of which as many are looked at as have ``tasks`` together; ``days``
    how many days of 100 tasks are left out one by one to come to fewer visits. ``on`` looks harder
    for bounds, with the effort ``proof``, frees all tasks at once, too, with the effort ``whole``,
    and goes on after all that, with twice the effort each time, until all is proven. ``watch`` is
    told what is found, and ends the search once it has enough.
    """

    tries: int = 20
    crossed: int = 2000
    rounds: int = 5
    whole: float = 3
    proof: float = 2
    tasks: int = 400
    alone: solving.Effort = field(
        default_factory=lambda: solving.Effort(
            tries=10, finish=0.4, visits=0.2, early=0.1, without=0.2, first=1.5
        )
    )
    days: int = 40
    on: bool = False
    watch: Watch = UNWATCHED

    def twice(self) -> "Effort":
        """Twice of everything."""
        return replace(
            self,
            tries=2 * self.tries,
            crossed=2 * self.crossed,
            rounds=2 * self.rounds,
            whole=2 * self.whole,
            proof=2 * self.proof,
            tasks=2 * self.tasks,
            alone=self.alone.twice(),
        )


NORMAL = Effort()

_ON = 3  # times as long where there is time to go on


class Best(NamedTuple):
    """The best starts found; ``soon`` are the best where nobody prefers anything to the finish.

    ``proof`` is what was proven on the way.
    """

    starts: list[int]
    soon: list[int]
    proof: Proof | None = None


def best(
    jobs: Portfolio, each: Sequence[Alone], effort: Effort, keep: list[int] | None = None
) -> Best | None:
    """The best starts that the effort finds; None if it finds none.

    Args:
        jobs: the jobs.
        each: what each can come to by itself.
        effort: how hard to search.
        keep: starts of an earlier plan. Nothing moves from there without a gain; once a job is
            under way the plan is made out of that one, as long as its order works.
    """
    kept = [] if keep is None else _kept(jobs, each, keep)
    crossing, proof = JobsCrossing(jobs, each, effort.watch), Proof(jobs, each)
    found = kept if kept and _under_way(jobs) else [*kept, *_afresh(crossing, proof, effort)]
    if kept and kept[0] != keep:  # something has to move: it may be worth moving more
        found = [*found, improved(jobs, each, kept[0], effort)]
    if not found:
        return None
    soon, starts = _finished(jobs, each, _least_moved(jobs, found, keep), effort)
    while effort.on and not _proven(proof, soon, effort.watch) and not effort.watch.enough():
        effort = effort.twice()
        again = improved(jobs, each, _crossed(crossing, proof, soon, effort), effort, crossing)
        if (again := _least_moved(jobs, [soon, again], keep)) != soon:
            soon, other = _finished(jobs, each, again, effort)
            starts = _least_moved(jobs, [starts, other], keep)
    return Best(_least_moved(jobs, [*kept, starts], keep), soon, proof)


def _finished(
    jobs: Portfolio, each: Sequence[Alone], starts: list[int], effort: Effort
) -> tuple[list[int], list[int]]:
    """A plan with fewer visits at the same finishes, and made from that, one as jobs prefer it."""
    floor, patience = _floor(each), (_days(jobs, effort), effort.watch)
    soon = fewer_days(jobs, floor, starts, patience, aim)
    alone = replace(effort.alone, watch=Unheard(effort.watch))
    return soon, by_preference(jobs, floor, soon, alone, patience)


def _under_way(jobs: Portfolio) -> bool:
    return any(member.job.past is not None for member in jobs.members)


def _afresh(crossing: JobsCrossing, proof: Proof, effort: Effort) -> Iterator[list[int]]:
    """A plan that owes nothing to an earlier one, if there is any."""
    jobs, watch = crossing.jobs, effort.watch
    starts = crossing.first(tries_of(jobs, effort.tries))
    if starts is not None:
        starts = settled(jobs.network, as_early(jobs.network, starts))
        if watch is not UNWATCHED:  # a bound takes a while: only they want it so soon who look on
            watch.bounded(proof.least(starts))
        starts = _crossed(crossing, proof, starts, effort)
        yield improved(jobs, crossing.each, starts, effort, crossing)


def _proven(proof: Proof, starts: Starts, watch: Watch) -> bool:
    """Whether no plan is less late, nor as late with a lesser sum of finishes, as far as known."""
    watch.bounded(proof.least(starts))
    return proof.settles(starts)


def _least_moved(jobs: Portfolio, found: Sequence[list[int]], keep: Starts | None) -> list[int]:
    """The best of some plans; among those as good, that which moves least."""

    def rank(starts: Starts) -> tuple[float, ...]:
        *goals, total = worth(jobs, starts)
        return *goals, _moved(starts, keep or starts), total

    return min(found, key=rank)


def _moved(starts: Starts, keep: Starts) -> int:
    """How many steps start at another time."""
    return sum(a != b for a, b in zip(starts, keep, strict=True))


def still_stands(jobs: Portfolio, each: Sequence[Alone], keep: list[int]) -> bool:
    """Whether an earlier plan keeps every rule as it was."""
    return no_earlier(jobs.network, _floor(each), keep) == keep and stands(jobs.network, keep)


def _kept(jobs: Portfolio, each: Sequence[Alone], keep: list[int]) -> list[list[int]]:
    """An earlier plan as it was, if it still stands, and drawn together in its order, if it can be.

    What is not in it starts at the network's end there.
    """
    as_it_was = [keep] if still_stands(jobs, each, keep) else []
    in_order = kept_to_order(jobs.network, _floor(each), keep)
    return as_it_was if in_order is None else [*as_it_was, in_order]


def _floor(each: Sequence[Alone]) -> list[int]:
    return [start for a in each for start in a.floor]


def _days(jobs: Portfolio, effort: Effort) -> int:
    """Fewer days to be left out one by one of many tasks: all are placed anew for each."""
    return effort.days * 100 // max(len(jobs.network.steps), 100)


# -------------------------------------------------------------------- a plan at hand, improved


def improved(
    jobs: Portfolio,
    each: Sequence[Alone],
    starts: list[int],
    effort: Effort,
    crossing: JobsCrossing | None = None,
) -> list[int]:
    """A plan that is no worse: some tasks of all jobs, then each job, moved while the rest stays.

    A job that has the finish it can't beat by itself stays. While there is time, orders are crossed
    beside that with the ``crossing``.
    """
    least = [own.finish for own in each]
    if not _as_if_alone(jobs, each, starts):
        beside = crossing if crossing and effort.on else Nobody(effort.watch)
        starts = freed.improved(jobs, each, starts, _longer(effort) * effort.rounds, beside)
        effort.watch.found(aim(jobs, starts))
        if effort.on and not effort.watch.enough():
            starts = freed.all_at_once(jobs, each, starts, effort.whole, beside)
            effort.watch.found(aim(jobs, starts))
    starts = _each_alone(jobs, starts, least, effort)
    found = settled(jobs.network, starts)
    return min(starts, found, key=lambda s: aim(jobs, s))


def _crossed(crossing: JobsCrossing, proof: Proof, starts: list[int], effort: Effort) -> list[int]:
    """A plan that is no worse, out of orders crossed.

    With time it is looked for what no plan beats beside the second half of them: of a better plan
    more is found.
    """
    if _as_if_alone(crossing.jobs, crossing.each, starts):
        return starts
    starts = crossing.join(starts)
    tries = tries_of(crossing.jobs, _longer(effort) * effort.crossed)
    if effort.on:
        proof.prepare(starts, effort.proof, crossing)
        crossing.reach(tries // 2)
        starts = crossing.join(starts)
        if not proof.settles(starts) and not effort.watch.enough():
            effort.watch.bounded(proof.look(starts, effort.proof, crossing))
    crossing.reach(tries)
    return crossing.join(starts)


def _as_if_alone(jobs: Portfolio, each: Sequence[Alone], starts: Starts) -> bool:
    """Whether every job has the finish that it can't beat by itself."""
    return jobs.finishes(starts) == tuple(own.finish for own in each)


def _longer(effort: Effort) -> int:
    """How many times as long orders are crossed, and tasks freed."""
    return _ON if effort.on else 1


def _each_alone(
    jobs: Portfolio, starts: list[int], least: Sequence[int], effort: Effort
) -> list[int]:
    """Each job by itself as good as it can be between the others, what weighs most first."""
    left, own = effort.tasks, replace(effort.alone, watch=Unheard(effort.watch))
    gaps = [done - best for done, best in zip(jobs.finishes(starts), least, strict=True)]
    for k in sorted(range(len(gaps)), key=lambda k: -gaps[k] * jobs.members[k].job.priority):
        left -= len(jobs.parts[k])
        if gaps[k] <= 0 or left < 0 or effort.watch.enough():
            continue
        network = held_elsewhere(jobs, starts, k)
        try:
            keep = Schedule(network, jobs.of_job(k, starts))
            found = solving.solve(network, own, keep).starts
        except Unsolved:
            continue  # where several are alike too few may be left
        alone = portfolio([replace(jobs.members[k], network=network)])
        moved = placed(jobs, starts, alone, [k], found)
        starts = min(starts, moved, key=lambda s: aim(jobs, s))
    return starts
