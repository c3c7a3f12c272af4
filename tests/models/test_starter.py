"""Prior values: one table, each with its source."""

import numpy as np
import pytest

from outcomes.models.starter import rate_prior, starter_table


def test_every_value_says_where_it_comes_from():
    table = starter_table()
    assert table.index.is_unique
    assert (table["sd"] > 0).all()
    assert table["source"].str.startswith("common practice, no source").all()


def test_categories_take_the_row_of_their_column():
    prior = rate_prior("lift", ["intercept", "heat[low]", "additive:look"], ["visit"], ["result"], "power")
    assert prior.coefficients["heat[low]"] == (0.1, 0.25)
    assert set(prior.coefficients) == {"intercept", "heat[low]", "additive:look"}
    assert set(prior.log_group_sd) == {"visit"}
    assert set(prior.log_reading_sd) == {"result"}
    with pytest.raises(KeyError):
        rate_prior("lift", ["moon"], [], [], "power")


def test_what_is_said_to_happen_lies_inside_the_starter_band():
    """Natural level 2.5 to 9 in 45 minutes at 6 % with medium heat in foils: common practice, no source."""
    table = starter_table()
    centre = table.loc["coefficient:intercept", "mean"] + table.loc["coefficient:heat", "mean"]
    spread = np.sqrt(
        table.loc["coefficient:intercept", "sd"] ** 2
        + sum(np.exp(2.0 * table.loc[f"log_group_sd:{g}", "mean"]) for g in ("client", "visit", "stylist"))
    )
    low, high = np.exp(centre - 1.2816 * spread), np.exp(centre + 1.2816 * spread)
    assert low < 6.5 < high
