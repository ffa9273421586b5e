"""Plans of several jobs as plain values for JSON, version 1."""

from scheduler.asjson import plan_json
from scheduler.clock import rfc3339
from scheduler.portfolio.days import delays, week
from scheduler.portfolio.together import Together


def together_json(made: Together) -> dict[str, object]:
    """The plan of each job, as of one alone; what they come to; who is where; who waits for whom.

    ``weighted_lateness_minutes`` is what jobs finish past their ``finish_by``, each times its
    priority; ``finishes_gap_minutes`` how much the sum of finishes may be above the least. A task
    that waits for people of another job has its name and the minutes in its ``because``.
    """
    planned = made.planned
    zone = made.jobs[0].timezone
    return {
        "version": 1,
        "jobs": [plan_json(plan, None if job.past is None else job.now) for job, plan in planned],
        "priorities": [job.priority for job in made.jobs],
        "weighted_lateness_minutes": round(made.aim.lateness),
        "weighted_lateness_bound_minutes": round(made.bound.lateness),
        "finishes_gap_minutes": made.aim.finishes - made.bound.finishes,
        "visits": made.aim.visits,
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
    }
