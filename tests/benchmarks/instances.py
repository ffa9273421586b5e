"""Instances of the resource-constrained project scheduling problem, read and turned into jobs.

Two formats: ``.sm`` of PSPLIB (R. Kolisch and A. Sprecher, European Journal of Operational Research
96, 1996), where one activity follows the finish of another, and ``.sch`` of ProGen/max
(C. Schwindt), with least and greatest times between two starts. One unit of time is one minute;
a resource is a kind of people, of whom there are so many, on the spot round the clock.
"""

import csv
import re
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import networkx as nx

from scheduler.model import ALWAYS, Air, Job, Link, Person, Task


@dataclass(frozen=True)
class Instance:
    """Activities by number, the first the source and the last the sink, both of no duration.

    Args:
        name: of its file.
        durations: of each activity.
        requests: of each activity, how much of each resource it takes.
        capacities: of each resource.
        lags: ``(i, j, lag)``: ``j`` starts ``lag`` after the start of ``i`` at the earliest; a
            negative one says how long after ``j`` the activity ``i`` may start at the latest.
    """

    name: str
    durations: tuple[int, ...]
    requests: tuple[tuple[int, ...], ...]
    capacities: tuple[int, ...]
    lags: tuple[tuple[int, int, int], ...]

    @property
    def horizon(self) -> int:
        """A makespan that is enough, if any is."""
        out: dict[int, int] = defaultdict(int)
        for i, _, lag in self.lags:
            out[i] = max(out[i], lag)
        return sum(max(length, out[i]) for i, length in enumerate(self.durations))


def read(path: Path) -> Instance:
    """The instance of a file, by its suffix."""
    text = path.read_text(encoding="ascii")
    return (_sm if path.suffix == ".sm" else _sch)(path.name, text)


def _numbers(line: str) -> list[int]:
    return [int(number) for number in re.findall(r"-?\d+", line)]


def _sm(name: str, text: str) -> Instance:
    sections = re.split(r"(?m)^\*+$", text)
    after, work, there = (
        [_numbers(line) for line in section.strip().splitlines()[skip:]]
        for section in sections
        for title, skip in (("PRECEDENCE", 2), ("REQUESTS", 3), ("RESOURCEAVAIL", 2))
        if section.strip().startswith(title)
    )
    durations = tuple(row[2] for row in work)
    lags = tuple((row[0] - 1, j - 1, durations[row[0] - 1]) for row in after for j in row[3:])
    return Instance(name, durations, tuple(tuple(row[3:]) for row in work), tuple(there[0]), lags)


def _sch(name: str, text: str) -> Instance:
    first, *rows = [_numbers(line) for line in text.strip().splitlines()]
    n = first[0] + 2
    lags = tuple(lag for row in rows[:n] for lag in zip(
        [row[0]] * row[2], row[3 : 3 + row[2]], row[3 + row[2] :], strict=True
    ))  # fmt: skip
    work = rows[n : 2 * n]
    requests = tuple(tuple(row[3:]) for row in work)
    return Instance(name, tuple(row[2] for row in work), requests, tuple(rows[2 * n]), lags)


def best_known(file: Path) -> dict[str, tuple[int, int] | None]:
    """By instance, the best bounds known of its least makespan; None where it has no schedule."""
    with file.open(encoding="ascii", newline="") as lines:
        return {row["problem"]: _bounds(row["optimum"]) for row in csv.DictReader(lines)}


def _bounds(text: str) -> tuple[int, int] | None:
    if text == "unsat":
        return None
    least, _, most = text.partition("..")
    return int(least or 0), int(most or least)  # of some no lower bound is known


def job_of(instance: Instance) -> Job:
    """The instance as a job that starts at minute 0."""
    people = [Person(f"r{k}", ALWAYS, count=n) for k, n in enumerate(instance.capacities, start=1)]
    links: dict[int, list[Link]] = defaultdict(list)
    for j, link in _links(instance):
        links[j].append(link)
    return Job(
        name=instance.name,
        timezone="Etc/UTC",
        start=0,
        air=Air(20.0, 0.5),
        people={person.id: person for person in people},
        rooms={},
        products={},
        tasks=tuple(_task(instance, j, tuple(links[j])) for j in range(len(instance.durations))),
    )


def _links(instance: Instance) -> Iterator[tuple[int, Link]]:
    """Each link with the activity whose it is.

    A lag back to what comes before is a window, every other a wait, which may be negative.
    """
    waits: dict[tuple[int, int], int] = {}
    windows: dict[tuple[int, int], int] = {}
    order: nx.DiGraph[int] = nx.DiGraph()
    order.add_nodes_from(range(len(instance.durations)))
    for i, j, lag in sorted(instance.lags, key=lambda each: -each[2]):
        if lag <= 0 and nx.has_path(order, j, i):
            windows[j, i] = -lag
        else:
            order.add_edge(i, j)
            waits[i, j] = lag
    for i, j in waits | windows:
        length, lag = instance.durations[i], waits.get((i, j), -instance.horizon)
        within = windows.get((i, j))
        if lag < length:
            yield j, Link(f"a{i}", None, lag, within, "start", "start")
        else:
            more = None if within is None else within - length
            yield j, Link(f"a{i}", None, lag - length, more)


def _task(instance: Instance, j: int, after: tuple[Link, ...]) -> Task:
    hands = [(f"r{k}", n) for k, n in enumerate(instance.requests[j], start=1) if n]
    return Task(
        id=f"a{j}",
        name=f"a{j}",
        work=instance.durations[j],
        who=tuple(who for who, _ in hands),
        after=after,
        several=tuple((who, n) for who, n in hands if n > 1),
        must_finish_by=0 if j == 0 else None,  # greatest lags count from the start of it all
    )
