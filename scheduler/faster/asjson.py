"""What would bring a job forward, as plain values for JSON, version 1.

Times are RFC 3339 with the offset of the job's zone, spans whole minutes, money in the job's
currency, null where it is not known. ``won_minutes`` is negative where a
lever makes the job later; ``finish`` is null where there is no plan with it.
"""

from collections.abc import Callable

from scheduler.clock import rfc3339
from scheduler.faster.trying import Faster, Outcome
from scheduler.model import Job
from scheduler.wording import GLUE, tidy


def faster_json(job: Job, found: Faster) -> dict[str, object]:
    """What was found, as a tree of dicts, lists, strings, numbers, booleans and None."""

    def time(minute: int) -> str:
        return rfc3339(minute, job.timezone)

    return {
        "version": 1,
        "job": job.name,
        "timezone": job.timezone,
        "currency": job.currency or None,
        "finish": time(found.plan.finish),
        "proven_earliest": found.plan.proven_earliest,
        "visits": found.plan.visits,
        "tried": found.tried,
        "tried_pairs": found.tried_pairs,
        "alone": [_outcome(each, time) for each in found.alone],
        "pairs": [_outcome(each, time) for each in found.pairs],
        "nothing": [_outcome(each, time) for each in found.nothing],
        "not_tried": [
            {"text": _plain(each.says), "why": _plain(each.why)} for each in found.declined
        ],
    }


def _outcome(outcome: Outcome, time: Callable[[int], str]) -> dict[str, object]:
    more = outcome.price.more
    return {
        "levers": [
            {"id": lever.id, "kind": lever.kind, "text": _plain(lever.says)}
            for lever in outcome.levers
        ],
        "finish": None if outcome.plan is None else time(outcome.plan.finish),
        "won_minutes": outcome.won,
        "visits_saved": outcome.visits,
        "may_win_more": outcome.open,
        "cost": None if more is None else float(more),
        "cost_not_known": [_plain(words) for words in outcome.price.unknown],
        "energy_kwh": outcome.price.energy,
        "why": [_plain(words) for words in outcome.why],
    }


def _plain(text: str) -> str:
    return tidy(text.replace(GLUE, " "))
