"""Cautions: what they say and refer to, what brings them up, and where they are told."""

from dataclasses import replace

import pytest

from scheduler.catalogue import product
from scheduler.cautions import Due, cautions, cautions_due, read_cautions
from scheduler.errors import BadFile
from scheduler.ics import calendar
from scheduler.model import Air, Job, Link, Plan, Task
from scheduler.text import plan_text
from tests.planfactory import at, job_of, placed, plan_of

FRI, SAT, SUN = "2027-01-08", "2027-01-09", "2027-01-10"
WARM = Air(20.0, 0.5)


def case(*tasks: Task, built: int | None = None, air: Air = WARM) -> tuple[Job, Plan]:
    """The tasks, one a day from Friday on, two hours each; the job starts on Friday at noon."""
    applied = {task.applies for task in tasks if task.applies}
    job = job_of(
        tasks, start=at(f"{FRI} 12:00"), air=air,
        products=[product(name, name) for name in sorted(applied)],
    )  # fmt: skip
    days = [f"2027-01-{8 + n:02}" for n in range(len(tasks))]
    placing = [
        placed(task, (at(f"{day} 13:00"), at(f"{day} 15:00")))
        for task, day in zip(tasks, days, strict=True)
    ]
    return replace(job, built=built), plan_of(job, placing)


def told(*tasks: Task, built: int | None = None, air: Air = WARM) -> dict[str, Due]:
    return {each.name: each for each in cautions_due(*case(*tasks, built=built, air=air))}


CHAT = Task("measure", "Measure up", 120, ("me",))
STRIP = Task("walls", "Take the old walls out", 120, ("me",), rate="strip-walls")


# What they say. The figures are those of the references, as read or recalled.


@pytest.mark.parametrize(
    ("name", "reference", "words"),
    [
        ("silica", "29 CFR 1926.1153", ("wet", "vacuum", "respirator", "lungs")),  # read
        ("lead", "40 CFR 745", ("1978", "tested", "before")),  # read
        ("asbestos", "29 CFR 1926.1101", ("tested", "before", "licensed")),  # from memory
        ("electricity", "NEC 210.8", ("GFCI", "dead", "licensed electrician")),  # from memory
        ("flood-load", "ASTM D5957", ("5.19 lb", "4 in", "framing")),  # read: note 1, 5.3
        ("heaters", "29 CFR 1926", ("carbon monoxide", "water vapour", "vents outside")),  # memory
        ("wet-cement", "safety data sheet", ("burns", "skin", "eyes", "gloves", "wash")),  # read
        ("utilities", "local building", ("Gas", "licensed trades", "bearing walls")),
        ("inspection", "local building code", ("Codes differ by place", "building office")),
    ],
)
def test_each_caution_says_what_to_do_and_where_that_is_from(
    name: str, reference: str, words: tuple[str, ...]
) -> None:
    caution = cautions()[name]
    assert reference in caution.reference
    said = " ".join(caution.says.split())
    assert all(word in said for word in words)


def test_an_inch_of_water_weighs_what_the_caution_says() -> None:
    # 62.3 lb to the cubic foot of water at 20 C (common tables, from memory): over 12 in 5.19 lb.
    assert pytest.approx(5.19, abs=0.005) == 62.3 / 12
    # A millimetre on a square metre is a litre, so a kilogram.
    assert "1 kg on a square metre" in " ".join(cautions()["flood-load"].says.split())


def test_every_caution_is_brought_up_by_something_and_has_its_basis() -> None:
    for name, caution in cautions().items():
        when = caution.when
        assert any((when.rates, when.classes, when.words, when.dusty, when.hold, when.flood,
                    when.colder_than)), name  # fmt: skip
        assert caution.basis in {"published", "common practice", "from memory"}


# What brings them up


def test_quiet_work_brings_nothing_up() -> None:
    assert told(CHAT) == {}


