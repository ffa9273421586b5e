"""Which kind of forecast a file is, and what it says."""

from scheduler import loggerfile
from scheduler.forecast import epw, openmeteo
from scheduler.forecast.rows import Forecast
from scheduler.loggerfile.table import text_of


def read(  # noqa: PLR0913, PLR0917 (what a person may say of a file)
    content: bytes, name: str, zone: str, near: int, outdoor: bool = False,
    day_first: bool | None = None,
) -> Forecast:  # fmt: skip
    """What a file says of the air to come.

    Args:
        content: of the file: Open-Meteo JSON, EPW, or a table as loggers write them.
        name: of the file, for messages.
        zone: IANA name of the zone of times that name none.
        near: UTC minute from which on a typical year is laid out.
        outdoor: whether a table is of the air outdoors.
        day_first: whether 3/2 is the 3rd of February; None to find out from the file.

    Raises:
        BadFile: where it is none of these, with what would be right.
    """
    text = text_of(content, name)
    if text.lstrip()[:1] in "{[":
        return openmeteo.answer(text, name, zone)
    if text.startswith(epw.START):
        return epw.typical_year(text, name, near)
    preface = openmeteo.preface(text)
    table = loggerfile.read(content, name, preface.get("timezone", zone), day_first)
    return Forecast(table.rows, table.notes, outdoor or bool(preface))
