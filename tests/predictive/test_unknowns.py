import dataclasses

import numpy as np
import pytest
from scipy.stats import chi2

from outcomes.predictive.distribution import Recalibration
from outcomes.predictive.rates import rate_tables
from outcomes.predictive.unknowns import cross_with_draws, draw_unknowns


@pytest.mark.parametrize("df", [3.0, 5.0, 30.0])
def test_mixing_has_the_law_of_a_t_tail(predictive, df):
    heavy = dataclasses.replace(predictive, recalibration=Recalibration(df=df))
    unknowns = draw_unknowns(heavy, rate_tables(heavy, (6.0,)), 1024, 1, 1)
    found = np.sort(df / unknowns.mixing**2)
    middles = (np.arange(1024) + 0.5) / 1024
    assert chi2.cdf(found, df) == pytest.approx(middles, abs=1 / 1024)


def test_twelve_sessions_find_room(predictive):
    unknowns = draw_unknowns(predictive, rate_tables(predictive, (6.0,)), 512, 12, 1)
    assert unknowns.visit.shape == (12, 512)
    assert set(unknowns.draw) <= set(range(400))


def test_crossing_gives_every_draw_the_same_courses(predictive):
    unknowns = draw_unknowns(predictive, rate_tables(predictive, (6.0,)), 32, 1, 1)
    crossed = cross_with_draws(unknowns, 5)
    assert (crossed.draw.reshape(5, 32) == np.arange(5)[:, None]).all()
    assert (crossed.visit.reshape(5, 32) == unknowns.visit).all()
