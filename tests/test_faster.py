"""What would bring a job forward: what each lever makes of a job, what it wins, and why."""

import math
from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal
from pathlib import Path

import numpy as np
import psychrolib
import pytest
from hypothesis import given, reject
from hypothesis import strategies as st

from scheduler.air import humidities, temperatures
from scheduler.errors import BadFile, NoPlan
from scheduler.faster import Faster, Outcome, faster, faster_json, faster_text
from scheduler.faster.figures import figures, read_figures
from scheduler.faster.lever import Lever, pulled
from scheduler.faster.offers import offers
from scheduler.faster.rooms import HEATER, dried, heated, heated_and_dried, with_air
from scheduler.faster.things import rapid_levers
from scheduler.model import Actual, Conditions, Course, Dated, Job, Past, Plan
from scheduler.planner import plan_job
from scheduler.resources import data
from scheduler.verify import check
from scheduler.wording import columns
from tests.support.examples import examples
from tests.support.planned import at, read, wall
from tests.support.randomjobs import jobs
from tests.support.randomlogs import under_way
from tests.support.underway import on_plan

ZONE = "America/Toronto"
EXAMPLES = Path(__file__).parents[1] / "examples"


def found(text: str) -> tuple[Job, Faster]:
    """A job, and what brings it forward; every plan made for that is verified."""
    job = read(text)
    return job, tried(job)


def tried(job: Job) -> Faster:
    """What brings a job forward; every plan made for that is verified."""
    answer = faster(job)
    assert check(job, answer.plan) == ()
    for outcome in (*answer.alone, *answer.pairs, *answer.nothing):
        if outcome.plan is not None and outcome.plan is not answer.plan:
            assert check(pulled(job, outcome.levers), outcome.plan) == ()
    return answer


def of(answer: Faster, key: str) -> Outcome:
    """What came of a lever alone."""
    alone = {each.levers[0].id: each for each in (*answer.alone, *answer.nothing)}
    return alone[key]


def lever(job: Job, plan: Plan, key: str) -> Lever:
    return {each.id: each for each in offers(job, plan)[0]}[key]


def declined(answer: Faster) -> dict[str, str]:
    return {each.says: each.why for each in answer.declined}


# ------------------------------------------------------------------------------------ the air


@pytest.mark.parametrize("t", [5.0, 10.0, 16.7, 20.0])
@pytest.mark.parametrize("rh", [0.2, 0.45, 0.7, 0.95])
def test_heated_air_keeps_its_moisture(t: float, rh: float) -> None:
    """Vapour pressure kept, to 0.3 %; source: psychrolib (ASHRAE Fundamentals 2017, ch. 1)."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    warm = heated(Conditions(t, rh))
    pressure = psychrolib.GetVapPresFromRelHum(t, rh)
    kept = psychrolib.GetRelHumFromVapPres(warm.temperature, pressure)
    assert warm.temperature == pytest.approx((72 - 32) / 1.8)  # 72 F
    assert warm.humidity == pytest.approx(kept, rel=0.003)


def test_air_that_is_warmer_or_drier_already_stays_as_it_is() -> None:
    assert heated(Conditions(25.0, 0.4)) == Conditions(25.0, 0.4)
    assert dried(Conditions(25.0, 0.4)) == Conditions(25.0, 0.4)


def test_a_dehumidifier_does_nothing_in_the_cold_until_it_is_heated() -> None:
    cold = Conditions(10.0, 0.95)
    assert dried(cold) == cold
    assert heated_and_dried(cold).humidity == pytest.approx(0.435, abs=0.01)
    assert heated_and_dried(Conditions(16.0, 0.9)).humidity == pytest.approx(0.45)


CEMENT = """
    job: Joint
    timezone: America/Toronto
    start: 2027-01-11 08:00
    air: {temperature: AIR, humidity: 50 %, swing: SWING}
    people:
      me: {hours: always}
    rooms:
      shower: {}
    products:
      set: {class: thinset, label: {grout: 24 h, at: 70 F 50 %}}
    tasks:
      tile: {name: Tile, who: me, room: shower, work: 2 h, applies: set}
      grout: {name: Grout, who: me, room: shower, work: 1 h, after: {tile: grout}}
