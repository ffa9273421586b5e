"""Job files: work from quantities, packs, prices, stock and deliveries."""

from decimal import Decimal

import pytest

from scheduler import jobfile, quantities
from scheduler.errors import BadFile
from scheduler.model import Job, Link, Stock, Supply
from scheduler.planner import plan_job
from scheduler.rates import rates
from scheduler.verify import check

HEAD = """job: x
timezone: America/Toronto
start: 2027-01-08
people:
  me: {hours: sat-sun 9:00-17:00}
  slow: {hours: always, pace: 1.6}
  new: {hours: always, skill: beginner}
  tiler: {hours: always, skill: trade}
"""


def parsed(text: str) -> Job:
    return jobfile.parse((HEAD + text).encode(), "job.yaml")


def work(keys: str) -> int:
    return parsed(f"tasks: {{tile: {{{keys}}}}}").task["tile"].work


def wrong(text: str) -> str:
    with pytest.raises(BadFile) as caught:
        parsed(text)
    return "\n".join(problem.message for problem in caught.value.problems)


# Work from a quantity. The rates themselves are checked against their sources in test_rates.


@pytest.mark.parametrize(
    ("who", "skill"), [("me", "handy"), ("new", "beginner"), ("tiler", "trade")]
)
def test_work_is_what_the_quantity_takes_at_the_rate_of_the_skill(who: str, skill: str) -> None:
    rate = rates()["wall-tile"]
    expected = rate.minutes(9.2, skill)  # type: ignore[arg-type]
    assert work(f"who: {who}, quantity: 9.2 m2, rate: wall-tile") == expected
    assert expected % 5 == 0


def test_a_pace_of_1_6_takes_1_6_times_as_long() -> None:
    plain = work("who: me, quantity: 9.2 m2, rate: wall-tile")
    slow = work("who: slow, quantity: 9.2 m2, rate: wall-tile")
    assert 1.6 * plain <= slow < 1.6 * plain + 5


def test_several_people_take_as_long_as_the_slowest_of_them() -> None:
    alone = work("who: new, quantity: 9.2 m2, rate: wall-tile")
    assert work("who: [tiler, new], quantity: 9.2 m2, rate: wall-tile") == alone


def test_a_quantity_in_square_feet_is_the_same_work() -> None:
    # 1 sq ft = 0.09290304 m2 exactly (NIST Handbook 44, appendix C).
    metric = work("who: me, quantity: 9.290304 m2, rate: wall-tile")
    assert work("who: me, quantity: 100 sq ft, rate: wall-tile") == metric


def test_work_that_the_file_gives_wins_over_the_rate() -> None:
    assert work("who: me, work: 3 h, quantity: 9.2 m2, rate: wall-tile") == 180


@pytest.mark.parametrize(
    ("keys", "says"),
    [
        ("who: me, quantity: 9.2 m2", "task 'tile' needs 'work'"),
        ("who: me, rate: wall-tile", "task 'tile' needs 'work'"),
        ("quantity: 9.2 m2, rate: wall-tile", "but no 'who'"),
        ("who: me, quantity: 3 each, rate: wall-tile", "'quantity' must be an area such as"),
        ("who: me, quantity: 9 kg, rate: wall-tile", "'quantity' must be a quantity of work"),
        ("who: me, quantity: 0 m2, rate: wall-tile", "'quantity' must be a quantity of work"),
        ("who: me, quantity: 9.2 m2, rate: wall-tiel", "did you mean 'wall-tile'"),
        ("work: 1 h, uses: {tiles: 9 m2}", "unknown product or goods 'tiles'"),
        ("work: 1 h, uses: {thinset: 9 m2}", "'uses' must be a mass such as"),
        ("work: 1 h, uses: {thinset: some}", "must be an amount such as"),
        ("delivers: [thinsett]", "did you mean 'thinset'"),
    ],
)
def test_what_is_wrong_with_a_quantity_is_said(keys: str, says: str) -> None:
    assert says in wrong(f"tasks: {{tile: {{{keys}}}}}")


# How things are bought


def test_a_product_takes_over_what_the_owner_knows_of_it() -> None:
    product = parsed("""
products:
  glue:
    class: thinset
    use: 95 sq ft per 50 lb
    pack: 50 lb
    waste: 8 %
    price: 38.5
    lead_time: 3 d
    stock: [{amount: 11 lb, opened: 2026-11-01, best_before: 2027-03-01}]
tasks: {tile: {work: 1 h, applies: glue}}
""").products["glue"]
    amount = product.amount
    assert amount is not None
    # 95 ft2 to a bag of 50 lb are 2.57 kg/m2; 50 lb = 22.68 kg (trade guide, read; NIST HB 44).
    assert amount.use == pytest.approx(2.57, abs=0.005)
    assert amount.pack == pytest.approx(22.68, abs=0.001)
    assert (amount.waste, amount.basis) == (0.08, "owner's label")
    assert product.supply.price == Decimal("38.5")
    assert product.supply.lead_time == 3 * 1440
    (stock,) = product.supply.stock
    assert stock.amount == pytest.approx(4.99, abs=0.01)


