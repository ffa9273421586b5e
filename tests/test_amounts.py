"""Amounts of the classes, the texts they are read from, and what is wrong with damaged ones."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.catalogue import KEEP, Label, LabelTime, classes, load, product
from scheduler.clock import DAY
from scheduler.errors import BadFile
from scheduler.laws import LAWS
from scheduler.measures import measure, quantity, show_measure, stuff, usage
from scheduler.model import Amount, Conditions
from scheduler.quantities import Units, area, mass, volume
from scheduler.resources import data


def amount(class_name: str, label: Label | None = None, thickness: float | None = None) -> Amount:
    found = product("p", class_name, label, thickness).amount
    assert found is not None
    return found


# The classes


@pytest.mark.parametrize("name", classes())
def test_every_class_says_how_much_is_used_and_where_that_is_from(name: str) -> None:
    said = amount(name)
    assert said.use > 0
    assert said.pack > 0
    assert 0.05 <= said.waste <= 0.25
    assert said.basis in {"published", "common practice", "from memory"}
    assert len(said.source) > 10
    assert said.pot_law in LAWS
    for told in (said.pot_source, said.life_source):
        assert not told or told.startswith(("from memory", "common practice", "published"))


@pytest.mark.parametrize("name", classes())
def test_nothing_keeps_longer_opened_than_sealed(name: str) -> None:
    said = amount(name)
    if said.sealed_life is not None and said.opened_life is not None:
        assert 30 * DAY <= said.opened_life <= said.sealed_life


def test_what_is_mixed_with_water_has_a_pot_life_and_what_comes_ready_has_none() -> None:
    mixed = {name for name in classes() if amount(name).pot_life is not None}
    assert mixed == {
        "thinset", "rapid-thinset", "rapid-joint-cement", "mortar-bed", "self-leveler", "grout",
        "setting-compound", "screed",
    }  # fmt: skip


def test_a_coat_of_membrane_is_its_wet_film() -> None:
    # Identity: L/m2 = mm. Data sheets, from memory: 0.4 to 0.8 mm (15 to 30 mil) a coat.
    membrane = amount("liquid-membrane")
    assert (membrane.unit, membrane.per) == ("L", "m2")
    assert 0.4 <= membrane.use <= 0.8


def test_thinset_goes_95_sq_ft_for_a_bag_of_50_lb() -> None:
    # Installers' guides, read, 1/4 x 1/4 in notch: 80 to 100, typically 95 sq ft for 50 lb.
    for name in ("thinset", "rapid-thinset"):
        assert amount(name).use == pytest.approx(2.57, abs=0.005)
        assert amount(name).pack == pytest.approx(22.68, abs=0.001)


def test_the_usual_grout_is_that_of_the_formulas_first_example() -> None:
    # 300 x 300 x 10 mm with 3 mm joints: 0.32 kg/m2 (the trade's formula, from memory).
    assert amount("grout").use == pytest.approx((300 + 300) / (300 * 300) * 10 * 3 * 1.6)


def test_underlay_is_1_7_kg_for_a_square_metre_and_millimetre() -> None:
    # Data sheets, from memory: 1.6 to 2.0; the class's times are for 3 mm.
    assert amount("self-leveler").use / 3 == pytest.approx(1.7)


def test_three_coats_of_ready_mixed_compound_are_9_4_gal_on_1000_sq_ft() -> None:
    # Trade handbooks, from memory; a textbook, read, has 5 gal.
    litres = 3 * amount("ready-mixed-compound").use * area("1000 sq ft")
    assert litres == pytest.approx(volume("9.4 gal"))


def test_paint_covers_350_and_primer_300_sq_ft_a_gallon() -> None:
    # Guides, read: 250 to 400 sq ft; 250 on rough and 300 on smooth board.
    for name, reach in (("wall-paint", 350), ("wall-primer", 300)):
        assert amount(name).use == pytest.approx(volume("1 gal") / area(f"{reach} sq ft"))


def test_a_thicker_screed_takes_as_much_more_and_a_deeper_bead_its_square() -> None:
    # Geometry: a layer grows with its thickness, a bead in a corner with the square of its depth.
    assert amount("screed", thickness=60.0).use == pytest.approx(1.5 * amount("screed").use)
    bead = amount("silicone")
    assert bead.use == pytest.approx(0.5 * 4 * 4 / 1000)  # 4 mm
    assert amount("silicone", thickness=6.0).use == pytest.approx(0.018)


def test_rapid_joint_cement_is_usable_for_half_of_its_setting_time() -> None:
    # Common practice, no published source: hard in 15 to 20 min.
    cement = amount("rapid-joint-cement")
    assert (cement.pot_life, cement.pot_law) == (10, "hydration")


def test_a_label_that_sets_faster_leaves_less_working_time() -> None:
    air = Conditions(25.0, 0.5)
    label = Label({"set": LabelTime(15, KEEP)}, at=air)
    cement = amount("rapid-joint-cement", label)
    assert (cement.pot_life, cement.pot_at) == (7, air)  # half of 15 min, down to a minute
    grade = Label({"set": LabelTime(45), "recoat": LabelTime(45)})
    assert amount("setting-compound", grade).pot_life == 31  # 70 % of 45 min


# Texts


@pytest.mark.parametrize(
    ("text", "size", "unit"),
    [
        ("9.2 m2", 9.2, "m2"),
        ("42 sq ft", 42 * 0.09290304, "m2"),
        ("50 lb", 22.6796185, "kg"),
        ("22.68 kg", 22.68, "kg"),
        ("500 g", 0.5, "kg"),
        ("1 gal", 3.785411784, "L"),
        ("300 mL", 0.3, "L"),
        ("10 fl oz", 0.295735295625, "L"),
        ("25 ft", 7.62, "m"),
        ("7 ft 10-1/2 in", 2.4003, "m"),
        ("2.4m", 2.4, "m"),
        ("6 each", 6.0, "each"),
        ("1 piece", 1.0, "each"),
        ("2 rooms", 2.0, "room"),
    ],
)
def test_an_amount_is_read_by_its_unit(text: str, size: float, unit: str) -> None:
    # Inch, foot, pound and US gallon are exact by definition: NIST Handbook 44, appendix C.
    read = measure(text)
    assert read.unit == unit
    assert read.size == pytest.approx(size)


@pytest.mark.parametrize("text", ["", "0", "12", "six each", "9.2 m2 each", "1 acre", "-1 m2x"])
def test_what_is_no_amount_is_refused_with_an_example(text: str) -> None:
    with pytest.raises(ValueError, match="an amount with its unit, such as"):
        measure(text)


@pytest.mark.parametrize("text", ["22.68 kg", "1 gal", "0 m2", "0 each"])
def test_work_is_not_counted_in_mass_or_volume_and_never_nought(text: str) -> None:
    with pytest.raises(ValueError, match="a quantity of work such as"):
        quantity(text)


@pytest.mark.parametrize("text", ["1 room", "0 kg", "nothing"])
def test_stuff_is_not_counted_in_rooms_and_never_nought(text: str) -> None:
    with pytest.raises(ValueError, match="an amount such as"):
        stuff(text)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("-3 m2", "of 0 or more"),
        ("m2", "an area such as"),
        ("1e9 kg", "a mass such as"),
        ("9999999 each", "at most 1000000"),
    ],
)
def test_nonsense_sizes_say_what_is_wrong(text: str, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        stuff(text)


@pytest.mark.parametrize(
    ("text", "read"),
    [
        ("2.57 kg/m2", (2.57, "kg", "m2")),
        ("95 sq ft per 50 lb", (2.5697, "kg", "m2")),
        ("350 sq ft/gal", (0.11642, "L", "m2")),
        ("9.4 gal per 1000 sq ft", (0.38302, "L", "m2")),
        ("0.6 L/m2", (0.6, "L", "m2")),
        ("24 mil", (0.6096, "L", "m2")),
        ("0.6 mm", (0.6, "L", "m2")),
        ("8 mL per m", (0.008, "L", "m")),
        ("30 each/m2", (30.0, "each", "m2")),
        ("1.1 m2 per m2", (1.1, "m2", "m2")),
        ("45 kg per each", (45.0, "kg", "each")),
        ("1 L per room", (1.0, "L", "room")),
    ],
)
def test_a_usage_is_read_either_way_round(text: str, read: tuple[float, str, str]) -> None:
    # 1000 ft2 are 92.903 m2, 9.4 US gal 35.583 L, a mil 0.0254 mm (NIST Handbook 44, appendix C).
    size, *units = usage(text)
    assert units == [*read[1:]]
    assert size == pytest.approx(read[0], rel=1e-4)


@pytest.mark.parametrize(
    "text",
    ["", "95", "95 sq ft", "kg/m2/mm", "1 kg per 2 kg", "0 kg/m2", "1 kg per 0 m2", "1 m/L/m2"],
)
def test_what_is_no_usage_is_refused_with_examples(text: str) -> None:
    with pytest.raises(ValueError, match=r"a usage such as 2\.57 kg/m2"):
        usage(text)


@pytest.mark.parametrize("text", ["0 mm", "11 mm", "1 in"])
def test_a_film_is_thin(text: str) -> None:
    with pytest.raises(ValueError, match="a film over 0 and up to 10 mm"):
        usage(text)


@given(size=st.floats(1.0, 900.0), unit=st.sampled_from(["m2", "kg", "L", "m"]))
def test_an_amount_shown_reads_back_in_both_units(size: float, unit: str) -> None:
    systems: tuple[Units, ...] = ("metric", "imperial")
    for units in systems:
        read = measure(show_measure(size, unit, units))
        assert read.unit == unit
        assert read.size == pytest.approx(size, rel=0.03)


def test_numbers_are_shown_with_their_word() -> None:
    assert show_measure(1.0, "room", "metric") == "1 room"
    assert show_measure(2.0, "room", "metric") == "2 rooms"
    assert show_measure(2.5, "each", "imperial") == "2.5 each"


def test_50_lb_are_22_68_kg() -> None:
    # NIST Handbook 44, appendix C: the pound is 0.45359237 kg by definition.
    assert mass("50 lb") == pytest.approx(22.68, abs=0.001)
    assert usage("95 sq ft per 50 lb").size == pytest.approx(2.57, abs=0.005)


# Damage


@pytest.mark.parametrize(
    ("name", "old", "new", "message"),
    [
        ("thinset", "use: 95 sq ft per 50 lb", "use: 95 sq ft", "'use' must be a usage such as"),
        ("thinset", "pack: 50 lb", "pack: 1 gal", "'pack' must be in the unit of 'use'"),
        ("thinset", "pot_law: hydration", "pot_law: magic", "'pot_law' must be hydration"),
        (
            "thinset",
            "pot_life: 3 h",
            "pot_share: 50 %",
            "left out in a class without a stage 'set'",
        ),
        ("grout", "pot_life: 1 h", "pot_life: 1 h\n  pot_share: 50 %", "where 'pot_life' is there"),
        ("wall-paint", "density: 1.3", "pot_source: hearsay", "where there is no pot life"),
        ("sheet-membrane", "waste: 15 %", "waste: 15 %\n  life_source: x", "of how it keeps"),
        ("thinset", "waste: 10 %", "waste: 10 %\n  grows: square", "without a 'thickness'"),
        ("wall-paint", "  life_source:", "  note:", "unknown key 'note'"),
        ("wall-paint", "sealed_life: 730 d", "sealed_life: years", "'sealed_life' must be a time"),
        ("wall-paint", "density: 1.3", "density: light", "'density' must be a number"),
    ],
)
def test_damage_to_an_amount_is_told_with_its_place(
    tmp_path: Path, name: str, old: str, new: str, message: str
) -> None:
    text = (data() / "classes" / f"{name}.yaml").read_text(encoding="utf-8")
    head, amounts = text.split("\namount:\n")
    damaged = amounts.replace(old, new, 1)
    assert damaged != amounts
    (tmp_path / f"{name}.yaml").write_text(f"{head}\namount:\n{damaged}", encoding="utf-8")
    with pytest.raises(BadFile) as caught:
        load(tmp_path)
    assert message in str(caught.value)
    assert str(caught.value).startswith(f"{name}.yaml:")


def test_a_pot_life_without_a_source_is_refused(tmp_path: Path) -> None:
    text = (data() / "classes" / "thinset.yaml").read_text(encoding="utf-8")
    without = "\n".join(line for line in text.splitlines() if "pot_source:" not in line)
    (tmp_path / "thinset.yaml").write_text(without, encoding="utf-8")
    with pytest.raises(BadFile, match="'amount' needs 'pot_source'"):
        load(tmp_path)


def test_a_class_may_say_nothing_of_its_amount(tmp_path: Path) -> None:
    text = (data() / "classes" / "thinset.yaml").read_text(encoding="utf-8")
    (tmp_path / "thinset.yaml").write_text(text.split("\namount:\n")[0] + "\n", encoding="utf-8")
    assert load(tmp_path)["thinset"].amount is None