"""


def cement(air: str, swing: str = "0 C") -> str:
    return CEMENT.replace("AIR", air).replace("SWING", swing)


def test_a_heater_wins_what_the_law_of_cement_says() -> None:
    """ASTM C1074, Q = 5000 K: at 12 C 24 h at 70 F take 24 h exp(5000 (1/285.15 - 1/294.26))."""
    _, answer = found(cement("12 C"))
    cold = 24 * 60 * math.exp(5000 * (1 / 285.15 - 1 / (273.15 + 70 / 1.8 - 32 / 1.8)))
    heat = of(answer, "heat:shower")
    assert heat.won == pytest.approx(cold - 24 * 60, abs=2)  # the label is the minimum
    assert any("'Tile' is ready to grout" in words for words in heat.why)
    assert heat.price.more is None
    assert "electricity" in heat.price.unknown
    assert heat.price.energy == 36  # 1.5 kW for the 24 h of the wait


def test_a_heated_room_swings_no_longer() -> None:
    job = read(cement("12 C", "4 C"))
    edited = lever(job, plan_job(job), "heat:shower").edit(job)
    assert edited.rooms["shower"].air.swing == 0
    assert edited.air == job.air  # the rest of the house stays as it is


def test_a_dehumidifier_does_nothing_for_cement() -> None:
    _, answer = found(cement("12 C").replace("50 %, swing", "70 %, swing"))
    assert "heat first" in declined(answer)["shower: a dehumidifier"]
    dry = of(found(cement("19 C").replace("50 %, swing", "70 %, swing"))[1], "dry:shower")
    assert dry.won == 0
    assert dry.why == ("What the finish hangs on there takes its time, however dry or warm it is.",)


def test_warm_air_brings_no_wait_under_its_label() -> None:
    """At 70 F the wait is the label's: 72 F does nothing, and says so."""
    _, answer = found(cement("21.2 C"))
    heat = of(answer, "heat:shower")
    assert heat.won == 0
    assert heat.why == (
        "Every wait there that the finish hangs on is at its label's minimum already.",
    )


def test_a_room_that_is_warm_is_not_heated() -> None:
    _, answer = found(cement("24 C"))
    assert declined(answer)["shower: a heater"] == "it is 24 C there as it is"
    assert "no law of waiting here counts moving air" in declined(answer)["A fan"]


def test_drier_air_makes_silicone_later_and_the_answer_says_so() -> None:
    """Silicone cures with moisture: rate ~ rh (Comyn 1998), and at 60 % it takes its label."""
    text = """
        job: Seal
        timezone: America/Toronto
        start: 2027-01-11 08:00
        air: {temperature: 21 C, humidity: 45 %, swing: 0 C}
        people:
          me: {hours: always}
        rooms:
          shower: {air: {humidity: 60 %}}
        products:
          seal: {class: silicone, label: {water: 24 h, at: 21 C 50 %}}
        tasks:
          bead: {name: Bead, who: me, room: shower, work: 1 h, applies: seal}
          use: {name: Shower, who: me, work: 0 min, after: {bead: water}}
    """
    _, answer = found(text)
    dry = of(answer, "dry:shower")
    assert dry.won == pytest.approx(24 * 60 - 24 * 60 * 0.50 / 0.45, abs=2)  # 2 h 40 min later
    assert "moisture from the air" in dry.why[-1]


def test_a_dehumidifier_is_off_once_something_needs_the_moisture() -> None:
    """The same bead, after a membrane that the machine dries: its own wait stays as it is."""
    text = """
        job: Seal
        timezone: America/Toronto
        start: 2027-01-11 08:00
        people:
          me: {hours: always}
        rooms:
          shower: {air: {temperature: 64 F, humidity: 75 %, swing: 4 F}}
        products:
          coat: {class: liquid-membrane, label: {recoat: 12 h..72 h, at: 73 F 50 %}}
          seal: {class: silicone, label: {water: 24 h, at: 73 F 50 %}}
        tasks:
          first: {name: Coat, who: me, room: shower, work: 1 h, applies: coat}
          bead: {name: Bead, who: me, room: shower, work: 1 h, applies: seal,
                 after: {first: recoat}}
          use: {name: Shower, who: me, work: 0 min, after: {bead: water}}
    """
    job, answer = found(text)
    dry = of(answer, "dry:shower")
    assert dry.won > 0
    assert any("The dehumidifier is off from " in words for words in dry.why)
    air = pulled(job, dry.levers).rooms["shower"].air
    bead = answer.plan.task["bead"].start
    minutes = np.array([job.start, bead, bead + 1, bead + 600])
    assert humidities(air, minutes) == pytest.approx([0.45, 0.45, 0.75, 0.75])
    cooler = temperatures(job.rooms["shower"].air, minutes, ZONE)
    assert temperatures(air, minutes, ZONE) == pytest.approx(cooler, abs=0.01)  # not heated


