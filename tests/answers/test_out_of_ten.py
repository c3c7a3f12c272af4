import pytest
from hypothesis import given
from hypothesis import strategies as st

from outcomes.answers.out_of_ten import out_of_ten
from outcomes.answers.wording import chance
from outcomes.errors import InputError


@pytest.mark.parametrize(
    ("chances", "people"),
    [
        ((0.24, 0.66, 0.10), (2, 7, 1)),
        ((0.3, 0.3, 0.4), (3, 3, 4)),
        ((1.0,), (10,)),
        ((0.99, 0.01), (10, 0)),
        ((0.25, 0.25, 0.25, 0.25), (2, 3, 3, 2)),
        ((0.347, 0.63, 0.023), (3, 7, 0)),  # by remainders alone 4 would be done today
    ],
)
def test_ten_people(chances, people):
    assert out_of_ten(chances) == people


@given(st.lists(st.floats(0.001, 1.0), min_size=1, max_size=13))
def test_always_ten_and_never_a_whole_person_off(weights):
    chances = [weight / sum(weights) for weight in weights]
    people = out_of_ten(chances)
    assert sum(people) == 10
    assert all(abs(n - 10 * p) < 1 + 1e-6 for n, p in zip(people, chances, strict=True))


@given(st.floats(0.175, 0.924))
def test_the_first_is_what_the_sentence_says(first):
    assert chance(first) == f"about {out_of_ten((first, 0.7 * (1 - first), 0.3 * (1 - first)))[0]} in 10"


def test_chances_that_do_not_add_up():
    with pytest.raises(InputError, match="expected 1"):
        out_of_ten((0.5, 0.4))
