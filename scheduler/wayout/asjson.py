"""A conflict and the ways out of it as plain values for JSON, version 1.

``rules`` are the smallest set that cannot all hold (``smallest`` false where that is not proven),
each with its ``kind``, what it is ``of`` (ids of tasks, of a person, a product) and its words.
``ways_out`` are what makes a plan possible, the best first: each has ``changes`` that are enough
together, and ``least`` is false where less may do. A change has the figures of its kind: times are
RFC 3339 with the offset of the job's zone, spans whole minutes, temperatures degrees Celsius.
``asks`` says who has to agree: ``owner``, ``others`` or ``label``. ``stuck`` are the rules of which
nothing comes, and why. ``all_tried`` is false where the search stopped before the end. ``then`` are
rules that cannot all be kept either, where no single change is enough.
"""

from collections.abc import Iterable
from typing import Any

from scheduler.clock import rfc3339
from scheduler.conflict import Conflict
from scheduler.rules import Rule
from scheduler.site import Site
from scheduler.wayout.change import Change, Way
from scheduler.wayout.find import WaysOut
from scheduler.wording import tidy


def no_plan_json(site: Site, found: Conflict, out: WaysOut) -> dict[str, object]:
    """Why there is no plan, and what would make one possible."""
    return {
        "version": 1,
        "jobs": [job.name for job in site.jobs],
        "plan": None,
        "conflict": {
            "smallest": found.smallest,
            "rules": [_rule(site, rule) for rule in found.rules],
        },
        "ways_out": [_way(site, way) for way in out.ways],
        "stuck": [{**_rule(site, each.rule), "why": each.why} for each in out.stuck],
        "all_tried": out.all_tried,
        "then": [_rule(site, rule) for rule in out.then],
    }


def _names(site: Site, which: Iterable[int]) -> list[str]:
    return [site.jobs[k].name for k in which]


def _rule(site: Site, rule: Rule) -> dict[str, object]:
    jobs = _names(site, rule.jobs)
    return {"kind": rule.kind, "of": [*rule.of], "jobs": jobs, "text": tidy(rule.text)}


def _way(site: Site, way: Way) -> dict[str, object]:
    return {"changes": [_change(site, each) for each in way.changes], "least": way.least}


def _change(site: Site, change: Change) -> dict[str, object]:
    zone = site.job.timezone
    return {
        "kind": change.kind,
        "of": [*change.of],
        "jobs": _names(site, change.jobs),
        "text": tidy(change.text),
        "asks": change.asks.name.lower(),
        "note": tidy(change.note),
    } | {key.removesuffix("_at"): _value(key, value, zone) for key, value in change.data.items()}


def _value(key: str, value: Any, zone: str) -> object:
    """Times, whose keys end so, as RFC 3339."""
    if key == "spans_at":
        return [[rfc3339(start, zone), rfc3339(end, zone)] for start, end in value]
    return rfc3339(value, zone) if key in {"at", "was_at"} else value
