"""A product class, and the file in ``data/classes/`` that states it. Data, never code.

One file a class; its name is the class's name. Every value is text with its unit, as in a job
file, and every time says what kind of knowledge it is and where it is from.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Annotated, Any, Literal, TypeVar

import yaml
from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    StringConstraints,
    ValidationError,
    model_validator,
)
from pydantic_core import ErrorDetails

from scheduler import quantities
from scheduler.amountfile import AMOUNT, AmountEntry
from scheduler.errors import BadFile, Problem, did_you_mean
from scheduler.laws import LAWS, works_at
from scheduler.model import STAGES, Conditions, Limits, Stage
from scheduler.yamlform.fields import Place
from scheduler.yamlform.tree import Block, Report, tree

THICKNESS_LAWS = frozenset({"thick-drying", "moisture-cure"})
"""The laws whose time hangs on how thick the product is applied."""

_LOADER = getattr(yaml, "CBaseLoader", yaml.BaseLoader)  # of both, all scalars stay text
_T = TypeVar("_T")


def _read_by(parse: Callable[[str], _T]) -> BeforeValidator:
    """The parser as a check on a value of the file; what is no text is no quantity either."""
    return BeforeValidator(lambda value: parse(value if isinstance(value, str) else ""))


def _one_of(what: str, known: Iterable[str]) -> AfterValidator:
    """A check that a word is one of the known ones."""
    names = tuple(known)

    def check(word: str) -> str:
        if word not in names:
            raise ValueError(f"{what}, one of {', '.join(names)}{did_you_mean(word, names)}")
        return word

    return AfterValidator(check)


def _conditions(text: str) -> Conditions:
    return Conditions(*quantities.conditions(text))


Words = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1)]
Minutes = Annotated[int, _read_by(quantities.duration)]
Celsius = Annotated[float, _read_by(quantities.temperature)]
Kelvin = Annotated[float, _read_by(quantities.temperature_difference)]
Share = Annotated[float, _read_by(quantities.humidity)]
Millimetres = Annotated[float, _read_by(quantities.length)]
Law = Annotated[str, _one_of("a law", LAWS)]
StageName = Annotated[str, _one_of("a stage", STAGES)]
Known = Literal["published", "common practice", "from memory"]


class _Read(BaseModel):
    """What a file says; unknown keys are errors."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class ClassStage(_Read):
    """A stage as the class states it.

    Args:
        means: what the stage lets happen, for this class.
        check: what to look at and feel on site before believing that it is reached.
        law: the law of waiting, a key of ``scheduler.laws.LAWS``.
        time: the time [min] at the conditions ``at``, for the class's usual thickness.
        at: the conditions the time is stated for.
        basis: what kind of knowledge the time is.
        source: where the time is from.
        within: the window [min], None for no limit.
        within_source: basis and source of the window.
        least, cold_below, cold_least, shorten: as in ``model.Stage``.
    """

    means: Words
    check: Words
    law: Law
    time: Minutes
    at: Annotated[Conditions, _read_by(_conditions)]
    basis: Known
    source: Words
    within: Minutes | None = None
    within_source: str = ""
    least: Minutes = 0
    cold_below: Celsius | None = None
    cold_least: Minutes = 0
    shorten: bool = False

    @model_validator(mode="after")
    def _agrees(self) -> "ClassStage":
        _require(self.time > 0, "a stage that takes time: 'time' above 0 min")
        _require(
            self.within is None or self.within > self.time,
            "a stage whose window ('within') closes after its own 'time'",
        )
        _require(
            (self.within is None) == (not self.within_source),
            "a stage that gives 'within' and 'within_source' together",
        )
        _require(
            (self.cold_below is None) == (self.cold_least == 0),
            "a stage that gives 'cold_below' and 'cold_least' together",
        )
        _require(
            works_at(self.law, self.at),
            "a stage stated for conditions ('at') in which it is reached",
        )
        return self

    def named(self, name: str) -> Stage:
        """The stage as the plan knows it."""
        return Stage(
            name=name,
            law=self.law,
            minutes=self.time,
            at=self.at,
            basis=self.basis,
            source=self.source,
            least=self.least,
            cold_below=self.cold_below,
            cold_least=self.cold_least,
            within=self.within,
            shorten=self.shorten,
        )


class ClassLimits(_Read):
    """The air in which the class may be applied: [°C], [0..1], [K over the dew point]."""

    temperature_min: Celsius | None = None
    temperature_max: Celsius | None = None
    humidity_max: Share | None = None
    dew_margin: Kelvin | None = None
    basis: Known
    source: Words

    @property
    def limits(self) -> Limits:
        """The limits as the plan knows them."""
        return Limits(
            self.temperature_min, self.temperature_max, self.humidity_max, self.dew_margin
        )


