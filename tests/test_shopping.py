"""The shopping list: how much, in whole packs, by when, what is on hand, and what it costs."""

import csv
import io
import json
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any, cast

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler import jobfile
from scheduler.clock import DAY
from scheduler.model import Job, Plan, Stock
from scheduler.planner import plan_job
from scheduler.shopping import (
    Line,
    Shopping,
    costs,
    shopping,
    shopping_csv,
    shopping_json,
    shopping_text,
    stock_warnings,
)
from scheduler.shopping.parts import part_of
from scheduler.shopping.sheet import COLUMNS, safe
from scheduler.shopping.words import worked
from scheduler.text import plan_text
from scheduler.verify import check
from scheduler.wording import columns
from tests.planfactory import at, placed, plan_of
from tests.support.underway import happened

HEAD = """job: Larch Row shower
air: {temperature: 20 C, humidity: 50 %}
timezone: America/Toronto
start: 2027-01-08
currency: CAD
people: {me: {hours: always, price_per_hour: 30}, tiler: {hours: always, price_per_hour: 62.50}}
"""
# Waste, packs and what is used are stated here, so that the sums hang on nothing but this page.
GLUE = "class: thinset, use: 2.5 kg/m2, pack: 22.68 kg, waste: 10 %"
SEAL = "class: liquid-membrane, use: 0.6 mm, pack: 3.785 L, waste: 10 %"
TASKS = """
tasks:
  coat: {who: me, work: 2 h, quantity: 10 m2, applies: seal}
  wall: {who: tiler, work: 6 h, quantity: 10 m2, applies: glue}
  floor: {who: tiler, work: 2 h, quantity: 4 m2, applies: glue}
"""


def case(glue: str = "", seal: str = "", more: str = "", tasks: str = TASKS) -> tuple[Job, Plan]:
    """A coat on Saturday, the walls a week later on two days, the floor on the day after."""
    products = f"products: {{glue: {{{GLUE}{glue}}}, seal: {{{SEAL}{seal}}}}}\n"
    job = jobfile.parse((HEAD + products + more + tasks).encode(), "job.yaml")
    placing = {
        "coat": [(at("2027-01-09 09:00"), at("2027-01-09 11:00"))],
        "wall": [
            (at("2027-01-16 09:00"), at("2027-01-16 13:00")),
            (at("2027-01-17 09:00"), at("2027-01-17 11:00")),
        ],
        "floor": [(at("2027-01-18 08:00"), at("2027-01-18 10:00"))],
    }
    tasks_ = [placed(task, *placing[task.id]) for task in job.tasks if task.id in placing]
    others = [
        placed(task, at=at("2027-01-15 14:00")) for task in job.tasks if task.id not in placing
    ]
    return job, plan_of(job, [*tasks_, *others])


def bought(job: Job, plan: Plan) -> dict[str, Line]:
    return {line.item.id: line for line in shopping(job, plan).lines}


# How much


def test_a_film_of_two_tenths_takes_litres_as_millimetres_on_square_metres() -> None:
    # Coverage in m2/L is 1 over the wet film in mm: an identity. 10 m2 at 0.6 mm: 6 L.
    line = bought(*case())["seal"]
    assert line.net == pytest.approx(6.0)
    assert line.gross == pytest.approx(6.6)  # 10 % waste
    assert line.packs == 2  # 3.785 L to the US gallon (NIST Handbook 44): 1.74 of them


def test_what_several_tasks_take_is_bought_together_in_whole_packs() -> None:
    # (10 + 4) m2 x 2.5 kg/m2 x 1.1 = 38.5 kg: two bags of 50 lb = 22.68 kg.
    line = bought(*case())["glue"]
    assert [need.task for need in line.needs] == ["wall", "floor"]
    assert line.to_buy == pytest.approx(38.5)
    assert line.packs == 2


