"""What is uncertain, and by how much: ``data/odds.yaml``, read and checked."""
# ruff: noqa: RUF009 (key() makes a field of a dataclass, as dataclasses.field() does)

from dataclasses import dataclass
from functools import lru_cache

from scheduler import quantities
from scheduler.datafile import LIFE, SHARE, Sourced, above_zero, read
from scheduler.resources import data
from scheduler.yamlform.fields import TEXT, Value
from scheduler.yamlform.forms import Entry, Form, key

_KELVIN_WORDS = "a difference in temperature such as 1.5 C"
_KELVIN = Value(_KELVIN_WORDS, above_zero(quantities.temperature_difference, _KELVIN_WORDS), TEXT)
_SHARE = Value(SHARE.words, above_zero(SHARE.parse, SHARE.words), TEXT)
_DAYS = 48 * 60


@dataclass(frozen=True)
class Straying(Sourced):
    """How far a quantity of the air strays from what is supposed of it, and its readings from it.

    Args:
        strays: standard deviation of the air from what is supposed [K, or 0..1].
        fades: correlation time of that deviation [min].
        noise: standard deviation of an hour's reading, anew each time [K, or 0..1].
        bias: standard deviation of what a sensor is always off by [K, or 0..1].
    """

    strays: float = 0.0
    fades: int = _DAYS
    noise: float = 0.0
    bias: float = 0.0


@dataclass(frozen=True)
class _Temperature(Straying):
    strays: float = key(_KELVIN, "How far the air strays.", 1.0, required=_KELVIN_WORDS)
    fades: int = key(LIFE, "How long a deviation lasts.", _DAYS, required=LIFE.words)
    noise: float = key(_KELVIN, "What a reading is off by.", 1.0, required=_KELVIN_WORDS)
    bias: float = key(_KELVIN, "What a sensor is off by.", 1.0, required=_KELVIN_WORDS)


@dataclass(frozen=True)
class _Humidity(Straying):
    strays: float = key(_SHARE, "How far the air strays.", 0.01, required=SHARE.words)
    fades: int = key(LIFE, "How long a deviation lasts.", _DAYS, required=LIFE.words)
    noise: float = key(_SHARE, "What a reading is off by.", 0.01, required=SHARE.words)
    bias: float = key(_SHARE, "What a sensor is off by.", 0.01, required=SHARE.words)


_LIKE = "strays, fades, noise, bias"


@dataclass(frozen=True)
class StrayingAir(Entry):
    """How far the air of a room strays."""

    temperature: Straying = key(
        Form(_Temperature, _LIKE), "Of its temperature.", _Temperature(), required=_LIKE
    )
    humidity: Straying = key(
        Form(_Humidity, _LIKE), "Of its humidity.", _Humidity(), required=_LIKE
    )


@dataclass(frozen=True)
class Odds(Entry):
    """All that is uncertain."""

    air: StrayingAir = key(
        Form(StrayingAir, "temperature, humidity"), "The air of a room.", StrayingAir(),
        required="temperature, humidity",
    )  # fmt: skip


@lru_cache(maxsize=1)
def odds() -> Odds:
    """What is uncertain, as it comes with the program."""
    return read_odds((data() / "odds.yaml").read_text(encoding="utf-8"), "odds.yaml")


def read_odds(text: str, file: str) -> Odds:
    """What a file says is uncertain; ``BadFile`` with everything wrong in it."""
    return read(text, file, Form(Odds, "air"))