@pytest.mark.parametrize(
    ("task", "name"),
    [
        (STRIP, "silica"),
        (Task("demo", "Demolition of the bath", 120, ("me",)), "silica"),
        (Task("saw", "Saw the sill", 120, ("me",), dusty=True), "silica"),
        (Task("t", "Tile", 120, ("me",), rate="floor-tile"), "silica"),
        (Task("t", "Tile", 120, ("me",), applies="thinset"), "wet-cement"),
        (Task("t", "Coat", 120, ("me",), applies="liquid-membrane"), "coatings"),
        (Task("rough-wiring", "Cables", 120, ("me",)), "electricity"),
        (Task("f", "Fill the pan", 120, ("me",), rate="flood-set"), "flood-load"),
        (Task("f", "Fill the pan", 120, ("me",), after=(Link("m", stage="flood"),)), "flood-load"),
        (Task("look", "The inspector looks", 30, ("me",), hold=True), "inspection"),
        (Task("p", "Pipes", 120, ("me",), rate="rough-plumbing"), "utilities"),
    ],
)  # fmt: skip
def test_the_kind_of_work_brings_its_caution_up(task: Task, name: str) -> None:
    assert name in told(task)


@pytest.mark.parametrize(("degrees", "heated"), [(12.0, True), (20.0, False)])
def test_a_cold_room_brings_up_heaters_and_carbon_monoxide(degrees: float, heated: bool) -> None:
    coat = Task("coat", "Coat", 120, ("me",), applies="liquid-membrane")
    assert ("heaters" in told(coat, air=Air(degrees, 0.5))) is heated
    assert "heaters" in told(coat, air=Air(18.0, 0.5, swing=3.0))  # 15 C at night


@pytest.mark.parametrize(
    ("built", "lead", "asbestos"),
    [
        (None, True, True),  # nobody says: test first
        (1962, True, True),
        (1977, True, True),
        (1978, False, True),  # 40 CFR 745: housing built before 1978
        (1980, False, True),  # 29 CFR 1926.1101: presumed up to and with 1980 (from memory)
        (1981, False, False),
    ],
)
def test_the_year_of_the_house_decides_on_lead_and_asbestos(
    built: int | None, lead: bool, asbestos: bool
) -> None:
    found = told(STRIP, built=built)
    assert ("lead" in found, "asbestos" in found) == (lead, asbestos)
    assert "silica" in found
    for name in {"lead", "asbestos"} & {*found}:
        assert (f"(house built {built})" in found[name].text()) is (built is not None)


# Where they are told


def test_a_caution_is_told_once_on_the_day_of_the_first_task_that_brings_it_up() -> None:
    tile = Task("tile", "Tile", 120, ("me",), rate="wall-tile", applies="thinset")
    grout = Task("grout", "Grout", 120, ("me",), applies="grout")
    found = told(CHAT, tile, grout)["wet-cement"]
    assert (found.task, found.minute) == ("tile", at(f"{SAT} 13:00"))
    text = plan_text(*case(CHAT, tile, grout), 80)
    assert text.count("Wet cement:") == 1
    assert text.index("Sat 9 Jan: me") < text.index("Wet cement:") < text.index("Sun 10 Jan: me")


def test_what_must_be_tested_first_is_told_on_the_first_day_and_not_on_the_day_of_the_work() -> (
    None
):
    text = plan_text(*case(CHAT, STRIP, built=1962), 80)
    assert text.index("Fri 8 Jan: me") < text.index("Lead paint (house built 1962):")
    assert text.index("Asbestos (house built 1962):") < text.index("Sat 9 Jan: me")
    assert text.index("Sat 9 Jan: me") < text.index("Silica dust:")


def test_the_calendar_tells_a_caution_in_the_entry_of_its_task() -> None:
    job, plan = case(CHAT, STRIP)
    content = calendar(job, plan, plan.start).decode().replace("\r\n ", "")
    events = [block for block in content.split("BEGIN:VEVENT") if "UID" in block]
    with_silica = [block for block in events if "Caution: Silica dust" in block]
    assert len(with_silica) == 1
    assert "SUMMARY:Take the old walls out" in with_silica[0]


# The file


def damaged(text: str) -> str:
    with pytest.raises(BadFile) as caught:
        read_cautions(text, "cautions.yaml")
    return str(caught.value)


def test_a_wrong_word_in_the_file_is_told_with_its_place() -> None:
    good = "title: T, says: S, reference: R, basis: published"
    file = f"cautions:\n  a: {{{good}, when: {{rates: [wall-tiel]}}}}\n"
    assert "cautions.yaml:2:" in damaged(file)
    assert "did you mean 'wall-tile'" in damaged(file)
    assert "did you mean 'thinset'" in damaged(
        file.replace("rates: [wall-tiel]", "classes: [thinst]")
    )
    assert "needs 'reference'" in damaged(file.replace(", reference: R", ""))
    assert "needs at least one caution" in damaged("cautions: {}")
