"""What a line of a log says, as a person on site would say it."""

from scheduler.log.lines import Line, Said, Undone, Unread
from scheduler.model import Event, Job, Reading
from scheduler.quantities import show_humidity, show_temperature
from scheduler.wording import GLUE, dated, moment


def on_site(minute: int, zone: str) -> str:
    """A moment with its day and year, for a message that nobody wraps.

    >>> on_site(29993640, "UTC")
    'Sun 10 Jan 2027 22:00'
    """
    return moment(minute, zone).replace(GLUE, " ")


def named(job: Job, of: str) -> str:
    """What a task is called, with its id where the two differ much; a product's id."""
    return f"'{job.task[of].name or of}'" if of in job.task else f"'{of}'"


def in_words(job: Job, line: Line) -> str:
    """What a line says, with its time.

    >>> from scheduler.jobfile import parse
    >>> from scheduler.log.lines import read_line
    >>> job = parse(b"{job: J, timezone: UTC, start: 2027-01-09, tasks: {pan: {name: Set the pan,"
    ...     b" work: 2 h}}}", "job.yaml")
    >>> in_words(job, read_line("2027-01-09T12:00:04Z done pan at 2027-01-09T11:30Z")).replace(
    ...     GLUE, " ")
    "'Set the pan' done Sat 9 Jan 11:30"
    """
    return f"{what(job, line.said)} {_times(job, line.said)}"


def what(job: Job, said: Said) -> str:
    """What a line says, without its time."""
    match said:
        case Event(kind="delivered", of=of):
            return f"{of} delivered"
        case Event(kind=kind, of=of):
            return f"{named(job, of)} {kind}"
        case Undone(of=of, delivery=delivery):
            return f"{of if delivery else named(job, of)} taken back"
        case Unread():
            return f"air of {place(said.room)} taken back"
        case Reading():
            return f"air of {place(said.room)}: {state(job, said)},"


def place(room: str | None) -> str:
    """Where a reading was taken."""
    return "the job" if room is None else f"the {room}"


def state(job: Job, reading: Reading) -> str:
    """What an instrument showed, in the job's units."""
    warm, damp = reading.temperature, reading.humidity
    shown = [] if warm is None else [show_temperature(warm, job.units).replace(" ", GLUE)]
    return " and ".join(
        [*shown, *([] if damp is None else [show_humidity(damp).replace(" ", GLUE)])]
    )


def _times(job: Job, said: Said) -> str:
    if isinstance(said, Unread) and said.first != said.last:
        return f"from {dated(said.first, job.timezone)} to {dated(said.last, job.timezone)}"
    return dated(said.last if isinstance(said, Unread) else said.at, job.timezone)
