"""The command line: its commands, their options, what they print, and the exit codes.

What the heavy libraries are needed for is imported inside the command that needs it: help and the
catalogue should not wait for a solver.
"""

from collections.abc import Sequence
from pathlib import Path
from typing import Annotated, Literal

import typer

from scheduler.amongjobs import planned_among
from scheduler.console import (
    PIPED,
    ask,
    at_terminal,
    give_up_stdout,
    put,
    read_file,
    talk,
    tell,
    text_width,
    zone_here,
)
from scheduler.errands import (
    ForecastFile,
    check_free,
    in_json,
    moment_of,
    present,
    put_job,
    share_of,
    write_table,
)
from scheduler.errors import BadFile, BadInput, NoPlan, ThenwaitError
from scheduler.fastercommand import faster
from scheduler.logcommand import log
from scheduler.oddscommand import odds
from scheduler.options import AsJson, DayFirst, ForecastPath, JobFile, Now, Others, Outdoor, Width
from scheduler.plancommand import plan
from scheduler.stopped import no_plan_in_json, tell_stopped
from scheduler.whycommand import why
from scheduler.wording import counted

VERSION = "0.1.0"
"""Of the distribution, too: pyproject.toml reads it here."""

NOT_YET = 3
"""The exit code of "no, not yet"."""

