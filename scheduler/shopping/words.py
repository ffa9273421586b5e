"""Sizes and packs of what is bought, in words."""

from scheduler.measures import show_measure
from scheduler.model import Job
from scheduler.shopping.lines import Line
from scheduler.shopping.needs import Item
from scheduler.wording import glued, tidy

_FOOT = 0.3048  # m


def size_in_words(job: Job, of: Item, size: float) -> str:
    """An amount as one says it in a shop, glued: a run of tape in feet, screws in whole pieces."""
    if of.unit == "each":
        return glued(f"{size:.0f} {'piece' if round(size) == 1 else 'pieces'}")
    if of.unit == "m" and job.units == "imperial":
        return glued(f"{size / _FOOT:.1f}".removesuffix(".0") + " ft")
    return glued(show_measure(size, of.unit or "each", job.units))


def worked(minutes: int) -> str:
    """Hours of work, glued: a day of them has not 24.

    >>> worked(5035).split(), worked(480).split()
    (['83', 'h', '55', 'min'], ['8', 'h'])
    """
    hours, rest = divmod(minutes, 60)
    parts = [f"{size} {unit}" for size, unit in ((hours, "h"), (rest, "min")) if size]
    return glued(" ".join(parts) or "0 min")


def packs_in_words(job: Job, line: Line) -> str:
    """What to buy, e.g. ``glue (2 packs of 50 lb)``; its name alone where nobody knows how much."""
    name, of = tidy(line.item.id), line.item
    if not line.to_buy:
        return name
    if line.packs is None or of.pack is None:
        return f"{name} ({size_in_words(job, of, line.to_buy)})"
    more = " and more" if line.unknown else ""
    return f"{name} ({packs(job, line, of.pack)}{more})"


def packs(job: Job, line: Line, pack: float) -> str:
    """The packs of a line, glued, e.g. ``2 usual packs of 50 lb``; pieces where one is a pack."""
    if line.item.unit == "each" and pack == 1 and line.packs is not None:
        return size_in_words(job, line.item, line.packs)
    usual = "" if line.item.supply.own_pack else "usual "
    noun = "pack" if line.packs == 1 else "packs"
    return glued(f"{line.packs} {usual}{noun} of ") + size_in_words(job, line.item, pack)
