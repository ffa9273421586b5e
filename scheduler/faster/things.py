"""Levers on what is applied and on what it waits for: rapid classes, dates and deliveries."""

from collections.abc import Iterator
from dataclasses import replace
from functools import partial

from scheduler.catalogue import product
from scheduler.clock import DAY
from scheduler.faster.figures import Rapid, figures
from scheduler.faster.lever import Declined, Lever, is_done, is_open, with_task
from scheduler.model import Job, Link, Plan, Product, Task
from scheduler.quantities import show_duration
from scheduler.wording import listed


def rapid_levers(job: Job) -> Iterator[Lever | Declined]:
    """The rapid class of each product that has one and that an open task applies."""
    for normal in job.products.values():
        rapid = figures().rapid.get(normal.class_name)
        if rapid is not None and any(_applies(job, task, normal.id) for task in job.tasks):
            yield _rapid(job, normal, rapid)


def _applies(job: Job, task: Task, key: str) -> bool:
    return task.applies == key and is_open(job, task)


def _rapid(job: Job, normal: Product, rapid: Rapid) -> Lever | Declined:
    says = f"{normal.id}: the rapid class, {rapid.class_}"
    fast = _rapid_product(job, normal, rapid)
    wanted = _stages_wanted(job, normal.id)
    if missing := wanted - {stage.name for stage in fast.stages}:
        return Declined(says, f"it has no stage {listed(sorted(missing))}, for which tasks wait")
    priced = fast.supply.price is not None
    return Lever(
        id=f"rapid:{normal.id}",
        kind="rapid",
        says=says,
        edit=partial(with_rapid, key=normal.id),
        group=f"rapid:{normal.id}",
        products=frozenset({normal.id, fast.id}),
        notes=(*_whose_times(job, normal, fast), rapid.note),
        unpriced=() if priced else (rapid.class_,),
        cautions=("rapid",),
    )


def _stages_wanted(job: Job, key: str) -> set[str]:
    appliers = {task.id for task in job.tasks if _applies(job, task, key)}
    return {
        link.stage
        for task in job.tasks
        for link in task.after
        if link.task in appliers and link.stage is not None
    }


def _rapid_product(job: Job, normal: Product, rapid: Rapid) -> Product:
    """The owner's own product of the rapid class, else one with the times of the class."""
    for each in job.products.values():
        if each.class_name == rapid.class_:
            return each
    return product(_free_id(job, f"{normal.id}-rapid"), rapid.class_)


def _free_id(job: Job, wanted: str) -> str:
    return _free_id(job, f"{wanted}-") if wanted in {*job.products, *job.goods} else wanted


def _whose_times(job: Job, normal: Product, fast: Product) -> Iterator[str]:
    if fast.id in job.products:
        yield f"With the times of your own {fast.id}."
    elif any(stage.basis == "owner's label" for stage in normal.stages):
        yield f"With the times of the class: those on the label of {normal.id} hold no longer."
    else:
        yield "With the times of the class, not of a label."


def with_rapid(job: Job, key: str) -> Job:
    """The job with the rapid class of a product wherever an open task applies it."""
    normal = job.products[key]
    fast = _rapid_product(job, normal, figures().rapid[normal.class_name])
    switched = {task.id for task in job.tasks if _applies(job, task, key)}
    tasks = tuple(_relinked(_switched(task, normal, fast) if task.id in switched else task,
                            switched, normal, fast) for task in job.tasks)  # fmt: skip
    return replace(job, tasks=tasks, products={**job.products, fast.id: fast})


def _switched(task: Task, normal: Product, fast: Product) -> Task:
    same_unit = normal.amount and fast.amount and normal.amount.unit == fast.amount.unit
    uses = tuple(
        (fast.id if item == normal.id else item, size)
        for item, size in task.uses
        if item != normal.id or same_unit
    )
    split = task.split and not fast.one_go
    return replace(task, applies=fast.id, uses=uses, split=split)


def _relinked(task: Task, switched: set[str], normal: Product, fast: Product) -> Task:
    """The task with the windows of the rapid class where it had those of the normal one."""
    return replace(
        task,
        after=tuple(
            _window(link, normal, fast) if link.stage and link.task in switched else link
            for link in task.after
        ),
    )


def _window(link: Link, normal: Product, fast: Product) -> Link:
    assert link.stage is not None  # the caller looked
    if link.within != normal.stage(link.stage).within:
        return link  # the file's own window
    return replace(link, within=fast.stage(link.stage).within)


def date_levers(job: Job, plan: Plan) -> Iterator[Lever]:
    """Dates that hold a task back, and the time that deliveries take."""
    for task in job.tasks:
        if not is_open(job, task):
            continue
        if task.not_before is not None and task.not_before > job.now:
            yield _no_date(task)
        for link in task.after:
            done = is_done(job, job.task[link.task])
            if task.delivers and link.stage is None and link.wait >= 2 * DAY and not done:
                yield _sooner(task, link)


def _no_date(task: Task) -> Lever:
    return Lever(
        id=f"date:{task.id}",
        kind="delivery" if task.delivers else "date",
        says=f"'{task.name}': without its 'not before'",
        edit=partial(without_date, key=task.id),
        group=f"date:{task.id}",
        tasks=frozenset({task.id}),
        notes=("If it can be had sooner at all: ask.",),
        unpriced=("an earlier date",),
    )


def without_date(job: Job, key: str) -> Job:
    """The job with a task that no date holds back."""
    return with_task(job, replace(job.task[key], not_before=None))


def _sooner(task: Task, link: Link) -> Lever:
    half = link.wait // 2
    return Lever(
        id=f"delivery:{task.id}",
        kind="delivery",
        says=f"'{task.name}': in {show_duration(half)} instead of {show_duration(link.wait)}",
        edit=partial(with_wait, key=task.id, link=link, wait=half),
        group=f"date:{task.id}",
        tasks=frozenset({task.id}),
        notes=("Half the time is supposed, to see what it would bring: ask what can be had.",),
        unpriced=("a faster delivery",),
    )


def with_wait(job: Job, key: str, link: Link, wait: int) -> Job:
    """The job with another fixed wait in one link of a task."""
    task = job.task[key]
    after = tuple(replace(each, wait=wait) if each == link else each for each in task.after)
    return with_task(job, replace(task, after=after))
