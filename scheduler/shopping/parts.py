"""Which part of a job a task is, for what the part costs: ``data/parts.yaml``."""
# ruff: noqa: RUF009 (key() makes a field of a dataclass, as dataclasses.field() does)

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from scheduler.catalogue import classes
from scheduler.datafile import read
from scheduler.errors import BadFile, Problem, did_you_mean
from scheduler.model import Job, Task
from scheduler.rates import rates
from scheduler.resources import data
from scheduler.yamlform.amounts import LINE
from scheduler.yamlform.fields import Many
from scheduler.yamlform.forms import Entry, Form, key

Part = Literal["waterproofing", "tile-work", "other"]


@dataclass(frozen=True)
class _Part(Entry):
    rates: tuple[str, ...] = key(Many(LINE), "Kinds of work.", (), required="kinds of work")
    classes: tuple[str, ...] = key(Many(LINE), "Classes.", (), required="product classes")


_PART = Form(_Part, "{rates: [wall-tile], classes: [thinset]}")


@dataclass(frozen=True)
class _File(Entry):
    waterproofing: _Part = key(_PART, "Waterproofing.", _Part(), required=_PART.like)
    tile_work: _Part = key(_PART, "The rest of tile work.", _Part(), required=_PART.like)


@lru_cache(maxsize=1)
def _parts() -> tuple[tuple[Part, _Part], ...]:
    text = (data() / "parts.yaml").read_text(encoding="utf-8")
    said = read(text, "parts.yaml", Form(_File, "parts"))
    parts: tuple[tuple[Part, _Part], ...] = (
        ("waterproofing", said.waterproofing),
        ("tile-work", said.tile_work),
    )
    if problems := [problem for _, part in parts for problem in _unknown(part)]:
        raise BadFile(problems)
    return parts


def _unknown(part: _Part) -> list[Problem]:
    """Words that are no rate or class."""
    pairs = [
        *((word, rates()) for word in part.rates),
        *((word, classes()) for word in part.classes),
    ]
    return [
        Problem("parts.yaml", *part.where, f"unknown '{word}'{did_you_mean(word, known)}")
        for word, known in pairs
        if word not in known
    ]


def part_of(job: Job, task: Task) -> Part:
    """The part that a task is: by its kind of work, else by what it applies."""
    product = job.product_of(task)
    for name, part in _parts():
        if task.rate is not None and task.rate in part.rates:
            return name
    if task.rate is None and product is not None:
        for name, part in _parts():
            if product.class_name in part.classes:
                return name
    return "other"
