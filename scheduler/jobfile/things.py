"""The products and goods of a job file, and what its tasks take of them."""

from collections.abc import Iterable, Iterator
from functools import cached_property

from scheduler import catalogue
from scheduler.jobfile import supplies
from scheduler.jobfile.form import JobEntry, ProductEntry, TaskEntry
from scheduler.jobfile.names import Names
from scheduler.model import Goods, Measure, Product, Unit
from scheduler.rates import goods as listed_goods
from scheduler.rates import rates
from scheduler.yamlform.tree import Mark, Report, Text, quoted


class Things:
    """Products and goods by id; those that can't be read are None, or left out.

    ``appliable`` and ``takable`` are the ids that a task may name.
    """

    def __init__(self, form: JobEntry, report: Report, names: Names) -> None:
        self.form = form
        self.report = report
        self.names = names
        self.products = self._products()
        self.goods = self._goods()
        self.appliable = dict.fromkeys([*form.products, *catalogue.classes()])
        self.takable = dict.fromkeys([*self.appliable, *form.goods, *listed_goods()])

    def uses(self, entry: TaskEntry) -> tuple[tuple[str, float], ...]:
        """What a task uses up by the owner's word, each in its unit."""
        for key in entry.uses:
            self._takable(Text(key, entry.marks["uses"]))
        return supplies.uses(entry, self._units, self.report)

    def delivers(self, entry: TaskEntry) -> tuple[str, ...]:
        """What is on site once a task is done."""
        named = (self._takable(word) for word in entry.delivers)
        return tuple(dict.fromkeys(key for key in named if key))

    def _takable(self, word: Text) -> str | None:
        return self.names.name(word, self.takable, "product or goods", "products", "goods")

    @cached_property
    def _units(self) -> dict[str, tuple[Unit, float | None]]:
        """Unit and density [kg/L] of whatever tasks use up."""
        amounts = {key: product.amount for key, product in self.products.items() if product}
        products = {key: (amount.unit, amount.density) for key, amount in amounts.items() if amount}
        return products | {key: (goods.unit, None) for key, goods in self.goods.items()}

    def _products(self) -> dict[str, Product | None]:
        """The products of the file, and the classes that tasks name straight away."""
        own = {key: self._product(key, entry) for key, entry in self.form.products.items()}
        named = dict.fromkeys(word for task in self.form.tasks.values() for word in _named(task))
        classes = (
            word
            for word in named
            if word in catalogue.classes() and word not in {*own, *self.form.goods}
        )
        return own | {key: catalogue.product(key, key) for key in classes}

    def _product(self, key: str, entry: ProductEntry) -> Product | None:
        kind = entry.class_
        if kind is None or not self.names.known(kind, catalogue.classes(), "product class"):
            return None
        times = entry.label.stages()
        if not self._labelled(key, entry, kind, (), entry.marks.get("thickness", kind.mark)):
            return None
        alone = [self._labelled(key, entry, kind, (s,), entry.label.marks[s]) for s in times]
        product = self._labelled(key, entry, kind, times, kind.mark) if all(alone) else None
        return supplies.supplied(product, entry, self.report) if product else None

    def _labelled(
        self, key: str, entry: ProductEntry, kind: Text, stages: Iterable[str], mark: Mark
    ) -> Product | None:
        """The product with some stages of its label, so that a wrong one is told by its place."""
        given = entry.label.stages()
        times = {stage: given[stage] for stage in stages}
        label = catalogue.Label(times, entry.label.at, entry.label.thickness)
        try:
            return catalogue.product(key, kind.value, label, entry.thickness, entry.shorten)
        except ValueError as error:
            self.report.add(mark, f"product {quoted(key)}: {error}")
            return None

    def _goods(self) -> dict[str, Goods]:
        """The goods of the file, and those of the list that its tasks take."""
        for key in self.form.goods.keys() & self.products.keys():
            where = self.form.goods[key].where
            self.report.add(where, f"{quoted(key)} is a product already: goods need another id")
        used = self._used()
        wanted = dict.fromkeys([*self.form.goods, *(key for key in used if key in listed_goods())])
        return {
            key: supplies.goods(key, self.form.goods.get(key), used.get(key), self.report)
            for key in wanted
            if key not in self.products
        }

    def _used(self) -> dict[str, Measure | None]:
        """What tasks take and deliveries bring, with how much of it some task says."""
        used: dict[str, Measure | None] = {}
        for task in self.form.tasks.values():
            rate = rates().get(task.rate.value) if task.rate else None
            used |= dict.fromkeys(rate.uses if rate else ())
            used |= dict.fromkeys(word.value for word in task.delivers)
        for task in self.form.tasks.values():
            used |= task.uses
        return used


def _named(task: TaskEntry) -> Iterator[str]:
    """Words of a task that may be classes of the catalogue."""
    if task.applies:
        yield task.applies.value
    yield from task.uses
    yield from (word.value for word in task.delivers)