class ProductClass(_Read):
    """A class of products by standard, with what is known of its times.

    Args:
        name: the catalogue's name, e.g. ``liquid-membrane``.
        title: the class in words.
        note: what to know before using it.
        stages: by name, in the order they are passed.
        limits: application limits.
        one_go: whether applying it must go on without a break.
        closes: the room is closed from the start of the application until this stage.
        dust_shy: no dusty work in the room from the start of the application until this stage.
        on_missed_window: what to do when a window was missed.
        thickness: the usual thickness [mm] its times are for, where they hang on it.
    """

    name: str
    title: Words
    note: Words
    stages: Mapping[StageName, ClassStage]
    limits: ClassLimits
    one_go: bool = False
    closes: str | None = None
    dust_shy: str | None = None
    on_missed_window: str = ""
    thickness: Millimetres | None = None
    amount: Any = None

    @model_validator(mode="after")
    def _agrees(self) -> "ProductClass":
        times = [stage.time for stage in self.stages.values()]
        _require(bool(times), "a class with at least one stage")
        _require(times == sorted(times), "a class whose stages stand in the order of their times")
        _require(
            {self.closes, self.dust_shy} <= {None, *self.stages},
            "a class whose 'closes' and 'dust_shy' name one of its stages",
        )
        _require(
            any(stage.within for stage in self.stages.values()) == bool(self.on_missed_window),
            "a class that says 'on_missed_window' where, and only where, a stage has 'within'",
        )
        _require(
            any(stage.law in THICKNESS_LAWS for stage in self.stages.values())
            == (self.thickness is not None),
            f"a class with a 'thickness' where, and only where, a law is "
            f"{' or '.join(sorted(THICKNESS_LAWS))}",
        )
        return self


def _require(holds: bool, otherwise: str) -> None:
    if not holds:
        raise ValueError(otherwise)


def read_class(text: str, file: str) -> ProductClass | tuple[Problem, ...]:
    """The class stated in the text of the file ``<name>.yaml``, or all that is wrong with it."""
    try:
        loader = _LOADER(text)
        tree = loader.get_single_node()
        values: Any = loader.construct_document(tree) if tree else None
    except yaml.YAMLError as error:
        return (_no_yaml(error, file),)
    if not isinstance(tree, yaml.MappingNode):
        return (Problem(file, 1, 1, "a class file must be a mapping of keys to values"),)
    if twice := tuple(_duplicates(tree, file)):
        return twice
    values.pop("amount", None)
    try:
        kind = ProductClass.model_validate({**values, "name": file.removesuffix(".yaml")})
        return kind.model_copy(update={"amount": _amount(text, file)})
    except ValidationError as invalid:
        return tuple(_problem(error, tree, file) for error in invalid.errors())


def _amount(text: str, file: str) -> AmountEntry | None:
    report = Report(file)
    root = tree(text.encode(), report)
    pairs = root.pairs if isinstance(root, Block) else ()
    found = [(k, node) for k, node in pairs if k.value == "amount"]
    read = [AMOUNT.read(node, Place("'amount'", k.mark), report) for k, node in found]
    if report.problems:
        raise BadFile(report.problems)
    return read[0] if read else None


def _no_yaml(error: yaml.YAMLError, file: str) -> Problem:
    mark = getattr(error, "problem_mark", None)
    line, column = (mark.line + 1, mark.column + 1) if mark else (1, 1)
    what = getattr(error, "problem", None) or getattr(error, "reason", "unreadable")
    return Problem(file, line, column, f"not YAML: {what}")


def _duplicates(node: yaml.Node, file: str) -> Iterator[Problem]:
    """Keys written twice in one mapping; YAML itself would silently keep the last."""
    if not isinstance(node, yaml.MappingNode):
        return
    seen: set[str] = set()
    for key, value in node.value:
        if key.value in seen:
            yield Problem(file, *_place(key), f"'{key.value}' is written twice")
        seen.add(key.value)
        yield from _duplicates(value, file)


def _problem(error: ErrorDetails, tree: yaml.Node, file: str) -> Problem:
    where = tuple(str(part) for part in error["loc"] if part != "[key]")
    return Problem(file, *_place(_nearest(tree, where)), _message(error, where))


def _nearest(node: yaml.Node, where: tuple[str, ...]) -> yaml.Node:
    """The key at the end of the path, or of as much of the path as the file has."""
    found, inside = node, node
    for part in where:
        pairs = inside.value if isinstance(inside, yaml.MappingNode) else []
        match = next(((k, v) for k, v in pairs if k.value == part), None)
        if match is None:
            break
        found, inside = match
    return found


def _place(node: yaml.Node) -> tuple[int, int]:
    return node.start_mark.line + 1, node.start_mark.column + 1


def _message(error: ErrorDetails, where: tuple[str, ...]) -> str:
    key = repr(where[-1]) if where else "the file"
    match error["type"]:
        case "missing":
            return f"{key} is missing"
        case "extra_forbidden":
            return f"unknown key {key}{did_you_mean(where[-1], _keys(where))}"
        case "value_error":
            return f"{key} must be {error['ctx']['error']}{_found(error['input'])}"
        case _:
            return f"{key}: {error['msg']}{_found(error['input'])}"


def _keys(where: tuple[str, ...]) -> Iterable[str]:
    """The keys that are known beside the last one of a path."""
    inside: Mapping[str, type[_Read]] = {"stages": ClassStage, "limits": ClassLimits}
    return inside[where[0]].model_fields if len(where) > 1 else ProductClass.model_fields


def _found(value: Any) -> str:
    return f" (found {value!r})" if isinstance(value, str) else ""