def test_a_full_pack_to_the_gram_is_one_pack_and_a_gram_more_is_two() -> None:
    job, plan = case(
        tasks=TASKS.replace(
            "quantity: 10 m2, applies: glue", "uses: {glue: 10.618 kg}, applies: glue"
        )
    )
    exact = bought(job, plan)["glue"]
    assert exact.to_buy == pytest.approx(22.6798)  # (10.618 + 10) x 1.1, a hair under 22.68
    assert exact.packs == 1
    job, plan = case(
        tasks=TASKS.replace(
            "quantity: 10 m2, applies: glue", "uses: {glue: 10.62 kg}, applies: glue"
        )
    )
    assert bought(job, plan)["glue"].packs == 2


def test_an_amount_that_a_task_gives_itself_beats_that_of_the_class() -> None:
    tasks = TASKS.replace("quantity: 4 m2", "quantity: 4 m2, uses: {glue: 3 kg}")
    assert bought(*case(tasks=tasks))["glue"].net == pytest.approx(28.0)


def test_a_task_without_quantity_leaves_its_amount_open_and_is_named() -> None:
    line = bought(*case(tasks=TASKS.replace("quantity: 4 m2, ", "")))["glue"]
    assert [need.task for need in line.unknown] == ["floor"]
    assert line.packs == 2  # 27.5 kg for the wall alone
    line = bought(*case(tasks=TASKS.replace("quantity: 10 m2, applies: seal", "applies: seal")))[
        "seal"
    ]
    assert (line.net, line.packs) == (0.0, None)


def test_a_rate_brings_the_goods_that_such_work_uses_up() -> None:
    # Screws every 8 in: 30 to a board of 3 x 5 ft = 1.39 m2 (ANSI A108.11; geometry), as rates say.
    tasks = "tasks: {coat: {who: me, quantity: 15 sq ft, rate: hang-backer}}"
    lines = bought(*case(tasks=tasks))
    assert lines["backer-board"].packs == 2  # a whole board, and its waste
    assert lines["board-screw"].net == pytest.approx(30, abs=1)
    assert lines["board-screw"].to_buy == int(lines["board-screw"].to_buy)  # no half screws


# By when


def test_it_is_needed_when_the_first_task_that_takes_it_starts() -> None:
    lines = bought(*case())
    assert lines["seal"].needed_by == at("2027-01-09 09:00")
    assert lines["glue"].needed_by == at("2027-01-16 09:00")
    assert [*lines] == ["seal", "glue"]  # in the order in which they are needed


def test_it_is_to_be_ordered_its_lead_time_before() -> None:
    line = bought(*case(glue=", lead_time: 3 d"))["glue"]
    assert line.order_by == at("2027-01-13 09:00")
    assert bought(*case())["glue"].order_by == line.needed_by


def test_where_a_task_delivers_it_the_delivery_counts() -> None:
    tasks = TASKS + "  truck: {delivers: glue}\n"
    line = bought(*case(glue=", lead_time: 3 d", tasks=tasks))["glue"]
    assert line.arrives == at("2027-01-15 14:00")
    assert line.order_by == at("2027-01-12 14:00")
    assert line.needed_by == at("2027-01-16 09:00")


def test_the_day_plan_says_what_to_order_what_must_be_there_and_what_comes() -> None:
    tasks = TASKS + "  truck: {delivers: glue}\n"
    job, plan = case(glue=", lead_time: 3 d", tasks=tasks)
    days = " ".join(plan_text(job, plan, 80).split("DAY BY DAY")[1].split())
    order, brings, there = (
        days.index(words)
        for words in (
            "order glue (2 packs of 22.68 kg), by Tue 14:00 at the latest.",
            "Brings glue.",
            "on site glue (2 packs of 22.68 kg).",
        )
    )
    assert days.index("Sun 10 – Thu 14 Jan") < order < days.index("Fri 15 Jan") < brings < there
    assert days.index("Sat 16 Jan") < there


