"""The product classes as shipped, damaged copies of them, and labels laid over them."""

from importlib.resources.abc import Traversable
from pathlib import Path

import pytest

from scheduler.catalogue import (
    KEEP,
    Label,
    LabelTime,
    classes,
    load,
    product,
    product_class,
)
from scheduler.clock import DAY, HOUR
from scheduler.errors import BadFile
from scheduler.laws import LAWS
from scheduler.model import LABORATORY, STAGES, Conditions, Stage
from scheduler.products import wait_in
from scheduler.resources import data

EVERY_STAGE = [(c.name, name) for c in classes().values() for name in c.stages]


def stage(class_name: str, name: str) -> Stage:
    return product("p", class_name).stage(name)


def hours(class_name: str, name: str) -> float:
    return stage(class_name, name).minutes / HOUR


def test_every_class_a_bathroom_job_needs_is_there() -> None:
    # The list of classes that the project promises to know.
    promised = {
        "rapid-joint-cement", "thinset", "rapid-thinset", "mortar-bed", "liquid-membrane",
        "floor-primer", "self-leveler", "grout", "silicone", "setting-compound",
        "ready-mixed-compound", "wall-primer", "wall-paint", "screed",
    }  # fmt: skip
    assert promised <= set(classes())


@pytest.mark.parametrize(("class_name", "name"), EVERY_STAGE)
def test_every_stage_says_what_it_means_and_where_its_time_is_from(
    class_name: str, name: str
) -> None:
    said = classes()[class_name].stages[name]
    assert name in STAGES
    assert said.law in LAWS
    assert said.basis in {"published", "common practice", "from memory"}
    assert len(said.means) > 5
    assert len(said.source) > 5
    assert said.within is None or said.within_source.startswith(("published", "from memory"))


def files() -> list[Traversable]:
    return [f for f in (data() / "classes").iterdir() if f.name.endswith(".yaml")]


@pytest.mark.parametrize("file", files(), ids=lambda f: f.name)
def test_every_class_file_starts_with_what_the_class_is_and_names_no_address(
    file: Traversable,
) -> None:
    text = file.read_text(encoding="utf-8")
    assert text.startswith("# ")
    assert "www." not in text
    assert "://" not in text


@pytest.mark.parametrize("name", classes())
def test_every_stage_is_reached_in_an_ordinary_room_and_dry_to_touch_comes_first(name: str) -> None:
    for air in (Conditions(10.0, 0.5), Conditions(20.0, 0.5), Conditions(20.0, 0.8)):
        waits = {s.name: wait_in(s, air) or 0 for s in product("p", name).stages}
        assert min(waits.values()) > 0
        assert waits.get("touch", 0) <= min(waits.values())


# Trade facts, each with its source.


def test_joint_cement_is_hard_in_15_to_20_minutes() -> None:
    # Common practice, no published source.
    assert 15 <= stage("rapid-joint-cement", "set").minutes <= 20


def test_a_membrane_waits_longer_over_joint_cement_than_the_cement_takes_to_set() -> None:
    # From memory: data sheets of rapid-setting mortars over meshed joints, 1 to 6 h.
    assert 1 <= hours("rapid-joint-cement", "recoat") <= 6


def test_joints_meshed_with_thinset_wait_a_day_for_the_membrane_and_rapid_ones_hours() -> None:
    # From memory: data sheets, 12 to 24 h with standard thin-set, 1 to 6 h with rapid mortar.
    assert hours("thinset", "recoat") == 24
    assert hours("rapid-thinset", "recoat") == 3


def test_no_flood_test_in_the_first_24_h_nor_48_h_where_it_was_cold() -> None:
    # ASTM D5957-98(2021), 5.4.
    flood = stage("liquid-membrane", "flood")
    assert (flood.least, flood.cold_below, flood.cold_least) == (24 * HOUR, 10.0, 48 * HOUR)
    assert flood.basis == "published"
    assert "D5957" in flood.source


@pytest.mark.parametrize(("air", "least"), [(Conditions(25, 0.3), 24), (Conditions(9, 0.01), 48)])
def test_neither_a_label_nor_dry_air_brings_the_flood_test_under_the_standard(
    air: Conditions, least: int
) -> None:
    # ASTM D5957-98(2021), 5.4; a label of 4 h is one nobody may rely on.
    label = Label({"flood": LabelTime(4 * HOUR)})
    flood = product("m", "liquid-membrane", label, shorten=True).stage("flood")
    assert wait_in(flood, air) == least * HOUR