# ---------------------------------------------------------------------------------- from now on

NOW = at("2027-01-13 19:00", ZONE)


def test_a_heater_changes_no_air_that_was() -> None:
    """Up to now the air is what it was, then it warms up for 6 h, then it is held."""
    job = read(cement("12 C", "3 C"))
    measured = Course((job.start, NOW - 600, NOW + 600), (11.0, 13.0, 12.0), (0.5, 0.6, 0.55))
    for course in (None, measured):
        air = replace(job.rooms["shower"].air, course=course)
        there = replace(
            job, rooms={"shower": replace(job.rooms["shower"], air=air)}, past=Past(NOW)
        )
        heated_air = with_air(there, "shower", HEATER).rooms["shower"].air
        was = np.arange(job.start, NOW, 60)
        before = temperatures(air, was, ZONE)
        assert temperatures(heated_air, was, ZONE) == pytest.approx(before, abs=0.01)
        assert humidities(heated_air, was) == pytest.approx(humidities(air, was), abs=0.001)
        to_come = np.array([NOW, NOW + 180, NOW + 360, NOW + 9000])
        degrees = temperatures(heated_air, to_come, ZONE)
        assert list(degrees) == sorted(degrees)
        assert degrees[2:] == pytest.approx(72 / 1.8 - 32 / 1.8)


def test_hours_are_added_from_now_on() -> None:
    """A Wednesday evening at 19:00: an hour of it is past, and so is what was on Monday."""
    text = EVENINGS.replace("mon-tue 18:00-21:00", "thu 18:00-21:00")
    job = read(text)
    plan = plan_job(job)
    there = replace(job, past=Past(NOW))
    added = lever(there, plan, "hours:me:evening-wed").edit(there).people["me"].hours[1:]
    assert added[0] == Dated(date(2027, 1, 13), 19 * 60, 21 * 60)
    assert all(isinstance(each, Dated) for each in added)
    monday = lever(there, plan, "hours:me:evening-mon").edit(there).people["me"].hours[1]
    assert isinstance(monday, Dated)
    assert monday.day == date(2027, 1, 18)


def test_an_absence_is_given_up_from_now_on() -> None:
    job = read(EVENINGS.replace("2027-01-19]", "2027-01-12..2027-01-19]"))
    plan = plan_job(job)
    there = replace(job, past=Past(NOW))
    edited = lever(there, plan, "absence:me:2027-01-12").edit(there)
    (left,) = edited.people["me"].away
    assert (left.start, left.end) == (datetime(2027, 1, 12), datetime(2027, 1, 13, 19))  # noqa: DTZ001


def test_a_rapid_class_comes_too_late_for_what_is_applied() -> None:
    job = read(cement("70 F"))
    there = replace(job, past=Past(NOW, {"tile": Actual(started=NOW - 60)}))
    assert not [*rapid_levers(there)]


# -------------------------------------------------------------------------------- what is applied


def test_the_rapid_class_takes_the_place_of_the_normal_one() -> None:
    job, answer = found(cement("70 F"))
    rapid = of(answer, "rapid:set")
    assert rapid.won == 20 * 60  # 4 h instead of 24 h at 70 F
    assert any("those on the label of set hold no longer" in words for words in rapid.why)
    assert rapid.price.unknown == ("rapid-thinset",)
    edited = pulled(job, rapid.levers)
    assert edited.products["set"] == job.products["set"]
    assert edited.task["tile"].applies == "set-rapid"


def test_the_owners_own_rapid_product_is_taken_with_its_label_and_price() -> None:
    own = (
        cement("70 F")
        .replace(
            "    tasks:",
            "      fast: {class: rapid-thinset, label: {grout: 6 h, at: 70 F 50 %}, price: 60,\n"
            "             pack: 50 lb}\n"
            "    tasks:",
        )
        .replace("label: {grout: 24 h, at: 70 F 50 %}", "price: 40, pack: 50 lb")
    )
    own = own.replace("applies: set}", "applies: set, quantity: 150 sq ft}")
    _, answer = found("    currency: CAD" + own)
    rapid = of(answer, "rapid:set")
    assert rapid.won == 18 * 60
    assert rapid.price.more == Decimal("40.00")  # two bags at 60 for two at 40 (95 sq ft a bag)
    assert any("your own fast" in words for words in rapid.why)


