"""The form of a job file, version 1: every key, how its value is read, and what it means.

Keys are listed here, those of a link in ``links``, those of people in ``peopleform``, those of
buying in ``supplyform``, and nowhere else. ``jobfile.parse`` reads by it
and ``jobfile.schema`` prints it; what the entries name is looked up in ``jobfile.read``.
"""
# ruff: noqa: RUF009 (key() makes a field of a dataclass, as dataclasses.field() does)

from dataclasses import dataclass
from typing import Literal

from scheduler.catalogue import LabelTime
from scheduler.jobfile import hourstext
from scheduler.jobfile.hands import WHO, WayEntry
from scheduler.jobfile.hourstext import Moment
from scheduler.jobfile.links import LINK, MEANS_MORE, LinkEntry, Links
from scheduler.jobfile.peopleform import PEOPLE, PersonEntry
from scheduler.jobfile.supplyform import GoodsEntry, SupplyEntry
from scheduler.jobfile.values import (
    CLASS,
    CREW_FILE,
    CURRENCY,
    LABEL_TIME,
    MOMENT,
    PREFER,
    PRIORITY,
    PRODUCT,
    QUANTITY,
    RATE,
    ROOM,
    SHARE,
    SUPPLIED,
    SWING,
    TASK,
    UNITS,
    USAGE,
    USED,
    USED_BY_ALL,
    WORK,
    YEAR,
    ZONE,
    WorkTime,
)
from scheduler.measures import Usage
from scheduler.model import STAGES, Conditions, Measure, Prefer
from scheduler.yamlform.amounts import (
    AIR_STATE,
    HUMIDITY,
    LINE,
    LINES,
    SOME_TIME,
    TEMPERATURE,
    THICKNESS,
)
from scheduler.yamlform.fields import Many, YesNo
from scheduler.yamlform.forms import Entry, Form, Id, OneOf, Table, key
from scheduler.yamlform.tree import Text


@dataclass(frozen=True)
class AirEntry(Entry):
    """The air of the job or of a room."""

    temperature: float | None = key(TEMPERATURE, "Mean temperature, as 66 F or 19 C.", None)
    humidity: float | None = key(HUMIDITY, "Relative humidity, as 45 %.", None)
    swing: float | None = key(
        SWING, "Half the daily swing, as 4 F or 2 C: warmest at 15:00, coldest at 3:00.", None
    )


AIR = Form(AirEntry, "{temperature: 66 F, humidity: 45 %}")


@dataclass(frozen=True)
class RoomEntry(Entry):
    """A place with its own air."""

    air: AirEntry = key(AIR, "The room's air; what is not given is as in the job's.", AirEntry())


def _stage(means: str) -> LabelTime | None:
    return key(LABEL_TIME, f"Time until {means}; with a window as 2 h..24 h.", None)


@dataclass(frozen=True)
class LabelEntry(Entry):
    """The numbers on the owner's own product: a time for each stage that it names."""

    touch: LabelTime | None = _stage("it is dry to the touch")
    set: LabelTime | None = _stage("it has set")
    recoat: LabelTime | None = _stage("the next coat may go on")
    sand: LabelTime | None = _stage("it may be sanded")
    walk: LabelTime | None = _stage("it may be walked on")
    tile: LabelTime | None = _stage("tile may be set on it")
    grout: LabelTime | None = _stage("it may be grouted")
    flood: LabelTime | None = _stage("it may be flooded for a test")
    paint: LabelTime | None = _stage("it may be painted")
    water: LabelTime | None = _stage("it may get wet in use")
    at: Conditions | None = key(
        AIR_STATE, "The air that the label's times are for; 23 C 50 % if it names none.", None
    )
    thickness: float | None = key(THICKNESS, "The thickness that the label's times are for.", None)

    def stages(self) -> dict[str, LabelTime]:
        """The times that are given, by stage."""
        times = {stage: getattr(self, stage) for stage in STAGES}
        return {stage: time for stage, time in times.items() if time}


LABEL = Form(LabelEntry, "{recoat: 2 h, tile: 12 h, at: 73 F 50 %}")


@dataclass(frozen=True)
class ProductEntry(SupplyEntry):
    """What tasks apply."""

    class_: Text | None = key(
        CLASS,
        "The product class, as `thenwait products` lists them.",
        None,
        required="a class of the catalogue such as thinset",
    )
    label: LabelEntry = key(
        LABEL, "What the label of your own product says; it beats the catalogue.", LabelEntry()
    )
    shorten: bool | None = key(
        YesNo(), "Whether warm, dry air may bring waits under the label's times.", None
    )
    thickness: float | None = key(THICKNESS, "How thick it is applied, as 10 mm or 3/8 in.", None)
    use: Usage | None = key(
        USAGE, "What one application takes, as 95 sq ft per 50 lb or 24 mil of wet film.", None
    )