def test_a_membrane_coat_at_10_c_waits_2_to_2_5_times_its_label() -> None:
    # Drying law (GA-236 / ASTM C840 table): 10 C against 23 C at 50 % is 2.29, computed.
    recoat = stage("liquid-membrane", "recoat")
    wait = wait_in(recoat, Conditions(10.0, 0.50))
    assert wait is not None
    assert 2.0 <= wait / recoat.minutes <= 2.5


def test_the_membranes_windows_are_a_day_for_the_next_coat_and_30_days_bare() -> None:
    # From memory: data sheets, recoat at most 24 to 72 h, exposure at most 3 to 30 days.
    assert stage("liquid-membrane", "recoat").within == DAY
    assert stage("liquid-membrane", "tile").within == 30 * DAY


def test_two_coats_on_saturday_carry_tile_on_sunday_in_a_normal_room() -> None:
    # Common practice, no published source: coated twice and tiled the next day at 70 F, 50 %.
    normal = Conditions((70 - 32) / 1.8, 0.50)
    recoat, tile = (wait_in(stage("liquid-membrane", s), normal) for s in ("recoat", "tile"))
    assert recoat is not None
    assert tile is not None
    assert recoat < 4 * HOUR  # joints in the morning, coats at midday and in the afternoon
    assert tile < 16 * HOUR  # 17:00 to 09:00


def test_the_floor_is_poured_3_to_24_h_after_priming() -> None:
    # From memory: data sheets of acrylic floor primers.
    pour = stage("floor-primer", "recoat")
    assert (pour.minutes, pour.within) == (3 * HOUR, 24 * HOUR)


def test_a_fresh_underlayment_carries_after_2_to_4_h_and_takes_tile_after_a_day() -> None:
    # Tiling guides, read: walkable 2 to 4 h; tile after 12 to 24 h and 16 to 72 h.
    assert 2 <= hours("self-leveler", "walk") <= 4
    assert 16 <= hours("self-leveler", "tile") <= 24


def test_grout_waits_a_day_for_thinset_and_hours_for_rapid_thinset() -> None:
    # Installers' guide, read: 24 h at least; rapid 2 to 8 h.
    assert hours("thinset", "grout") >= 24
    assert 2 <= hours("rapid-thinset", "grout") <= 8


def test_thinset_at_10_c_takes_about_twice_as_long() -> None:
    # Trade rule, read: each 10 C below 70 F doubles; ASTM C1074 with Q = 5000 K gives 1.8 to 2.
    wait = wait_in(stage("thinset", "grout"), Conditions(11.1, 0.5))
    assert wait is not None
    assert 1.7 <= wait / (24 * HOUR) <= 2.0


def test_grout_stays_dry_for_72_h() -> None:
    # From memory: data sheets, 72 h typical.
    assert hours("grout", "water") == 72


def test_silicone_takes_a_day_or_two_to_water_and_a_double_bead_four_times_that() -> None:
    # Sealant guides, read: at least 24 h, 24 to 72 h for 3 to 6 mm. Square law: from memory.
    usual, thin, deep = (
        product("s", "silicone", thickness=mm).stage("water").minutes for mm in (4.0, 3.0, 8.0)
    )
    assert 24 * HOUR <= thin < usual <= 72 * HOUR
    assert deep == 4 * usual


def test_dry_air_slows_silicone() -> None:
    # Sealant guide, read: it cures with moisture from the air.
    water = stage("silicone", "water")
    dry, label = (wait_in(water, Conditions(23.0, rh)) for rh in (0.25, 0.50))
    assert (dry, label) == (2 * water.minutes, water.minutes)


def test_setting_compound_is_recoated_once_set_and_painted_once_dry() -> None:
    # Trade article, read: recoat as soon as it is set, in any humidity; paint, from memory, 24 h.
    damp = Conditions(20.0, 0.90)
    recoat, paint = (stage("setting-compound", s) for s in ("recoat", "paint"))
    assert wait_in(recoat, damp) == recoat.minutes
    assert (wait_in(paint, damp) or 0) > 4 * paint.minutes


