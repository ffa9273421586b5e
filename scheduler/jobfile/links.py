"""What a task waits for: the form of a link, the short ways to write it, and what goes together."""
# ruff: noqa: RUF009 (key() makes a field of a dataclass, as dataclasses.field() does)

from dataclasses import dataclass
from typing import Literal

from scheduler.jobfile.values import ENDS, LAG, STAGE, TASK, WITHIN
from scheduler.quantities import show_duration
from scheduler.yamlform.fields import Place, Schema, refuse
from scheduler.yamlform.forms import Entry, Form, key
from scheduler.yamlform.tree import Block, Mark, Node, Report, Text, Unreadable, quoted


@dataclass(frozen=True)
class LinkEntry(Entry):
    """What a task waits for."""

    task: Text | None = key(TASK, "The task that comes first.", None, required="the id of a task")
    stage: Text | None = key(
        STAGE, "The stage that what the other task applied must have reached.", None
    )
    wait: int = key(LAG, "A fixed time in between, at the least; it may be negative.", 0)
    within: int | None = key(
        WITHIN, "A time in between, at the most, as 24 h; none lifts the stage's own window.", None
    )
    from_: Literal["start", "finish"] = key(
        ENDS, "The end of the other task that counts; finish if left out.", "finish"
    )
    to: Literal["start", "finish"] = key(
        ENDS, "The end of this task that waits; start if left out.", "start"
    )


LINK = Form(LinkEntry, "{task: coat-1, stage: recoat, within: 24 h}")
MEANS_MORE = "this word has a meaning of its own in 'after'"


@dataclass(frozen=True)
class Links:
    """One way to say what comes before: a task's id, ``{task: stage}``, or a link in full."""

    words = "a task, {task: stage}, {task: coat-1, stage: recoat, within: 24 h}, or a list of these"

    def read(self, node: Node, place: Place, report: Report) -> tuple[LinkEntry, ...]:
        """One link, or one for each stage of ``{task: stage, ...}``."""
        if isinstance(node, Text) and not node.empty:
            return (_link(node),)
        if not isinstance(node, Block):
            raise refuse(node, place, report, self.words)
        if any(k.value in LINK.keys for k, _ in node.pairs):
            _refuse_mixture(node, place, report)
            return (LINK.read(node, Place(f"an entry of {place}", node.mark), report),)
        return tuple(_stage_link(task, stage, report) for task, stage in node.pairs)

    def schema(self) -> Schema:
        """All three ways."""
        by_stage = {"type": "object", "additionalProperties": STAGE.schema()}
        return {"anyOf": [TASK.schema(), LINK.schema(), by_stage]}


def _link(task: Text, stage: Text | None = None) -> LinkEntry:
    marks: dict[str, Mark] = {"task": task.mark} | ({"stage": stage.mark} if stage else {})
    return LinkEntry(marks=marks, task=task, stage=stage)


def _stage_link(task: Text, node: Node, report: Report) -> LinkEntry:
    """The link of ``task: stage``; a stage that can't be read still leaves the task to look up."""
    if isinstance(node, Text) and not node.empty:
        return _link(task, node)
    if ":" in task.value:
        report.add(task.mark, f"put a space after the colon in {quoted(task.value)}")
        return LinkEntry()
    refuse(
        node, Place(quoted(task.value), task.mark), report, STAGE.what, f"; or write {LINK.like}"
    )
    return _link(task)


def _refuse_mixture(block: Block, place: Place, report: Report) -> None:
    """Say how to write what ``{coat-1: recoat, within: 24 h}`` means."""
    keys = [k for k, _ in block.pairs]
    strange = [k for k in keys if k.value not in LINK.keys and not report.near(k.value, LINK.keys)]
    if strange and all(k.value != "task" for k in keys):
        own = next(k for k in keys if k.value in LINK.keys)
        first = strange[0]
        words = f"{quoted(first.value)} can't stand beside {quoted(own.value)} in {place}"
        report.add(first.mark, f"{words}; write {LINK.like}")
        raise Unreadable


def check_within(entry: LinkEntry, report: Report) -> None:
    """Report a window that closes before the wait is over."""
    if entry.within is not None and entry.within < entry.wait:
        window, wait = show_duration(entry.within), show_duration(entry.wait)
        words = f"'within' ({window}) is shorter than 'wait' ({wait}): nothing could ever start"
        report.add(entry.marks["within"], words)


def check_stage_alone(entry: LinkEntry, report: Report) -> None:
    """Report what can't stand beside the stage of a link."""
    if entry.has("wait"):
        words = "a link has either 'stage' or 'wait': the product says how long a stage takes"
        report.add(entry.marks["wait"], words)
    if entry.from_ == "start":
        words = "a stage counts from the finish of the other task: leave 'from: start' out"
        report.add(entry.marks["from"], words)
