"""Cells to temperatures [°C] and humidities [0..1]: units, missing words, nonsense, spikes."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduler.loggerfile.rows import COLDEST, DAMPEST, WARMEST, refused
from scheduler.wording import counted

Values = NDArray[np.float64]
Minutes = NDArray[np.int64]

_MISSING = frozenset(
    ("", "-", "--", "---", "nan", "null", "none", "n/a", "na", "err", "error", "ol", "ll", "hh",
     "fault", "sensor fault", "#n/a")
)  # fmt: skip
_FIGURE = re.compile(r"([-+]?[0-9]*[.,]?[0-9]+)\s*(?:°|º|deg)?\s*([cf]|%.*)?")
_FAHRENHEIT = re.compile(r"(?:°|º|deg\w*|[\[(_, ]|^) ?f(?:$|[\s\]),;])|fahrenheit|℉")
_CELSIUS = re.compile(r"(?:°|º|deg\w*|[\[(_, ]|^) ?c(?:$|[\s\]),;])|celsius|centigrade|℃")
_SURELY_FAHRENHEIT = 45.0
_HARDLY_CELSIUS = 32.0  # a room as warm as that, or as cold as 32 F: nobody can tell
_NEIGHBOURS = 7
_NEAR = 120  # minutes that the neighbours span at most; over more than that a room may move as far
_SPIKE = {"temperature": 5.0, "humidity": 0.20}
_DEVIATIONS = 6.0


@dataclass(frozen=True)
class Figures:
    """A column: not a number where nothing is known; what was left out and supposed."""

    values: Values
    notes: tuple[str, ...] = ()


def temperatures(cells: Sequence[str], heading: str, name: str, line: int) -> Figures:
    """Temperatures [°C] by the unit of the heading or of the cells, or by their size.

    Raises:
        BadFile: where no unit is named and the figures could be either.
    """
    values, unit, notes = _numbers(cells, "temperature")
    said = _unit_of(heading) or unit
    if not said and np.isfinite(values).any():
        said = _supposed_unit(float(np.nanmedian(values)), heading, name, line)
        words = "Fahrenheit" if said == "f" else "Celsius"
        notes += (f"temperatures name no unit: by their size they are taken as degrees {words}",)
    if said == "f":
        values = (values - 32) / 1.8
    return _bounded(values, COLDEST, WARMEST, "temperature", notes)


def humidities(cells: Sequence[str], heading: str) -> Figures:
    """Relative humidities [0..1], from per cent or from fractions."""
    values, _, notes = _numbers(cells, "humidity")
    if np.isfinite(values).any():
        if np.nanmax(values) <= 1:
            notes += (f"'{heading}' never goes above 1, so it is taken as a fraction",)
        else:
            values = values / 100
    found = _bounded(values, np.nextafter(0, 1), DAMPEST, "humidity", notes)
    return Figures(np.minimum(found.values, 1.0), found.notes)


def _unit_of(heading: str) -> str:
    lower = heading.lower()
    if _FAHRENHEIT.search(lower):
        return "f"
    return "c" if _CELSIUS.search(lower) else ""


def _supposed_unit(median: float, heading: str, name: str, line: int) -> str:
    if _HARDLY_CELSIUS < median <= _SURELY_FAHRENHEIT:
        raise refused(
            name,
            f"'{heading}' names no unit, and {median:g} could be C or F: write the unit into the "
            f"heading, such as '{heading} F'",
            max(line - 1, 1),
        )
    return "f" if median > _SURELY_FAHRENHEIT else "c"


def _numbers(cells: Sequence[str], what: str) -> tuple[Values, str, tuple[str, ...]]:
    """The figures, the unit that cells bring along, and what is missing or could not be read."""
    values = np.full(len(cells), np.nan)
    unit, unreadable = "", ""
    for i, cell in enumerate(cells):
        lower = cell.lower()
        if found := _FIGURE.fullmatch(lower):
            values[i] = float(found[1].replace(",", "."))
            unit = unit or (found[2] or "")[:1]
        elif lower not in _MISSING:
            unreadable = unreadable or cell
    lost = f", such as '{unreadable[:20]}', which is no figure" if unreadable else ""
    missing = int(np.isnan(values).sum())
    notes = (f"the {what} is missing in {counted(missing, 'line')}{lost}",) if missing else ()
    return values, unit.replace("%", ""), notes


def _bounded(
    values: Values, least: float, most: float, what: str, notes: tuple[str, ...]
) -> Figures:
    """Without what no air can be."""
    beyond = (values < least) | (values > most)
    if beyond.any():
        notes += (
            f"{counted(int(beyond.sum()), 'figure')} of {what} beyond what air can be left out",
        )
    return Figures(np.where(beyond, np.nan, values), notes)


def without_spikes(minutes: Minutes, figures: Figures, what: str) -> Figures:
    """Without single figures far from those around them.

    A figure is a spike that differs from the median of seven neighbours, itself among them, by more
    than 5 K or 20 % and by more than six times their median deviation. Only where the seven lie
    within two hours: a room can move as far in more.

    Args:
        minutes: rising UTC minutes.
        figures: at those.
        what: ``temperature`` or ``humidity``.
    """
    known = np.flatnonzero(np.isfinite(figures.values))
    if len(known) < _NEIGHBOURS:
        return figures
    values = figures.values[known]
    around = np.lib.stride_tricks.sliding_window_view(values, _NEIGHBOURS)
    centre = np.median(around, axis=1)
    scatter = np.median(np.abs(around - centre[:, None]), axis=1)
    span = minutes[known[_NEIGHBOURS - 1 :]] - minutes[known[: 1 - _NEIGHBOURS]]
    i = np.clip(np.arange(len(known)) - _NEIGHBOURS // 2, 0, len(centre) - 1)
    limit = np.maximum(_SPIKE[what], _DEVIATIONS * scatter[i])
    spikes = known[(np.abs(values - centre[i]) > limit) & (span[i] <= _NEAR)]
    if not spikes.size:
        return figures
    kept = figures.values.copy()
    kept[spikes] = np.nan
    note = f"{counted(len(spikes), 'spike')} of {what} left out, far from what was read around it"
    return Figures(kept, (*figures.notes, note))