@pytest.mark.parametrize(
    ("fahrenheit", "humidity", "table_hours"),
    [(70, 0.50, 17), (60, 0.50, 24), (80, 0.50, 12), (70, 0.80, 38), (70, 0.20, 11)],
)
def test_ready_mixed_compound_follows_its_table_up_and_down(
    fahrenheit: float, humidity: float, table_hours: float
) -> None:
    # GA-236 / ASTM C840, joint compound under joint tape; its cells from memory.
    wait = wait_in(
        stage("ready-mixed-compound", "recoat"), Conditions((fahrenheit - 32) / 1.8, humidity)
    )
    assert wait is not None
    assert wait / HOUR == pytest.approx(table_hours, rel=0.15)


def test_only_ready_mixed_compound_is_shortened_by_good_air_of_itself() -> None:
    # Labels are minimums but for the one class published with a full table.
    short = {c.name for c in classes().values() for s in c.stages.values() if s.shorten}
    assert short == {"ready-mixed-compound"}


def test_paint_is_recoated_after_4_h_and_primer_painted_within_30_days() -> None:
    # Painting guide, read: 2 to 4 h, 4 h common on labels; advice page, read: up to 30 days.
    assert hours("wall-paint", "recoat") == 4
    primer = stage("wall-primer", "recoat")
    assert (primer.minutes, primer.within) == (4 * HOUR, 30 * DAY)


def test_a_screed_dries_a_day_per_millimetre_to_40_mm_and_two_beyond() -> None:
    # BS 5385-3:2014, read in a trade article; beyond 40 mm: common practice, sources differ.
    days = {
        mm: product("s", "screed", thickness=mm).stage("tile").minutes / DAY
        for mm in (25.0, 40.0, 65.0)
    }
    assert days == {25.0: 25, 40.0: 40, 65.0: 90}


def test_only_what_is_always_a_floor_closes_a_room() -> None:
    # Tile and grout go on walls too; nobody stands on a wall. Common practice.
    closing = {c.name: c.closes for c in classes().values() if c.closes}
    assert closing == {
        "floor-primer": "touch", "mortar-bed": "walk", "screed": "walk", "self-leveler": "walk",
    }  # fmt: skip


def test_coats_and_pours_go_on_without_a_break() -> None:
    # Common practice: a cold joint in a pour is a crack, a lap in a membrane a leak.
    without = {c.name for c in classes().values() if c.one_go}
    assert without == {"floor-primer", "liquid-membrane", "mortar-bed", "screed", "self-leveler"}


def test_dust_stays_off_wet_coats_and_sealant() -> None:
    # Common practice.
    shy = {c.name for c in classes().values() if c.dust_shy == "touch"}
    assert shy == {"floor-primer", "liquid-membrane", "silicone", "wall-paint", "wall-primer"}


@pytest.mark.parametrize("name", ["liquid-membrane", "floor-primer", "wall-primer", "wall-paint"])
def test_coatings_keep_3_c_over_the_dew_point_and_stay_under_85_percent(name: str) -> None:
    # Coating practice (ISO 8502-4, 3 C or 5 F; 85 %), read.
    limits = product("p", name).limits
    assert (limits.dew_margin, limits.humidity_max) == (3.0, 0.85)


@pytest.mark.parametrize("name", sorted(set(classes()) - {"silicone", "screed"}))
def test_nothing_water_based_goes_on_below_50_f(name: str) -> None:
    # GA-216 and GA-236 (joint treatment), ANSI A108 practice (mortars), guides (paint): 50 F.
    assert product("p", name).limits.temperature_min == pytest.approx(10.0)


# Labels.


def test_a_label_beats_the_class_for_the_stages_it_names_and_no_others() -> None:
    at = Conditions(21.0, 0.40)
    mine = product("m", "liquid-membrane", Label({"tile": LabelTime(48 * HOUR)}, at))
    tile, recoat = mine.stage("tile"), mine.stage("recoat")
    assert (tile.minutes, tile.at, tile.basis) == (48 * HOUR, at, "owner's label")
    assert recoat == stage("liquid-membrane", "recoat")


