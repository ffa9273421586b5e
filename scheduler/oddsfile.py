"""What is uncertain, and by how much: ``data/odds.yaml``, read and checked."""
# ruff: noqa: RUF009 (key() makes a field of a dataclass, as dataclasses.field() does)

from dataclasses import dataclass
from functools import lru_cache

from scheduler import quantities
from scheduler.datafile import LIFE, NUMBER, SHARE, Sourced, above_zero, number, read
from scheduler.model import Skill
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


def _from_to(least: float, most: float, words: str) -> Value[float]:
    """A number of that range; ``words`` complete "must be"."""

    def parse(text: str) -> float:
        if not least <= (size := number(text)) <= most:
            raise ValueError(words)
        return size

    return Value(words, parse, TEXT)


_TINY = 1e-6
_SHORTEST = _from_to(_TINY, 1, "above 0 and at most 1, a share of the usual time")
_LONGEST = _from_to(1, 100, "1 or more, a share of the usual time")
_MEDIAN = _from_to(_TINY, 10, "above 0, a share of the label's time")


@dataclass(frozen=True)
class Stretch(Entry):
    """The shortest and the longest time of a piece of work, as shares of the usual one [1]."""

    shortest: float = key(_SHORTEST, "At best.", 1.0, required=_SHORTEST.words)
    longest: float = key(_LONGEST, "At worst.", 1.0, required=_LONGEST.words)


_STRETCH = Form(Stretch, "{shortest: 0.8, longest: 1.8}")
_EXACT = Stretch()


@dataclass(frozen=True)
class WorkOdds(Sourced):
    """How far work differs from what is usual, by the skill of who does it."""

    trade: Stretch = key(_STRETCH, "Somebody of the trade.", _EXACT, required=_STRETCH.like)
    handy: Stretch = key(_STRETCH, "A handy owner.", _EXACT, required=_STRETCH.like)
    beginner: Stretch = key(_STRETCH, "A beginner.", _EXACT, required=_STRETCH.like)

    def of(self, skill: Skill) -> Stretch:
        """For one skill."""
        return {"trade": self.trade, "handy": self.handy, "beginner": self.beginner}[skill]


@dataclass(frozen=True)
class ProductOdds(Sourced):
    """The true time to a stage as a share of the stated one: lognormal, ``sd`` of its logarithm."""

    median: float = key(_MEDIAN, "Half of all take less.", 1.0, required=_MEDIAN.words)
    sd: float = key(NUMBER, "Of the logarithm.", 0.0, required=NUMBER.words)


@dataclass(frozen=True)
class Hold(Entry):
    """How often a test or inspection fails [0..1], and how long until it is tried again [min]."""

    fails: float = key(SHARE, "How often.", 0.0, required=SHARE.words)
    redo: int = key(LIFE, "Until it is tried again.", 0, required=LIFE.words)


_HOLD = Form(Hold, "{fails: 5 %, redo: 2 d}")


@dataclass(frozen=True)
class HoldOdds(Sourced):
    """How often what is to be passed is not."""

    flood: Hold = key(_HOLD, "Water standing.", Hold(), required=_HOLD.like)
    inspection: Hold = key(_HOLD, "Any other.", Hold(), required=_HOLD.like)


@dataclass(frozen=True)
class Odds(Entry):
    """All that is uncertain; as it stands here, nothing is."""

    air: StrayingAir = key(
        Form(StrayingAir, "temperature, humidity"), "The air of a room.", StrayingAir(),
        required="temperature, humidity",
    )  # fmt: skip
    work: WorkOdds = key(
        Form(WorkOdds, "trade, handy, beginner"), "Work.", WorkOdds(),
        required="trade, handy, beginner",
    )  # fmt: skip
    product: ProductOdds = key(
        Form(ProductOdds, "median, sd"), "Products.", ProductOdds(), required="median, sd"
    )
    holds: HoldOdds = key(
        Form(HoldOdds, "flood, inspection"), "Tests and inspections.", HoldOdds(),
        required="flood, inspection",
    )  # fmt: skip


CERTAIN = Odds(air=StrayingAir(temperature=Straying(), humidity=Straying()))
"""Nothing left to chance."""


@lru_cache(maxsize=1)
def odds() -> Odds:
    """What is uncertain, as it comes with the program."""
    return read_odds((data() / "odds.yaml").read_text(encoding="utf-8"), "odds.yaml")


def read_odds(text: str, file: str) -> Odds:
    """What a file says is uncertain; ``BadFile`` with everything wrong in it."""
    return read(text, file, Form(Odds, "air, work, product, holds"))
