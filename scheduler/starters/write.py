"""A job file from answers: plain YAML with comments, which belongs to its owner from then on."""

from collections.abc import Callable, Iterable, Iterator
from functools import partial
from math import ceil

from scheduler.catalogue import classes
from scheduler.errors import BadInput
from scheduler.model import ALWAYS, Measure
from scheduler.quantities import Units, duration, show_duration
from scheduler.rates import rates
from scheduler.starters.answers import Answers, Hours
from scheduler.starters.draft import Draft, DraftTask, draft
from scheduler.starters.facts import Facts
from scheduler.starters.files import LinkPart, ProductPart, RatedWork, shared
from scheduler.starters.read import asked
from scheduler.starters.sizes import sizes
from scheduler.starters.yamltext import WIDTH, comment, folded, heading, items, line, scalar

_TITLES = {
    "plumber": "licensed",
    "electrician": "licensed",
    "inspector": "comes to look; ask yours when",
}
_IMPERIAL = {"m2": (0.09290304, 0, "sq ft"), "m": (0.3048, 0, "ft"), "kg": (0.45359237, 0, "lb")}
_METRIC = {"m2": (1.0, 1, "m2"), "m": (1.0, 1, "m"), "kg": (1.0, 0, "kg")}
_MORE_DIGITS = 4


def write(answers: Answers) -> str:
    """The text of the job file that the answers ask for.

    Raises:
        BadInput: work that must go on in one go is longer than anybody's hours.
    """
    made = draft(answers)
    writer = _Writer(made)
    sections = (writer.head(), writer.people(), writer.places(), writer.tasks())
    return "\n".join(text for section in sections for text in section) + "\n"


class _Writer:
    """Writes a draft, section by section, each as lines."""

    def __init__(self, made: Draft) -> None:
        self.made = made
        self.answers = made.answers
        self.facts = Facts(made.answers)
        self.sizes = sizes(made.answers)

    # ------------------------------------------------------------------------- the job itself

    def head(self) -> Iterator[str]:
        """Comments, and the keys of the job."""
        yield comment(0, f"{self.made.starter.title}: {self.made.starter.says}.")
        yield "#"
        yield "#     thenwait plan THIS-FILE"
        for saying in shared().preamble:
            if self.facts.hold(saying.when):
                yield "#"
                yield comment(0, self.facts.filled(saying.says))
        yield "#"
        yield from self._written_from()
        yield ""
        yield from self._job()

    def _written_from(self) -> Iterator[str]:
        """The answers: without the #, they are an answers file."""
        yield "# Written from these answers:"
        written = self.answers.written
        yield from (
            f"#   {key}: {written[key]}" for key in asked(self.made.starter) if key in written
        )

    def _job(self) -> Iterator[str]:
        answers = self.answers
        yield line(0, "job", scalar(answers.job))
        yield line(0, "timezone", answers.timezone)
        yield line(0, "start", answers.start.text if answers.start else "", "nothing before it")
        yield line(0, "units", answers.units, "how results are shown; any unit may be typed")
        if answers.year_built:
            yield line(0, "built", str(answers.year_built.value))
        if air := self._air():
            yield line(0, "air", air, "the room's, day and night")
        yield ""

    def _air(self) -> str:
        answers = self.answers
        given = [("temperature", answers.temperature), ("humidity", answers.humidity)]
        parts = [f"{key}: {said.text}" for key, said in given if said]
        return f"{{{', '.join(parts)}}}" if parts else ""

    def people(self) -> Iterator[str]:
        """Who works."""
        yield "people:"
        for person in self.made.people:
            yield line(2, person, "", _TITLES.get(person, ""))
            hours = self._hours(person)
            yield line(4, "hours", _listed([each.text for each in hours]))
            if person == "me":
                yield line(4, "skill", self.answers.skill, "beginner, handy or trade")
            elif person != "inspector":
                yield line(4, "skill", "trade")
            if person == "me" and self.answers.away:
                yield line(4, "away", items(each.text for each in self.answers.away))
        yield ""

    def _hours(self, person: str) -> Hours:
        return self.answers.hours if person == "me" else self.answers.trade_hours

    def places(self) -> Iterator[str]:
        """Rooms and products."""
        yield "rooms:"
        yield from (f"  {room}: {{}}" for room in self.made.rooms)
        yield ""
        yield "products:"
        for id_, part in self.made.products.items():
            yield from self._product(id_, part)
        yield ""

    def _product(self, id_: str, part: ProductPart) -> Iterator[str]:
        keys = {"class": part.class_, "label": part.label, "thickness": part.thickness,
                "use": part.use}  # fmt: skip
        said = {key: self.facts.filled(text) for key, text in keys.items() if text}
        beside = self.facts.filled(part.comment)
        inside = ", ".join(f"{key}: {text}" for key, text in said.items())
        if len(inside) < 75 and not part.example:
            yield line(2, id_, f"{{{inside}}}", beside)
            return
        if beside:
            yield comment(2, beside)
        yield f"  {id_}:"
        yield from (f"    {key}: {text}" for key, text in said.items())
        if part.example:
            yield f"    # {self.facts.filled(part.example)}"

    # ------------------------------------------------------------------------------- the tasks

    def tasks(self) -> Iterator[str]:
        """All tasks, under their headings."""
        yield "tasks:"
        for number, section in enumerate(self.made.sections):
            if number:
                yield ""
            yield heading(2, section.heading)
            for task in section.tasks:
                yield from self._task(task)

    def _task(self, task: DraftTask) -> Iterator[str]:
        part = task.part
        yield f"  {task.id}:"
        yield line(4, "name", scalar(self.facts.filled(part.name)))
        if part.who:
            yield self._key(task, "who", part.who)
        if part.room:
            yield self._key(task, "room", self.made.starter.rooms[part.room])
        yield from self._work(task)
        if part.applies:
            yield self._key(task, "applies", part.applies)
        if part.uses:
            yield self._key(task, "uses", self._uses(task))
        yield from self._flags(task)
        yield from self._after(task)
        if part.notes:
            yield folded(4, "notes", self.facts.filled(part.notes))

    def _key(self, task: DraftTask, key: str, value: str) -> str:
        said = task.part.beside.get(key, ())
        return line(4, key, value, self.facts.filled(" ".join(said)))

    def _work(self, task: DraftTask) -> Iterator[str]:
        work = task.part.work
        if isinstance(work, RatedWork):
            quantity = shown(self.sizes[work.of], self.answers.units, self._time(task, work))
            yield self._key(task, "quantity", quantity)
            yield line(4, "rate", self.facts.filled(work.rate))
        else:
            yield self._key(task, "work", work)

    def _uses(self, task: DraftTask) -> str:
        inside = (
            f"{id_}: {shown(self.sizes[size], self.answers.units)}"
            for id_, (size,) in task.part.uses.items()
        )
        return f"{{{', '.join(inside)}}}"

    def _flags(self, task: DraftTask) -> Iterator[str]:
        part = task.part
        if stop := self._stop(task):
            yield line(4, "split", "yes", stop)
        elif part.split is not None:
            yield self._key(task, "split", "yes" if part.split else "no")
        if part.dusty:
            yield self._key(task, "dusty", "yes")
        if part.hold:
            yield self._key(task, "hold", "yes")

    def _after(self, task: DraftTask) -> Iterator[str]:
        if not task.after:
            return
        if task.part.comment:
            yield comment(4, self.facts.filled(task.part.comment))
        short = self._key(task, "after", _links(task.after))
        if all(len(text) <= WIDTH for text in short.splitlines()):
            yield short
            return
        yield self._key(task, "after", "")
        yield from (f"      - {_link(link)}" for link in task.after)

    # -------------------------------------------------------------------------- work in one go

    def _stop(self, task: DraftTask) -> str:
        """Where work that should go on in one go is left, if it is longer than anybody's hours."""
        work, longest = self._minutes(task), _longest(self._hours(task.part.who))
        if not task.part.who or not self._in_one_go(task) or longest is None or work <= longest:
            return ""
        if task.part.may_stop:
            return f"too much for one go, stop {task.part.may_stop}"
        raise BadInput(
            f"'{self.facts.filled(task.part.name)}' takes {show_duration(work)} and must go on in "
            f"one go, but {task.part.who} has {show_duration(longest)} at most: give longer hours"
        )

    def _in_one_go(self, task: DraftTask) -> bool:
        product = self.made.products.get(task.part.applies)
        return task.part.split is False or bool(product and classes()[product.class_].one_go)

    def _minutes(self, task: DraftTask) -> int:
        work = task.part.work
        if not isinstance(work, RatedWork):
            return duration(work)
        return self._time(task, work)(self.sizes[work.of].size)

    def _time(self, task: DraftTask, work: RatedWork) -> Callable[[float], int]:
        """The minutes that a size of the work takes whoever does it."""
        skill = self.answers.skill if task.part.who == "me" else "trade"
        return partial(rates()[self.facts.filled(work.rate)].minutes, skill=skill)