def test_a_label_that_names_no_conditions_means_the_laboratory() -> None:
    mine = product("u", "self-leveler", Label({"tile": LabelTime(6 * HOUR)}))
    assert mine.stage("tile").at == LABORATORY
    assert mine.stage("walk").at != LABORATORY


@pytest.mark.parametrize(("said", "window"), [(KEEP, DAY), (None, None), (48 * HOUR, 48 * HOUR)])
def test_a_labels_window_replaces_keeps_or_lifts_the_classes(
    said: int | None, window: int | None
) -> None:
    mine = product("m", "liquid-membrane", Label({"recoat": LabelTime(HOUR, said)}))
    assert mine.stage("recoat").within == window


def test_a_label_may_name_a_stage_where_all_the_others_share_one_law() -> None:
    mine = product("u", "self-leveler", Label({"water": LabelTime(3 * DAY)}))
    assert mine.stage("water").law == "hydration"
    assert [s.name for s in mine.stages] == ["walk", "recoat", "tile", "water"]


def test_a_stage_that_no_law_can_be_guessed_for_is_refused_with_those_there_are() -> None:
    with pytest.raises(ValueError, match=r"screed has no stage 'water' \(it has walk, tile\)"):
        product("s", "screed", Label({"water": LabelTime(HOUR)}))


def test_a_misspelt_stage_is_refused_with_the_nearest() -> None:
    with pytest.raises(ValueError, match="no stage 'recot'; did you mean 'recoat'"):
        product("m", "liquid-membrane", Label({"recot": LabelTime(HOUR)}))


def test_a_misspelt_class_is_refused_with_the_nearest() -> None:
    with pytest.raises(ValueError, match="no product class 'thin-set'; did you mean 'thinset'"):
        product_class("thin-set")


def test_a_label_slower_than_the_window_it_leaves_standing_is_refused() -> None:
    with pytest.raises(ValueError, match=r"window of 24 h has closed; .* recoat: 36 h\.\.2 d 12 h"):
        product("m", "liquid-membrane", Label({"recoat": LabelTime(36 * HOUR)}))


def test_a_label_for_air_in_which_cement_never_sets_is_refused() -> None:
    label = Label({"grout": LabelTime(HOUR)}, Conditions(4.0, 0.5))
    with pytest.raises(ValueError, match="grout of thinset is never reached"):
        product("t", "thinset", label)


def test_shorten_is_the_owners_word_for_every_stage() -> None:
    mine = product("m", "liquid-membrane", shorten=True)
    assert all(s.shorten for s in mine.stages)
    theirs = product("c", "ready-mixed-compound", shorten=False)
    assert not any(s.shorten for s in theirs.stages)


def test_a_labels_time_is_for_the_labels_thickness() -> None:
    # Square law of silicone: 24 h at 3 mm is 96 h at 6 mm, from memory.
    label = Label({"water": LabelTime(24 * HOUR)}, thickness=3.0)
    assert product("s", "silicone", label, 6.0).stage("water").minutes == 96 * HOUR
    assert product("s", "silicone", label, 3.0).stage("water").minutes == 24 * HOUR


def test_a_labels_time_is_for_the_usual_thickness_where_it_names_none() -> None:
    label = Label({"water": LabelTime(24 * HOUR)})
    assert product("s", "silicone", label).stage("water").minutes == 24 * HOUR
    assert product("s", "silicone", label, 8.0).stage("water").minutes == 96 * HOUR


def test_a_thin_bead_brings_no_labels_time_down_that_names_no_thickness() -> None:
    # Labels are minimums.
    label = Label({"water": LabelTime(48 * HOUR)})
    assert product("s", "silicone", label, 3.0).stage("water").minutes == 48 * HOUR


def test_the_thinnest_bead_of_silicone_keeps_from_water_for_a_day() -> None:
    # Sealant guides, read: at least 24 h.
    assert product("s", "silicone", thickness=1.0).stage("water").minutes == 24 * HOUR


def test_thickness_is_refused_where_the_times_do_not_hang_on_it() -> None:
    with pytest.raises(ValueError, match="no thickness for self-leveler"):
        product("u", "self-leveler", thickness=12.0)


# Damaged copies of the catalogue.

