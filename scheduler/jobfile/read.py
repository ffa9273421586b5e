"""The job file: YAML to ``Job``, with every problem at once, and its JSON Schema for editors.

Text becomes a tree (``yamlform.tree``), the tree is read by the form of the file (``form``), and
here what the entries name is looked up and defaults are filled in.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import TypeVar

from scheduler.clock import DAY
from scheduler.errors import BadFile
from scheduler.graph import ring_in_words, rings
from scheduler.jobfile.closing import check_preferred, check_reopened, words
from scheduler.jobfile.crew import Beside, crew, is_crew
from scheduler.jobfile.form import (
    JOB,
    AirEntry,
    JobEntry,
    TaskEntry,
)
from scheduler.jobfile.hands import Hands
from scheduler.jobfile.hourstext import Moment, first_minute, last_minute
from scheduler.jobfile.links import LinkEntry, check_stage_alone, check_within
from scheduler.jobfile.names import Names
from scheduler.jobfile.onehand import OneHand, made
from scheduler.jobfile.persons import person
from scheduler.jobfile.things import Things
from scheduler.jobfile.work import check_quantity, with_deliveries
from scheduler.jobfile.zones import zone
from scheduler.model import (
    Air,
    Job,
    Link,
    Product,
    Room,
    Stage,
    Task,
    Way,
)
from scheduler.quantities import duration
from scheduler.rates import rates
from scheduler.yamlform.fields import Place, Schema
from scheduler.yamlform.tree import (
    TOP,
    Mark,
    Report,
    Text,
    Unreadable,
    found,
    quoted,
    tree,
)

ASSUMED = Air(18.0, 0.60, 0.0, assumed=True)
"""The air supposed where a job gives none (DEVELOPERS.md, decision 3)."""

_T = TypeVar("_T")
_FARTHEST = 5 * 365 * DAY  # a date further from the start is a slip of the year


def parse(content: bytes, name: str, beside: Beside | None = None) -> Job:
    """The job of a file, with every reference resolved and every default filled in.

    Args:
        content: the bytes of the file, UTF-8.
        name: what the file is called in messages.
        beside: brings a crew file that the job names; None where nothing lies beside it.

    Raises:
        BadFile: with everything that is wrong in the file, in its order, and in its crew file.
    """
    report = Report(name, "job")
    try:
        form = _read(content, report)
    except Unreadable:
        raise BadFile(report.problems) from None
    job = _Lookup(form, report, beside).job()
    if not report.problems:
        check_reopened(job, form, report)
        check_preferred(job, form, report)
    for ring in rings(job):
        report.add(form.tasks[ring[0]].where, ring_in_words(ring))
    if report.problems:
        raise BadFile(report.problems)
    return job


def schema() -> Schema:
    """The JSON Schema (draft 7, which editors read) of a job file."""
    return {
        "$schema": "http://json-schema.org/draft-07/schema#",
        "title": "thenwait job file, version 1",
        "description": "One renovation: who works when, in which rooms, with which products.",
    } | JOB.schema()


def _read(content: bytes, report: Report) -> JobEntry:
    root = tree(content, report)
    if isinstance(root, Text) and root.empty:
        report.add(TOP, "nothing in it: a job has at least job, timezone, start and tasks")
        raise Unreadable
    if is_crew(root):
        report.add(TOP, "this is a crew file, the people of several jobs, and no job: give the"
                        " job files that name it in 'people_from'")  # fmt: skip
        raise Unreadable
    return JOB.read(root, Place("the job", TOP), report)


class _Lookup:
    """Looks up what the entries of a file name. What is wrong is reported, and left out."""

    def __init__(self, form: JobEntry, report: Report, beside: Beside | None) -> None:
        self.form = form
        self.report = report
        self.zone = zone(form.timezone, report)
        self.start = first_minute(form.start, self.zone) if form.start and self.zone else None
        self.crew = crew(form, report, beside)
        self.people = {key: person(key, entry) for key, entry in form.people.items()}
        self.people |= self.crew or {}
        self.names = Names(form, report)
        self.things = Things(form, report, self.names)

    def job(self) -> Job:
        """The job; only complete where nothing was reported."""
        form = self.form
        return Job(
            name=form.job,
            timezone=self.zone,
            start=self.start or 0,
            air=_air(form.air),
            people=self.people,
            rooms={key: Room(key, _air(entry.air, form.air)) for key, entry in form.rooms.items()},
            products={key: product for key, product in self.things.products.items() if product},
            tasks=with_deliveries(self._tasks()),
            finish_by=self._by(form.finish_by, "finish_by", form.marks),
            units=form.units,
            goods=self.things.goods,
            currency=form.currency,
            built=form.built,
            priority=form.priority,
            prefer=form.prefer,
        )

    def _tasks(self) -> tuple[Task, ...]:
        ways = {key: self._ways(key, entry) for key, entry in self.form.tasks.items()}
        tied = OneHand(self.form, self.people, self.names, self.report).tied(ways)
        return tuple(self._task(key, entry, *tied[key]) for key, entry in self.form.tasks.items())

    def _ways(self, key: str, entry: TaskEntry) -> tuple[Way, ...]:
        """The ways to do a task; none where nobody is needed, or nobody is known."""
        check_quantity(key, entry, self.report)
        ways: list[Way] = []
        for given in entry.who:
            who = self._who(key, given.hands)
            way = made(entry, given.work, who, self.people)
            known = len(who) == len(given.hands)
            if known and any(way.hands == other.hands for other in ways):
                self.report.add(given.mark, f"task {quoted(key)} has this way in 'any' twice")
            ways.append(way)
        return tuple(ways)

    def _task(self, key: str, entry: TaskEntry, ways: Sequence[Way], same_as: str | None) -> Task:
        applies = self.names.name(entry.applies, self.things.appliable, "product", "products")
        product = self.things.products.get(applies) if applies else None
        split = not (product and product.one_go) if entry.split is None else entry.split
        links = [self._link(key, link) for link in _joined(entry.after)]
        first = ways[0] if ways else made(entry, None, {}, self.people)
        return Task(
            id=key,
            name=entry.name or _in_words(key),
            work=first.work,
            who=first.who,
            room=self.names.name(entry.room, self.form.rooms, "room", "rooms"),
            applies=applies,
            split=split,
            after=tuple(link for link in links if link),
            not_before=self._not_before(entry),
            must_finish_by=self._by(entry.must_finish_by, "must_finish_by", entry.marks),
            dusty=entry.dusty,
            hold=entry.hold,
            notes=entry.notes,
            quantity=entry.quantity,
            rate=self.names.name(entry.rate, rates(), "kind of work", "rates"),
            uses=self.things.uses(entry),
            delivers=self.things.delivers(entry),
            work_range=first.work_range,
            fails=self._of_hold(entry, "fails", entry.fails),
            redo=self._of_hold(entry, "redo", entry.redo),
            several=first.several,
            closes=words(entry, "closes", self.report),
            reopens=words(entry, "reopens", self.report),
            ways=tuple(ways) if len(ways) > 1 else (),
            same_as=same_as if len(ways) > 1 else None,
        )

    def _of_hold(self, entry: TaskEntry, key: str, value: _T) -> _T:
        """What only tests and inspections have."""
        if entry.has(key) and not entry.hold:
            words = f"'{key}' is of tests and inspections: say 'hold: yes' too, or leave it out"
            self.report.add(entry.marks[key], words)
        return value

    def _who(self, key: str, crew: Iterable[Hands]) -> dict[str, int]:
        """How many of whom."""
        who: dict[str, int] = {}
        for hands in crew:
            word = hands.who
            if word.value in who:
                self.report.add(word.mark, f"{found(word)} is in 'who' twice")
            elif self.crew is None or self.names.name(word, self.people, "person", "people"):
                # of a crew file that can't be read, any word may be one
                who[word.value] = hands.several
                self._enough(key, hands)
        return who

    def _enough(self, key: str, hands: Hands) -> None:
        who = hands.who.value
        entry, person = self.form.people.get(who), self.people.get(who)
        known = person is not None and not (entry and "count" in entry.unread)
        if person is not None and known and hands.several > person.count:
            there = "is only one" if person.count == 1 else f"are {person.count}"
            self.report.add(
                hands.mark,
                f"task {quoted(key)} takes {hands.several} of {quoted(who)}, but there {there}: "
                "'count' in 'people' says how many there are",
            )

    def _link(self, key: str, entry: LinkEntry) -> Link | None:
        task = self.names.name(entry.task, self.form.tasks, "task", "tasks")
        if task is None or entry.task is None:
            return None
        if task == key:
            self.report.add(entry.task.mark, f"task {quoted(key)} can't come after itself")
            return None
        stage = self._stage(entry, task)
        check_within(entry, self.report)
        return Link(
            task=task,
            stage=stage.name if stage else None,
            wait=entry.wait,
            within=entry.within if entry.has("within") or not stage else stage.within,
            of=entry.from_,
            to=entry.to,
        )

    def _stage(self, entry: LinkEntry, task: str) -> Stage | None:
        """The stage that a link names, if what the other task applies passes it."""
        if entry.stage is None:
            return None
        check_stage_alone(entry, self.report)
        applies = self.form.tasks[task].applies
        product = self.things.products.get(applies.value) if applies else None
        for stage in product.stages if product else ():
            if stage.name == entry.stage.value:
                return stage
        self._no_stage(entry.stage, task, product)
        return None

    def _no_stage(self, stage: Text, task: str, product: Product | None) -> None:
        """Report a stage that isn't passed, unless what is applied is reported already."""
        hint = f"; for a fixed wait write {{task: {task}, wait: {stage.value}}}"
        hint = hint if _is_duration(stage.value) else ""
        if product:
            passed = [s.name for s in product.stages]
            hint = hint or self.report.near(stage.value, passed)
            which = f"no stage {found(stage)} in {quoted(product.id)}, which {quoted(task)} applies"
            self.report.add(stage.mark, f"{which}: it passes {', '.join(passed)}{hint}")
        elif not self.form.tasks[task].has("applies"):
            words = (
                f"{quoted(task)} applies nothing, so there is no stage {found(stage)} to wait for"
            )
            self.report.add(stage.mark, words + hint)

    def _not_before(self, entry: TaskEntry) -> int | None:
        if entry.not_before is None or self.start is None:
            return None
        when = first_minute(entry.not_before, self.zone)
        return self._near(when, "not_before", entry.marks)

    def _by(self, day: Moment | None, key: str, marks: Mapping[str, Mark]) -> int | None:
        """The end of a day or the minute of a wall time, which must lie after the start."""
        if day is None or self.start is None:
            return None
        when = last_minute(day, self.zone)
        if when <= self.start:
            self.report.add(marks[key], f"'{key}' must be after the 'start' of the job")
        return self._near(when, key, marks)

    def _near(self, when: int, key: str, marks: Mapping[str, Mark]) -> int:
        if self.start is not None and when > self.start + _FARTHEST:
            self.report.add(marks[key], f"'{key}' must be within 5 years of the 'start' of the job")
        return when


def _air(*given: AirEntry) -> Air:
    """Each value from the first entry that gives it; what none gives is supposed."""
    temperature = _first(air.temperature for air in given)
    humidity = _first(air.humidity for air in given)
    swing = _first(air.swing for air in given)
    return Air(
        ASSUMED.temperature if temperature is None else temperature,
        ASSUMED.humidity if humidity is None else humidity,
        ASSUMED.swing if swing is None else swing,
        assumed=temperature is None or humidity is None,
    )


def _first(values: Iterable[float | None]) -> float | None:
    return next((value for value in values if value is not None), None)


def _is_duration(text: str) -> bool:
    try:
        duration(text)
    except ValueError:
        return False
    return True


def _in_words(key: str) -> str:
    """``coat-1`` as ``Coat 1``."""
    words = " ".join(key.replace("-", " ").replace("_", " ").split())
    return words[:1].upper() + words[1:]


def _joined(lines: Iterable[tuple[_T, ...]]) -> tuple[_T, ...]:
    return tuple(item for line in lines for item in line)
