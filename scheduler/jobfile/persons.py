"""The people of a file, read."""

from scheduler.jobfile.peopleform import PersonEntry
from scheduler.model import Person


def person(key: str, entry: PersonEntry, crew: str = "") -> Person:
    """A person as the file has it; ``crew`` is the identity of a crew file."""
    return Person(
        id=key,
        hours=tuple(line for lines in entry.hours for line in lines),
        away=tuple(span for spans in entry.away for span in spans),
        count=entry.count,
        skill=entry.skill,
        pace=entry.pace,
        price_per_hour=entry.price_per_hour,
        crew=crew,
        notice=entry.notice,
        at_most=entry.at_most,
        visits_of=entry.visits_of,
        booked=tuple(window for windows in entry.booked for window in windows),
    )