DAMAGE = [
    ("law: drying", "law: dryin", "'law' must be hydration, drying, thick-drying, moisture-cure"),
    ("law: drying", "law: dryin", "gypsum-set or fixed (found 'dryin'); did you mean 'drying'?"),
    ("  recoat:\n", "  recote:\n", "a key of 'stages' must be touch, set, recoat, sand, walk"),
    ("  recoat:\n", "  recote:\n", "(found 'recote'); did you mean 'recoat'?"),
    ("one_go: yes", "one_goo: yes", "unknown key 'one_goo' in the class; did you mean 'one_go'?"),
    ("one_go: yes", "one_go: yes\nname: x", "unknown key 'name' in the class; known: title, note"),
    ("one_go: yes", "one_go: maybe", "'one_go' must be yes or no (found 'maybe')"),
    ("    basis: published\n", "",
     "stage 'touch' needs 'basis': published, common practice or from memory"),
    ("    source: data sheets of the class, 1 to 4 h\n", "",
     "stage 'recoat' needs 'source': where the time is from"),
    ("    law: drying\n", "", "stage 'touch' needs 'law': hydration, drying, thick-drying, moistu"),
    ("    basis: published", "    basis: hearsay",
     "'basis' must be published, common practice or from memory (found 'hearsay')"),
    ("time: 90 min", "time: soon", "'time' must be a time such as 45 min or 3 h (found 'soon')"),
    ("time: 90 min", "time: [90 min]", "'time' must be a time such as 45 min or 3 h (found a li"),
    ("time: 90 min", "time: 0 min", "'time' must be a time over 0 min"),
    ("within: 24 h", "within: 0 min", "'within' must be a time over 0 min"),
    ("time: 2 h", "time: 25 h", "'within' (24 h) must be longer than 'time' (25 h)"),
    ("time: 2 h", "time: 24 h", "'within' (24 h) must be longer than 'time' (24 h)"),
    ("time: 2 h", "time: 1 h", "stage 'recoat' must be above 'touch': stages stand in the order o"),
    ("    within: 24 h\n", "", "'within_source' needs 'within' beside it"),
    ("    within_source: from memory; data sheets of the class, 24 to 72 h, and many give no limit",
     "", "'within' needs 'within_source' beside it"),
    ("    cold_least: 48 h\n", "", "'cold_below' needs 'cold_least' beside it"),
    ("    cold_below: 10 C\n", "", "'cold_least' needs 'cold_below' beside it"),
    ("cold_least: 48 h", "cold_least: 0 h", "'cold_least' must be a time over 0 min"),
    ("at: 70 F 50 %", "at: 70 F 99 %", "'at' must be air in which the stage is ever reached: a th"),
    ("temperature_min: 50 F", "temperature_min: cool",
     "'temperature_min' must be a temperature such as 68 F or 20 C (found 'cool')"),
    ("dust_shy: touch", "dust_shy: set",
     "'dust_shy' must be a stage of the class, touch, recoat, tile or flood (found 'set')"),
    ("dust_shy: touch", "closes: walk", "'closes' must be a stage of the class, touch, recoat"),
    ("dust_shy: touch", "dust_shy: touched", "(found 'touched'); did you mean 'touch'?"),
    ("humidity_max: 85 %", "humidity: 85 %",
     "unknown key 'humidity' in 'limits'; did you mean 'humidity_max'?"),
    ("one_go: yes", "one_go: yes\none_go: no", "'one_go' is there twice (first in line "),
    ("one_go: yes", "one_go: yes\nthickness: 1 mm",
     "'thickness' goes only where the law of a stage is moisture-cure or thick-drying"),
    ("law: drying", "law: thick-drying", "the class needs 'thickness', as the law of a stage is"),
    ("one_go: yes", "one_go: &a yes", "&a: anchors and aliases are no part of a class file"),
    ("one_go: yes", "---\none_go: yes", "a second document begins here: one file holds one class"),
    ("one_go: yes", "one_go: {", "the keys opened here with { are not closed with }"),
    ("one_go: yes", "one_go: \x00", "a control character (U+0000) that no text needs: take it out"),
]  # fmt: skip


