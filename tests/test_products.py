"""What `thenwait products` prints, and the same as data."""

import json

import pytest

from scheduler.catalogue import classes, product
from scheduler.model import Conditions
from scheduler.products import products_json, products_text, wait_in

NAMES = [None, *classes()]


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("width", [45, 80])
def test_no_line_is_wider_than_the_screen(name: str | None, width: int) -> None:
    assert max(map(len, products_text(name, width).splitlines())) <= width


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("width", [45, 80])
def test_the_text_has_no_trailing_spaces_and_ends_in_one_line_end(
    name: str | None, width: int
) -> None:
    text = products_text(name, width)
    assert all(line == line.rstrip() for line in text.splitlines())
    assert text.endswith("\n")
    assert not text.endswith("\n\n")


@pytest.mark.parametrize("width", [45, 80])
def test_the_list_names_every_class_with_its_title(width: int) -> None:
    text = products_text(None, width)
    flowing = " ".join(text.split())
    for kind in classes().values():
        assert f"{kind.name} {kind.title}" in flowing


@pytest.mark.parametrize("name", classes())
def test_everything_a_class_states_is_in_its_text(name: str) -> None:
    stated = classes()[name]
    flowing = " ".join(products_text(stated.name, 80).split())
    told = [stated.title, stated.note, stated.on_missed_window, stated.limits.source]
    for stage in stated.stages.values():
        told += [stage.means, f"time: {stage.basis}; {stage.source}", stage.within_source]
    assert [words for words in told if words not in flowing] == []


def test_a_class_shows_its_times_windows_minimums_and_limits() -> None:
    text = products_text("liquid-membrane", 80, "imperial")
    for words in (
        " 2 h at 73.4 F 50 %: the next coat may go on",
        "start within 24 h of finishing: from memory",
        "never before 24 h, whatever the air or a label allow",
        "never before 2 d where the first 24 h go below 50 F",
        "50 F or warmer, at most 95 F, humidity at most 85 %",
        "no dusty work in the room until 'touch'",
        "yes, without a break",
        "missed window  Clean the coat",
    ):
        assert words in text


def test_units_are_the_readers() -> None:
    metric, imperial = (products_text("screed", 80, units) for units in ("metric", "imperial"))
    assert "40 mm, unless" in metric
    assert "20 C 65 %" in metric
    assert "68 F 65 %" in imperial
    assert " mm, unless" not in imperial


def row(text: str, stage: str) -> list[str]:
    """The cells of a stage in the table of waits."""
    table = text[text.index("What the waits become") :]
    line = next(line for line in table.splitlines() if line.startswith(f"  {stage} "))
    cells = (line[10 + 11 * i : 21 + 11 * i].strip() for i in range(3))
    return [line[2:10].strip(), *cells]


@pytest.mark.parametrize("width", [45, 80])
def test_the_table_shows_what_a_cold_and_a_damp_room_make_of_a_wait(width: int) -> None:
    # Drying law against 23 C, 50 %: 2.29 at 10 C 50 %, 1.20 at 20 C 50 %, 2.74 at 20 C 80 %
    # (computed from the fit to the GA-236 / ASTM C840 table); 2 h, up to the next 5 min.
    text = products_text("liquid-membrane", width)
    assert row(text, "recoat") == ["recoat", "4 h 35 min", "2 h 25 min", "5 h 30 min"]


def test_a_wait_in_the_labels_own_air_is_the_labels() -> None:
    for kind in classes().values():
        for stage in product("p", kind.name).stages:
            assert wait_in(stage, stage.at) == max(stage.minutes, stage.least)


def test_cement_never_sets_in_a_room_near_freezing() -> None:
    # ACI on cold weather: below 5 C "greatly retarded"; the law gives no credit there.
    assert wait_in(product("t", "thinset").stage("grout"), Conditions(4.0, 0.5)) is None


def test_the_data_goes_through_json_and_holds_what_the_class_states() -> None:
    data = json.loads(json.dumps(products_json("liquid-membrane"), allow_nan=False))
    (membrane,) = data["classes"]
    flood = next(stage for stage in membrane["stages"] if stage["name"] == "flood")
    assert data["version"] == 1
    assert membrane["name"] == "liquid-membrane"
    # ASTM D5957-98(2021), 5.4.
    assert (flood["least"], flood["cold_below"], flood["cold_least"]) == (1440, 10.0, 2880)
    assert [wait["temperature"] for wait in flood["waits"]] == [10.0, 20.0, 20.0]
    assert membrane["limits"]["humidity_max"] == 0.85


@pytest.mark.parametrize("name", classes())
def test_what_a_class_uses_and_how_it_keeps_is_in_its_text(name: str) -> None:
    amount = product("p", name).amount
    assert amount is not None
    flowing = " ".join(products_text(name, 80).split())
    told = [f"{amount.basis}; {amount.source}", amount.pot_source, amount.life_source]
    assert [words for words in told if words not in flowing] == []
    assert ("usable for" in flowing) == (amount.pot_life is not None)


def test_a_pack_of_thinset_goes_95_sq_ft_and_a_mix_lasts_longer_in_the_cold() -> None:
    # Installers' guides, read: 95 sq ft for 50 lb. Pot life from memory; ASTM C1074, Q = 5000 K.
    imperial, metric = (products_text("thinset", 80, units) for units in ("imperial", "metric"))
    assert "a pack of 50 lb goes 95 sq ft at a time" in imperial
    assert "2.57 kg/m2; a pack of 22.68 kg goes 8.83 m2 at a time" in metric
    assert "usable for 3 h at 21.1 C 50 %: 5 h 50 min at 10 C" in metric
    joints = products_text("rapid-joint-cement", 80, "imperial")
    assert "a pack of 25 lb goes 155 ft at a time" in joints
    assert "usable for 10 min at 70 F 50 %: 19 min at 50 F" in joints


def test_the_data_says_what_is_used_and_how_long_a_mix_lasts() -> None:
    (cement,) = json.loads(json.dumps(products_json("rapid-joint-cement")))["classes"]
    amount = cement["amount"]
    assert (amount["use"], amount["unit"], amount["per"]) == (pytest.approx(0.24), "kg", "m")
    assert (amount["pot_life"], amount["pot_law"]) == (10, "hydration")


def test_the_data_of_all_classes_is_that_of_each() -> None:
    assert products_json()["classes"] == [products_json(name)["classes"][0] for name in classes()]


def test_an_unknown_class_is_answered_with_the_nearest() -> None:
    for ask in (lambda: products_text("grot", 80), lambda: products_json("grot")):
        with pytest.raises(ValueError, match="no product class 'grot'; did you mean 'grout'"):
            ask()
