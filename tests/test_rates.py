"""Work rates and goods as shipped, damaged copies of them, and the hours that rates make."""

from collections.abc import Mapping
from math import isclose

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler import takeoff
from scheduler.allowances import allowances
from scheduler.errors import BadFile
from scheduler.model import Skill
from scheduler.rates import STEP, Goods, Rate, goods, rates, read_goods, read_rates
from scheduler.resources import data

SQ_FT = 0.09290304
SKILLS: tuple[Skill, ...] = ("trade", "handy", "beginner")
DAY = 8 * 60  # minutes of work, where a source counts by the day


def text(file: str) -> str:
    return (data() / file).read_text(encoding="utf-8")


def per_hour(name: str, skill: Skill = "trade") -> float:
    """How much is done in an hour, setting up apart."""
    return 60 / rates()[name].each[skill]


def test_every_kind_of_work_of_a_wet_room_has_a_rate() -> None:
    # The list of work that the project promises to know.
    promised = {
        "strip-walls", "frame", "rough-plumbing", "set-pan", "hang-backer", "tape-backer",
        "membrane-coat", "flood-set", "flood-read", "prime-floor", "pour-underlay", "floor-tile",
        "wall-tile", "grout", "sealant", "hang-gypsum", "compound-coat", "sand", "prime-wall",
        "paint-coat", "set-toilet", "set-vanity", "trim-plumbing",
    }  # fmt: skip
    assert promised <= set(rates())


@pytest.mark.parametrize("name", rates())
def test_a_trade_is_quicker_than_a_handy_owner_and_he_than_a_beginner(name: str) -> None:
    each = rates()[name].each
    assert 0 < each["trade"] <= each["handy"] <= each["beginner"] <= 4 * each["trade"]


@pytest.mark.parametrize("name", rates())
def test_every_rate_says_what_it_is_and_where_it_is_from(name: str) -> None:
    rate = rates()[name]
    assert rate.basis in {"published", "common practice", "from memory"}
    assert len(rate.title) > 4
    assert len(rate.source) > 10
    if rate.basis == "common practice":
        assert "no published source" in rate.source
    if rate.basis == "published":
        assert "read" in rate.source


@pytest.mark.parametrize("name", goods())
def test_all_goods_have_a_pack_a_waste_and_a_source(name: str) -> None:
    kind = goods()[name]
    assert kind.pack > 0
    assert 0 <= kind.waste <= 0.25
    assert kind.unit in {"kg", "L", "m", "m2", "each"}
    assert len(kind.source) > 5


@pytest.mark.parametrize("file", ["rates.yaml", "goods.yaml", "takeoff.yaml"])
def test_no_file_of_figures_names_an_address(file: str) -> None:
    assert text(file).startswith("# ")
    assert "www." not in text(file)
    assert "://" not in text(file)


# Against the sources


@pytest.mark.parametrize(
    ("name", "low", "typical", "high"),
    # m2 in a labour-hour, estimating guides (from memory).
    [
        ("frame", 0.8, 1.5, 2.5),
        ("hang-backer", 1.5, 2.5, 4.0),
        ("membrane-coat", 5.0, 10.0, 18.0),
        ("wall-tile", 0.5, 0.9, 1.5),
        ("grout", 2.0, 5.0, 9.0),
        ("pour-underlay", 8.0, 15.0, 30.0),
        ("paint-coat", 120 * SQ_FT, 200 * SQ_FT, 300 * SQ_FT),
    ],
)
def test_a_trade_works_as_fast_as_estimating_guides_say(
    name: str, low: float, typical: float, high: float
) -> None:
    assert per_hour(name) == pytest.approx(typical, rel=0.02)
    assert low < per_hour(name) < high


def test_floor_tile_goes_175_sq_ft_a_day_for_a_trade_and_50_for_a_beginner() -> None:
    # Guide, read: 100 to 250, typically 175 sq ft a day for a professional; 30 to 80, typically 50,
    # for an owner: 80 is taken for the handy one.
    by_day = {skill: DAY / 60 * per_hour("floor-tile", skill) / SQ_FT for skill in SKILLS}
    assert by_day["trade"] == pytest.approx(175, rel=0.03)
    assert by_day["handy"] == pytest.approx(80, rel=0.03)
    assert by_day["beginner"] == pytest.approx(50, rel=0.03)