app = typer.Typer(
    help=(
        "Plans tile and bathroom work by the day, where most of the calendar is waiting for things "
        "to set, dry and cure.\n\n"
        "\b\n"
        "  thenwait new my-shower.yaml\n"
        "  thenwait plan examples/larch-row.yaml\n"
        "  thenwait plan examples/larch-row.yaml --ics larch-row.ics\n"
        '  thenwait ready examples/larch-row.yaml wall-tile --at "2027-01-23 9:00"\n'
        "  thenwait why examples/larch-row.yaml wall-tile\n"
        "  thenwait log my-shower.yaml coat-1 done\n"
        "  thenwait odds examples/larch-row.yaml\n"
        "  thenwait shopping examples/larch-row.yaml\n"
        "  thenwait faster examples/larch-row.yaml\n"
        "  thenwait products liquid-membrane"
    ),
    epilog=(
        "Exit codes: 0 done, or yes; 1 no plan is possible, or a file can't be read or written; "
        "2 wrong usage or a bad file; 3 no, not yet."
    ),
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a command and say in a sentence what went wrong, if anything did.

    Args:
        arguments: without the program's name; None for those it was started with.

    Returns:
        The exit code.
    """
    try:
        return _run(arguments)
    except NoPlan as stopped:
        tell_stopped(stopped)
        return stopped.exit_code
    except ThenwaitError as error:
        (tell if error.prose else talk)(_in_words(error))
        return error.exit_code
    except OSError as error:
        if error.filename is None:
            give_up_stdout()
        talk(f"error: {error.filename or 'standard output'}: {error.strerror or error}")
        return ThenwaitError.exit_code


def _run(arguments: Sequence[str] | None) -> int:
    """The exit code of a command; typer itself answers wrong usage, Ctrl-C and a closed pipe."""
    try:
        app(arguments, prog_name="thenwait", terminal_width=min(text_width(None), PIPED))
    except SystemExit as done:
        return done.code if isinstance(done.code, int) else 0
    return 0


def _in_words(error: ThenwaitError) -> str:
    if not isinstance(error, BadFile):
        return f"error: {error}"
    files = ", ".join(dict.fromkeys(problem.file for problem in error.problems))
    return f"{error}\nerror: {counted(len(error.problems), 'problem')} in {files}"


# ----------------------------------------------------------------------------- the commands


def _version(wanted: bool) -> None:
    if wanted:
        put(f"thenwait {VERSION}\n")
        raise typer.Exit


@app.callback()
def _options(
    version: Annotated[
        bool,
        typer.Option("--version", callback=_version, is_eager=True, help="Print the version."),
    ] = False,
) -> None:
    """What may stand before a command."""


@app.command(short_help="Write a job file from a few answers.")
def new(
    file: Annotated[
        str, typer.Argument(metavar="FILE", help="The job file to write; - prints it.")
    ],
    what: Annotated[
        str | None, typer.Option(metavar="STARTER", help="What to build, such as tiled-shower.")
    ] = None,
    answers: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Answers from a file, in YAML.")
    ] = None,
    sets: Annotated[
        list[str] | None,
        typer.Option("--set", metavar="KEY=TEXT", help="One answer, as 'width=5 ft'; repeatable."),
    ] = None,
    yes: Annotated[
        bool, typer.Option("--yes", "-y", help="Ask nothing: the usual answer to the rest.")
    ] = False,
    force: Annotated[bool, typer.Option("--force", help="Write over a file of that name.")] = False,
    now: Now = None,
) -> None:
    """Write a job file, ready to plan and to edit: asks on a terminal, or takes answers.

    Without a terminal, with --answers or with --yes nothing is asked.
    """
    from scheduler import starters

    check_free(file, force)
    zone = zone_here()
    supposed = starters.suppose(present(now, zone or "UTC"), zone)
    given = starters.options(sets or ()) | ({"what": what} if what else {})
    content = read_file(answers) if answers else None
    if content is None and not yes and at_terminal():
        given = starters.ask(given, supposed, ask, tell, text_width(None))
    put_job(file, starters.write(starters.read_answers(content, str(answers), given, supposed)))


app.command(short_help="What to do on which day, and why then.")(plan)


@app.command(short_help="Whether a task can start at a time.")
@no_plan_in_json
def ready(
    job: JobFile,
    task: Annotated[str, typer.Argument(metavar="TASK", help="The task's id in the job file.")],
    at: Annotated[str, typer.Option(metavar="TIME", help="When it would start.")],
    others: Others = None,
    sure: Annotated[
        str,
        typer.Option(metavar="SHARE", help="How sure a yes has to be, where something is logged."),
    ] = "95 %",
    as_json: AsJson = False,
    forecast: ForecastPath = None,
    outdoor: Outdoor = False,
    day_first: DayFirst = None,
    now: Now = None,
    width: Width = None,
) -> None:
    """Whether a task can start at a time, and why (exit code 0 for yes, 3 for not yet)."""
    from scheduler.asjson import ready_json
    from scheduler.ready import network_of, verdict_text
    from scheduler.ready import ready as answer

    share = share_of("--sure", sure)
    among = planned_among(job, others, now, ForecastFile(forecast, outdoor, day_first), task)
    read, made = among.job, among.plan
    moment = moment_of("--at", at, among.now, read.timezone)
    network = network_of(read, made)
    verdict = answer(read, network, made, task, moment, share, elsewhere=among.elsewhere)
    put(in_json(ready_json(verdict)) if as_json else verdict_text(read, verdict, text_width(width)))
    if not verdict.yes:
        raise typer.Exit(NOT_YET)


app.command(short_help="What holds a task, step by step back.")(why)


@app.command(short_help="What to buy, how much, and by when.")
@no_plan_in_json
def shopping(
    job: JobFile,
    others: Others = None,
    as_json: AsJson = False,
    csv: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Write the list as a table for spreadsheets (CSV), too."),
    ] = None,
    now: Now = None,
    width: Width = None,
) -> None:
    """List what a job takes: how much, in whole packs, for which task, needed and ordered by when.

    With prices in the file it says what the job costs, by product and by trade.
    """
    from scheduler import shopping as lists

    among = planned_among(job, others, now, ForecastFile(None))
    read, made, moment = among.job, among.plan, among.now
    bought = lists.shopping(read, made)
    cost = lists.costs(read, made, bought)
    note = write_table(csv, lists.shopping_csv(read, bought, made.timezone)) if csv else None
    if as_json:
        put(in_json(lists.shopping_json(read, made, bought, cost, moment)))
    else:
        put(lists.shopping_text(read, made, bought, cost, text_width(width), moment))
    if note:
        talk(note)


@app.command(short_help="The product classes and their times.")
def products(
    name: Annotated[
        str | None, typer.Argument(metavar="CLASS", help="All that is known of one class.")
    ] = None,
    as_json: AsJson = False,
    units: Annotated[
        Literal["metric", "imperial"], typer.Option(help="How the figures are shown.")
    ] = "metric",
    now: Now = None,
    width: Width = None,
) -> None:
    """List the product classes with their times, or all that is known of one."""
    from scheduler.products import products_json, products_text

    present(now, "UTC")
    try:
        text = (
            in_json(products_json(name))
            if as_json
            else products_text(name, text_width(width), units)
        )
    except ValueError as error:
        raise BadInput(str(error)) from None
    put(text)


@app.command(short_help="The JSON Schema of job files.")
def schema(now: Now = None) -> None:
    """Print the JSON Schema of job files, for editors that check while you type."""
    from scheduler.jobfile import schema as job_schema

    present(now, "UTC")
    put(in_json(job_schema()))


app.command(
    short_help="Write down what really happened.",
    context_settings={"ignore_unknown_options": True},  # -2 C is a temperature
)(log)
app.command(short_help="How sure the finish is, and what that hangs on.")(odds)

app.command(short_help="What would bring the finish forward.")(faster)
