"""The form of people, as they stand in a job file and in a crew file that several jobs share."""
# ruff: noqa: RUF009 (key() makes a field of a dataclass, as dataclasses.field() does)

from dataclasses import dataclass
from decimal import Decimal

from scheduler.jobfile import hourstext
from scheduler.jobfile.values import (
    AT_LEAST,
    AWAY,
    BOOKED,
    COUNT,
    HOURS,
    PACE,
    PRICE,
    RESERVED,
    SKILL,
    VISITS,
)
from scheduler.model import Away, Dated, Skill, Weekly
from scheduler.yamlform.amounts import DURATION
from scheduler.yamlform.fields import Many
from scheduler.yamlform.forms import Entry, Form, Id, Table, key


@dataclass(frozen=True)
class PersonEntry(Entry):
    """Somebody, or a trade."""

    hours: tuple[tuple[Weekly | Dated, ...], ...] = key(
        Many(HOURS, least=1),
        "When this person can work: one line or a list. Weekly (mon-fri 18:00-21:30, daily, "
        "weekdays, weekends), on a date (2027-01-14 8:00-12:00), or always. Times on local clocks; "
        "22:00-6:00 runs over midnight.",
        (),
        required=hourstext.HOURS_WORDS,
    )
    away: tuple[tuple[Away, ...], ...] = key(
        Many(AWAY),
        "When this person is away, whatever the hours say: a date, 2027-01-20..2027-01-22 (the "
        "last day included), or two dates with times.",
        (),
    )
    count: int = key(
        COUNT, "How many alike there are; a task takes one of them unless its `who` says more.", 1
    )
    skill: Skill = key(
        SKILL, "How used to the work, where a rate makes the work: handy if left out.", "handy"
    )
    pace: float = key(
        PACE, "A factor on the time that a rate gives: 1.6 takes 1.6 times as long.", 1.0
    )
    price_per_hour: Decimal | None = key(
        PRICE, "What an hour of work costs, in the job's currency.", None
    )
    notice: int = key(
        DURATION,
        "How long ahead this person must be booked, such as 3 d: what is not begun comes that long "
        "after now at the earliest, except in windows that are booked.",
        0,
    )
    booked: tuple[tuple[Dated, ...], ...] = key(
        Many(BOOKED),
        "Windows agreed with this person, such as 2027-01-14 8:00-12:00; one or a list. They are "
        "hours, too, and need no notice.",
        (),
    )
    at_most: int | None = key(
        VISITS,
        "The most days on which this person comes in this job, such as 2 visits; what is booked "
        "and still to come is among them, and so are the days of the log.",
        None,
    )
    visits_of: int = key(
        AT_LEAST,
        "The least work for this person on each day they come, such as 4 h at least; on the last "
        "day what is left.",
        0,
    )


PEOPLE = Table(
    "person", "people", Form(PersonEntry, "{hours: sat 9:00-17:00}"), PersonEntry(),
    "Somebody, or a trade.",
    Id("person", dict.fromkeys(RESERVED, "this word has a meaning of its own in 'who'")),
)  # fmt: skip


@dataclass(frozen=True)
class CrewEntry(Entry):
    """The people that several jobs share."""

    people: dict[str, PersonEntry] = key(
        PEOPLE, "Who works, by id.", {}, required="a block of people, each under an id"
    )


CREW = Form(CrewEntry, "people")
