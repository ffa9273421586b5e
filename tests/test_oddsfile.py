"""What is uncertain comes from a file, with its basis; a wrong file is refused at the place."""

import pytest

from scheduler.errors import BadFile
from scheduler.oddsfile import Straying, odds, read_odds
from scheduler.resources import data


@pytest.mark.parametrize("of", [odds().air.temperature, odds().air.humidity])
def test_each_figure_says_what_kind_of_knowledge_it_is(of: Straying) -> None:
    assert of.basis in {"published", "common practice", "from memory"}
    assert len(of.source) > 20


@pytest.mark.parametrize("of", [odds().air.temperature, odds().air.humidity])
def test_a_sensor_knows_more_than_a_guess(of: Straying) -> None:
    """Else no reading could be worth taking."""
    assert 0 < of.bias < of.noise < of.strays
    assert of.fades >= 6 * 60


@pytest.mark.parametrize(
    ("was", "becomes", "message"),
    [
        ("strays: 1.5 C", "strays: 0 C", "a difference in temperature such as 1.5 C"),
        ("noise: 5 %", "noise: 5", "a share from 0 % to 100 %"),
        ("fades: 48 h", "fade: 48 h", "did you mean 'fades'?"),
        ("basis: common practice", "basis: hearsay", "published"),
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