def test_a_rapid_class_without_a_stage_that_is_waited_for_is_not_tried() -> None:
    """Setting compound has no stage before tile; a label may give ready-mixed one."""
    text = cement("21 C").replace("class: thinset", "class: ready-mixed-compound")
    text = text.replace("{grout: 24 h,", "{tile: 24 h,").replace("{tile: grout}", "{tile: tile}")
    _, answer = found(text)
    assert "no stage tile" in declined(answer)["set: the rapid class, setting-compound"]


def test_every_rapid_class_is_sooner_at_what_it_is_for() -> None:
    from scheduler.catalogue import product

    for normal, rapid in figures().rapid.items():
        fast = {stage.name: stage.minutes for stage in product("x", rapid.class_).stages}
        slow = {stage.name: stage.minutes for stage in product("x", normal).stages}
        assert any(fast[name] < slow[name] for name in slow.keys() & fast.keys())
        assert fast.keys() >= slow.keys()


# ------------------------------------------------------------------------------------ people

EVENINGS = """
    job: Evenings
    timezone: America/Toronto
    start: 2027-01-11 00:00
    currency: CAD
    people:
      me: {hours: [mon-tue 18:00-21:00], price_per_hour: 20, away: [2027-01-19]}
    tasks:
      a: {name: Frame, who: me, work: 3 h}
      b: {name: Board, who: me, work: 3 h, after: [a]}
      c: {name: Paint, who: me, work: 3 h, after: [b]}
      d: {name: Trim, who: me, work: 3 h, after: [c]}
"""


def test_one_more_evening_is_told_for_the_best_day_alone() -> None:
    """Mon, Tue, Mon, (away) Mon: with Wednesdays it ends on the second Monday, a week sooner."""
    _, answer = found(EVENINGS)
    assert wall(answer.plan.finish, ZONE) == "Mon 2027-01-25 21:00"
    evening = [each for each in answer.alone if "evening" in each.levers[0].id]
    assert len(evening) == 1
    assert evening[0].levers[0].id == "hours:me:evening-wed"
    assert evening[0].won == 7 * 24 * 60
    assert evening[0].price.more == 0  # as many hours as before
    assert evening[0].why == ("Uses 3\N{NO-BREAK SPACE}h of the added time, for 'Paint'.",)


def test_a_day_off_is_told_for_the_best_day_alone() -> None:
    """Monday from 9:00 and its evening are 11 h of the 12; Tuesday's evening has the rest."""
    _, answer = found(EVENINGS)
    day = [each for each in answer.alone if each.levers[0].id.startswith("day-off")]
    assert len(day) == 1
    assert day[0].plan is not None
    assert wall(day[0].plan.finish, ZONE) == "Tue 2027-01-12 19:00"
    assert day[0].price.unknown == ("a day off",)


def test_an_absence_given_up_brings_back_its_hours() -> None:
    _, answer = found(EVENINGS)
    assert of(answer, "absence:me:2027-01-19").won == 6 * 24 * 60


def test_a_pair_is_told_only_where_it_wins_more_than_either() -> None:
    _, answer = found(EVENINGS)
    for pair in answer.pairs:
        alone = [of(answer, each.id).won for each in pair.levers]
        assert pair.won > max(alone)
    assert answer.pairs


def test_hours_are_added_from_the_start_to_the_finish_and_no_further() -> None:
    job = read(EVENINGS)
    plan = plan_job(job)
    edited = lever(job, plan, "hours:me:sat").edit(job)
    added = [hours for hours in edited.people["me"].hours if isinstance(hours, Dated)]
    assert [str(hours.day) for hours in added] == ["2027-01-16", "2027-01-23"]


TRADES = """
    job: Trades
    timezone: America/Toronto
    start: 2027-01-08 12:00
    people:
      plumber: {hours: [mon-fri 08:00-12:00]}
      inspector: {hours: [mon-fri 09:00-11:00]}
    tasks:
      pipes: {name: Pipes, who: plumber, work: 4 h}
      look: {name: Look, who: inspector, work: 30 min, hold: yes, after: [pipes]}
"""


def test_trades_come_sooner_and_inspectors_are_not_asked_for_saturdays() -> None:
    job, answer = found(TRADES)
    assert wall(answer.plan.finish, ZONE) == "Tue 2027-01-12 09:30"
    keys = {each.id for each in offers(job, answer.plan)[0]}
    assert keys == {
        "hours:plumber:weekdays", "hours:plumber:sat", "hours:inspector:weekdays",
    }  # fmt: skip
    saturday = of(answer, "hours:plumber:sat")
    assert saturday.plan is not None
    assert wall(saturday.plan.finish, ZONE) == "Mon 2027-01-11 09:30"
    both = {tuple(sorted(each.id for each in pair.levers)): pair for pair in answer.pairs}
    pair = both["hours:inspector:weekdays", "hours:plumber:weekdays"]
    assert pair.plan is not None
    assert wall(pair.plan.finish, ZONE) == "Fri 2027-01-08 16:30"