@dataclass(frozen=True)
class TaskEntry(Entry):
    """A piece of work."""

    name: str = key(LINE, "The task in words; the id if left out.", "")
    who: tuple[WayEntry, ...] = key(
        WHO,
        "Who does it: a person, a list, or how many of each, as {me: 1, helper: 2}; all of them "
        "present. A choice: {any: [me, helper]}, or with a time of its own for work that goes "
        "faster with two, {any: [me, {who: [me, helper], work: 2.5 h}]}. Left out: nobody is "
        "needed and it runs round the clock.",
        (),
    )
    same_person_as: Text | None = key(
        TASK,
        "A task that is done by the same people: the hand doesn't change. Without a `who` of its "
        "own, by any who may do that one.",
        None,
    )
    room: Text | None = key(ROOM, "Where.", None)
    work: WorkTime = key(
        WORK,
        "Working time with all of `who` present, as 45 min or 3 h, or the shortest, usual and "
        "longest of it, as 3 h..4 h..7 h; 0 min for a milestone such as a delivery or a passed "
        "inspection. Left out: from `quantity` and `rate`.",
        WorkTime(0),
    )
    quantity: Measure | None = key(
        QUANTITY, "How much work it is, as 9.2 m2 or 42 sq ft: says what it uses up, too.", None
    )
    rate: Text | None = key(RATE, "What kind of work it is, as wall-tile: how long it takes.", None)
    applies: Text | None = key(
        PRODUCT, "The product it applies, or straight away a class of the catalogue.", None
    )
    uses: dict[str, Measure | None] = key(
        Table("product or goods", "products or goods", USED, None,
              "How much of it this task uses, before waste.", Id("product or goods"), most=100),
        "What it uses up, by id, where class and rate don't know or are wrong: {tile: 9.2 m2}.", {},
    )  # fmt: skip
    delivers: tuple[Text, ...] = key(
        Many(SUPPLIED),
        "What is on site once this is done, a delivery: tasks that take it wait for it.",
        (),
    )
    after: tuple[tuple[LinkEntry, ...], ...] = key(
        Many(Links()), "What comes before it: tasks, and the stages or times to wait for.", ()
    )
    split: bool | None = key(
        YesNo(),
        "Whether the work may stop and go on in the next free hours. Left out: yes, unless the "
        "product must go on in one go.",
        None,
    )
    not_before: Moment | None = key(
        MOMENT, "It starts then at the earliest; a bare date means the start of that day.", None
    )
    must_finish_by: Moment | None = key(
        MOMENT,
        "It is finished by then, or there is no plan; a bare date: the end of that day.",
        None,
    )
    dusty: bool = key(
        YesNo(), "Whether it makes dust that fresh coats in the room can't bear.", False
    )
    hold: bool = key(YesNo(), "Whether it is a test or inspection to be passed.", False)
    fails: float | None = key(SHARE, "How often it is not passed, for the odds: 5 %.", None)
    redo: int | None = key(SOME_TIME, "How long until a failed one is tried again: 2 d.", None)
    closes: tuple[Text, ...] = key(
        Many(USED_BY_ALL),
        "What the household does without from the start of this task, as shower or toilet; "
        "another task reopens it.",
        (),
    )
    reopens: tuple[Text, ...] = key(
        Many(USED_BY_ALL), "What the household has again once this task is done.", ()
    )
    notes: str = key(LINES, "Anything to remember; printed with the task.", "")


_WORK = "a time such as 45 min or 3 h (0 min for a delivery or an inspection)"
TASK_FORM = Form(
    TaskEntry,
    "{who: me, work: 3 h}",
    either=OneOf((("work",), ("quantity", "rate"), ("delivers",)),
                 f"'work': {_WORK}; or 'quantity' and 'rate'"),
)  # fmt: skip


@dataclass(frozen=True)
class JobEntry(Entry):
    """One renovation."""

    job: str = key(LINE, "What the job is called.", "", required="what the job is called")
    timezone: Text | None = key(
        ZONE, "The IANA time zone of the house.", None,
        required="an IANA time zone such as America/Toronto or Europe/Berlin",
    )  # fmt: skip
    start: Moment | None = key(
        MOMENT, "Nothing is placed before it: a date, or a date and local time.", None,
        required=hourstext.DATE_WORDS,
    )  # fmt: skip
    finish_by: Moment | None = key(
        MOMENT, "A wish: a later finish is warned of. A bare date means the end of that day.", None
    )
    units: Literal["metric", "imperial"] = key(
        UNITS, "How results are shown; any unit may be written.", "metric"
    )
    air: AirEntry = key(
        AIR, "The air of the house, where a room doesn't say otherwise.", AirEntry()
    )
    priority: float = key(
        PRIORITY, "How much a late finish weighs among jobs that are planned together.", 1.0
    )
    prefer: Prefer = key(
        PREFER, "What the plan is to be best at before all else: the finish if left out.", "finish"
    )
    people: dict[str, PersonEntry] = key(PEOPLE, "Who works, by id.", {})
    people_from: Text | None = key(
        CREW_FILE, "A file beside this one with the `people` that several jobs share.", None
    )
    rooms: dict[str, RoomEntry] = key(
        Table("room", "rooms", Form(RoomEntry, "{air: {humidity: 55 %}}", empty=True), RoomEntry(),
              "A place that can be occupied, closed or dusty.", Id("room")),
        "Where it happens, by id.", {},
    )  # fmt: skip
    built: int | None = key(YEAR, "The year the house was built: for the cautions.", None)
    currency: str = key(CURRENCY, "What prices are in, as ISO 4217 has it: CAD, EUR.", "")
    products: dict[str, ProductEntry] = key(
        Table("product", "products", Form(ProductEntry, "{class: thinset}"), ProductEntry(),
              "A class of the catalogue, with the numbers of your own label.", Id("product")),
        "What is applied, by id.", {},
    )  # fmt: skip
    goods: dict[str, GoodsEntry] = key(
        Table("goods", "goods", Form(GoodsEntry, "{pack: 15 sq ft, price: 14}"), GoodsEntry(),
              "Board, screws, tile: what tasks use that is no product class.", Id("goods")),
        "What is bought besides, by id.", {},
    )  # fmt: skip
    tasks: dict[str, TaskEntry] = key(
        Table("task", "tasks", TASK_FORM, TaskEntry(),
              "A piece of work; its id is its identity in calendars for ever.",
              Id("task", dict.fromkeys(LINK.keys, MEANS_MORE)), least=1),
        "The work, by id.", {},
        required="a block of tasks, each under its id",
    )  # fmt: skip


JOB = Form(JobEntry, "job, timezone, start and tasks")
