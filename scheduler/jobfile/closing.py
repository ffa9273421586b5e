"""What tasks close and reopen of a household: read, and held to making sense."""

from collections.abc import Iterable, Iterator

import networkx as nx

from scheduler.graph import task_graph
from scheduler.jobfile.form import JobEntry, TaskEntry
from scheduler.model import Job
from scheduler.yamlform.fields import Place
from scheduler.yamlform.forms import Id
from scheduler.yamlform.tree import Report, Text, Unreadable, found, quoted

NOTHING_CLOSED = (
    "no task closes anything; write 'closes: shower' at the task that takes it from the household,"
    " and 'reopens: shower' at the one that gives it back"
)
"""Why days without something can't be few."""

_WORD = Id("thing that the household uses")


def words(entry: TaskEntry, key: str, report: Report) -> tuple[str, ...]:
    """What a task closes or reopens (``key``), each once; what is wrong is reported."""
    given: Iterable[Text] = getattr(entry, key)
    kept: list[str] = []
    for word in given:
        try:
            _WORD.read(word, Place(f"'{key}'", word.mark), report)
        except Unreadable:
            continue
        if word.value in kept:
            report.add(word.mark, f"{found(word)} is in '{key}' twice")
        kept.append(word.value)
    return tuple(kept)


def check_reopened(job: Job, form: JobEntry, report: Report) -> None:
    """Report what is reopened by a task that follows nothing, or not all, that closes it."""
    graph = task_graph(job)
    for task, entry in form.tasks.items():
        for word in entry.reopens:
            for wrong in _wrong(graph, job, task, word.value, report):
                report.add(word.mark, f"{quoted(task)} reopens {quoted(word.value)}, {wrong}")


def check_preferred(job: Job, form: JobEntry, report: Report) -> None:
    """Report that few days without anything are preferred where nothing is closed."""
    if job.prefer == "fewest-days-without" and not job.closes:
        report.add(form.marks["prefer"], f"'prefer' is {job.prefer}, but {NOTHING_CLOSED}")


def _wrong(
    graph: "nx.DiGraph[str]", job: Job, task: str, word: str, report: Report
) -> Iterator[str]:
    closers = [other.id for other in job.tasks if word in other.closes]
    if not closers:
        known = dict.fromkeys(name for other in job.tasks for name in other.closes)
        hint = report.near(word, known)
        yield f"which no task closes{hint or f': write closes: {word} at the task that does'}"
    before = nx.ancestors(graph, task) | {task}
    for closer in closers:
        if closer not in before:
            yield (
                f"but may be done before {quoted(closer)}, which closes it: name that in 'after',"
                " or give what is closed a second time another word"
            )
