import pytest

from outcomes.answers.amounts import hours_said, money_said, price_for, weeks_said, whole_money


@pytest.mark.parametrize(
    ("minutes", "said"),
    [(3, "15 min"), (47, "45 min"), (53, "1 h"), (165, "2 h 45 min"), (239, "4 h"), (305, "5 h"),
     (318, "5 h 30 min"), (745, "12 h 30 min")],
)  # fmt: skip
def test_hours_to_the_quarter_and_from_four_on_to_the_half(minutes, said):
    assert hours_said(minutes) == said


@pytest.mark.parametrize(
    ("amount", "said"),
    [(42.3, "42"), (95.4, "95"), (372.6, "375"), (1234, "1,250"), (9.84, "9.80"), (99.9, "100")],
)
def test_money_to_about_two_figures(amount, said):
    assert money_said(amount) == said


def test_money_as_it_was_entered():
    assert whole_money(285.0) == "285"
    assert whole_money(92.5) == "92.50"
    assert price_for(1095.0, None) == "1,095 a visit"
    assert price_for(60.0, 1.0) == "60 for 1 hour in the chair"
    assert price_for(60.0, 1.5) == "60 for 1.5 hours in the chair"


def test_weeks_are_whole():
    assert [weeks_said(weeks) for weeks in (0, 1, 6.4, 6.5)] == ["0 weeks", "1 week", "6 weeks", "7 weeks"]
