"""Job files that are right: every key and every spelling, against the nouns of the model."""

# ruff: noqa: DTZ001 (wall times have no zone)

from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path

import pytest
import yaml

from scheduler import catalogue, jobfile
from scheduler.clock import DAY, instant
from scheduler.model import Air, Away, Conditions, Dated, Job, Link, Person, Room, Task, Way, Weekly
from scheduler.yamlform import tree as yamltree

DATA = Path(__file__).parent / "data" / "good"
EVERY_KEY = (DATA / "every-key.yaml").read_bytes()
MON_FRI, WEEKEND = frozenset(range(5)), frozenset({5, 6})

HEAD = "job: Larch Row\ntimezone: America/Toronto\nstart: 2027-01-08\n"
TASKS = "tasks:\n  board: {work: 4 h}\n"


def parsed(text: str) -> Job:
    return jobfile.parse(text.encode(), "job.yaml")


def of_task(keys: str) -> Task:
    """A task with these keys in a job with a person, a room, a product and two other tasks."""
    text = f"""{HEAD}
people: {{me: {{hours: always}}, plumber: {{hours: always}}}}
rooms: {{shower: {{}}}}
products: {{membrane: {{class: liquid-membrane, label: {{recoat: 2 h..20 h}}}}}}
tasks:
  board: {{work: 4 h}}
  coat: {{work: 1 h, applies: membrane}}
  coat-b: {{work: 1 h, applies: membrane}}
  this-one: {{{keys}}}
"""
    return parsed(text).task["this-one"]


def utc(*parts: int) -> int:
    return instant(datetime(*parts, tzinfo=UTC))  # type: ignore[misc, arg-type]


@pytest.fixture(scope="module")
def every() -> Job:
    return jobfile.parse(EVERY_KEY, "every-key.yaml")


def test_the_keys_of_the_job_itself_are_read(every: Job) -> None:
    assert every.name == "Larch Row bathroom"
    assert every.timezone == "America/Toronto"
    assert every.units == "imperial"
    assert every.start == utc(2027, 1, 8, 22, 0)  # 17:00 at UTC-5
    assert every.finish_by == utc(2027, 2, 15, 5, 0)  # the end of 14 February
    assert every.air.temperature == pytest.approx((66 - 32) / 1.8)
    assert every.air.swing == pytest.approx(4 / 1.8)
    assert (every.air.humidity, every.air.assumed) == (0.45, False)


def test_people_have_their_hours_their_days_away_and_their_number(every: Job) -> None:
    assert every.people == {
        "me": Person(
            "me",
            (Weekly(MON_FRI, 18 * 60, 21 * 60 + 30), Weekly(WEEKEND, 9 * 60, 17 * 60)),
            (
                Away(datetime(2027, 1, 13), datetime(2027, 1, 14)),
                Away(datetime(2027, 1, 20), datetime(2027, 1, 23)),
                Away(datetime(2027, 1, 30, 12), datetime(2027, 1, 30, 16)),
            ),
            skill="beginner",
            pace=1.6,
        ),
        "tilers": Person(
            "tilers",
            (Weekly(MON_FRI, 8 * 60, 12 * 60), Weekly(MON_FRI, 13 * 60, 17 * 60)),
            (Away(datetime(2027, 1, 18), datetime(2027, 1, 19)),),
            count=2,
            price_per_hour=Decimal("62.50"),
        ),
        "inspector": Person(
            "inspector",
            (Dated(date(2027, 1, 14), 8 * 60, 12 * 60),),
            notice=2 * DAY,
            booked=(Dated(date(2027, 1, 15), 9 * 60, 10 * 60),),
            at_most=2,
            visits_of=4 * 60,
        ),
        "heater": Person("heater", (Weekly(frozenset(range(7)), 0, DAY),)),
    }


def test_a_task_takes_as_many_of_a_person_as_it_says() -> None:
    people = "people: {me: {hours: always}, pair: {hours: always, count: 2}}\n"
    lift = "tasks:\n  lift: {who: {me: 1, pair: 2}, work: 1 h}\n"
    task = parsed(HEAD + people + lift).task["lift"]
    assert (task.who, task.several) == (("me", "pair"), (("pair", 2),))
    assert dict(task.hands) == {"me": 1, "pair": 2}


def test_a_room_takes_from_the_job_the_air_that_it_does_not_give(every: Job) -> None:
    job = every.air
    assert every.rooms == {
        "shower": Room("shower", Air((62 - 32) / 1.8, 0.55, 0.0)),
        "hall": Room("hall", Air(job.temperature, 0.005, job.swing)),
        "floor": Room("floor", job),
        "attic": Room("attic", job),
    }