def test_an_order_that_is_late_is_told_with_when_it_would_be_there() -> None:
    job, plan = case(glue=", lead_time: 3 d")
    listed = shopping(job, plan)
    late = at("2027-01-13 09:01")
    assert [line.item.id for line in listed.late(late)] == ["seal", "glue"]
    text = " ".join(shown(job, plan, now=late).split())
    assert "glue: order by Wed 13 Jan 2027 09:00 is past." in text
    assert "Ordered now it is there Sat 16 Jan 2027 09:01" in text
    early = shown(job, plan, now=at("2027-01-01 09:00"))
    assert "is past" not in early


# What is on hand


def test_what_is_on_hand_is_not_bought() -> None:
    line = bought(*case(glue=", stock: {amount: 30 kg}"))["glue"]
    assert line.on_hand == pytest.approx(30.0)
    assert line.to_buy == pytest.approx(8.5)
    assert line.packs == 1
    # 30 kg do for the walls (27.5 kg), so it is the floor for which a bag must be there.
    assert line.needed_by == at("2027-01-18 08:00")


def test_sums_of_sizes_leave_no_dust_on_hand() -> None:
    # 0.1 + 0.2 is not 0.3 in binary: what is over by that is nothing that stands on a shelf.
    for tenths in range(1, 40):
        tasks = TASKS.replace("10 m2, applies: glue", f"{tenths / 10} m2, applies: glue")
        job, plan = case(tasks=tasks)
        assert bought(job, plan)["glue"].on_hand == 0.0
        assert "on hand" not in shown(job, plan)


def test_where_all_is_on_hand_nothing_is_needed_by_any_day() -> None:
    line = bought(*case(glue=", stock: [{amount: 30 kg}, {amount: 10 kg}]"))["glue"]
    assert (line.packs, line.needed_by, line.order_by) == (0, None, None)
    job, plan = case(glue=", stock: [{amount: 30 kg, opened: 2026-12-20}, {amount: 10 kg}]")
    flat = " ".join(shown(job, plan).split("ENOUGH ON HAND")[1].split())
    # 20 December and the class's 90 days: 20 March.
    assert "30 kg opened Sun 20 Dec 2026 (good until Sat 20 Mar 2027)" in flat
    assert "10 kg (no date given: look at it first); 38.5 kg for 'Wall' and 'Floor'." in flat


@pytest.mark.parametrize(
    ("until", "usable"),
    [("2027-01-18", 38.5), ("2027-01-17", 27.5), ("2027-01-16", 0.0), ("2026-12-31", 0.0)],
)
def test_a_bag_counts_through_its_last_day_and_not_a_day_longer(until: str, usable: float) -> None:
    # The walls are set on 16 and 17 January, so their bag has to be good on the 17th.
    line = bought(*case(glue=f", stock: {{amount: 50 kg, best_before: {until}}}"))["glue"]
    assert line.on_hand == pytest.approx(usable)
    assert bool(line.stale) == (usable < 38.5)


def test_a_bag_past_its_date_by_the_day_of_use_is_flagged_before_the_day() -> None:
    job, plan = case(glue=", stock: {amount: 50 kg, best_before: 2027-01-16}")
    (stale,) = bought(job, plan)["glue"].stale
    assert (stale.good_until, stale.task, stale.wanted) == (
        date(2027, 1, 16), "wall", date(2027, 1, 17),
    )  # fmt: skip
    (warning,) = stock_warnings(job, plan)
    assert warning == (
        "glue: 50 kg is good until Sat 16 Jan 2027 and past its date when 'Wall' wants it, "
        "Sun 17 Jan 2027; buy fresh"
    )
    text = plan_text(job, plan, 80)
    assert text.index("is good today only") < text.index("Sun 17 Jan")


def test_a_plan_warns_on_top_of_a_bag_that_will_be_too_old() -> None:
    products = f"products: {{glue: {{{GLUE}, stock: {{amount: 5 kg, best_before: 2027-01-31}}}}}}\n"
    late = "tasks: {wall: {who: me, work: 1 h, applies: glue, not_before: 2027-02-01}}"
    job = jobfile.parse((HEAD + products + late).encode(), "job.yaml")
    plan = plan_job(job)
    assert [warning.partition(":")[0] for warning in plan.warnings] == ["glue"]
    text = plan_text(job, plan, 80)
    assert text.index("! glue: 5 kg is good until Sun 31 Jan 2027") < text.index("DAY BY DAY")
    assert plan_job(jobfile.parse((HEAD + products + late.replace("2027-02-01", "2027-01-30"))
                                  .encode(), "job.yaml")).warnings == ()  # fmt: skip


