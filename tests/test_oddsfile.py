"""What is uncertain comes from a file, with its basis; a wrong file is refused at the place."""

from math import erf, log, sqrt

import pytest

from scheduler.datafile import Sourced
from scheduler.errors import BadFile
from scheduler.oddsfile import Straying, odds, read_odds
from scheduler.resources import data


@pytest.mark.parametrize(
    "of",
    [odds().air.temperature, odds().air.humidity, odds().work, odds().product, odds().holds],
)
def test_each_figure_says_what_kind_of_knowledge_it_is(of: Sourced) -> None:
    assert of.basis in {"published", "common practice", "from memory"}
    assert len(of.source) > 20


@pytest.mark.parametrize("of", [odds().air.temperature, odds().air.humidity])
def test_a_sensor_knows_more_than_a_guess(of: Straying) -> None:
    """Else no reading could be worth taking."""
    assert 0 < of.bias < of.noise < of.strays
    assert of.fades >= 6 * 60


def test_the_label_is_enough_in_97_to_98_of_100() -> None:
    product = odds().product
    enough = (1 + erf(-log(product.median) / product.sd / sqrt(2))) / 2
    assert 0.97 <= enough <= 0.985


def test_who_is_less_used_to_the_work_is_less_sure_of_its_time() -> None:
    trade, handy, beginner = odds().work.trade, odds().work.handy, odds().work.beginner
    assert 1 >= trade.shortest >= handy.shortest >= beginner.shortest > 0
    assert 1 <= trade.longest <= handy.longest <= beginner.longest


@pytest.mark.parametrize(
    ("was", "becomes", "message"),
    [
        ("strays: 1.5 C", "strays: 0 C", "a difference in temperature such as 1.5 C"),
        ("noise: 5 %", "noise: 5", "a share from 0 % to 100 %"),
        ("fades: 48 h", "fade: 48 h", "did you mean 'fades'?"),
        ("basis: common practice", "basis: hearsay", "published"),
        ("longest: 1.8", "longest: 0.9", "'longest' must be 1 or more"),
        ("shortest: 0.85", "shortest: 1.2", "'shortest' must be above 0 and at most 1"),
        ("median: 0.85", "median: 0", "'median' must be above 0"),
        ("{fails: 5 %", "{fails: 5", "'fails' must be a share"),
    ],
)
def test_a_wrong_figure_is_refused_at_its_place(was: str, becomes: str, message: str) -> None:
    text = (data() / "odds.yaml").read_text(encoding="utf-8")
    line = text[: text.index(was)].count("\n") + 1
    with pytest.raises(BadFile) as refused:
        read_odds(text.replace(was, becomes, 1), "odds.yaml")
    assert any(p.line == line and message in p.message for p in refused.value.problems), (
        refused.value
    )
