"""The ways to do a task, and those of tasks that must be done by the same people."""

from collections.abc import Iterator, Mapping, Sequence

from scheduler.jobfile.form import JobEntry, TaskEntry
from scheduler.jobfile.names import Names
from scheduler.jobfile.values import WorkTime
from scheduler.jobfile.work import work
from scheduler.model import Person, Way
from scheduler.wording import crew, listed
from scheduler.yamlform.tree import Report, Text, quoted

Ways = Sequence[Way]


def made(
    entry: TaskEntry, own: WorkTime | None, who: Mapping[str, int], people: Mapping[str, Person]
) -> Way:
    """A way to do a task by so many of each; ``own`` is how long it takes that way."""
    usual = work(entry, who, people) if own is None else own.usual
    several = tuple((name, n) for name, n in who.items() if n > 1)
    return Way(usual, tuple(who), several, (own or entry.work).span)


class OneHand:
    """Tasks that are done by the same people as another one."""

    def __init__(
        self, form: JobEntry, people: Mapping[str, Person], names: Names, report: Report
    ) -> None:
        self.form, self.people, self.names, self.report = form, people, names, report
        self._same = dict(self._named())

    def _named(self) -> Iterator[tuple[str, str]]:
        """Each such task with the one that it names."""
        for key, entry in self.form.tasks.items():
            word = entry.same_person_as
            other = self.names.name(word, self.form.tasks, "task", "tasks")
            if word is not None and other == key:
                words = f"{quoted(key)} is done by the same people as itself anyway"
                self.report.add(word.mark, f"{words}: name another task, or leave it out")
            elif other is not None:
                yield key, other

    def tied(self, ways: Mapping[str, Ways]) -> dict[str, tuple[Ways, str | None]]:
        """The ways of each task that leave it to the same people, and the first such task.

        They are in the order of that one's ``who``; only the work may differ.
        """
        tied: dict[str, tuple[Ways, str | None]] = {key: (own, None) for key, own in ways.items()}
        for first, others in self._groups().items():
            left = ways[first]
            if not left:
                self._nobody(first, others[0])
                continue
            mine = {key: ways[key] or self._anybody(key, left) for key in others}
            for key in others:
                shared = [way for way in left if _by(way, mine[key])]
                if not shared:
                    self._apart(key, first, mine[key], left)
                left = shared or left
            tied[first] = left, None
            tied |= {key: (_like(left, mine[key]), first) for key in others}
        return tied

    def _groups(self) -> dict[str, list[str]]:
        """By the first task, which names none, those that lead to it; rings are reported."""
        groups: dict[str, list[str]] = {}
        ringed: set[str] = set()
        for key in self._same:
            way = [key]
            while way[-1] in self._same and self._same[way[-1]] not in way:
                way.append(self._same[way[-1]])
            if way[-1] not in self._same:
                groups.setdefault(way[-1], []).append(key)
            elif self._same[way[-1]] == key and ringed.isdisjoint(way):
                ringed |= {*way}
                ring = " -> ".join([*way, key])
                words = f"'same_person_as' goes in a ring: {ring}; leave it out at one of these"
                self.report.add(self._word(key).mark, words)
        return groups

    def _word(self, key: str) -> Text:
        word = self.form.tasks[key].same_person_as
        assert word is not None  # it names another task
        return word

    def _anybody(self, key: str, ways: Ways) -> Ways:
        """The ways of a task that says nothing of its own: by whoever may do the other."""
        entry = self.form.tasks[key]
        return [made(entry, None, way.hands, self.people) for way in ways]

    def _nobody(self, first: str, other: str) -> None:
        if not self.form.tasks[first].has("who"):
            words = f"{quoted(first)} has no 'who': nobody does it, so nobody can be the same"
            self.report.add(self._word(other).mark, words)

    def _apart(self, key: str, first: str, mine: Ways, theirs: Ways) -> None:
        if self.report.problems:
            return  # somebody may be missing who is only misspelt
        self.report.add(
            self._word(key).mark,
            f"nobody may do both: {quoted(first)} is done by {_in_words(theirs)}, {quoted(key)} by"
            f" {_in_words(mine)}",
        )


def _by(way: Way, ways: Ways) -> Way | None:
    """The way by the same hands."""
    return next((other for other in ways if other.hands == way.hands), None)


def _like(left: Ways, mine: Ways) -> list[Way]:
    """A task's own ways, those by the hands of others and in their order."""
    pairs = ((way, _by(way, mine)) for way in left)
    return [Way(own.work, way.who, way.several, own.work_range) for way, own in pairs if own]


def _in_words(ways: Ways) -> str:
    return " or ".join(listed(crew(way.hands)) for way in ways)