def test_an_opened_bag_keeps_as_long_as_its_class_says() -> None:
    job, plan = case(glue=", stock: {amount: 50 kg, opened: 2026-10-10}")
    amount = job.products["glue"].amount
    assert amount is not None
    assert amount.opened_life == 90 * DAY  # common practice, no published source: data/classes
    # 10 October and 90 days: 8 January. The first use is on the 17th.
    (stale,) = bought(job, plan)["glue"].stale
    assert stale.good_until == date(2027, 1, 8)
    assert bought(*case(glue=", stock: {amount: 50 kg, opened: 2026-11-01}"))["glue"].stale == ()


def test_the_earlier_of_both_dates_counts() -> None:
    both = ", stock: {amount: 50 kg, opened: 2026-12-20, best_before: 2027-01-10}"
    (stale,) = bought(*case(glue=both))["glue"].stale
    assert stale.good_until == date(2027, 1, 10)


def test_what_spoils_first_is_used_first() -> None:
    # The walls (27.5 kg) take the 20 kg that are good until the 17th and 7.5 kg of the other bag;
    # of that 12.5 kg are left, which do for the floor (11 kg).
    lots = "{amount: 20 kg, best_before: 2028-01-01}, {amount: 20 kg, best_before: 2027-01-17}"
    two = f", stock: [{lots}]"
    line = bought(*case(glue=two))["glue"]
    assert line.to_buy == pytest.approx(0.0)
    assert line.stale == ()


UNTIL = st.none() | st.dates(date(2027, 1, 1), date(2027, 2, 1))


@given(st.lists(st.tuples(st.floats(0.1, 60), UNTIL), max_size=5))
def test_whatever_is_on_hand_nothing_is_lost_and_nothing_stale_is_used(
    lots: list[tuple[float, date | None]],
) -> None:
    job, plan = case()
    stock = tuple(Stock(amount, best_before=until) for amount, until in lots)
    glue = job.products["glue"]
    stocked = replace(glue, supply=replace(glue.supply, stock=stock))
    job = replace(job, products={**job.products, "glue": stocked})
    line = bought(job, plan)["glue"]
    assert line.on_hand + line.to_buy == pytest.approx(line.gross)
    last = date(2027, 1, 17)  # of the walls; the floor is set on the 18th
    good = sum(amount for amount, until in lots if until is None or until >= last)
    assert line.on_hand <= good + 1e-9
    assert line.packs is not None
    assert line.item.pack is not None
    assert line.packs * line.item.pack >= line.to_buy - 1e-6
    assert (line.packs - 1) * line.item.pack < line.to_buy or line.packs == 0
    assert all(stale.good_until < stale.wanted for stale in line.stale)


# What it costs


PRICED = {"glue": ", price: 38.50", "seal": ", price: 75"}


def test_the_cost_is_whole_packs_and_the_hours_worked() -> None:
    job, plan = case(**PRICED)
    cost = costs(job, plan, shopping(job, plan))
    assert cost.materials == {"seal": Decimal(150), "glue": Decimal(77)}  # two packs of each
    assert [(each.person, each.minutes, each.cost) for each in cost.labour] == [
        ("me", 120, Decimal(60)), ("tiler", 480, Decimal(500)),
    ]  # fmt: skip
    assert cost.total == Decimal(787)
    assert cost.unpriced == ()


