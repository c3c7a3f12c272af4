import pytest

from outcomes.answers.question import Question, ask, read_strength
from outcomes.errors import InputError

GOOD = {"start": 3, "goal": 9.5, "hair": "natural", "peroxide": 6, "heat": "low", "minutes": 45}


def test_figures_may_come_as_text(predictive):
    question = ask(predictive, "3", "9.5", "Natural ", "6", "LOW", "45", " S2")
    assert question == Question(3.0, 9.5, "natural", 6.0, "low", 45.0, "S2")


def test_the_law_lets_12_percent_pass(predictive):
    assert ask(predictive, **GOOD | {"peroxide": 12.0}).peroxide == 12.0


@pytest.mark.parametrize("stylist", [None, "", "  "])
def test_no_stylist_is_the_team(predictive, stylist):
    assert ask(predictive, **GOOD, stylist=stylist).stylist is None


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"goal": 3}, "goal: found level 3 at or below the start, level 3"),
        ({"start": 8, "goal": 6}, "at or below the start"),
        ({"start": 3.2}, "start: found level 3.2; levels go in half steps; write 3 or 3.5"),
        ({"goal": 10.5}, "goal: found level 10.5"),
        ({"start": 0}, "start: found level 0"),
        ({"start": "dark"}, "start: found 'dark'; expected a number"),
        ({"goal": float("nan")}, "goal: found nan; expected a number"),
        ({"minutes": float("inf")}, "minutes: found inf; expected a number"),
        ({"peroxide": 12.5}, r"Regulation \(EC\) No 1223/2009, Annex III"),
        ({"peroxide": 0}, "peroxide: found 0 %"),
        ({"minutes": 0}, "minutes: found 0; expected 1 to 180"),
        ({"minutes": 181}, "minutes: found 181"),
        ({"hair": "grey"}, "hair: found 'grey'; expected one of natural, coloured, lightened"),
        ({"heat": "warm"}, "heat: found 'warm'; expected one of none, low, medium, high"),
        ({"stylist": "S7"}, "stylist: found 'S7'; expected one of S1, S2, S3, or new"),
    ],
)
def test_what_cannot_be_asked_is_one_clear_line(predictive, change, said):
    with pytest.raises(InputError, match=said) as caught:
        ask(predictive, **GOOD | change)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("written", "percent"),
    [
        *(("20 vol", 6.0), ("20v", 6.0), ("Vol 20", 6.0), ("40 Volume", 12.0), ("10-vol", 3.0)),
        *(("6%", 6.0), ("6 %", 6.0), ("4,5", 4.5), ("9", 9.0), (6, 6.0)),
    ],
)
def test_developer_as_it_is_said(predictive, written, percent):
    assert ask(predictive, **GOOD | {"peroxide": written}).peroxide == pytest.approx(percent)


@pytest.mark.parametrize("written", ["strong", "vol", "20 vol 6", "v20v", "%", "1.2.3"])
def test_developer_that_says_nothing(predictive, written):
    with pytest.raises(InputError, match=r"peroxide: found .*expected a number"):
        ask(predictive, **GOOD | {"peroxide": written})


@pytest.mark.parametrize(("value", "volume"), [(30, "30 vol"), ("40", "40 vol"), (13, None), (25, None)])
def test_a_volume_is_suggested_where_there_is_such_a_developer(value, volume):
    with pytest.raises(InputError, match="expected at most 12 %") as caught:
        read_strength(value)
    said = str(caught.value)
    assert said.endswith(f"where it is volume, write {volume}" if volume else "Annex III; correct it")


def test_volume_taken_for_percent_is_told_how_to_be_written(predictive):
    with pytest.raises(InputError, match="where it is volume, write 20 vol"):
        ask(predictive, **GOOD | {"peroxide": 20})
    assert ask(predictive, **GOOD | {"stylist": "New"}).stylist == "new"
