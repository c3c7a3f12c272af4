"""Chance of the goal read by some minute, against Gauss-Hermite quadrature."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm

from outcomes.predictive.practice import LookGaps, Practice
from outcomes.predictive.reach import reach_chances
from outcomes.predictive.told import ToldVisits

MINUTES = 40.0


def told_of(design, rows, start):
    """Visits of new clients with stylist S1 and no product, nothing read yet."""
    n, none = len(start), np.zeros(0)
    return ToldVisits(
        first_visit=np.arange(n),
        n_visits=np.ones(n, dtype=int),
        rows=rows,
        start=start,
        rinse=np.full(n, MINUTES),
        stylist=np.zeros(n, dtype=int),
        product=np.full(n, -1),
        previous=np.full(n, -1),
        first_reading=np.zeros(n, dtype=int),
        n_readings=np.zeros(n, dtype=int),
        minutes=none,
        is_look=none.astype(bool),
        lower=none,
        upper=none,
    )


def known(make_predictive, gap):
    """One draw: 4.3 levels in 45 minutes, client and visit 0.25 together."""
    one = {"shape": 0.6, "sd_client": 0.2, "sd_visit": 0.15, "sd_stylist": 0.0, "sd_product": 0.0}
    one |= {"sd_result": 0.2, "sd_look": 0.3, "look_offset": -0.1, "sd_start": 0.25}
    names = make_predictive().design.names
    coefficients = np.array([[np.log(4.3) if name == "intercept" else 0.0 for name in names]])
    return make_predictive(
        **{name: np.array([value]) for name, value in one.items()},
        coefficients=coefficients,
        stylist=np.zeros((1, 3)),
        product=np.zeros((1, 2)),
        look_gaps=LookGaps(np.array([gap]), np.ones(1), np.ones((3, 1))),
    )


def by_quadrature(start, goal, at, reads):
    """Chance that one of the readings at minutes `at` is the goal; start and log R are integrated out."""
    z, weight = np.polynomial.hermite_e.hermegauss(60)
    weight = weight / weight.sum()
    rate = np.exp(np.log(4.3) + 0.25 * z)
    true = start + 0.25 * z[:, None]
    below = np.ones((60, 60))
    for minutes, (offset, sd) in zip(at, reads, strict=True):
        below *= norm.cdf((goal - 0.25 - offset - true - rate * (minutes / 45) ** 0.6) / sd)
    return 1.0 - weight @ below @ weight


LOOK, RESULT = (-0.1, 0.3), (0.0, 0.2)


@pytest.mark.parametrize(
    ("minutes", "at_rinse", "at", "reads"),
    [
        (40.0, True, (15, 30, 40), (LOOK, LOOK, RESULT)),
        (32.0, False, (15, 30), (LOOK, LOOK)),
        (30.0, False, (15, 30), (LOOK, LOOK)),  # a look at that very minute counts
        (29.0, False, (15,), (LOOK,)),
        (10.0, True, (10,), (RESULT,)),
        (10.0, False, (), ()),
    ],
)
def test_against_quadrature(make_predictive, minutes, at_rinse, at, reads):
    predictive = known(make_predictive, 15.0)
    start, goal = np.array([3.0, 5.0]), np.array([6.5, 9.0])
    rows = np.zeros((2, len(predictive.design.names)))
    rows[:, 0] = 1.0
    told = told_of(predictive.design, rows, start)
    found = reach_chances(
        predictive, told, np.arange(2), goal, np.full(2, minutes), 4096, 1, at_rinse=at_rinse
    )
    expected = [by_quadrature(s, g, at, reads) for s, g in zip(start, goal, strict=True)]
    assert found == pytest.approx(expected, abs=0.006)


def test_half_the_sessions_unseen_is_the_mean_of_looking_and_not(make_predictive):
    predictive = known(make_predictive, 13.0)
    half = replace(predictive, practice=Practice(unseen=np.array([0.5, 0.0, 0.0])))
    rows = np.zeros((1, len(predictive.design.names)))
    rows[:, 0] = 1.0
    told, goal = told_of(predictive.design, rows, np.array([3.0])), np.array([6.5])
    found = reach_chances(half, told, np.zeros(1, int), goal, np.array([40.0]), 8192, 1, at_rinse=True)
    looked = by_quadrature(3.0, 6.5, (13, 26, 39, 40), (LOOK, LOOK, LOOK, RESULT))
    blind = by_quadrature(3.0, 6.5, (40,), (RESULT,))
    assert looked > blind + 0.02
    assert found[0] == pytest.approx(0.5 * (looked + blind), abs=0.006)