def _longest(hours: Hours) -> int | None:
    """The longest window of some hours [min]; None for round the clock."""
    windows = [window for each in hours for window in each.value]
    if any(window in ALWAYS for window in windows):
        return None
    return max((w.end - w.start) % 1440 or 1440 for w in windows)


def _listed(texts: list[str]) -> str:
    return scalar(texts[0]) if len(texts) == 1 else items(texts)


def _links(links: Iterable[LinkPart]) -> str:
    """What a task waits for, on one line."""
    links = tuple(links)
    if len(links) == 1 and _by_stage(links[0]):
        return f"{{{links[0].task}: {links[0].stage}}}"
    return f"[{', '.join(map(_link, links))}]"


def _by_stage(link: LinkPart) -> bool:
    return bool(link.stage) and not link.wait and not link.within


def _link(link: LinkPart) -> str:
    keys = {"stage": link.stage, "wait": link.wait, "within": link.within}
    said = [f"{key}: {text}" for key, text in keys.items() if text]
    return f"{{task: {link.task}, {', '.join(said)}}}" if said else link.task


def shown(size: Measure, units: Units, same: Callable[[float], object] = lambda size: 0) -> str:
    """How much, in as few digits as ``same`` makes the same of, and no fewer than usual.

    >>> shown(Measure(9.676, "m2"), "imperial"), shown(Measure(10.54, "m"), "metric")
    ('104 sq ft', '10.5 m')
    """
    table = _IMPERIAL if units == "imperial" else _METRIC
    one, digits, word = table.get(size.unit, (1.0, 0, size.unit))
    for more in range(_MORE_DIGITS):
        rounded = round(size.size / one, digits + more)
        if rounded and same(rounded * one) == same(size.size):
            break
    else:
        rounded = ceil(size.size / one * 10**digits) / 10**digits
    return f"{rounded:g} {word}"
