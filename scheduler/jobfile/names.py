"""Looking up what the words of a job file name."""

from collections.abc import Collection

from scheduler.jobfile.form import JobEntry
from scheduler.yamlform.tree import Report, Text, quoted, shortened


class Names:
    """Looks up words among ids; what is not there is reported, with what there is instead."""

    def __init__(self, form: JobEntry, report: Report) -> None:
        self.form = form
        self.report = report

    def name(
        self, word: Text | None, known: Collection[str], what: str, *sections: str
    ) -> str | None:
        """The id that a word names, if it is one; where ids couldn't be read, any word may be."""
        if word is None or not self.form.unread.isdisjoint(sections):
            return None
        return word.value if self.known(word, known, what) else None

    def known(self, word: Text, known: Collection[str], what: str) -> bool:
        """Whether there is such a thing; reported if not."""
        if word.value in known:
            return True
        hint = self.report.near(word.value, known)
        if "," in word.value:
            hint = "; several go in a list: [a, b]"
        elif not known:
            hint = "; there are none in the file"
        elif not hint and len(known) <= 30:
            hint = f"; known: {', '.join(map(shortened, known))}"
        self.report.add(word.mark, f"unknown {what} {quoted(word.value)}{hint}")
        return False