def test_a_pail_sold_by_weight_becomes_litres_by_its_density() -> None:
    product = parsed("""
products: {seal: {class: liquid-membrane, pack: 13.5 kg}}
tasks: {coat: {work: 1 h, applies: seal}}
""").products["seal"]
    assert product.amount is not None
    assert product.amount.density == 1.35  # from memory, as data/classes/liquid-membrane.yaml says
    assert product.amount.unit == "L"
    assert product.amount.pack == pytest.approx(10.0)


@pytest.mark.parametrize(
    ("keys", "says"),
    [
        ("pack: 3 m2", "'pack' must be a mass"),
        ("use: 3 each/m2", "'use' must be a mass"),
        ("use: 24 mil", "'use' must be a mass"),
        ("price: 38.50 CAD", "'currency'"),
        ("price: -3", "'price' must be an amount of money"),
        ("price: cheap", "'price' must be an amount of money"),
        ("waste: 10", "'waste' must be a share such as 10 %"),
        ("waste: 200 %", "'waste' must be a share such as 10 %"),
        ("lead_time: soon", "'lead_time' must be a time"),
        ("stock: [{opened: 2026-11-01}]", "needs 'amount'"),
        ("stock: [{amount: 3 m}]", "'amount' must be a mass"),
        ("stock: [{amount: 3 kg, opened: last week}]", "'opened' must be a date such as"),
        ("stock: [{amount: 3 kg, best_before: 2027-02-30}]", "a date that the calendar has"),
    ],
)
def test_what_is_wrong_with_buying_is_said(keys: str, says: str) -> None:
    text = f"products: {{glue: {{class: thinset, {keys}}}}}\ntasks: {{t: {{work: 1 h}}}}"
    assert says in wrong(text)


@pytest.mark.parametrize(
    ("keys", "says"),
    [
        ("currency: dollars", "'currency' must be a currency as ISO 4217 has it"),
        ("built: long ago", "'built' must be a year such as 1962"),
        ("built: 62", "'built' must be a year such as 1962"),
        ("goods: {glue: {pack: 3 kg}}\nproducts: {glue: {class: thinset}}", "is a product already"),
    ],
)
def test_what_is_wrong_with_the_job_is_said(keys: str, says: str) -> None:
    assert says in wrong(f"{keys}\ntasks: {{t: {{work: 1 h}}}}")


@pytest.mark.parametrize("keys", ["pace: 0", "pace: 20", "pace: fast", "skill: master",
                                  "price_per_hour: lots"])  # fmt: skip
def test_what_is_wrong_with_a_person_is_said(keys: str) -> None:
    text = HEAD.replace("pace: 1.6", keys) + "tasks: {t: {work: 1 h}}"
    with pytest.raises(BadFile, match=f"'{keys.partition(':')[0]}' must be "):
        jobfile.parse(text.encode(), "job.yaml")


def test_goods_of_the_list_need_no_entry_and_own_ones_stand_beside_them() -> None:
    job = parsed("""
goods: {mosaic: {name: Glass mosaic, pack: 10 sq ft, stock: {amount: 3 sq ft}}}
tasks: {tile: {who: me, quantity: 4 m2, rate: wall-tile, uses: {mosaic: 4 m2, wall-tile: 0}}}
""")
    mosaic = job.goods["mosaic"]
    assert (mosaic.title, mosaic.unit, mosaic.waste) == ("Glass mosaic", "m2", 0.1)
    assert mosaic.supply == Supply(stock=(Stock(quantities.area("3 sq ft")),), own_pack=True)
    assert "wall-tile" in job.goods
    assert dict(job.task["tile"].uses) == {"mosaic": 4.0, "wall-tile": 0.0}


# Deliveries

DELIVERY = """
tasks:
  arrives: {delivers: [thinset, mosaic], not_before: 2027-01-16 10:00}
  tile: {who: me, work: 2 h, applies: thinset}
  border: {who: me, work: 1 h, uses: {mosaic: 1 m2}}
  board: {who: me, work: 1 h}
"""
MOSAIC = "goods: {mosaic: {pack: 1 m2}}\n"


def test_what_takes_a_delivery_waits_for_it_by_an_ordinary_link() -> None:
    job = parsed(MOSAIC + DELIVERY)
    assert job.task["arrives"].work == 0
    waiting = [task.id for task in job.tasks if Link("arrives") in task.after]
    assert waiting == ["tile", "border"]


def test_a_delivery_date_holds_a_task_back() -> None:
    job = parsed(MOSAIC + DELIVERY)
    plan = plan_job(job)
    assert check(job, plan) == ()
    arrives = plan.task["arrives"].start
    assert plan.task["board"].finish <= arrives <= plan.task["tile"].start
    assert plan.task["border"].start >= arrives


def test_a_link_to_the_delivery_that_is_there_is_not_doubled() -> None:
    text = DELIVERY.replace("applies: thinset", "applies: thinset, after: arrives")
    assert parsed(MOSAIC + text).task["tile"].after == (Link("arrives"),)


def test_a_delivery_that_waits_for_what_needs_it_is_a_ring_and_told_as_one() -> None:
    text = DELIVERY.replace("10:00}", "10:00, after: tile}")
    said = wrong(MOSAIC + text)
    assert "arrives" in said
    assert "tile" in said
