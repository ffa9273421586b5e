"""What each task of a plan takes, of which product or goods."""

from collections.abc import Iterator
from dataclasses import dataclass

from scheduler.model import Goods, Job, Plan, PlannedTask, Product, Supply, Task, Unit
from scheduler.rates import rates


@dataclass(frozen=True)
class Item:
    """A product or goods, as something to buy.

    Args:
        id: its key in the job file.
        title: in words.
        unit: what it is measured in; None where nobody knows how much of it anything takes.
        pack: what a pack holds [``unit``]; None where nobody knows.
        waste: share of what is used [0..1].
        supply: how it is bought, and what is on hand.
        opened_life: how long it keeps once opened [min]; None where nothing is known.
    """

    id: str
    title: str
    unit: Unit | None
    pack: float | None
    waste: float
    supply: Supply
    opened_life: int | None = None


@dataclass(frozen=True)
class Need:
    """What a task takes of an item.

    Args:
        item: the item's id.
        task: the task's id.
        amount: net, before waste [the item's unit]; None where nobody knows.
        start, finish: of the task as planned [UTC minutes].
        done: whether the task is done: it has taken that already.
    """

    item: str
    task: str
    amount: float | None
    start: int
    finish: int
    done: bool = False


def item(job: Job, key: str) -> Item:
    """A product or goods of the job, by id."""
    return _product(job.products[key]) if key in job.products else _goods(job.goods[key])


def _product(of: Product) -> Item:
    amount = of.amount
    if amount is None:
        return Item(of.id, of.title, None, None, 0.0, of.supply)
    return Item(
        of.id, of.title, amount.unit, amount.pack, amount.waste, of.supply, amount.opened_life
    )


def _goods(of: Goods) -> Item:
    return Item(of.id, of.title, of.unit, of.pack, of.waste, of.supply)


def needs(job: Job, plan: Plan) -> tuple[Need, ...]:
    """All that the tasks of a plan take, by the start of the task."""
    found = (
        _need(key, amount, plan.task[task.id])
        for task in job.tasks
        for key, amount in taken(job, task)
        if amount != 0
    )
    return tuple(sorted(found, key=lambda need: need.start))


def _need(key: str, amount: float | None, by: PlannedTask) -> Need:
    return Need(key, by.id, amount, by.start, by.finish, by.state == "done")


def taken(job: Job, task: Task) -> Iterator[tuple[str, float | None]]:
    """What a task takes, each thing once: by its own word, else by what class and rate say."""
    own = dict(task.uses)
    yield from own.items()
    product = job.product_of(task)
    if product is not None and product.id not in own:
        yield product.id, _applied(task, product)
    for key, each in _by_rate(task):
        if key not in own and key in job.goods:
            yield key, each


def _applied(task: Task, product: Product) -> float | None:
    """How much of what it applies a task takes, by its quantity."""
    amount, quantity = product.amount, task.quantity
    if amount is None or quantity is None or amount.per != quantity.unit:
        return None
    return amount.use * quantity.size


def _by_rate(task: Task) -> Iterator[tuple[str, float | None]]:
    """The goods that work of its kind uses up."""
    rate = rates().get(task.rate or "")
    if rate is None:
        return
    quantity = task.quantity
    size = quantity.size if quantity and quantity.unit == rate.per else None
    for key, each in rate.uses.items():
        yield key, None if size is None else each * size
