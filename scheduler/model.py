"""The nouns, frozen: what a job is, and what a plan of it is. Plain data, no behaviour to speak of.

Units everywhere: times are UTC minutes (``scheduler.clock``), spans are minutes, temperatures are
degrees Celsius, relative humidity is a fraction 0..1, thickness is in millimetres. Spans of time
are half-open: ``start <= t < end``.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from functools import cached_property
from typing import Literal, NamedTuple

End = Literal["start", "finish"]
Basis = Literal["published", "common practice", "from memory", "owner's label"]

STAGES = (
    "touch", "set", "recoat", "sand", "walk", "tile", "grout", "flood", "paint", "water",
)  # fmt: skip


@dataclass(frozen=True)
class Conditions:
    """A state of the air: temperature [°C], relative humidity [0..1]."""

    temperature: float
    humidity: float


LABORATORY = Conditions(23.0, 0.50)
"""The atmosphere that labels speak of where they name none (ISO 291 / ISO 554, from memory)."""


@dataclass(frozen=True, eq=False)
class Course:
    """Air as it was measured, and as it is foreseen from that: linear between the nodes.

    ``minutes`` rise strictly, two at least; ``temperatures`` [°C] and ``humidities`` [0..1] are
    those at them. Nothing is said of the time before the first or after the last. Each course is
    equal to itself alone, so that what is reckoned from one can be kept by it.

    Where ``humidities`` were raised to be on the safe side (damp air outdoors, gaps, soon after a
    reading), ``driest`` are the safe side of what cures with moisture from the air. None where they
    are the same.
    """

    minutes: tuple[int, ...]
    temperatures: tuple[float, ...]
    humidities: tuple[float, ...]
    driest: tuple[float, ...] | None = None


@dataclass(frozen=True)
class Air:
    """The air of a room over time.

    The temperature swings daily as a sine: mean ``temperature`` [°C], half the daily range
    ``swing`` [K], warmest at 15:00 and coldest at 03:00 local time. Humidity [0..1] is steady:
    boards, wood and plaster buffer the relative humidity of a room far better than its moisture.
    ``assumed`` says that nobody gave this air and the tool supposed it. As far as ``course``
    reaches, the air is what that says.
    """

    temperature: float
    humidity: float
    swing: float = 0.0
    assumed: bool = False
    course: Course | None = None


@dataclass(frozen=True)
class Weekly:
    """Hours that come back every week, on wall clocks.

    ``days`` counts Monday as 0; ``start`` and ``end`` are minutes of the day, 0..1440. With
    ``end <= start`` the window runs over midnight into the next day.
    """

    days: frozenset[int]
    start: int
    end: int


@dataclass(frozen=True)
class Dated:
    """Hours on one date, on wall clocks; they add to the weekly ones. Else as ``Weekly``."""

    day: date
    start: int
    end: int


ALWAYS = (Weekly(frozenset(range(7)), 0, 1440),)
"""Round the clock."""


@dataclass(frozen=True)
class Away:
    """A span of naive local wall time in which a person has no hours; it beats weekly and dated."""

    start: datetime
    end: datetime


Skill = Literal["trade", "handy", "beginner"]
"""How used somebody is to the work."""


@dataclass(frozen=True)
class Person:
    """Somebody, or a trade, with hours in which work can happen; ``count`` alike.

    ``skill`` and ``pace`` turn quantities into work: ``pace`` 1.6 takes 1.6 times the rate's time.
    ``price_per_hour`` is in the job's currency. ``crew`` is the identity of the crew file that has
    this person, shared by all jobs that name it; empty for a person of one job alone.

    A trade may want ``notice`` [min]: work of theirs that is not begun lies that long after the
    moment the plan is asked for, except in windows that are ``booked``, which are hours of theirs.
    In a job they come on ``at_most`` so many days, and for ``visits_of`` so much work [min, of all
    of them together] on each day but the last; neither is asked of days on which they came or are
    booked.
    """

    id: str
    hours: tuple[Weekly | Dated, ...]
    away: tuple[Away, ...] = ()
    count: int = 1
    skill: Skill = "handy"
    pace: float = 1.0
    price_per_hour: Decimal | None = None
    crew: str = ""
    notice: int = 0
    booked: tuple[Dated, ...] = ()
    at_most: int | None = None
    visits_of: int = 0


@dataclass(frozen=True)
class Room:
    """A place that can be occupied, closed or dusty, with its own air."""

    id: str
    air: Air


@dataclass(frozen=True)
class Stage:
    """A named point in a product's life after it is applied.

    Args:
        name: one of ``STAGES``.
        law: the law of waiting, a key of ``scheduler.laws.LAWS``.
        minutes: the label's time [min] at the conditions ``at``, thickness already counted in.
        at: the conditions the time is stated for.
        least: a standard's minimum [min] that neither warm air nor a label brings down.
        cold_below: with air below this [°C] at any time in the first 24 h after application,
            ``cold_least`` [min] takes the place of ``least``.
        cold_least: see ``cold_below``.
        within: the window [min]: what waits for this stage must start by then, counted from the
            finish of the application; None for no limit.
        shorten: whether warm, dry air may bring the wait under ``minutes``.
        basis: what kind of knowledge ``minutes`` is.
        source: where it is from.
    """

    name: str
    law: str
    minutes: int
    at: Conditions
    basis: Basis
    source: str
    least: int = 0
    cold_below: float | None = None
    cold_least: int = 0
    within: int | None = None
    shorten: bool = False


@dataclass(frozen=True)
class Limits:
    """The air in which a product may be applied; None for no limit.

    Temperatures [°C] inclusive, humidity [0..1] inclusive, margin of the air over its dew point
    [K] inclusive.
    """

    temperature_min: float | None = None
    temperature_max: float | None = None
    humidity_max: float | None = None
    dew_margin: float | None = None


Unit = Literal["kg", "L", "m", "m2", "each"]
"""What a product or goods is measured and sold in."""

Per = Literal["m2", "m", "each", "room"]
"""What a quantity of work is counted in."""


class Measure(NamedTuple):
    """A size and what it counts: kg, L, m, m2, each or room."""

    size: float
    unit: str


@dataclass(frozen=True)
class Stock:
    """What is on hand of something, in one piece: a bag, a pail.

    Args:
        amount: how much is left [the unit of the product or goods].
        opened: the day it was opened; None where it is sealed.
        best_before: the last day on which it is good; None where nobody says.
    """

    amount: float
    opened: date | None = None
    best_before: date | None = None


@dataclass(frozen=True)
class Supply:
    """How something is bought, as the owner knows it, and what is there already.

    Args:
        price: of one pack, in the job's currency.
        lead_time: from the order until it is there [min].
        stock: what is on hand.
        own_pack: whether the owner said what a pack holds; else the usual pack is supposed.
    """

    price: Decimal | None = None
    lead_time: int = 0
    stock: tuple[Stock, ...] = ()
    own_pack: bool = False


@dataclass(frozen=True)
class Goods:
    """What tasks use that is no product class: board, screws, mesh tape, tile.

    Args:
        id: its key in the job file, or its name in the list of goods.
        title: in words.
        unit: what it is counted and sold in.
        pack: what one pack holds [``unit``]; None where nobody knows.
        waste: what is lost to offcuts and breakage, as a share of what is used [0..1].
        supply: how it is bought.
    """

    id: str
    title: str
    unit: Unit
    pack: float | None
    waste: float = 0.0
    supply: Supply = Supply()


@dataclass(frozen=True)
class Amount:
    """How much of a product is used, how long a mix of it stays usable, how it is sold and keeps.

    Args:
        use: what one application (one coat, one pass) takes [``unit`` for each ``per``].
        unit: what it is measured and sold in.
        per: what the work is counted in.
        waste: what is lost to pail, tools and offcuts, as a share of what is used [0..1].
        pack: the usual pack [``unit``].
        basis: what kind of knowledge ``use`` is.
        source: where it is from.
        pot_life: how long a fresh mix can be worked [min] in the air ``pot_at``; None where it is
            not mixed, and the air of its own stages decides.
        pot_law: the law that pot life follows, a key of ``scheduler.laws.LAWS``.
        pot_at: the air that ``pot_life`` is stated for.
        pot_source: basis and source of ``pot_life``.
        sealed_life, opened_life: how long it keeps, sealed from its making and once opened [min];
            None where nothing is known.
        life_source: basis and source of both.
        density: [kg/L] as sold, to turn a pack in kg into litres and back; None where unknown.
    """

    use: float
    unit: Unit
    per: Per
    waste: float
    pack: float
    basis: Basis
    source: str
    pot_life: int | None = None
    pot_law: str = "fixed"
    pot_at: Conditions = LABORATORY
    pot_source: str = ""
    sealed_life: int | None = None
    opened_life: int | None = None
    life_source: str = ""
    density: float | None = None


@dataclass(frozen=True)
class Product:
    """What a task applies: a class from the catalogue with the owner's label laid over it.

    Args:
        id: its key in the job file.
        class_name: the catalogue's name for the class.
        title: the class in words, e.g. "liquid-applied membrane, ANSI A118.10".
        stages: in the order they are passed.
        limits: application limits.
        one_go: whether applying it must go on without a break.
        closes: the room is closed from the start of the application until this stage.
        dust_shy: no dusty work in the room from the start of the application until this stage.
        on_missed_window: what the class says to do when a window was missed.
        thickness: as applied [mm], where the class's times depend on it.
        checks: by stage, what to look at and feel on site before believing that it is reached.
        amount: how much of it is used; None where the class doesn't say.
        supply: how it is bought.
    """

    id: str
    class_name: str
    title: str
    stages: tuple[Stage, ...]
    limits: Limits = Limits()
    one_go: bool = False
    closes: str | None = None
    dust_shy: str | None = None
    on_missed_window: str = ""
    thickness: float | None = None
    checks: tuple[tuple[str, str], ...] = ()
    amount: Amount | None = None
    supply: Supply = Supply()

    def stage(self, name: str) -> Stage:
        """The stage of that name; KeyError where the class has none."""
        for stage in self.stages:
            if stage.name == name:
                return stage
        raise KeyError(name)


@dataclass(frozen=True)
class Link:
    """What a task waits for: one entry of its ``after``.

    The task's ``end`` (``to``) comes at least ``wait`` minutes (may be negative) after the
    ``of`` of the task ``task``; with a ``stage``, not before what ``task`` applied reaches it
    (counted from ``task``'s finish; ``wait`` is then 0); and at most ``within`` minutes after it.
    The classical four link types are ``of``/``to`` = finish/start (the usual one), start/start,
    finish/finish, start/finish.
    """

    task: str
    stage: str | None = None
    wait: int = 0
    within: int | None = None
    of: End = "finish"
    to: End = "start"


@dataclass(frozen=True)
class Way:
    """One way to do a task: ``work`` minutes with all of ``who`` present, ``several`` of some.

    ``work_range`` as of a task.
    """

    work: int
    who: tuple[str, ...]
    several: tuple[tuple[str, int], ...] = ()
    work_range: tuple[int, int] | None = None

    @cached_property
    def hands(self) -> Mapping[str, int]:
        """How many of each person it takes."""
        return dict.fromkeys(self.who, 1) | dict(self.several)


@dataclass(frozen=True)
class Task:
    """A piece of work. ``work`` is minutes with all of ``who`` present; 0 makes a milestone.

    ``several`` says how many of a person it takes where that is more than one, each in ``who``.
    ``split`` is already decided here: false where the file says so, or where it is silent and the
    product's class must go on in one go. ``not_before`` and ``must_finish_by`` are UTC minutes; a
    bare date in the file means the first minute of that day, or the end of it.

    ``quantity`` is how much work it is and ``rate`` what kind (a name of ``data/rates.yaml``);
    where the file gives no ``work``, they made it. ``work_range`` are the shortest and the longest
    it may take [min], where the owner knows; ``fails`` [0..1] how often what is to be passed is
    not, and ``redo`` [min] how long until it is tried again. ``uses`` says how much of a product or
    goods the task takes, by id and in its unit, where the owner knows better than class and rate.
    ``delivers`` are the products and goods that are on site once it is done: what takes them has a
    link to it. ``closes`` and ``reopens`` are what the household uses, in its own words: from the
    start of the first task that closes it to the finish of the last that reopens it, or of the job
    where none does, it is not to be had.

    Where there is a choice, ``ways`` are the ways to do it, two at least and no two with the same
    hands; ``who``, ``work`` and the like are those of the first. Tasks with the same ``same_as``
    (the first of them) are done by the same people: their ways are by the same hands in the same
    order, only the work may differ.
    """

    id: str
    name: str
    work: int
    who: tuple[str, ...] = ()
    room: str | None = None
    applies: str | None = None
    split: bool = True
    after: tuple[Link, ...] = ()
    not_before: int | None = None
    must_finish_by: int | None = None
    dusty: bool = False
    hold: bool = False
    notes: str = ""
    quantity: Measure | None = None
    rate: str | None = None
    uses: tuple[tuple[str, float], ...] = ()
    delivers: tuple[str, ...] = ()
    work_range: tuple[int, int] | None = None
    fails: float | None = None
    redo: int | None = None
    several: tuple[tuple[str, int], ...] = ()
    closes: tuple[str, ...] = ()
    reopens: tuple[str, ...] = ()
    ways: tuple[Way, ...] = ()
    same_as: str | None = None

    @cached_property
    def hands(self) -> Mapping[str, int]:
        """How many of each person it takes while it is worked on."""
        return dict.fromkeys(self.who, 1) | dict(self.several)


EventKind = Literal["started", "done", "passed", "failed", "delivered"]


@dataclass(frozen=True)
class Event:
    """Something that happened ``at`` a minute; ``of`` is a task, or what was delivered, by id."""

    at: int
    kind: EventKind
    of: str
    note: str = ""


@dataclass(frozen=True)
class Reading:
    """The air as it was read at a minute: [°C], [0..1]; None for what was not read.

    ``room`` is None where no room was named: it is then the air of the job.
    """

    at: int
    room: str | None
    temperature: float | None
    humidity: float | None


@dataclass(frozen=True)
class Log:
    """What really happened, in that order; lines undone or corrected later are left out."""

    events: tuple[Event, ...] = ()
    readings: tuple[Reading, ...] = ()


@dataclass(frozen=True)
class Actual:
    """What is known of a task: when it really started and finished [UTC min], None if not yet.

    A task whose start nobody wrote down has the start that its finish and its work suggest.
    ``passed`` is when a hold point passed, ``failed`` when it last failed and was not repeated;
    a task that failed is open again, with no start and no finish.
    """

    started: int | None = None
    finished: int | None = None
    passed: int | None = None
    failed: int | None = None

    @property
    def state(self) -> "State":
        """How far the task is."""
        if self.finished is not None:
            return "done"
        return "open" if self.started is None else "running"


@dataclass(frozen=True)
class Past:
    """How far a job is ``now`` [UTC min]: what is known of its tasks, what was delivered when.

    ``readings`` are those of the air so far; each room's ``Air.course`` was reckoned from them.
    ``start`` is the start in the job's file, where something was done for the job before it.
    """

    now: int
    actual: Mapping[str, Actual] = field(default_factory=dict)
    delivered: Mapping[str, int] = field(default_factory=dict)
    readings: tuple[Reading, ...] = ()
    start: int | None = None


Prefer = Literal["finish", "fewest-days-without", "fewest-visits"]
"""What of a plan is to be best before all else."""


@dataclass(frozen=True)
class Job:
    """One renovation, one file, with every reference resolved and every default filled in.

    ``start`` and ``finish_by`` are UTC minutes (a bare date: first minute of the day, end of the
    day). Tasks, people, rooms, products and goods keep the order of the file. ``currency`` is an
    ISO 4217 code, empty where prices have none; ``built`` the year the house was built. ``past`` is
    None as long as nothing is logged: the plan is then made from the start. ``priority`` is how
    much a minute past ``finish_by`` weighs among jobs that are planned together.
    ``prefer`` is what its plan is to be best at. ``asked`` is the moment at which its plan is asked
    for [UTC min], from which notice counts; where it is None and nothing is logged, nobody wants
    any.
    """

    name: str
    timezone: str
    start: int
    air: Air
    people: Mapping[str, Person]
    rooms: Mapping[str, Room]
    products: Mapping[str, Product]
    tasks: tuple[Task, ...]
    finish_by: int | None = None
    units: Literal["metric", "imperial"] = "metric"
    goods: Mapping[str, Goods] = field(default_factory=dict)
    currency: str = ""
    built: int | None = None
    past: Past | None = None
    priority: float = 1.0
    prefer: Prefer = "finish"
    asked: int | None = None

    @cached_property
    def task(self) -> Mapping[str, Task]:
        """Tasks by id."""
        return {task.id: task for task in self.tasks}

    @property
    def closes(self) -> tuple[str, ...]:
        """What the household does without at some time, in the order of the file."""
        return tuple(dict.fromkeys(name for task in self.tasks for name in task.closes))

    @property
    def now(self) -> int:
        """The moment from which tasks are placed [UTC min]."""
        return self.start if self.past is None else self.past.now

    def actual(self, task: str) -> Actual:
        """What is known of a task by its id; nothing as long as nothing is logged of it."""
        return Actual() if self.past is None else self.past.actual.get(task, Actual())

    def air_of(self, room: str | None) -> Air:
        """The air of a room, or the job's own where a task has no room."""
        return self.air if room is None else self.rooms[room].air

    def product_of(self, task: Task) -> Product | None:
        """What a task applies."""
        return None if task.applies is None else self.products[task.applies]


ReasonKind = Literal[
    "start",  # nothing holds it: the job starts then
    "link",  # another task, perhaps with a fixed wait
    "stage",  # what another task applied must reach a stage
    "window",  # moved later, so that what follows still comes within its window
    "people",  # a person is busy with another task
    "elsewhere",  # a person is busy with a task of another job
    "room",  # the room is closed
    "dust",  # dusty work and a fresh surface keep clear of each other
    "hours",  # nobody in hours
    "notice",  # somebody who wants notice can't be had sooner
    "trip",  # an earlier start would cost one more day on which somebody comes
    "visits",  # earlier, somebody would come on too many days, or for too little
    "without",  # an earlier start would be one more day without something the household uses
    "air",  # the air is out of the product's limits
    "date",  # not_before
    "log",  # it really happened then
]


@dataclass(frozen=True)
class Reason:
    """Why a task starts when it does and not a minute earlier.

    Where a person was busy elsewhere, ``task`` is one of another job, whose name is ``job``, and
    ``delay`` how much earlier it could start if other jobs held nobody [min].
    """

    kind: ReasonKind
    text: str
    task: str | None = None
    stage: str | None = None
    job: str | None = None
    delay: int = 0


State = Literal["open", "running", "done"]


@dataclass(frozen=True)
class PlannedTask:
    """A task as placed. ``sessions`` are the spans actually worked; a milestone has none.

    What is ``running`` has its real start, what is ``done`` its real finish, too, and no float.
    ``who`` and ``several`` are those of the way that is taken, where there is a choice.

    ``latest_start`` and ``latest_finish`` keep the plan's finish, crew order included;
    ``float_minutes`` is ``latest_start - start``; ``free_float_minutes`` delays no other task;
    ``logic_float_minutes`` is the float if crews were unlimited.
    """

    id: str
    name: str
    who: tuple[str, ...]
    room: str | None
    start: int
    finish: int
    sessions: tuple[tuple[int, int], ...]
    latest_start: int
    latest_finish: int
    float_minutes: int
    free_float_minutes: int
    logic_float_minutes: int
    critical: bool
    because: Reason
    state: State = "open"
    several: tuple[tuple[str, int], ...] = ()

    @property
    def hands(self) -> Mapping[str, int]:
        """How many of each person it takes while it is worked on."""
        return dict.fromkeys(self.who, 1) | dict(self.several)


@dataclass(frozen=True)
class Wait:
    """A product on its way to a stage, or a fixed wait (``product`` and ``stage`` None).

    ``start`` is the finish of ``task``, ``end`` the moment the stage is reached. ``for_task`` is
    what waits for it; None where the stage only opens a room or ends a dust-shy time. ``to`` is
    the end of ``for_task`` that may not come before ``end``. ``close_by`` is the last moment at
    which ``for_task`` may start.
    """

    task: str
    product: str | None
    stage: str | None
    for_task: str | None
    start: int
    end: int
    label_minutes: int
    close_by: int | None = None
    to: End = "start"

    @property
    def minutes(self) -> int:
        """How long it takes [min]."""
        return self.end - self.start


@dataclass(frozen=True)
class TimeSplit:
    """Where the elapsed time of the job goes [min], along the driving chain, without remainder."""

    work: int = 0
    waiting: int = 0
    outside_hours: int = 0
    people_busy: int = 0
    room_closed: int = 0
    air: int = 0
    dates: int = 0


@dataclass(frozen=True)
class Without:
    """Something the household does without in ``[start, end)`` [UTC min].

    ``days`` counts the local calendar days on which it is not to be had at some minute.
    """

    of: str
    start: int
    end: int
    days: int


@dataclass(frozen=True)
class Kept:
    """What of an earlier plan is kept to: of each task, by its id, its start [UTC min].

    ``hands`` are by how many of whom it is done there.
    """

    starts: Mapping[str, int]
    hands: Mapping[str, Mapping[str, int]] = field(default_factory=dict)


@dataclass(frozen=True)
class Booking:
    """A day on which somebody comes who doesn't come just like that: ``[start, end)`` [UTC min].

    They want notice, are booked, or come on few days or for so much work at the least.

    Args:
        who: the person.
        start, end: from the first minute to the last.
        tasks: what they come for, by id, in that order; nothing where a booking is for nothing.
        booked: whether all of it is in windows booked already.
        by: the last moment to ask them [UTC min]; None where nobody needs to.
    """

    who: str
    start: int
    end: int
    tasks: tuple[str, ...]
    booked: bool
    by: int | None = None


@dataclass(frozen=True)
class Plan:
    """A job with every task placed.

    ``chain`` is the driving chain: the ids of the tasks whose reasons, walked back from the
    finish, lead to the start of the job, in the order they happen. ``finish_bound`` is proven: no
    plan finishes earlier. ``visits`` counts the days on which somebody comes, each person's days
    apart; ``visits_bound`` is the proven least at this finish. ``days_without`` tells for each
    thing that is closed when, and ``days_without_bound`` is the proven least of all their days
    together, at this finish and with so few visits.

    That is so where the finish is preferred. Each of the three bounds is of plans that are as good
    as this one by what is preferred to it (``goals.ORDERS``); one that is preferred to the finish,
    of plans that finish within ``goals.LATER`` of ``soonest``: the finish of a plan made for an
    early finish.

    ``bookings`` are the days to come of people who don't come just like that.
    """

    job: str
    timezone: str
    start: int
    finish: int
    proven_earliest: bool
    finish_bound: int
    visits: int
    visits_bound: int
    tasks: tuple[PlannedTask, ...]
    waits: tuple[Wait, ...]
    where_time_goes: TimeSplit
    chain: tuple[str, ...]
    warnings: tuple[str, ...] = ()
    days_without: tuple[Without, ...] = ()
    days_without_bound: int = 0
    prefer: Prefer = "finish"
    soonest: int | None = None
    bookings: tuple[Booking, ...] = ()

    @cached_property
    def task(self) -> Mapping[str, PlannedTask]:
        """Placed tasks by id."""
        return {task.id: task for task in self.tasks}