def test_a_sheet_of_gypsum_board_takes_a_trade_20_minutes_and_a_beginner_45() -> None:
    # Trade guide, read: about 20 min for a 4 x 8 ft sheet, 15 to 45.
    sheet = 32 * SQ_FT
    assert rates()["hang-gypsum"].each["trade"] * sheet == pytest.approx(20, rel=0.06)
    assert rates()["hang-gypsum"].each["beginner"] * sheet == pytest.approx(45, rel=0.02)


def test_a_coat_of_compound_takes_10_minutes_a_sheet_and_sanding_5() -> None:
    # Trade guide, read: about 10 min a coat, 5 min sanding for a 4 x 8 ft sheet.
    sheet = 32 * SQ_FT
    assert rates()["compound-coat"].each["trade"] * sheet == pytest.approx(10, rel=0.02)
    assert rates()["sand"].each["trade"] * sheet == pytest.approx(5, rel=0.02)


def test_paint_is_cut_in_at_120_ft_an_hour() -> None:
    # Estimating guides (from memory): 60 to 200, typically 120 ft in a labour-hour.
    assert per_hour("cut-in") / 0.3048 == pytest.approx(120, rel=0.03)


@pytest.mark.parametrize(
    ("rate", "board", "screw"),
    [
        ("hang-backer", "backer-board", "board-screw"),
        ("hang-tile-backer", "gypsum-tile-backer", "board-screw"),
        ("hang-gypsum", "gypsum-board", "drywall-screw"),
    ],
)
def test_hanging_board_uses_the_screws_of_its_geometry(rate: str, board: str, screw: str) -> None:
    # The screws of a whole board (7 x (48 / spacing + 1) for 4 x 8 ft, 30 for 3 x 5 ft) over its
    # area. Gypsum board hangs on ceilings as well, so its rate lies between walls and ceilings.
    size = allowances().boards[board]
    on_walls, on_ceilings = (takeoff.screws(1000.0, size, ceiling) for ceiling in (False, True))
    assert rates()[rate].uses[board] == 1.0
    used = rates()[rate].uses[screw] * 1000
    assert on_walls * 0.99 <= used <= on_ceilings * 1.02


@pytest.mark.parametrize(
    ("rate", "board", "fastener"),
    [
        ("hang-backer", "backer-board", "board-screw"),
        ("hang-tile-backer", "gypsum-tile-backer", "board-screw"),
        ("hang-foam", "foam-board", "foam-board-washer"),
    ],
)
def test_board_on_a_ceiling_takes_the_closer_spacing(rate: str, board: str, fastener: str) -> None:
    # Ceilings 6 in on centre, walls 8 in or more: trade tech tip on backer board (read).
    wall, ceiling = rates()[rate], rates()[f"{rate}-ceiling"]
    geometry = takeoff.screws(1000.0, allowances().boards[board], ceiling=True)
    assert ceiling.uses[fastener] * 1000 == pytest.approx(geometry, rel=0.01)
    assert ceiling.uses[fastener] > wall.uses[fastener]
    assert ceiling.minutes(10.0, "handy") == wall.minutes(10.0, "handy")


def test_taping_uses_the_tape_of_the_joints() -> None:
    # Estimating textbook, read: 380 ft of tape on 1000 sq ft of board.
    assert rates()["tape-gypsum"].uses["paper-tape"] * 1000 * SQ_FT / 0.3048 == pytest.approx(
        380, rel=0.01
    )


# From quantities to hours


@pytest.fixture
def coat() -> Rate:
    each: Mapping[Skill, float] = {"trade": 6, "handy": 9, "beginner": 12}
    return Rate("coat", "a coat", "m2", each, 20, "common practice", "made up")


