"""What is told where no plan is possible: why, then what would have to give."""

from collections.abc import Callable
from functools import wraps
from typing import Any

import typer

from scheduler.console import put, tell
from scheduler.errands import in_json
from scheduler.errors import NoPlan


def tell_stopped(stopped: NoPlan, *, as_json: bool = False) -> None:
    """Tell why there is no plan at once, and the ways out once they are found.

    Where a program asked, ``as_json``, both are on standard output, too.
    """
    from scheduler.wayout import no_plan_json, ways_out, ways_text

    tell(f"error: {stopped}")
    try:
        out = ways_out(stopped.site, stopped.conflict)
    except KeyboardInterrupt:
        tell("Stopped before it was found what would have to give.")
        return
    if text := ways_text(out):
        tell(text)
    if as_json:
        put(in_json(no_plan_json(stopped.site, stopped.conflict, out)))


def no_plan_in_json(command: Callable[..., None]) -> Callable[..., None]:
    """The command, which with ``--json`` answers in JSON where no plan is possible, too."""

    @wraps(command)
    def answering(*args: Any, as_json: bool = False, **options: Any) -> None:
        try:
            command(*args, as_json=as_json, **options)
        except NoPlan as stopped:
            if not as_json:
                raise
            tell_stopped(stopped, as_json=True)
            raise typer.Exit(stopped.exit_code) from None

    return answering