def test_an_hour_of_two_costs_two_hours() -> None:
    more = "  carry: {who: {me: 1, tiler: 2}, work: 2 h}\n"
    head = HEAD.replace("tiler: {hours", "tiler: {count: 2, hours")
    job = jobfile.parse((head + "tasks:\n" + more).encode(), "job.yaml")
    plan = plan_of(
        job, [placed(job.task["carry"], (at("2027-01-09 09:00"), at("2027-01-09 11:00")))]
    )
    cost = costs(job, plan, shopping(job, plan))
    assert [(each.person, each.minutes, each.cost) for each in cost.labour] == [
        ("me", 120, Decimal(60)), ("tiler", 240, Decimal(250)),
    ]  # fmt: skip


def test_the_share_of_waterproofing_in_the_tile_work() -> None:
    # The coat: 2 packs at 75 and 2 h at 30 = 210. All of it with the tiling: 210 + 77 + 500 = 787.
    job, plan = case(**PRICED)
    share = costs(job, plan, shopping(job, plan)).share
    assert (share.waterproofing, share.tile_work) == (Decimal(210), Decimal(787))
    assert share.percent == 27  # 210 / 787 = 26.7 %


@pytest.mark.parametrize(
    ("keys", "part"),
    [
        ("applies: liquid-membrane", "waterproofing"),
        ("applies: thinset", "tile-work"),
        ("applies: thinset, rate: sheet-membrane", "waterproofing"),  # its kind of work says more
        ("applies: wall-paint", "other"),
        ("rate: pan-liner", "waterproofing"),
        ("rate: flood-set", "waterproofing"),
        ("rate: hang-gypsum, applies: thinset", "other"),
        ("dusty: yes", "other"),
    ],
)
def test_a_task_is_the_part_that_its_kind_of_work_says_else_what_it_applies(
    keys: str, part: str
) -> None:
    job = jobfile.parse(f"{HEAD}tasks: {{t: {{work: 1 h, {keys}}}}}".encode(), "job.yaml")
    assert part_of(job, job.tasks[0]) == part


def test_no_price_is_invented() -> None:
    job, plan = case(glue=", price: 38.50")
    cost = costs(job, plan, shopping(job, plan))
    assert cost.materials == {"glue": Decimal(77)}
    assert cost.unpriced == ("seal",)
    assert cost.share.percent is None
    assert "no price for seal" in " ".join(shown(job, plan).split())
    unpaid = HEAD.replace(", price_per_hour: 30", "").replace(", price_per_hour: 62.50", "")
    text = f"{unpaid}products: {{glue: {{{GLUE}}}, seal: {{{SEAL}}}}}{TASKS}"
    job = jobfile.parse(text.encode(), "job.yaml")
    cost = costs(job, plan, shopping(job, plan))
    assert not cost.known
    assert "WHAT IT COSTS" not in shown(job, plan)


# Shown


def shown(job: Job, plan: Plan, width: int = 80, now: int = 0) -> str:
    listed = shopping(job, plan)
    text = shopping_text(job, plan, listed, costs(job, plan, listed), width, now)
    return text.replace("\N{NO-BREAK SPACE}", " ")


FULL = {"glue": ", price: 38.50, lead_time: 3 d, stock: {amount: 10 kg, best_before: 2027-01-10}",
        "seal": ", price: 75"}  # fmt: skip
AT_80 = """\
Larch Row shower: what to buy
  For the plan from Fri 8 Jan 2027 00:00 to Mon 18 Jan 2027 10:00
    (America/Toronto).

LOOK AT THIS FIRST
  ! glue: 10 kg is good until Sun 10 Jan 2027 and past its date when 'Wall'
    wants it, Sun 17 Jan 2027; buy fresh.
"""


def test_the_list_reads_well_at_eighty_columns() -> None:
    text = shown(*case(**FULL))
    assert text.startswith(AT_80)
    assert "  Sat 16 Jan 09:00  glue (thin-set mortar, normal setting, ANSI A118.4 or\n" in text
    flat = " ".join(text.split())
    for words in (
        "2 packs of 22.68 kg Takes 38.5 kg with 10 % waste. For 'Wall' and 'Floor'.",
        "Order by Wed 13 Jan 2027 09:00: it takes 3 d to come.",
        "Costs 77.00 CAD (2 at 38.50).",
        "787.00 CAD in all, as far as prices are given",
        "27 % of the tile work (787.00 CAD) is waterproofing (210.00 CAD)",
    ):
        assert words in flat


