"""How sure a finish is, as plain values for JSON, version 1.

Shares are 0..1, spans whole minutes, times RFC 3339 with the offset of the job's zone; a time is
null where it never comes. Lists are in order, the largest share first. Every key is always there.
"""

from scheduler.clock import rfc3339
from scheduler.model import Job
from scheduler.odds.outlook import Outlook

_DIGITS = 4


def outlook_json(job: Job, found: Outlook) -> dict[str, object]:
    """The answer as a tree of dicts, lists, strings, numbers and None."""

    def time(minute: int | None) -> str | None:
        return None if minute is None else rfc3339(minute, job.timezone)

    return {
        "version": 1,
        "job": job.name,
        "timezone": job.timezone,
        "samples": found.runs,
        "seed": found.seed,
        "planned_finish": time(found.planned),
        "chance_of_plan": round(found.in_plan, _DIGITS),
        "finish_at": {str(chance): time(minute) for chance, minute in found.finish.items()},
        "finish_by": time(found.finish_by),
        "chance_of_finish_by": None if found.in_time is None else round(found.in_time, _DIGITS),
        "never": round(found.never, _DIGITS),
        "critical": [
            {"task": each.task, "share": round(each.share, _DIGITS)} for each in found.critical
        ],
        "missed_windows": [
            {
                "task": each.task,
                "after": each.after,
                "within_minutes": each.within,
                "share": round(each.share, _DIGITS),
            }
            for each in found.missed
        ],
        "missed_dates": [
            {"task": each.task, "by": time(each.by), "share": round(each.share, _DIGITS)}
            for each in found.late
        ],
        "spread": [
            {"kind": s.source.kind, "of": s.source.of, "share": round(s.share, _DIGITS)}
            for s in found.spread
        ],
    }
