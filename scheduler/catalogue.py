"""The catalogue of product classes, and what a label of the owner's makes of them."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from enum import Enum
from functools import lru_cache
from importlib.resources.abc import Traversable
from types import MappingProxyType

from scheduler import laws
from scheduler.classfile import ProductClass, read_class
from scheduler.clock import DAY
from scheduler.errors import BadFile, did_you_mean
from scheduler.model import LABORATORY, STAGES, Amount, Conditions, Product, Stage
from scheduler.quantities import show_duration
from scheduler.resources import data

__all__ = [
    "KEEP",
    "Keep",
    "Label",
    "LabelTime",
    "ProductClass",
    "classes",
    "load",
    "product",
    "product_class",
]


class Keep(Enum):
    """The type of ``KEEP``."""

    KEEP = "keep"


KEEP = Keep.KEEP
"""The label says nothing of a window: the class's own stays."""


@dataclass(frozen=True)
class LabelTime:
    """What a label says of a stage: its time [min], its window [min] (None lifts the class's)."""

    minutes: int
    within: int | Keep | None = KEEP


@dataclass(frozen=True)
class Label:
    """The numbers on the owner's own product.

    Args:
        stages: by stage name.
        at: the conditions they are stated for; None for the laboratory's.
        thickness: the thickness [mm] they are stated for; None for the class's usual one.
    """

    stages: Mapping[str, LabelTime] = field(default_factory=dict)
    at: Conditions | None = None
    thickness: float | None = None


@lru_cache(maxsize=1)
def classes() -> Mapping[str, ProductClass]:
    """The classes that come with the program, by name, in alphabetical order."""
    return load(data() / "classes")


def load(folder: Traversable) -> Mapping[str, ProductClass]:
    """The classes of a folder of ``<name>.yaml`` files.

    Raises:
        BadFile: with everything wrong in any of them.
    """
    files = sorted((f for f in folder.iterdir() if f.name.endswith(".yaml")), key=lambda f: f.name)
    read = [read_class(file.read_bytes(), file.name) for file in files]
    if problems := [p for found in read if isinstance(found, tuple) for p in found]:
        raise BadFile(problems)
    return MappingProxyType({c.name: c for c in read if isinstance(c, ProductClass)})


def product(
    id: str,  # noqa: A002 (the word of the job file)
    class_name: str,
    label: Label | None = None,
    thickness: float | None = None,
    shorten: bool | None = None,
) -> Product:
    """A product of a class, with the owner's label laid over it.

    A label's time takes the place of the class's; the window does where the label gives one, and
    a standard's minimum (``least``, ``cold_least``) stays. A stage the class doesn't know takes
    the law that all the class's own stages share.

    Args:
        id: its key in the job file.
        class_name: the catalogue's name of the class.
        label: the numbers on the owner's own product.
        thickness: as applied [mm]; None for the usual thickness.
        shorten: whether warm, dry air may bring waits under the stated time; None for the class's
            own rule.

    Raises:
        ValueError: a sentence on an unknown class or stage, a window that closes before its stage
            is reached, or a thickness where the class's times don't hang on it.
    """
    kind = product_class(class_name)
    label = label or Label()
    _check_thickness(kind, label, thickness)
    stages = {name: stage.named(name) for name, stage in kind.stages.items()}
    stages |= {name: _labelled(kind, name, label) for name in label.stages}
    if shorten is not None:
        stages = {name: replace(stage, shorten=shorten) for name, stage in stages.items()}
    applied = [_at_thickness(stage, kind, label, thickness) for stage in stages.values()]
    for stage in applied:
        _check_reached(class_name, stage)
    thick = thickness or kind.thickness
    return Product(
        id=id,
        class_name=class_name,
        title=kind.title,
        stages=tuple(sorted(applied, key=lambda stage: stage.minutes)),
        limits=kind.limits.limits,
        one_go=kind.one_go,
        closes=kind.closes,
        dust_shy=kind.dust_shy,
        on_missed_window=kind.on_missed_window,
        thickness=thick,
        checks=tuple((name, stage.check) for name, stage in kind.stages.items()),
        amount=_amount(kind, applied, thick),
    )


def _amount(kind: ProductClass, stages: Iterable[Stage], thickness: float | None) -> Amount | None:
    """How much is used, as thick as it is applied, and how long a mix with this label lasts."""
    if kind.amount is None:
        return None
    thicker = thickness / kind.thickness if thickness and kind.thickness else 1.0
    return kind.amount.amount({stage.name: stage for stage in stages}, thicker)


def product_class(name: str) -> ProductClass:
    """The class of that name; ValueError names the nearest and all there are."""
    if name not in classes():
        known = _listed(classes())
        raise ValueError(
            f"no product class '{name}'{did_you_mean(name, classes())} (there are {known})"
        )
    return classes()[name]


def _labelled(kind: ProductClass, name: str, label: Label) -> Stage:
    """The stage as the label states it."""
    said = label.stages[name]
    own = kind.stages[name].named(name) if name in kind.stages else _new_stage(kind, name)
    return replace(
        own,
        minutes=said.minutes,
        at=label.at or LABORATORY,
        basis="owner's label",
        source="the label given in the job file",
        within=own.within if said.within is KEEP else said.within,
    )


def _new_stage(kind: ProductClass, name: str) -> Stage:
    """A stage the class doesn't know: reached by the law of all its others, where they agree."""
    shared = {stage.law for stage in kind.stages.values()}
    if name not in STAGES or len(shared) > 1:
        raise ValueError(
            f"{kind.name} has no stage '{name}'{did_you_mean(name, kind.stages)} "
            f"(it has {_listed(kind.stages)})"
        )
    shorten = all(stage.shorten for stage in kind.stages.values())
    return Stage(name, shared.pop(), 0, LABORATORY, "owner's label", "", shorten=shorten)


def _check_thickness(kind: ProductClass, label: Label, thickness: float | None) -> None:
    if kind.thickness is None and (thickness or label.thickness):
        raise ValueError(
            f"no thickness for {kind.name}, as its times here don't hang on one; "
            "give the label's own times for the thickness you apply"
        )


def _at_thickness(stage: Stage, kind: ProductClass, label: Label, thickness: float | None) -> Stage:
    """The stage with its time for the thickness applied.

    A label that names no thickness is a minimum: a thin layer does not bring its time down.
    """
    labelled = stage.name in label.stages
    stated = (label.thickness if labelled else None) or kind.thickness
    if stated is None:
        return stage
    applied = thickness or kind.thickness or stated
    if labelled and label.thickness is None:
        applied = max(applied, stated)
    return replace(stage, minutes=laws.for_thickness(stage.law, stage.minutes, applied, stated))


def _check_reached(class_name: str, stage: Stage) -> None:
    """Refuse a stage that no room, or nobody within its window, could ever see reached."""
    if not laws.works_at(stage.law, stage.at):
        raise ValueError(
            f"the {stage.name} of {class_name} is never reached in the air its label is for: "
            f"{laws.LAWS[stage.law].says}"
        )
    if stage.within is not None and stage.within < stage.minutes:
        time, window = show_duration(stage.minutes), show_duration(stage.within)
        later = show_duration(stage.minutes + DAY)
        raise ValueError(
            f"the {stage.name} of {class_name} is reached after {time}, when its window of "
            f"{window} has closed; give both on the label, such as {stage.name}: {time}..{later}"
        )


def _listed(names: Iterable[str]) -> str:
    return ", ".join(names)
