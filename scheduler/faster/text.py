"""What would bring a job forward, as plain text."""

from collections.abc import Iterable, Iterator

from scheduler.faster.figures import figures
from scheduler.faster.lever import Declined
from scheduler.faster.price import Price
from scheduler.faster.trying import Faster, Outcome
from scheduler.layout import Entry, Section, laid_out
from scheduler.model import Job
from scheduler.wording import counted, duration, glued, listed, moment, tidy

_LEAST_WIDTH = 20  # columns
_MOST_PAIRS = 5  # told; JSON has them all


def faster_text(job: Job, found: Faster, width: int) -> str:
    """What was found as text of at most ``width`` columns, times in the job's zone."""
    show = _Show(job, found)
    sections = (
        Section(f"{tidy(job.name)}: what would bring it forward", tuple(show.head())),
        Section("WHAT WINS TIME", tuple(show.won(each for each in found.alone if each.won))),
        Section("TWO TOGETHER", tuple(show.won(found.pairs[:_MOST_PAIRS]))),
        Section(
            "WHAT SAVES VISITS ONLY", tuple(show.won(each for each in found.alone if not each.won))
        ),
        Section("WHAT WINS NOTHING", tuple(show.nothing(each) for each in found.nothing)),
        Section("NOT TRIED", tuple(_declined(each) for each in found.declined)),
        Section("BEFORE YOU DO ANY OF IT", tuple(_cautions(found))),
    )
    return laid_out((s for s in sections if s.entries), max(width, _LEAST_WIDTH))


class _Show:
    """Words for outcomes, in the job's zone and currency."""

    def __init__(self, job: Job, found: Faster) -> None:
        self.job, self.found = job, found

    def head(self) -> Iterator[Entry]:
        """The plan as it is, and how much was tried."""
        plan = self.found.plan
        yield Entry("now", f"finishes {self._when(plan.finish)}, {counted(plan.visits, 'visit')}")
        tried = counted(self.found.tried, "change")
        pairs = f" and {counted(self.found.tried_pairs, 'pair')}" if self.found.tried_pairs else ""
        yield Entry("tried", f"{tried}{pairs}, each a job of its own")
        if not self.found.alone:
            yield Entry("", "None of them brings the finish forward.")

    def won(self, outcomes: Iterable[Outcome]) -> Iterator[Entry]:
        """Levers that help, each with what it wins, why and for what money."""
        for each in outcomes:
            label = duration(each.won) if each.won else "same finish"
            yield Entry(label, self._says(each), (*self._details(each),))

    def _says(self, outcome: Outcome) -> str:
        return " + ".join(lever.says for lever in outcome.levers)

    def _details(self, outcome: Outcome) -> Iterator[str]:
        assert outcome.plan is not None  # it helps
        yield f"Finishes {self._when(outcome.plan.finish)}{self._visits(outcome)}."
        if outcome.open:
            yield "Not proven: it may win more."
        if len(outcome.levers) == 1:
            yield from outcome.why
        yield self._cost(outcome.price)

    def _visits(self, outcome: Outcome) -> str:
        if not outcome.visits:
            return ""
        words = "fewer" if outcome.visits > 0 else "more"
        number = abs(outcome.visits)
        return f", {number} {words} {'visit' if number == 1 else 'visits'}"

    def _cost(self, price: Price) -> str:
        if price.more is None:
            return (
                f"Cost not known, for want of a price of {listed(price.unknown)}{_energy(price)}."
            )
        if not price.more:
            return "Costs nothing more at the prices in the file."
        words = "more" if price.more > 0 else "less"
        money = glued(f"{abs(price.more):.2f} {self.job.currency}".strip())
        return f"Costs {money} {words} at the prices in the file."

    def nothing(self, outcome: Outcome) -> Entry:
        """A lever that does not help, and why."""
        return Entry("", self._says(outcome), tuple(outcome.why))

    def _when(self, minute: int) -> str:
        return moment(minute, self.job.timezone, ends=True)


def _energy(price: Price) -> str:
    return f" (at most {glued(f'{price.energy} kWh')})" if price.energy else ""


def _declined(declined: Declined) -> Entry:
    return Entry("", f"{declined.says}: {declined.why}.")


def _cautions(found: Faster) -> Iterator[Entry]:
    """What is to be minded with the levers told, each thing once."""
    told = (lever for each in (*found.alone, *found.pairs) for lever in each.levers)
    named = {name for lever in told for name in lever.cautions}
    for name, words in figures().cautions.said().items():
        if name in named:
            yield Entry("", words)
    if named:
        yield Entry("", "Labels, local codes and licensed trades win over all of this.")
