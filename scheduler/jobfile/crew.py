"""The crew file: the people that several jobs share, in the same form as in a job file."""

from collections.abc import Callable
from typing import NamedTuple

from scheduler.errors import BadFile
from scheduler.jobfile.form import JobEntry
from scheduler.jobfile.peopleform import CREW
from scheduler.jobfile.persons import person
from scheduler.model import Person
from scheduler.yamlform.fields import Place
from scheduler.yamlform.tree import TOP, Block, Node, Report, Text, Unreadable, quoted, tree


class CrewFile(NamedTuple):
    """A crew file as it was found.

    Args:
        content: its bytes, UTF-8.
        name: what it is called in messages.
        identity: the same for the same file, whichever job names it.
    """

    content: bytes
    name: str
    identity: str


Beside = Callable[[str], CrewFile]
"""Brings the file of a name that stands in a job file; OSError where it can't be read."""


def crew(form: JobEntry, report: Report, beside: Beside | None) -> dict[str, Person] | None:
    """The people of the crew file that a job names; None where it can't be read, which is reported.

    Raises:
        BadFile: the crew file itself is wrong; with what is wrong in the job so far.
    """
    named = form.people_from
    if named is None:
        return {}
    if beside is None:
        report.add(named.mark, "'people_from' needs a job file beside it; a pipe has none")
        return None
    try:
        file = beside(named.value)
    except OSError as error:
        why = error.strerror or error
        report.add(named.mark, f"the file {quoted(named.value)} can't be read: {why}")
        return None
    people = _people(file, report)
    for both in form.people.keys() & people.keys():
        words = f"{quoted(both)} is in {file.name} already: give one of them another id"
        report.add(form.people[both].where, words)
    return people


def is_crew(root: Node) -> bool:
    """Whether what should be a job is a sound crew file, with nothing of a job in it."""
    if not isinstance(root, Block) or [key.value for key, _ in root.pairs] != ["people"]:
        return False
    unheard = Report("", "crew file")
    try:
        CREW.read(root, Place("the crew file", TOP), unheard)
    except Unreadable:
        return False
    return not unheard.problems


def _people(file: CrewFile, report: Report) -> dict[str, Person]:
    own = Report(file.name, "crew file")
    try:
        root = tree(file.content, own)
        if isinstance(root, Text) and root.empty:
            own.add(TOP, "nothing in it: a crew file has people")
            raise Unreadable
        entry = CREW.read(root, Place("the crew file", TOP), own)
    except Unreadable:
        raise BadFile([*report.problems, *own.problems]) from None
    if own.problems:
        raise BadFile([*report.problems, *own.problems])
    return {key: person(key, each, file.identity) for key, each in entry.people.items()}
