"""The graph of a job's tasks, and the rings that no plan can untie."""

from collections.abc import Mapping, Sequence

import pytest

from scheduler.graph import ring_in_words, rings, task_graph
from scheduler.model import Air, Job, Link, Task
from scheduler.network import compile_job, horizon


def job(after: Mapping[str, Sequence[str]]) -> Job:
    """A job of tasks that come after others."""
    tasks = tuple(Task(t, t, 60, after=tuple(map(Link, before))) for t, before in after.items())
    return Job("Larch Row", "America/Toronto", 30_000_000, Air(20, 0.5), {}, {}, {}, tasks)


def test_the_graph_leads_from_each_task_to_those_that_wait_for_it() -> None:
    graph = task_graph(job({"board": [], "joints": ["board"], "coat": ["board", "joints"]}))
    assert list(graph) == ["board", "joints", "coat"]
    assert list(graph.edges) == [("board", "joints"), ("board", "coat"), ("joints", "coat")]


@pytest.mark.parametrize(
    ("after", "found"),
    [
        ({"a": [], "b": ["a"], "c": ["a", "b"]}, ()),
        ({"a": ["b"], "b": ["a"]}, (("a", "b", "a"),)),
        ({"a": ["a"], "b": ["a"]}, (("a", "a"),)),
        ({"a": [], "b": ["a", "d"], "c": ["b"], "d": ["c"]}, (("b", "c", "d", "b"),)),
        ({"d": ["c"], "c": ["b"], "b": ["a"], "a": ["d"]}, (("d", "a", "b", "c", "d"),)),
        # Knotted twice: the shortest ring through the first task of the file.
        ({"a": ["d", "b"], "b": ["a"], "c": ["b"], "d": ["c"]}, (("a", "b", "a"),)),
        # Two rings of one length through one task: the one that its 'after' names first.
        ({"a": ["c", "b"], "b": ["a"], "c": ["a"]}, (("a", "c", "a"),)),
        ({"x": ["y"], "y": ["x"], "a": ["b"], "b": ["a"]}, (("x", "y", "x"), ("a", "b", "a"))),
    ],
)
def test_rings_are_found_in_the_order_of_the_file(
    after: Mapping[str, Sequence[str]], found: tuple[tuple[str, ...], ...]
) -> None:
    assert rings(job(after)) == found


def test_a_ring_of_five_thousand_tasks_is_found() -> None:
    ids = [f"t{i}" for i in range(5000)]
    after = {task: [ids[i - 1]] for i, task in enumerate(ids)}
    assert rings(job(after)) == ((*ids, "t0"),)


def test_a_ring_that_no_file_was_checked_for_is_no_network() -> None:
    ring = job({"tile": ["grout"], "grout": ["tile"]})
    with pytest.raises(ValueError, match="in a ring: tile -> grout -> tile; take one of these out"):
        compile_job(ring, horizon(ring, 10))


def test_a_ring_says_what_would_untie_it() -> None:
    assert ring_in_words(("tile", "grout", "tile")) == (
        "tasks wait for each other in a ring: tile -> grout -> tile; "
        "take one of these out of the 'after' of the next"
    )
