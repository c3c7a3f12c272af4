import pytest

from outcomes.answers.figures import Figures, read_figures
from outcomes.errors import InputError


def test_figures_are_read_as_they_are_written():
    assert read_figures("150", "92,5", "1.5", 8) == Figures(150.0, 92.5, 1.5, 8.0)
    assert read_figures(price="0.01") == Figures(price=0.01)
    assert read_figures() == Figures()


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"minutes_per_visit": 5}, "minutes_per_visit: found 5; expected 10 to 720 minutes"),
        ({"minutes_per_visit": "long"}, "minutes_per_visit: found 'long'; expected a number"),
        ({"price": 0}, "price: found 0; expected 0.01 to 10,000,000, in any currency; correct it"),
        ({"price": "0.001"}, "price: found 0.001; expected 0.01"),
        ({"price": -3}, "price: found -3"),
        ({"price": "nan"}, "price: found 'nan'"),
        ({"price": 50, "hours": 0}, "hours: found 0; expected 0.25 to 24 hours"),
        ({"hours": 2}, "hours: found no price"),
        ({"price": 0.2, "hours": 4}, "price: found 0.2 for 4 hours; expected 0.1 an hour or more"),
        ({"weeks_between": 60}, "weeks_between: found 60; expected 1 to 52 weeks"),
    ],
)
def test_a_figure_that_cannot_be_used(given, said):
    with pytest.raises(InputError, match=said):
        read_figures(**given)


@pytest.mark.parametrize("price", ["1,500", "1.500", "12,3456"])
def test_a_comma_for_thousands_is_not_taken_for_decimals(price):
    with pytest.raises(InputError, match="may be meant in two ways"):
        read_figures(price=price)
    assert read_figures(price="1500,5").price == 1500.5