def test_work_is_setting_up_once_and_each_square_metre(coat: Rate) -> None:
    assert coat.minutes(10.0, "trade") == 80
    assert coat.minutes(10.0, "handy") == 110
    assert coat.minutes(10.0, "beginner") == 140


def test_work_is_rounded_up_to_5_minutes_but_not_for_roundings_sake(coat: Rate) -> None:
    assert coat.minutes(0.01, "trade") == 25
    assert coat.minutes(0.1 * 3 / 0.3, "handy") == 30  # 29 min
    assert coat.minutes(2.5 * (0.1 + 0.2) / 0.3, "trade") == 35  # 35 min, and a hair in binary


def test_nothing_takes_no_time(coat: Rate) -> None:
    assert coat.minutes(0.0, "beginner") == 0


@given(
    name=st.sampled_from(sorted(rates())),
    less=st.floats(0.01, 100.0),
    more=st.floats(0.01, 100.0),
    skill=st.sampled_from(SKILLS),
)
def test_more_work_never_takes_less_time(name: str, less: float, more: float, skill: Skill) -> None:
    less, more = sorted((less, more))
    rate = rates()[name]
    assert rate.minutes(less, skill) <= rate.minutes(more, skill)
    assert rate.minutes(more, skill) % STEP == 0
    exact = rate.setup + more * rate.each[skill]
    assert exact - 1e-3 <= rate.minutes(more, skill) < exact + STEP


def test_units_of_measure_change_no_work() -> None:
    from scheduler.measures import quantity

    square_feet, square_metres = quantity("99 sq ft"), quantity("9.19740096 m2")
    assert isclose(square_feet.size, square_metres.size)
    for rate in rates().values():
        assert rate.minutes(square_feet.size, "handy") == rate.minutes(square_metres.size, "handy")


# The files


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("per: room", "per: acre", "'per' must be m2, m, each or room"),
        ("{trade: 60, handy: 90, beginner: 120}", "{trade: 60}", "needs 'handy'"),
        ("trade: 60", "trade: an hour", "'trade' must be a number such as 3.5"),
        ("uses: {stud: 1.0}", "uses: {studd: 1.0}", "no goods 'studd'; did you mean 'stud'?"),
        ("basis: common practice", "basis: guess", "'basis' must be published, common practice"),
        ("setup: 30 min", "setup: a while", "'setup' must be a time such as"),
        ("    per: room\n", "", "needs 'per'"),
    ],
)
def test_damage_to_the_rates_is_told_with_its_place(old: str, new: str, message: str) -> None:
    damaged = text("rates.yaml").replace(old, new, 1)
    assert damaged != text("rates.yaml")
    with pytest.raises(BadFile) as caught:
        read_rates(damaged, "rates.yaml", goods())
    assert message in str(caught.value)
    assert str(caught.value).startswith("rates.yaml:")


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("pack: 1 each", "pack: 1 room", "'pack' must be an amount such as"),
        ("waste: 10 %", "waste: some", "'waste' must be a share from 0 % to 100 %"),
        ("    title: stud, 2 x 4 in, 8 ft\n", "", "needs 'title'"),
    ],
)
def test_damage_to_the_goods_is_told_with_its_place(old: str, new: str, message: str) -> None:
    damaged = text("goods.yaml").replace(old, new, 1)
    assert damaged != text("goods.yaml")
    with pytest.raises(BadFile) as caught:
        read_goods(damaged, "goods.yaml")
    assert message in str(caught.value)


def test_a_file_that_is_no_block_of_keys_is_refused() -> None:
    with pytest.raises(BadFile):
        read_goods("- one\n- two\n", "goods.yaml")
    with pytest.raises(BadFile):
        read_goods("goods: [\n", "goods.yaml")


def test_goods_count_in_the_unit_of_their_pack() -> None:
    read = read_goods(
        "goods:\n  tape: {title: mesh tape, pack: 150 ft, waste: 10 %, basis: from memory, "
        "source: a roll}\n",
        "goods.yaml",
    )
    assert read["tape"] == Goods("tape", "mesh tape", "m", 45.72, 0.1, "from memory", "a roll")