@pytest.mark.parametrize(("sound", "damaged", "message"), DAMAGE)
def test_damage_is_told_with_its_place(
    tmp_path: Path, sound: str, damaged: str, message: str
) -> None:
    text = (data() / "classes" / "liquid-membrane.yaml").read_text(encoding="utf-8")
    text = text[text.index("title:") :]
    assert sound in text
    (tmp_path / "liquid-membrane.yaml").write_text(text.replace(sound, damaged, 1), "utf-8")
    with pytest.raises(BadFile) as caught:
        load(tmp_path)
    assert message in str(caught.value)
    assert str(caught.value).startswith("liquid-membrane.yaml:")


def test_the_place_is_that_of_the_wrong_value(tmp_path: Path) -> None:
    text = (data() / "classes" / "grout.yaml").read_text(encoding="utf-8")
    (tmp_path / "grout.yaml").write_text(
        text.replace("    time: 72 h", "    time: long", 1), "utf-8"
    )
    with pytest.raises(BadFile) as caught:
        load(tmp_path)
    line = text[: text.index("    time: 72 h")].count("\n") + 1
    assert [(p.file, p.line, p.column) for p in caught.value.problems] == [("grout.yaml", line, 11)]


SMALL = """\
title: a class
note: nothing to know
stages:
  walk: {means: m, check: c, law: fixed, time: 2 h, at: 20 C, basis: published, source: s}
limits: {basis: from memory, source: s}
"""


def told(folder: Path, content: bytes) -> list[str]:
    """What is wrong in the only file of a catalogue."""
    (folder / "a.yaml").write_bytes(content)
    with pytest.raises(BadFile) as caught:
        load(folder)
    return [str(problem) for problem in caught.value.problems]


def test_a_small_class_is_read_with_what_it_leaves_out(tmp_path: Path) -> None:
    (tmp_path / "a.yaml").write_text(SMALL, "utf-8")
    kind = load(tmp_path)["a"]
    assert (kind.name, kind.title, kind.closes, kind.thickness) == ("a", "a class", None, None)
    walk = Stage("walk", "fixed", 120, Conditions(20.0, 0.5), "published", "s")
    assert kind.stages["walk"].named("walk") == walk


@pytest.mark.parametrize(
    ("sound", "damaged", "expected"),
    [
        ("source: s}\n", "source: s, within: 3 h, within_source: w}\n",
         "a.yaml:4:100: the class needs 'on_missed_window', as a stage has 'within'"),
        ("stages:\n", "on_missed_window: start again\nstages:\n",
         "a.yaml:3:19: 'on_missed_window' goes only where a stage has 'within'"),
        ("law: fixed", "law: moisture-cure", "a.yaml:4:35: the class needs 'thickness', as the law "
         "of a stage is moisture-cure or thick-drying"),
        ("stages:\n  walk:", "stages: {}\nwalk:", "a.yaml:3:9: 'stages' needs at least one stage"),
        ("stages:\n", "stages:\n  \n  set: soon\n",
         "a.yaml:5:8: stage 'set' must be a block of keys such as "
         "{means: it may be walked on, time: 3 h} (found 'soon')"),
        ("time: 2 h", "time: 400 d", "a.yaml:4:48: 'time' must be a time of at most 365 d, "
         "such as 45 min or 3 h (found '400 d')"),
        ("title: a class", "title:", "a.yaml:1:7: 'title' must be text (found nothing)"),
    ],
)  # fmt: skip
def test_what_does_not_go_together_is_told_where_it_stands(
    tmp_path: Path, sound: str, damaged: str, expected: str
) -> None:
    assert expected in told(tmp_path, SMALL.replace(sound, damaged, 1).encode())