def test_work_is_paid_by_the_hour_and_told_in_hours() -> None:
    assert worked(83 * 60 + 55).split() == ["83", "h", "55", "min"]
    assert "500.00 CAD tiler, 8 h" in " ".join(shown(*case(**FULL)).split())


@pytest.mark.parametrize("width", [80, 59, 45])
def test_no_line_is_longer_than_the_width_but_for_a_single_long_word(width: int) -> None:
    for line in shown(*case(**FULL), width=width).splitlines():
        assert columns(line) <= width or " " not in line.strip(), line


def test_a_phone_gets_the_same_words_as_a_wide_screen() -> None:
    wide, narrow = (shown(*case(**FULL), width=width).split() for width in (80, 45))
    assert sorted(wide) == sorted(narrow)


def rows(content: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(content.decode("utf-8-sig"), newline=""), strict=True))


def test_the_table_is_read_back_as_rfc_4180_has_it() -> None:
    job, plan = case(**FULL)
    content = shopping_csv(job, shopping(job, plan), plan.timezone)
    assert content.count(b"\r\n") == content.count(b"\n") == 3  # RFC 4180, 2.1: lines end in CRLF
    seal, glue = rows(content)
    assert tuple(glue) == COLUMNS
    assert glue["description"] == "thin-set mortar, normal setting, ANSI A118.4 or A118.15"
    assert (glue["unit"], glue["net"], glue["with_waste"], glue["packs"]) == (
        "kg",
        "35",
        "38.5",
        "2",
    )
    assert (glue["needed_by"], glue["order_by"]) == ("2027-01-16 09:00", "2027-01-13 09:00")
    assert (glue["price"], glue["cost"], glue["currency"]) == ("38.50", "77.00", "CAD")
    assert (glue["for"], glue["past_its_date"]) == ("Wall; Floor", "Wall")
    assert seal["on_hand"] == "0"


def test_a_task_is_named_once_for_two_old_bags() -> None:
    bags = "{amount: 4 kg, best_before: 2027-01-10}, {amount: 5 kg, best_before: 2027-01-11}"
    job, plan = case(glue=f", stock: [{bags}]")
    _, glue = rows(shopping_csv(job, shopping(job, plan), plan.timezone))
    assert glue["past_its_date"] == "Wall"


@pytest.mark.parametrize(
    "name",
    [
        "=1+1",
        "+1",
        "-1",
        "@SUM(A1)",
        "=HYPERLINK(x)",
        " =1",
        "＝1",
        "\t=1",
        "|calc",
        "%0A=1",
        'a"b',
        "a,b",
    ],
)
def test_a_name_is_never_a_formula_to_a_spreadsheet(name: str) -> None:
    # The characters are those of OWASP, "CSV Injection" (from memory).
    job, plan = case()
    job = replace(job, tasks=tuple(replace(task, name=name) for task in job.tasks))
    for row in rows(shopping_csv(job, shopping(job, plan), plan.timezone)):
        for cell in row.values():
            assert not cell.lstrip().startswith(tuple("=+-@＝＋－＠|%\t\r\n"))


@given(st.text(max_size=40))
def test_any_text_is_safe_and_nothing_of_a_plain_one_is_lost(text: str) -> None:
    made = safe(text)
    assert not any(part.lstrip().startswith(tuple("=+-@")) for part in made.split(";"))
    assert "\r" not in made
    assert "\n" not in made


