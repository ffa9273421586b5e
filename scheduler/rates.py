"""Named work rates, and the goods that such work uses up: ``data/rates.yaml`` and ``goods.yaml``.

A rate says how long a square metre, a metre, a piece or a room takes one person who is at work:
somebody of the trade, a handy owner, a beginner. Waiting is no part of it: that is the products'.
"""
# ruff: noqa: RUF009 (key() makes a field of a dataclass, as dataclasses.field() does)

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from math import ceil
from types import MappingProxyType
from typing import cast, get_args

from scheduler.datafile import NUMBER, SHARE, STUFF, Sourced, read
from scheduler.errors import BadFile, Problem, did_you_mean
from scheduler.measures import STUFF_WORDS
from scheduler.model import Basis, Measure, Per, Skill, Unit
from scheduler.resources import data
from scheduler.yamlform.amounts import LINE, SOME_TIME
from scheduler.yamlform.fields import Choice
from scheduler.yamlform.forms import Entry, Form, Id, Table, key

STEP = 5
"""Work from a rate is rounded up to so many minutes."""

_PERS: tuple[Per, ...] = get_args(Per)
_NO_MASS = Measure(1.0, "each")


@dataclass(frozen=True)
class Goods:
    """What work uses up that is no product class: it neither sets nor dries.

    Args:
        name: its key in ``data/goods.yaml``.
        title: in words.
        unit: what it is counted and sold in.
        pack: what a usual pack holds [``unit``].
        waste: offcuts and breakage, as a share of what is used [0..1].
        basis: what kind of knowledge the waste is.
        source: where it is from.
    """

    name: str
    title: str
    unit: Unit
    pack: float
    waste: float
    basis: Basis
    source: str


@dataclass(frozen=True)
class Rate:
    """How long a kind of work takes one person.

    Args:
        name: its key in ``data/rates.yaml``.
        title: the work in words.
        per: what it is counted in.
        each: minutes for one ``per``, by skill.
        setup: minutes once, whatever the quantity: to lay out, mix, mask, clean up.
        uses: goods by name, how much of each one ``per`` takes [the goods' unit].
        basis: what kind of knowledge the minutes are.
        source: where they are from.
    """

    name: str
    title: str
    per: Per
    each: Mapping[Skill, float]
    setup: int
    basis: Basis
    source: str
    uses: Mapping[str, float] = field(default_factory=dict)

    def minutes(self, quantity: float, skill: Skill) -> int:
        """How long a quantity takes [min], rounded up to the next 5; nothing takes no time.

        Args:
            quantity: how much work, in ``per``; 0 or more.
            skill: who does it.
        """
        if quantity == 0:
            return 0
        exact = self.setup + quantity * self.each[skill]
        return ceil(round(exact / STEP, 6)) * STEP


@dataclass(frozen=True)
class _Minutes(Entry):
    trade: float = key(NUMBER, "Somebody of the trade.", 0.0, required=NUMBER.words)
    handy: float = key(NUMBER, "A handy owner.", 0.0, required=NUMBER.words)
    beginner: float = key(NUMBER, "Somebody who does it for the first time.", 0.0,
                          required=NUMBER.words)  # fmt: skip


@dataclass(frozen=True)
class _Rate(Sourced):
    title: str = key(LINE, "The work in words.", "", required="the work in words")
    per: Per = key(Choice[Per]({p: p for p in _PERS}), "Unit.", "m2", required=", ".join(_PERS))
    minutes: _Minutes = key(
        Form(_Minutes, "{trade: 6, handy: 9, beginner: 12}"), "Minutes for one.", _Minutes(),
        required="{trade: 6, handy: 9, beginner: 12}",
    )  # fmt: skip
    setup: int = key(SOME_TIME, "Once, whatever the quantity.", 0)
    uses: dict[str, float] = key(
        Table("goods", "goods", NUMBER, 0.0, "Amount for one.", Id("goods")),
        "Goods it uses up.",
        {},
    )


@dataclass(frozen=True)
class _Goods(Sourced):
    title: str = key(LINE, "The goods in words.", "", required="the goods in words")
    pack: Measure = key(STUFF, "What a pack holds.", _NO_MASS, required=STUFF_WORDS)
    waste: float = key(SHARE, "Offcuts and breakage.", 0.0, required=SHARE.words)


@dataclass(frozen=True)
class _RatesFile(Entry):
    rates: dict[str, _Rate] = key(
        Table("rate", "rates", Form(_Rate, "title, per, minutes"), _Rate(), "A kind of work.",
              Id("rate"), least=1),
        "Kinds of work.", {}, required="kinds of work",
    )  # fmt: skip


@dataclass(frozen=True)
class _GoodsFile(Entry):
    goods: dict[str, _Goods] = key(
        Table("goods", "goods", Form(_Goods, "title, pack, waste"), _Goods(), "Goods.",
              Id("goods"), least=1),
        "Goods by name.", {}, required="goods",
    )  # fmt: skip


@lru_cache(maxsize=1)
def rates() -> Mapping[str, Rate]:
    """The rates that come with the program, by name, in the order of a job."""
    return read_rates((data() / "rates.yaml").read_text(encoding="utf-8"), "rates.yaml", goods())


@lru_cache(maxsize=1)
def goods() -> Mapping[str, Goods]:
    """The goods that come with the program, by name."""
    return read_goods((data() / "goods.yaml").read_text(encoding="utf-8"), "goods.yaml")


def read_rates(text: str, file: str, known: Mapping[str, Goods]) -> Mapping[str, Rate]:
    """The rates of a file; ``known`` are the goods that they may use.

    Raises:
        BadFile: with everything wrong in it.
    """
    said = read(text, file, Form(_RatesFile, "rates"))
    problems = [p for entry in said.rates.values() for p in _unknown(entry, file, known)]
    if problems:
        raise BadFile(problems)
    return MappingProxyType({name: _rate(name, entry) for name, entry in said.rates.items()})


def read_goods(text: str, file: str) -> Mapping[str, Goods]:
    """The goods of a file; ``BadFile`` with everything wrong in it."""
    said = read(text, file, Form(_GoodsFile, "goods"))
    return MappingProxyType({name: _goods(name, entry) for name, entry in said.goods.items()})


def _unknown(entry: _Rate, file: str, known: Mapping[str, Goods]) -> list[Problem]:
    """What a rate uses that there is no such goods of."""
    return [
        Problem(file, *entry.marks["uses"], f"no goods '{name}'{did_you_mean(name, known)}")
        for name in entry.uses
        if name not in known
    ]


def _rate(name: str, said: _Rate) -> Rate:
    each: Mapping[Skill, float] = {
        "trade": said.minutes.trade,
        "handy": said.minutes.handy,
        "beginner": said.minutes.beginner,
    }
    return Rate(name, said.title, said.per, each, said.setup, said.basis, said.source, said.uses)


def _goods(name: str, said: _Goods) -> Goods:
    unit = cast(Unit, said.pack.unit)  # the reader of amounts of stuff takes no others
    return Goods(name, said.title, unit, said.pack.size, said.waste, said.basis, said.source)
