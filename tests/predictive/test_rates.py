import numpy as np
import pytest

from outcomes.predictive.rates import rate_tables


def _row(**changes):
    row = {
        "hair": "natural",
        "heat": "none",
        "texture": "medium",
        "peroxide_pct": 6.0,
        "start_level": 3.0,
    } | changes
    numbers = ("peroxide_pct", "start_level")
    return {
        column: np.array([value]) if column in numbers else np.array([value], dtype=object)
        for column, value in row.items()
    }


def test_sums_of_tables_are_encoded_rows(predictive):
    tables = rate_tables(predictive, (6.0, 9.0))
    values, texture = tables.covariates["texture"]
    draw = 17
    summed = (
        tables.base[draw]
        + tables.start[round((4.5 - 1.0) / 0.5), draw]
        + tables.hair[1, draw]
        + tables.heat[2, draw]
        + tables.peroxide[9.0][draw]
        + texture[values.index(None), draw]
        + tables.later[draw]
    )
    row = _row(hair="coloured", heat="medium", texture=None, peroxide_pct=9.0, start_level=4.5)
    encoded = predictive.design.encode(row, np.array([True]))
    assert summed == pytest.approx(float((encoded @ predictive.draws["coefficients"][draw])[0]), abs=1e-12)


def test_the_last_column_is_the_mean_over_draws(predictive):
    tables = rate_tables(predictive, (6.0,))
    for table in (tables.base[None], tables.start, tables.hair, tables.stylist, tables.product):
        assert np.allclose(table[:, -1], table[:, :-1].mean(axis=1))


def test_no_product_has_no_effect(predictive):
    assert (rate_tables(predictive, (6.0,)).product[-1] == 0).all()