def test_the_json_has_every_key_and_no_number_that_is_not_one() -> None:
    job, plan = case(**FULL)
    listed = shopping(job, plan)
    said = shopping_json(job, plan, listed, costs(job, plan, listed), at("2027-01-14 09:00"))
    assert json.loads(json.dumps(said, allow_nan=False)) == said
    assert [*said] == ["version", "job", "timezone", "currency", "items", "cost"]
    seal, glue = cast(list[dict[str, Any]], said["items"])
    cost = cast(dict[str, Any], said["cost"])
    assert (glue["packs"], glue["to_buy"], glue["unit"], glue["late"]) == (2, 38.5, "kg", True)
    assert glue["needed_by"] == "2027-01-16T09:00:00-05:00"
    assert glue["past_its_date"][0]["good_until"] == "2027-01-10"
    assert [*seal] == [*glue]
    assert (cost["waterproofing_percent"], cost["total"]) == (27, 787.0)


def test_a_job_that_takes_nothing_has_an_empty_list() -> None:
    job, plan = case(tasks="tasks: {coat: {who: me, work: 1 h}}")
    assert shopping(job, plan) == Shopping(())
    assert "TO BUY" not in shown(job, plan)


def test_the_same_job_gives_the_same_list_whatever_the_units_it_is_shown_in() -> None:
    job, plan = case(**FULL)
    assert shopping(replace(job, units="imperial"), plan) == shopping(job, plan)
    assert "2 packs of 50 lb" in shown(replace(job, units="imperial"), plan)


# A job under way ---------------------------------------------------------------------------------


def underway(glue: str, tasks: str, now: str, *lines: str) -> tuple[Job, Plan]:
    job = happened(case(glue, tasks=tasks)[0], now, *lines)
    plan = plan_job(job)
    assert check(job, plan) == ()
    return job, plan


def test_what_is_done_needs_no_buying_and_took_from_the_stock_first() -> None:
    old = ", stock: {amount: 30 kg, best_before: 2027-01-08}"
    job, plan = underway(old, TASKS, "2027-01-12 09:00", "2027-01-11 15:00 done wall")
    # The walls took 10 m2 * 2.5 kg * 1.1 = 27.5 kg, past its date or not; for 4 m2 of floor 11 kg
    # are needed, and the 2.5 kg that are left are too old by now.
    line = bought(job, plan)["glue"]
    assert [need.task for need in line.needs] == ["floor"]
    assert [line.gross, line.to_buy] == pytest.approx([11.0, 11.0])
    assert [stale.task for stale in line.stale] == ["floor"]
    assert len([*stock_warnings(job, plan)]) == 1
    said = " ".join(shown(job, plan).split())
    assert "Listed is what is still needed: what is done took from what was on hand first" in said
    good = ", stock: {amount: 30 kg}"
    kept = bought(*underway(good, TASKS, "2027-01-12 09:00", "2027-01-11 15:00 done wall"))["glue"]
    assert [kept.to_buy, kept.on_hand] == pytest.approx([8.5, 2.5])


def test_what_only_tasks_that_are_done_took_is_off_the_list() -> None:
    logged = ("2027-01-11 15:00 done wall", "2027-01-11 18:00 done floor")
    old = ", stock: {amount: 50 kg, best_before: 2027-01-08}"
    job, plan = underway(old, TASKS, "2027-01-12 09:00", *logged)
    assert [*bought(job, plan)] == ["seal"]
    assert [*stock_warnings(job, plan)] == []


def test_what_was_delivered_is_not_bought_again() -> None:
    tasks = TASKS + "  goods: {work: 0 min, delivers: [glue]}\n"
    job, plan = underway("", tasks, "2027-01-12 09:00", "2027-01-11 15:00 done goods")
    line = bought(job, plan)["glue"]
    assert (line.to_buy, line.needed_by, line.order_by) == (0, None, None)
    assert line.delivered == at("2027-01-11 15:00")
    said = " ".join(shown(job, plan).split())
    assert "glue: delivered Mon 11 Jan 2027 15:00; 38.5 kg for 'Floor' and 'Wall'." in said
    awaited = bought(*underway("", tasks, "2027-01-12 09:00", "2027-01-11 15:00 done coat"))["glue"]
    assert awaited.packs == 2
    assert awaited.arrives is not None