def test_one_more_pair_of_hands_is_offered_to_whom_tasks_queue_for() -> None:
    text = """
        job: Hands
        timezone: America/Toronto
        start: 2027-01-09 09:00
        people:
          me: {hours: [sat-sun 09:00-17:00]}
        tasks:
          a: {name: Frame, who: me, work: 8 h}
          b: {name: Board, who: me, work: 8 h}
    """
    _, answer = found(text)
    assert of(answer, "hands:me").won == 24 * 60
    job = read(
        text.replace("work: 8 h}", "work: 8 h, after: [a]}").replace("h, after: [a]}", "h}", 1)
    )
    assert not any(each.kind == "hands" for each in offers(job, plan_job(job))[0])


def test_a_task_is_handed_over_to_whom_works_beside_at_their_own_pace() -> None:
    text = """
        job: Helper
        timezone: America/Toronto
        start: 2027-01-09 09:00
        currency: CAD
        people:
          me: {hours: [sat-sun 09:00-17:00], price_per_hour: 0}
          ann: {hours: [sat-sun 09:00-17:00], pace: 1.5, price_per_hour: 10}
        tasks:
          a: {name: Frame, who: me, work: 8 h}
          b: {name: Board, who: me, work: 4 h}
          c: {name: Lift, who: [me, ann], work: 1 h, after: [a, b]}
    """
    job, answer = found(text)
    plan = answer.plan
    assert wall(plan.finish, ZONE) == "Sun 2027-01-10 14:00"
    board = of(answer, "hand-over:b:ann")
    assert pulled(job, board.levers).task["b"].work == 6 * 60  # 4 h at 1.5 times
    assert board.won == 4 * 60
    assert board.price.more == Decimal("60.00")
    assert "Supposed" in " ".join(board.why)


def test_dates_and_deliveries_may_come_sooner() -> None:
    text = """
        job: Dates
        timezone: America/Toronto
        start: 2027-01-04 09:00
        people:
          me: {hours: always}
        tasks:
          order: {name: Order tile, who: me, work: 0 min}
          truck: {name: Tile comes, work: 0 min, delivers: [thinset],
                  after: [{task: order, wait: 6 d}]}
          a: {name: Tile, who: me, work: 1 h, applies: thinset, after: [truck],
              not_before: 2027-01-09}
    """
    _, answer = found(text)
    assert of(answer, "delivery:truck").won == 33 * 60  # the date holds it from then on
    assert of(answer, "date:a").won == 0
    assert "'Tile' still starts Sun 10 Jan 09:00" in of(answer, "date:a").why[0].replace(
        "\xa0", " "
    )
    both = next(pair for pair in answer.pairs)
    assert both.won == 3 * 24 * 60


def test_nothing_is_touched_that_drives_nothing() -> None:
    text = TRADES + "      wire: {name: Wire, who: sparks, work: 1 h}\n"
    text = text.replace("    tasks:", "      sparks: {hours: [mon-fri 08:00-16:00]}\n    tasks:")
    _, answer = found(text)
    why = of(answer, "hours:sparks:weekdays").why[0]
    assert why.startswith("No task of sparks drives the finish: most of the time to it is hours")


# -------------------------------------------------------------------------------- any job at all


@given(st.data())
@examples(15)
def test_any_job_with_any_log_has_an_answer_and_its_past_stays(draw: st.DataObject) -> None:
    job = draw.draw(jobs(most=6))
    try:
        job = draw.draw(st.sampled_from((job, draw.draw(under_way(job, plan_job(job))))))
        answer = tried(job)
    except NoPlan:
        reject()
    for outcome in (*answer.alone, *answer.pairs, *answer.nothing):
        assert outcome.why
        if outcome.plan is None:
            continue
        assert outcome.won >= 0 or outcome.plan.finish_bound > answer.plan.finish
        for was in answer.plan.tasks:
            becomes = outcome.plan.task[was.id]
            assert becomes.state == was.state
            assert was.state == "open" or becomes.start == was.start
            assert was.state != "done" or becomes.finish == was.finish
            assert was.state != "open" or becomes.start >= job.now
    assert max(map(columns, faster_text(job, answer, 80).splitlines())) <= 80


