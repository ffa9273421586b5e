"""Why a task starts when it does, as plain values for JSON, version 1.

Times are RFC 3339 with the offset of the job's zone, spans are whole minutes. ``chain`` begins with
the task itself and goes back; ``wait`` is null where what held it takes no time, ``first`` where no
time goes by at all. The parts of ``where_time_goes`` add to ``minutes``.
"""

from collections.abc import Callable, Iterable

from scheduler.asjson import reason_json, split_json, wait_json
from scheduler.chain import Stretch
from scheduler.clock import rfc3339
from scheduler.why.account import Account, Held
from scheduler.why.first import First, first

Time = Callable[[int], str]


def why_json(account: Account) -> dict[str, object]:
    """The account as a tree of dicts, lists, strings, numbers, booleans and None."""

    def time(minute: int) -> str:
        return rfc3339(minute, account.job.timezone)

    task, found = account.task, first(account)
    return {
        "version": 1,
        "task": task.id,
        "state": task.state,
        "start": time(task.start),
        "since": time(account.since),
        "minutes": sum(part.minutes for part in account.parts),
        "chain": [_held(held, time) for held in account.chain],
        "where_time_goes": split_json(account.split),
        "first": None if found is None else _first(found),
    }


def _held(held: Held, time: Time) -> dict[str, object]:
    task = held.task
    return {
        "task": task.id,
        "name": task.name,
        "state": task.state,
        "start": time(task.start),
        "finish": time(task.finish),
        "because": reason_json(task.because),
        "wait": None if held.wait is None else wait_json(held.wait, time),
        "before": _parts(held.before, time),
        "within": _parts(held.within, time),
    }


def _parts(parts: Iterable[Stretch], time: Time) -> list[dict[str, object]]:
    return [
        {"kind": p.kind, "start": time(p.start), "end": time(p.end), "minutes": p.minutes}
        for p in parts
    ]


def _first(found: First) -> dict[str, object]:
    return {
        "kind": found.kind,
        "minutes": found.minutes,
        "task": found.held.task.id,
        "of_it": found.own,
        "text": found.text,
    }