def test_products_are_their_class_with_the_label_over_it(every: Job) -> None:
    at = Conditions((73 - 32) / 1.8, 0.5)
    times = {
        "recoat": catalogue.LabelTime(120, 1200),
        "tile": catalogue.LabelTime(720),
        "flood": catalogue.LabelTime(1440),
    }
    label = catalogue.Label(times, at)
    membrane = catalogue.product("membrane", "liquid-membrane", label, shorten=False)
    assert every.products["membrane"] == membrane
    screed = catalogue.Label({"tile": catalogue.LabelTime(60 * DAY)}, thickness=50.0)
    assert every.products["slab"] == catalogue.product(
        "slab", "screed", screed, thickness=50.0, shorten=True
    )
    assert every.products["tile-glue"].stage("grout").within is None
    assert every.products["compound"].stage("sand").minutes == DAY


def test_a_class_may_be_applied_straight_away_and_stands_behind_the_products_of_the_file(
    every: Job,
) -> None:
    assert every.products["rapid-joint-cement"] == catalogue.product(
        "rapid-joint-cement", "rapid-joint-cement"
    )
    declared = ["membrane", "compound", "mud", "slab", "tile-glue"]
    assert list(every.products) == [*declared, "rapid-joint-cement", "grout"]


def test_every_key_of_a_task_is_read(every: Job) -> None:
    assert every.tasks == (
        Task(
            "inspection", "Rough-in inspection", 0, who=("inspector",), hold=True,
            not_before=utc(2027, 1, 14, 14, 0), must_finish_by=utc(2027, 1, 16, 5, 0),
        ),
        Task(
            "board", "Hang backer board", 240, who=("me", "tilers"), room="shower",
            after=(Link("inspection"),), dusty=True, work_range=(180, 420), closes=("shower",),
            notes="Screws every 8 in.\nLeave 1/4 in above the pan.",
        ),
        Task(
            "joints", "Joints", 90, who=("me",), room="shower", applies="rapid-joint-cement",
            after=(Link("board"),),
        ),
        Task(
            "coat-1", "Coat 1", 60, who=("me",), room="shower", applies="membrane", split=False,
            after=(Link("joints", stage="set"),),
        ),
        Task(
            "coat-2", "Coat 2", 45, who=("me",), room="shower", applies="membrane", split=False,
            after=(
                Link("coat-1", stage="recoat", within=18 * 60),
                Link("board"),
                Link("coat-1", stage="touch"),
                Link("inspection", wait=-30, of="start", to="finish"),
            ),
        ),
        Task(
            "flood-test", "Flood test", DAY, hold=True, after=(Link("coat-2", stage="flood"),),
            fails=0.05, redo=3 * DAY,
        ),
        Task(
            "delivery", "Delivery", 0, not_before=utc(2027, 1, 16, 15, 0),
            delivers=("tile-glue", "mosaic"),
        ),
        every.task["tile"],  # its work is checked where rates are
        Task(
            "sand", "Sand", 180, who=("me",), after=(Link("joints"),),
            ways=(
                Way(180, ("me",)),
                Way(180, ("me", "tilers")),
                Way(60, ("tilers",), (("tilers", 2),)),
            ),
        ),
        Task(
            "paint", "Paint", 120, who=("me",), after=(Link("sand"),), same_as="sand",
            ways=(
                Way(120, ("me",)),
                Way(120, ("me", "tilers")),
                Way(120, ("tilers",), (("tilers", 2),)),
            ),
        ),
    )  # fmt: skip
    assert every.task["tile"].reopens == ("shower",)