# ----------------------------------------------------------------------------------- the examples


@pytest.fixture(scope="module", params=["larch-row", "small-floor"])
def example(request: pytest.FixtureRequest) -> tuple[Job, Faster]:
    return found((EXAMPLES / f"{request.param}.yaml").read_text("utf-8"))


def test_the_examples_are_ranked_and_none_is_later_unless_proven(
    example: tuple[Job, Faster],
) -> None:
    _, answer = example
    assert answer.alone
    for outcomes in (answer.alone, answer.pairs):
        assert [each.won for each in outcomes] == sorted((e.won for e in outcomes), reverse=True)
    for each in (*answer.alone, *answer.pairs, *answer.nothing):
        assert each.plan is not None
        assert each.won >= 0 or each.plan.finish_bound > answer.plan.finish
        assert each.won == answer.plan.finish - each.plan.finish
        assert each.why


def test_an_example_under_way_is_brought_forward_from_now_on() -> None:
    """Logged as planned up to the flood test: what is done is no lever, and no plumber is asked."""
    job = read((EXAMPLES / "larch-row.yaml").read_text("utf-8"))
    there = on_plan(job, plan_job(job), at("2027-01-20 12:00", ZONE))
    answer = tried(there)
    told = {lever_.id for each in answer.alone for lever_ in each.levers}
    assert "rapid:thinset" in told
    assert not any("membrane" in key for key in told)
    days = [key.split(":")[-1] for key in told if key.startswith("day-off")]
    assert all(day >= "2027-01-20" for day in days)
    plumber = of(answer, "hours:plumber:sat").why[0]
    assert plumber.startswith("No task of plumber drives the finish")


@pytest.mark.parametrize("width", [45, 80, 120])
def test_the_text_fits_its_width(example: tuple[Job, Faster], width: int) -> None:
    text = faster_text(*example, width)
    assert max(map(columns, text.splitlines())) <= width
    for lever_ in (each.levers[0] for each in example[1].alone):
        assert lever_.says.split(":")[0] in text


def test_the_json_holds_what_the_text_says(example: tuple[Job, Faster]) -> None:
    job, answer = example
    said = faster_json(job, answer)
    assert said["version"] == 1
    alone = said["alone"]
    assert isinstance(alone, list)
    assert [each["won_minutes"] for each in alone] == [each.won for each in answer.alone]
    assert all(each["cost"] is None for each in alone)  # the demo prices no hours
    assert all("\xa0" not in each["levers"][0]["text"] for each in alone)


def test_the_same_job_gives_the_same_answer(example: tuple[Job, Faster]) -> None:
    job, answer = example
    if len(job.tasks) < 20:
        assert faster_text(job, faster(job), 80) == faster_text(job, answer, 80)


def test_progress_counts_up_to_the_end() -> None:
    told: list[tuple[int, int]] = []
    faster(read(EVENINGS), lambda done, of: told.append((done, of)))
    assert told == sorted(told, key=lambda pair: pair[0])
    assert told[-1][0] == told[-1][1]


# --------------------------------------------------------------------------------------- the data


@pytest.mark.parametrize(
    ("was", "becomes", "message"),
    [
        ("temperature: 72 F", "temperature: 72", "a temperature such as"),
        ("class: rapid-thinset", "class: rapid-thinsett", "did you mean 'rapid-thinset'"),
        ("latest: 21:00", "latest: late", "must be"),
        ("humidity: 45 %", "humidity: 45", "a share from 0 % to 100 %"),
        ("weekend: sat-sun 09:00-17:00", "weekend: 2027-01-09 9-17", "must be"),
        ("power: 1500 ", "watts: 1500 ", "unknown key"),
    ],
)
def test_a_wrong_figure_is_refused_at_its_place(was: str, becomes: str, message: str) -> None:
    text = (data() / "levers.yaml").read_text(encoding="utf-8")
    assert was in text
    line = text[: text.index(was)].count("\n") + 1
    with pytest.raises(BadFile) as refused:
        read_figures(text.replace(was, becomes, 1), "levers.yaml")
    assert any(p.line == line and message in p.message for p in refused.value.problems)


def test_each_figure_says_what_kind_of_knowledge_it_is() -> None:
    said = figures()
    for each in (said.heater, said.dehumidifier, said.hours, said.fan, *said.rapid.values()):
        assert each.basis in {"published", "common practice", "from memory"}
        assert len(each.source) > 10
