"""Tasks and what they wait for as a graph, and the rings in it that no plan can untie."""

from graphlib import CycleError, TopologicalSorter
from typing import TYPE_CHECKING

from scheduler.model import Job

if TYPE_CHECKING:
    import networkx as nx


def task_graph(job: Job) -> "nx.DiGraph[str]":
    """Tasks as nodes, an edge from each task to those that wait for it."""
    import networkx as nx

    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_nodes_from(task.id for task in job.tasks)
    graph.add_edges_from((link.task, task.id) for task in job.tasks for link in task.after)
    return graph


def rings(job: Job) -> tuple[tuple[str, ...], ...]:
    """Tasks that wait for each other in a ring, first and last the same.

    Of tasks that are knotted together only one ring is told, the shortest through the first of
    them in the file: untying it may untie them all. Rings come in the order of the file.
    """
    if _in_order(job):
        return ()
    import networkx as nx

    graph = task_graph(job)
    place = {task: i for i, task in enumerate(graph)}
    knots = (min(knot, key=place.__getitem__) for knot in nx.strongly_connected_components(graph))
    firsts = sorted(knots, key=place.__getitem__)
    return tuple(ring for task in firsts if (ring := _ring(graph, task)))


def _in_order(job: Job) -> bool:
    """Whether no task waits for itself; asked of every job, so without the library of graphs."""
    try:
        TopologicalSorter({task.id: [a.task for a in task.after] for task in job.tasks}).prepare()
    except CycleError:
        return False
    return True


def _ring(graph: "nx.DiGraph[str]", task: str) -> tuple[str, ...]:
    """The shortest ring through a task; empty if there is none."""
    import networkx as nx

    steps = nx.single_source_shortest_path_length(graph, task)
    last = min(
        (t for t in graph.predecessors(task) if t in steps), key=steps.__getitem__, default=None
    )
    return () if last is None else (*nx.shortest_path(graph, task, last), task)


def ring_in_words(ring: tuple[str, ...]) -> str:
    """What is wrong with a ring, and what would untie it.

    >>> ring_in_words(("tile", "grout", "tile"))
    "tasks wait for each other in a ring: tile -> grout -> tile; take one of these out of the \
'after' of the next"
    """
    return (
        f"tasks wait for each other in a ring: {' -> '.join(ring)}; "
        "take one of these out of the 'after' of the next"
    )