def test_both_loaders_read_the_same_job(every: Job, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(yamltree, "LOADER", yaml.BaseLoader)
    assert jobfile.parse(EVERY_KEY, "every-key.yaml") == every


@pytest.mark.parametrize(
    "content",
    [b"\xef\xbb\xbf" + EVERY_KEY, EVERY_KEY.replace(b"\n", b"\r\n"), EVERY_KEY + b"...\n"],
    ids=["byte order mark", "CRLF", "document end"],
)
def test_files_of_other_editors_read_the_same(every: Job, content: bytes) -> None:
    assert jobfile.parse(content, "every-key.yaml") == every


def test_the_order_of_the_file_is_kept() -> None:
    text = HEAD + "people: {z: {hours: always}, a: {hours: always}}\nrooms: {y: , b: }\n"
    job = parsed(text + "tasks: {c: {work: 1 h}, b: {work: 1 h}}\n")
    assert [*job.people, *job.rooms, *job.task] == ["z", "a", "y", "b", "c", "b"]


@pytest.mark.parametrize(
    ("text", "minutes"),
    [
        ("45 min", 45), ("1.5 h", 90), ("1 h 30 min", 90), ("2 d", 2880), ("PT90M", 90),
        ("P1DT2H", 1560), ("0 min", 0), ("0", 0), ("'3 h'", 180), ("365 d", 365 * DAY),
    ],
)  # fmt: skip
def test_work_is_a_time(text: str, minutes: int) -> None:
    assert of_task(f"work: {text}").work == minutes


@pytest.mark.parametrize(
    ("text", "links"),
    [
        ("board", (Link("board"),)),
        ("[]", ()),
        ("[board, coat]", (Link("board"), Link("coat"))),
        ("{coat: touch}", (Link("coat", stage="touch"),)),
        (
            "{coat: touch, coat-b: touch}",
            (Link("coat", stage="touch"), Link("coat-b", stage="touch")),
        ),
        ("{task: coat, stage: touch}", (Link("coat", stage="touch"),)),
        ("{task: board, wait: 2 h}", (Link("board", wait=120),)),
        ("[{task: board, wait: -2 h, within: 1 h}]", (Link("board", wait=-120, within=60),)),
        ("[{task: board, within: 0}]", (Link("board", within=0),)),
        ("[{task: board, from: start}]", (Link("board", of="start"),)),
        ("[{task: board, to: finish}]", (Link("board", to="finish"),)),
        (
            "[{task: board, from: start, to: finish, wait: 2 d}]",
            (Link("board", of="start", to="finish", wait=2 * DAY),),
        ),
        ("[{coat: touch}, board]", (Link("coat", stage="touch"), Link("board"))),
        (
            "[{task: board}, {task: board, to: finish}]",
            (Link("board"), Link("board", to="finish")),
        ),
    ],
)
def test_what_comes_before_may_be_written_in_every_way(text: str, links: tuple[Link, ...]) -> None:
    assert of_task(f"work: 1 h, after: {text}").after == links


@pytest.mark.parametrize(
    ("link", "within"),
    [
        ("{coat: recoat}", 20 * 60),  # the label's window
        ("{task: coat, stage: recoat}", 20 * 60),
        ("{task: coat, stage: recoat, within: 18 h}", 18 * 60),
        ("{task: coat, stage: recoat, within: none}", None),
        ("{task: coat, stage: touch}", None),
        ("{task: coat, wait: 2 h}", None),
    ],
)
def test_a_link_with_a_stage_takes_the_window_of_the_stage(link: str, within: int | None) -> None:
    assert of_task(f"work: 1 h, after: {link}").after[0].within == within


@pytest.mark.parametrize("word", ["yes", "Yes", "YES", "true", "True"])
def test_yes_has_several_spellings(word: str) -> None:
    task = of_task(f"work: 1 h, dusty: {word}, hold: {word}, applies: membrane, split: {word}")
    assert (task.dusty, task.hold, task.split) == (True, True, True)


@pytest.mark.parametrize("word", ["no", "No", "false", "FALSE"])
def test_no_has_several_spellings(word: str) -> None:
    task = of_task(f"work: 1 h, dusty: {word}, hold: {word}, split: {word}")
    assert (task.dusty, task.hold, task.split) == (False, False, False)


def test_work_may_be_split_unless_the_product_goes_on_in_one_go() -> None:
    assert catalogue.classes()["liquid-membrane"].one_go
    assert not catalogue.classes()["grout"].one_go
    assert of_task("work: 1 h").split
    assert of_task("work: 1 h, applies: grout").split
    assert not of_task("work: 1 h, applies: membrane").split
    assert not of_task("work: 1 h, applies: liquid-membrane").split


def test_a_product_of_the_file_comes_before_a_class_of_that_name() -> None:
    text = HEAD + "products: {thinset: {class: rapid-thinset}}\n"
    job = parsed(text + "tasks: {tile: {work: 7 h, applies: thinset}}\n")
    product = job.product_of(job.task["tile"])
    assert product is not None
    assert product.class_name == "rapid-thinset"


@pytest.mark.parametrize(
    ("key", "name"),
    [("coat-1", "Coat 1"), ("hang_board", "Hang board"), ("2-x-4s", "2 x 4s"), ("tile", "Tile")],
)
def test_a_task_without_a_name_has_its_id_in_words(key: str, name: str) -> None:
    assert parsed(f"{HEAD}tasks: {{{key}: {{work: 1 h}}}}\n").tasks[0].name == name


def test_ids_may_be_of_any_letters_and_digits() -> None:
    job = parsed(f"{HEAD}tasks: {{7: {{work: 1 h}}, Küche_2: {{work: 1 h, after: 7}}}}\n")
    assert job.task["Küche_2"].after == (Link("7"),)


@pytest.mark.parametrize(
    ("written", "name"),
    [
        (r'"Tile\e[31m the\0 wall"', "Tile[31m the wall"),
        (r'"two\nlines\tand  more "', "two lines and more"),
        (r'"left\u202Eright\u2066"', "leftright"),
        ("'No. 7: the long wall'", "No. 7: the long wall"),
        ("null-and-void", "null-and-void"),
        ("2027", "2027"),
    ],
)
def test_names_are_cleared_of_control_characters(written: str, name: str) -> None:
    assert of_task(f"work: 1 h, name: {written}").name == name


def test_notes_keep_their_lines() -> None:
    assert of_task(r'work: 1 h, notes: "one\n two\a\n"').notes == "one\ntwo"


@pytest.mark.parametrize(
    ("air", "expected"),
    [
        ("", Air(18.0, 0.60, 0.0, assumed=True)),
        ("air: {}\n", Air(18.0, 0.60, 0.0, assumed=True)),
        ("air: {temperature: 20 C}\n", Air(20.0, 0.60, 0.0, assumed=True)),
        ("air: {humidity: 45 %, swing: 3 C}\n", Air(18.0, 0.45, 3.0, assumed=True)),
        ("air: {temperature: 20 C, humidity: 45 %}\n", Air(20.0, 0.45, 0.0, assumed=False)),
    ],
)
def test_air_that_nobody_gives_is_supposed_and_said_to_be(air: str, expected: Air) -> None:
    assert parsed(HEAD + air + TASKS).air == expected


@pytest.mark.parametrize(
    ("job_air", "room_air", "expected"),
    [
        ("", "", Air(18.0, 0.60, 0.0, assumed=True)),
        ("", "temperature: 15 C", Air(15.0, 0.60, 0.0, assumed=True)),
        ("", "temperature: 15 C, humidity: 70 %", Air(15.0, 0.70, 0.0, assumed=False)),
        ("temperature: 20 C", "humidity: 70 %", Air(20.0, 0.70, 0.0, assumed=False)),
        ("temperature: 20 C, swing: 2 C", "temperature: 15 C", Air(15.0, 0.60, 2.0, assumed=True)),
        ("temperature: 20 C, humidity: 45 %", "swing: 1 C", Air(20.0, 0.45, 1.0, assumed=False)),
    ],
)
def test_the_air_of_a_room_is_supposed_where_neither_it_nor_the_job_says(
    job_air: str, room_air: str, expected: Air
) -> None:
    text = f"{HEAD}air: {{{job_air}}}\nrooms: {{shower: {{air: {{{room_air}}}}}}}\n{TASKS}"
    assert parsed(text).rooms["shower"].air == expected


@pytest.mark.parametrize(
    ("zone", "start", "minute"),
    [
        # The offsets are those of the time zone database, which the standard library reads.
        ("America/Toronto", "2027-01-08", utc(2027, 1, 8, 5)),
        ("America/Toronto", "2027-01-08 17:00", utc(2027, 1, 8, 22)),
        ("America/Toronto", "2027-01-08T17:00", utc(2027, 1, 8, 22)),
        ("America/Toronto", "2027-07-08 5 pm", utc(2027, 7, 8, 21)),
        ("America/Toronto", "2027-01-08 24:00", utc(2027, 1, 9, 5)),
        ("Australia/Sydney", "2027-01-08 17:00", utc(2027, 1, 8, 6)),
        ("Europe/Berlin", "2027-03-28 02:30", utc(2027, 3, 28, 1)),  # skipped: the moment of it
        ("Europe/Berlin", "2027-10-31 02:30", utc(2027, 10, 31, 0, 30)),  # twice: the first
        ("America/Havana", "2027-03-14", utc(2027, 3, 14, 5)),  # the day begins at 1:00
        ("UTC", "1990-01-01", utc(1990, 1, 1)),
        ("UTC", "2150-12-31", utc(2150, 12, 31)),
    ],
)
def test_dates_are_local(zone: str, start: str, minute: int) -> None:
    text = f"job: x\ntimezone: {zone}\nstart: {start}\n{TASKS}"
    assert parsed(text).start == minute


def test_a_bare_date_is_the_whole_day() -> None:
    task = of_task("work: 1 h, not_before: 2027-01-10, must_finish_by: 2027-01-10")
    assert task.not_before == utc(2027, 1, 10, 5)
    assert task.must_finish_by == utc(2027, 1, 11, 5)
    same_day = parsed(HEAD.replace("01-08", "01-08 17:00") + "finish_by: 2027-01-08\n" + TASKS)
    assert same_day.finish_by == utc(2027, 1, 9, 5)


@pytest.mark.parametrize("count", [1, 7, 100])
def test_several_alike_may_be_counted(count: int) -> None:
    text = f"{HEAD}people: {{crew: {{hours: always, count: {count}}}}}\n{TASKS}"
    assert parsed(text).people["crew"].count == count


def test_five_thousand_tasks_are_not_too_many() -> None:
    tasks = "".join(f"  t{i}: {{work: 1 h}}\n" for i in range(5000))
    assert len(parsed(f"{HEAD}tasks:\n{tasks}").tasks) == 5000