def test_all_that_contradicts_itself_is_told_at_once(tmp_path: Path) -> None:
    content = """\
titel: a class
note: nothing to know
stages:
  set: {means: m, check: c, law: drying, time: 2 h, at: 20 C 99 %, basis: published, source: s,
    within: 1 h, cold_below: 5 C}
  recoat: {means: m, check: c, law: fixed, time: 1, at: 20 C, basis: published}
limits: {basis: rumour, source: s}
"""
    assert told(tmp_path, content.encode()) == [
        "a.yaml:1:1: the class needs 'title': the class in words",
        "a.yaml:1:1: unknown key 'titel' in the class; did you mean 'title'?",
        "a.yaml:4:57: 'at' must be air in which the stage is ever reached: "
        "a thin coat dries slower in cold or damp air",
        "a.yaml:5:13: 'within' (1 h) must be longer than 'time' (2 h): nobody could keep it",
        "a.yaml:5:13: 'within' needs 'within_source' beside it",
        "a.yaml:5:30: 'cold_below' needs 'cold_least' beside it",
        "a.yaml:6:3: stage 'recoat' needs 'source': where the time is from",
        "a.yaml:6:50: 'time' must be a time such as 45 min or 3 h (found '1')",
        "a.yaml:7:17: 'basis' must be published, common practice or from memory (found 'rumour')",
    ]


def test_a_class_file_that_is_no_text_is_told_so(tmp_path: Path) -> None:
    assert told(tmp_path, b"title: caf\xe9\n") == [
        "a.yaml:1:11: not UTF-8 text (byte 0xE9): save the file as UTF-8"
    ]


def test_a_class_is_the_same_wherever_its_lines_stand(tmp_path: Path) -> None:
    (tmp_path / "a.yaml").write_text(SMALL, "utf-8")
    first = load(tmp_path)
    (tmp_path / "a.yaml").write_text(f"# a comment\n\n{SMALL}", "utf-8")
    assert load(tmp_path) == first


@pytest.mark.parametrize("text", ["", "- a list\n", "just words\n"])
def test_a_file_without_keys_is_refused(tmp_path: Path, text: str) -> None:
    (tmp_path / "a.yaml").write_text(text, "utf-8")
    with pytest.raises(BadFile, match="1:1: the class must be a block of keys such as title"):
        load(tmp_path)


def test_what_is_wrong_in_several_files_is_told_at_once(tmp_path: Path) -> None:
    for name in ("b.yaml", "a.yaml"):
        (tmp_path / name).write_text("title: t\nnote: n\n", "utf-8")
    with pytest.raises(BadFile) as caught:
        load(tmp_path)
    assert {p.file for p in caught.value.problems} == {"a.yaml", "b.yaml"}
    assert {p.message for p in caught.value.problems} == {
        "the class needs 'stages': a block of stages, each under its name",
        "the class needs 'limits': the air in which it may be applied, with basis and source",
    }  # fmt: skip


def test_the_shipped_files_are_read_as_they_are(tmp_path: Path) -> None:
    for file in files():
        (tmp_path / file.name).write_text(file.read_text(encoding="utf-8"), "utf-8")
    assert load(tmp_path) == classes()


@pytest.mark.parametrize(("class_name", "name"), EVERY_STAGE)
def test_every_stage_says_what_to_look_at_on_site(class_name: str, name: str) -> None:
    checks = dict(product("p", class_name).checks)
    assert checks[name] == classes()[class_name].stages[name].check
    assert len(checks[name]) > 20
    assert checks[name].endswith(".")


def test_what_to_look_at_on_site_is_what_the_trade_looks_at() -> None:
    # Common practice, no published source; the hygrometer box: BS 8203 annex A, read.
    for class_name, name, words in (
        ("rapid-joint-cement", "recoat", ("thumbnail", "thickest joint")),
        ("liquid-membrane", "recoat", ("one colour", "dry to the touch")),
        ("liquid-membrane", "tile", ("cool patch", "pinhole")),
        ("ready-mixed-compound", "sand", ("white all over", "cool")),
        ("self-leveler", "tile", ("film taped down", "moisture meter")),
        ("screed", "tile", ("hygrometer box", "75 %")),
    ):
        check = classes()[class_name].stages[name].check.lower()
        assert all(word in check for word in words), (class_name, name)


def test_a_class_file_without_a_check_for_a_stage_is_refused(tmp_path: Path) -> None:
    text = (data() / "classes" / "wall-paint.yaml").read_text(encoding="utf-8")
    line = next(line for line in text.splitlines() if line.startswith("    check:"))
    (tmp_path / "wall-paint.yaml").write_text(text.replace(f"{line}\n", "", 1), encoding="utf-8")
    with pytest.raises(BadFile, match=r"stage '[a-z]+' needs 'check': what to look at"):
        load(tmp_path)
