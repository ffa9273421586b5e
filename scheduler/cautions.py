"""Where work can hurt people: cautions, on the day on which they matter. ``data/cautions.yaml``.

They defer to the label, the local code and the licensed trade; codes differ by place and year.
"""
# ruff: noqa: RUF009 (key() makes a field of a dataclass, as dataclasses.field() does)

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from scheduler import quantities
from scheduler.air import coldest
from scheduler.catalogue import classes
from scheduler.datafile import NUMBER, read
from scheduler.errors import BadFile, Problem, did_you_mean
from scheduler.model import Basis, Job, Plan, Task
from scheduler.rates import rates
from scheduler.resources import data
from scheduler.yamlform.amounts import LINE
from scheduler.yamlform.fields import TEXT, Choice, Many, Value, YesNo
from scheduler.yamlform.forms import Entry, Form, Id, Table, key

_KNOWN: tuple[Basis, ...] = ("published", "common practice", "from memory")
_TEMPERATURE = Value("a temperature such as 60 F or 16 C", quantities.temperature, TEXT)
_WORD = re.compile(r"[^\W_]+")


@dataclass(frozen=True)
class When(Entry):
    """What brings a caution up; any of it does."""

    rates: tuple[str, ...] = key(Many(LINE), "Kinds of work.", ())
    classes: tuple[str, ...] = key(Many(LINE), "What is applied.", ())
    words: tuple[str, ...] = key(Many(LINE), "Words in the task's id or name.", ())
    dusty: bool = key(YesNo(), "Dusty work.", False)
    hold: bool = key(YesNo(), "A hold point.", False)
    flood: bool = key(YesNo(), "A wait until something may be flooded.", False)
    colder_than: float | None = key(_TEMPERATURE, "A room that gets colder, for a product.", None)


_WHEN = Form(When, "{rates: [wall-tile], dusty: yes}")


@dataclass(frozen=True)
class Caution(Entry):
    """A caution.

    Args:
        title: what it is about.
        says: what to do.
        reference: where it is from.
        basis: whether the reference was read, is common practice or from memory.
        when: what brings it up.
        built_before: houses from this year on are free of it; None where the year says nothing.
        ahead: whether it must be settled before the work, so that it stands on the first day.
    """

    title: str = key(LINE, "What it is about.", "", required="what it is about")
    says: str = key(LINE, "What to do.", "", required="what to do")
    reference: str = key(LINE, "Where it is from.", "", required="where it is from")
    basis: Basis = key(
        Choice[Basis]({basis: basis for basis in _KNOWN}), "What kind of knowledge.", _KNOWN[1],
        required=" or ".join(_KNOWN),
    )  # fmt: skip
    when: When = key(_WHEN, "What brings it up.", When(), required=_WHEN.like)
    built_before: float | None = key(NUMBER, "Houses from this year on are free of it.", None)
    ahead: bool = key(YesNo(), "Whether it must be settled before the work.", False)


@dataclass(frozen=True)
class _File(Entry):
    cautions: dict[str, Caution] = key(
        Table("caution", "cautions", Form(Caution, "title, says, reference"), Caution(),
              "A caution.", Id("caution"), least=1),
        "Cautions by name.", {}, required="cautions",
    )  # fmt: skip


@dataclass(frozen=True)
class Due:
    """A caution and where it is told.

    Args:
        name: its key in the file.
        caution: what it says.
        task: the task with which it is told: the first that brings it up, or the first of all
            where it must be settled before.
        minute: when that starts [UTC minute].
        built: the year of the house, where that is what brings it up.
    """

    name: str
    caution: Caution
    task: str
    minute: int
    built: int | None = None

    def text(self) -> str:
        """E.g. ``Lead paint (house built 1962): ... (40 CFR 745 Subpart E)``."""
        house = f" (house built {self.built})" if self.built else ""
        return f"{self.caution.title}{house}: {self.caution.says} ({self.caution.reference})"


@lru_cache(maxsize=1)
def cautions() -> Mapping[str, Caution]:
    """The cautions that come with the program, in the order in which they are told."""
    return read_cautions((data() / "cautions.yaml").read_text(encoding="utf-8"), "cautions.yaml")


def read_cautions(text: str, file: str) -> Mapping[str, Caution]:
    """The cautions of a file; ``BadFile`` with everything wrong in it."""
    said = read(text, file, Form(_File, "cautions")).cautions
    if problems := [problem for each in said.values() for problem in _unknown(each, file)]:
        raise BadFile(problems)
    return said


def _unknown(caution: Caution, file: str) -> list[Problem]:
    """Words that are no kind of work or no class."""
    when = caution.when
    pairs = [*((w, rates()) for w in when.rates), *((w, classes()) for w in when.classes)]
    return [
        Problem(file, *when.where, f"unknown '{word}'{did_you_mean(word, known)}")
        for word, known in pairs
        if word not in known
    ]


def cautions_due(job: Job, plan: Plan) -> tuple[Due, ...]:
    """The cautions of a plan, each once: on the day of the first task that brings it up.

    What must be settled before the work is told with the first task of the plan instead.
    """
    found = (_first(job, plan, name, caution) for name, caution in cautions().items())
    return tuple(each for each in found if each)


def _first(job: Job, plan: Plan, name: str, caution: Caution) -> Due | None:
    if caution.built_before is not None and job.built and job.built >= caution.built_before:
        return None
    tasks = [task for task in job.tasks if _brings_up(job, task, caution.when)]
    if not tasks:
        return None
    told = min(job.tasks if caution.ahead else tasks, key=lambda task: plan.task[task.id].start)
    built = job.built if caution.built_before else None
    return Due(name, caution, told.id, plan.task[told.id].start, built)


def _brings_up(job: Job, task: Task, when: When) -> bool:
    product = job.product_of(task)
    return (
        (task.rate in when.rates)
        or (product is not None and product.class_name in when.classes)
        or bool(_words(task) & {*when.words})
        or (task.dusty and when.dusty)
        or (task.hold and when.hold)
        or (when.flood and any(link.stage == "flood" for link in task.after))
        or (when.colder_than is not None and product is not None and _cold(job, task, when))
    )


def _words(task: Task) -> set[str]:
    return set(_WORD.findall(f"{task.id} {task.name}".lower()))


def _cold(job: Job, task: Task, when: When) -> bool:
    """Whether the room gets so cold that somebody will want to heat it."""
    air = job.air_of(task.room)
    return when.colder_than is not None and coldest(air, job.now) < when.colder_than
