"""The ``amount:`` of a class file: how much is used, how long a mix is usable, how it keeps."""
# ruff: noqa: RUF009 (key() makes a field of a dataclass, as dataclasses.field() does)

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from math import floor
from typing import Literal

from scheduler.datafile import LAW, LIFE, NUMBER, SHARE, STUFF, USAGE, Sourced
from scheduler.measures import STUFF_WORDS, USAGE_WORDS, Usage
from scheduler.model import LABORATORY, Amount, Conditions, Measure, Stage
from scheduler.yamlform.amounts import AIR_STATE, LINE, SOME_TIME
from scheduler.yamlform.fields import Choice
from scheduler.yamlform.forms import Form, key
from scheduler.yamlform.tree import Report

Grows = Literal["no", "linear", "square"]

_POWERS: Mapping[Grows, int] = {"no": 0, "linear": 1, "square": 2}
_NO_USE, _NO_PACK = Usage(1.0, "kg", "m2"), Measure(1.0, "kg")


@dataclass(frozen=True)
class AmountEntry(Sourced):
    """How much of the class one application takes, and the rest that a buyer wants to know.

    A pot life is stated as such, or as ``pot_share`` of the time to ``set``, whose law and air it
    then takes over; so a label that sets faster leaves less time as well.
    """

    use: Usage = key(USAGE, "What one application takes.", _NO_USE, required=USAGE_WORDS)
    grows: Grows = key(
        Choice[Grows]({g: g for g in _POWERS}), "How `use` grows with thickness.", "no"
    )
    waste: float = key(SHARE, "What is lost.", 0.0, required=SHARE.words)
    pack: Measure = key(STUFF, "What a usual pack holds.", _NO_PACK, required=STUFF_WORDS)
    density: float | None = key(NUMBER, "As sold [kg/L].", None)
    pot_life: int | None = key(SOME_TIME, "How long a fresh mix can be worked.", None)
    pot_at: Conditions = key(AIR_STATE, "The air that it is stated for.", LABORATORY)
    pot_law: str = key(LAW, "The law that it follows.", "fixed")
    pot_share: float | None = key(SHARE, "Pot life as a share of the time to `set`.", None)
    pot_source: str = key(LINE, "Basis and source of the pot life.", "")
    sealed_life: int | None = key(LIFE, "How long it keeps sealed, from its making.", None)
    opened_life: int | None = key(LIFE, "How long it keeps once opened.", None)
    life_source: str = key(LINE, "Basis and source of both.", "")

    def amount(self, stages: Mapping[str, Stage], thicker: float = 1.0) -> Amount:
        """The amount for a product.

        Args:
            stages: the product's, its label laid over.
            thicker: thickness as applied over the class's usual one.
        """
        life, law, at = self._pot(stages)
        return Amount(
            use=self.use.size * thicker ** _POWERS[self.grows],
            unit=self.use.unit,
            per=self.use.per,
            waste=self.waste,
            pack=self.pack.size,
            basis=self.basis,
            source=self.source,
            pot_life=life,
            pot_law=law,
            pot_at=at,
            pot_source=self.pot_source,
            sealed_life=self.sealed_life,
            opened_life=self.opened_life,
            life_source=self.life_source,
            density=self.density,
        )

    def _pot(self, stages: Mapping[str, Stage]) -> tuple[int | None, str, Conditions]:
        """Pot life [min], the law it follows and the air it is stated for."""
        if self.pot_share is None:
            return self.pot_life, self.pot_law, self.pot_at
        hard = stages["set"]
        return floor(round(hard.minutes * self.pot_share, 6)), hard.law, hard.at


AMOUNT = Form(AmountEntry, "{use: 95 sq ft per 50 lb, waste: 10 %, pack: 50 lb}")


def check_amount(
    entry: AmountEntry, stages: Collection[str], thickness: float | None, report: Report
) -> None:
    """Report what contradicts itself, or the class with its ``stages`` and usual ``thickness``."""
    mixed = entry.has("pot_life") or entry.has("pot_share")
    keeps = entry.has("sealed_life") or entry.has("opened_life")
    rules = (
        ("pack", entry.pack.unit == entry.use.unit, "in the unit of 'use'"),
        ("pot_share", not entry.has("pot_life"), "left out where 'pot_life' is there"),
        ("pot_share", "set" in stages, "left out in a class without a stage 'set'"),
        ("pot_source", mixed, "left out where there is no pot life"),
        ("life_source", keeps, "left out where nothing is known of how it keeps"),
        ("grows", thickness is not None, "left out in a class without a 'thickness'"),
    )
    for name, holds, words in rules:
        if entry.has(name) and not holds:
            report.add(entry.marks[name], f"'{name}' must be {words}")
    for name, needed in (("pot_source", mixed), ("life_source", keeps)):
        if needed and not entry.has(name):
            report.add(entry.where, f"'amount' needs '{name}': where that is from")
