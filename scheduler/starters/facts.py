"""What follows from the answers: the words that a ``when`` asks for, and those filled into texts.

Beside the answers themselves: ``known_air``, ``old`` (before 1990, or nobody knows), ``flood`` (the
pan is built and must hold water), ``flange`` (it comes with one), ``thick_underlay``, ``slow_tile``
and ``slow_floor_tile`` (large tile over a membrane dries to no side).
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from math import ceil
from typing import TypeVar

from scheduler.quantities import Units, show_length
from scheduler.starters.answers import ANSWERS, Answers
from scheduler.starters.files import ProductPart, Saying, When, shared, starters
from scheduler.starters.sizes import Takeoff
from scheduler.starters.values import Tile

SURELY_NEW = 1990
"""Houses from this year on; asbestos was sold well into the 1980s (from memory)."""

LARGE_TILE = 200.0
"""[mm] 8 x 8 in and larger: days before grout over a membrane (trade journal, read)."""

USUAL_UNDERLAY = 3.5
"""[mm] the class's times are for 1/8 in; a little more is no thick pour."""

HOURS_PER_STEP, STEP = 24, 3.175
"""A thick pour: 24 h for each 1/8 in; common practice, no published source."""

_SHOWN = 0.05
"""[mm] A size is shown to a tenth of a millimetre; that must not cost an hour: 1/4 in is 6.4 mm."""

_LB = 0.45359237  # kg
_LB_50, _LB_10 = 50 * _LB, 10 * _LB
_SQ_FT = 0.09290304  # m2
_EITHER = re.compile(r"\{([^{}|]*)\|([^{}|]*)\}")
_WORD = re.compile(r"\{([a-z_]+)\}")
_DEEPEST = 4  # sayings within sayings
_T = TypeVar("_T", Saying, ProductPart)


@dataclass(frozen=True)
class Facts:
    """The answers as words."""

    answers: Answers

    @cached_property
    def conditions(self) -> Mapping[str, str]:
        """What a ``when`` may ask for, by name; yes and no for what is or isn't."""
        return _answered(self.answers) | {
            name: "yes" if holds else "no" for name, holds in _derived(self.answers).items()
        }

    def hold(self, when: When) -> bool:
        """Whether all of it holds."""
        return all(self.conditions[name] in words for name, words in when.items())

    def first(self, entries: Iterable[_T]) -> _T | None:
        """The first entry whose ``when`` holds."""
        return next((entry for entry in entries if self.hold(entry.when)), None)

    def filled(self, text: str) -> str:
        """A text with its words filled in, in the job's units.

        Raises:
            KeyError: there is no such word.
        """
        for _ in range(_DEEPEST):
            text = _EITHER.sub(self._in_units, text)
            text = _WORD.sub(lambda found: self._word(found[1]), text)
        return _EITHER.sub(self._in_units, text)

    def _in_units(self, found: re.Match[str]) -> str:
        return found[1] if self.answers.units == "imperial" else found[2]

    def _word(self, name: str) -> str:
        if name in self._measured:
            return self._measured[name]
        saying = self.first(shared().words[name])
        return saying.says if saying else ""

    @cached_property
    def _measured(self) -> Mapping[str, str]:
        answers, made = self.answers, Takeoff(self.answers)
        hours = ceil(round((answers.thickness - _SHOWN) / STEP * HOURS_PER_STEP, 6))
        return {
            "thickness": show_length(answers.thickness, answers.units),
            "underlay_tile": f"{max(hours, HOURS_PER_STEP)} h",
            "underlay_use": _usage(made.underlay, _LB_50, answers.units),
            "thinset_use": _usage(made.mortar, _LB_50, answers.units),
            "floor_thinset_use": _usage(made.floor_mortar, _LB_50, answers.units),
            "grout_use": _usage(made.grout(answers.tile), _LB_10, answers.units),
            "floor_grout_use": _usage(made.grout(answers.floor_tile), _LB_10, answers.units),
        }


def _answered(answers: Answers) -> dict[str, str]:
    """The answers that are words, and yes or no."""
    values = {name: getattr(answers, field) for name, field in ANSWERS.names.items()}
    flags = {name: "yes" if v else "no" for name, v in values.items() if isinstance(v, bool)}
    return {name: v for name, v in values.items() if isinstance(v, str)} | flags


def _derived(answers: Answers) -> dict[str, bool]:
    walled = "wet" in starters()[answers.what].rooms
    return {
        "known_air": answers.temperature is not None and answers.humidity is not None,
        "old": answers.year_built is None or answers.year_built.value < SURELY_NEW,
        "flood": answers.pan != "ready",
        "flange": answers.pan == "ready",
        "thick_underlay": answers.thickness > USUAL_UNDERLAY,
        "slow_tile": walled and _large(answers.tile),
        "slow_floor_tile": answers.wet_floor and _large(answers.floor_tile),
    }


def _large(tile: Tile) -> bool:
    return min(tile) >= LARGE_TILE


def _usage(per_m2: float, pack: float, units: Units) -> str:
    """A usage [kg/m2] as bags of ``pack`` [kg] tell it, in the units of the job.

    >>> _usage(3.756, _LB_50, "metric"), _usage(3.756, _LB_50, "imperial")
    ('3.76 kg/m2', '65 sq ft per 50 lb')
    """
    if units == "metric":
        return f"{_digits(per_m2)} kg/m2"
    return f"{_digits(pack / per_m2 / _SQ_FT)} sq ft per {pack / _LB:.0f} lb"


def _digits(size: float) -> str:
    """Three digits that count, without an exponent.

    >>> _digits(1234.5), _digits(0.02837)
    ('1234', '0.0284')
    """
    return f"{size:.0f}" if size >= 100 else f"{size:.3g}"
