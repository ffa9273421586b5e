"""Plans of several jobs as plain values for JSON, version 1."""

from collections.abc import Iterable, Mapping, Sequence

from scheduler.asjson import plan_json
from scheduler.clock import rfc3339
from scheduler.portfolio.days import at_once, delays, week
from scheduler.portfolio.slips import Slip, other_days, slips
from scheduler.portfolio.together import Together


def together_json(
    made: Together,
    news: Mapping[str, Iterable[object]] | None = None,
    moved: Mapping[str, Sequence[str]] | None = None,
    first: Together | None = None,
) -> dict[str, object]:
    """The plan of each job, as of one alone; what they come to; who is where; who waits for whom.

    Args:
        made: the plans.
        news: by jobs, what became of the first plan, a line each.
        moved: by jobs, the tasks that moved against an earlier plan that was to be kept to.
        first: the first plans of jobs under way; None where nothing is logged.

    ``weighted_lateness_minutes`` is what jobs finish past their ``finish_by``, each times its
    priority; ``finishes_gap_minutes`` how much the sum of finishes may be above the least of plans
    that are no later. ``visits`` counts a day once, whichever houses it goes to; ``visits_bound``
    and ``days_without_bound`` are of plans that are no later, or where days are preferred to the
    finish, up to four weeks later. A task that waits for people of another job has its name and the
    minutes in its ``because``. ``warnings`` are those of no job alone. Where anything is logged
    there are ``slips``: by how much each job that moved since its first plan finishes later, and
    the tasks, of whichever job, that its own later ones go back to; and ``other_days`` by people,
    those on which they are in other houses than first planned.
    """
    planned = made.planned
    zone = made.jobs[0].timezone
    return {
        "version": 1,
        "jobs": [
            plan_json(
                plan,
                None if job.past is None else job.now,
                (news or {}).get(job.name, ()),
                (moved or {}).get(job.name),
            )
            for job, plan in planned
        ],
        "priorities": [job.priority for job in made.jobs],
        "weighted_lateness_minutes": round(made.aim.lateness),
        "weighted_lateness_bound_minutes": round(made.bound.lateness),
        "finishes_gap_minutes": made.aim.finishes - made.bound.finishes,
        "visits": made.aim.visits,
        "visits_bound": made.bound.visits,
        "days_without": made.aim.without,
        "days_without_bound": made.bound.without,
        "warnings": [*at_once(planned)],
        "people": [
            {
                "name": who,
                "days": [
                    {
                        "date": on.isoformat(),
                        "where": [
                            {
                                "job": stay.job,
                                "start": rfc3339(stay.start, zone),
                                "end": rfc3339(stay.end, zone),
                            }
                            for stay in stays
                        ],
                    }
                    for on, stays in days.items()
                ],
            }
            for who, days in week(planned).items()
        ],
        "delays": [
            {
                "job": delay.job,
                "people_busy_in": delay.other,
                "tasks": [*delay.tasks],
                "minutes": [*delay.minutes],
            }
            for delay in delays(planned)
        ],
    } | ({} if first is None else _since(first, made))


def _since(first: Together, made: Together) -> dict[str, object]:
    return {
        "slips": [*map(_slip, slips(first, made))],
        "other_days": {
            who: [
                {"date": each.on.isoformat(), "jobs": [*each.now], "first": [*each.first]}
                for each in changes
            ]
            for who, changes in other_days(first, made).items()
        },
    }


def _slip(slip: Slip) -> dict[str, object]:
    return {
        "job": slip.job,
        "finish_minutes": slip.later,
        "moved": slip.moved,
        "because": [
            {"job": root.job, "task": root.task.id, "minutes": root.late, "tasks": root.tasks}
            for root in slip.roots
        ],
    }
