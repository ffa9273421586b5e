"""The arguments and options that several commands share."""

from typing import Annotated, Literal

import typer

from scheduler.console import NARROWEST, PIPED

JobFile = Annotated[
    str, typer.Argument(metavar="JOB", help="The job file (YAML); - reads it from a pipe.")
]
JobFiles = Annotated[
    list[str],
    typer.Argument(
        metavar="JOB...",
        help="The job file (YAML); - reads it from a pipe. Several are planned together.",
    ),
]
Others = Annotated[
    list[str] | None,
    typer.Option(
        "--with",
        metavar="FILE",
        help="Another job that shares people with this one: planned together; repeatable.",
    ),
]
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON for programs, and nothing else.")]
ForecastPath = Annotated[
    str | None,
    typer.Option(
        "--forecast",
        metavar="[ROOM=]FILE",
        help="The air to come: Open-Meteo JSON, EPW, or a table of a room's air.",
    ),
]
Outdoor = Annotated[
    bool, typer.Option("--outdoor", help="The table of --forecast is of the air outdoors.")
]
DayFirst = Annotated[
    Literal["yes", "no"] | None,
    typer.Option(help="Whether 3/2 in a table is the 3rd of February."),
]
Now = Annotated[
    str | None,
    typer.Option(metavar="TIME", help="What to take for the present moment, instead of the clock."),
]
Width = Annotated[
    int | None,
    typer.Option(
        metavar="N",
        min=NARROWEST,
        help=f"Columns of the text; else those of the terminal, or {PIPED} in a pipe.",
    ),
]
