from functools import cache

import numpy as np
import pytest

from outcomes.calibration.recalibrate import ENOUGH, recalibrate
from outcomes.predictive.distribution import Recalibration
from tests.calibration.invented import drawn, held_out, known

pytestmark = pytest.mark.slow


@cache
def found(make_predictive, clients, seed, **truth):
    predictive = known(make_predictive)
    told = drawn(predictive, clients, seed, **truth)
    return recalibrate(held_out(predictive, told), told.n_readings > 0, 1)


def test_an_honest_forecast_stays_as_it_is(make_predictive):
    result = found(make_predictive, 300, 1)
    changed = result.recalibration
    # the standard error of the log of a spread from 300 clients is about 1 / sqrt(2 * 300) = 0.04
    assert changed.spread == pytest.approx(1.0, abs=0.1)
    assert changed.reading == pytest.approx(1.0, abs=0.1)
    assert changed.later == pytest.approx(1.0, abs=0.12)
    assert changed.df is None
    assert (result.clients, result.again) == (300, 300)
    assert 0 <= result.gain < 4


def test_hair_that_differs_more_is_found(make_predictive):
    changed = found(make_predictive, 400, 2, spread=1.4).recalibration
    # of 400 clients, whose log has a standard error of 0.035, the prior (sd 0.1) makes 1.35 of 1.4
    assert changed.spread == pytest.approx(1.35, abs=0.12)
    assert changed.reading == pytest.approx(1.0, abs=0.1)


def test_eyes_that_err_more_and_later_visits_are_found_apart(make_predictive):
    changed = found(make_predictive, 400, 4, reading=1.5, later=1.7).recalibration
    assert changed.reading == pytest.approx(1.5, abs=0.13)
    assert changed.spread == pytest.approx(1.0, abs=0.12)
    assert 1.2 < changed.later < 1.9


def test_a_heavy_tail_is_found(make_predictive):
    result = found(make_predictive, 500, 5, df=4.0)
    assert result.recalibration.df is not None
    assert 3 <= result.recalibration.df <= 10
    assert result.gain > 3


def test_too_few_clients_change_nothing(make_predictive):
    result = found(make_predictive, ENOUGH - 1, 6, spread=2.0)
    assert result.recalibration == Recalibration()
    assert result.by_fold == (Recalibration(),) * 5
    assert result.clients == ENOUGH - 1


def test_few_clients_change_little(make_predictive):
    """With 25 clients the prior (sd 0.1) outweighs what they say of a spread 1.4 times as large."""
    few = [found(make_predictive, 25, seed, spread=1.4).recalibration.spread for seed in range(7, 10)]
    assert 1.0 < np.mean(few) < 1.25


def test_each_fold_is_judged_without_itself(make_predictive):
    """Leaving out a fifth of the clients moves a factor by about half its standard error."""
    result = found(make_predictive, 400, 2, spread=1.4)
    apart = [one.spread / result.recalibration.spread for one in result.by_fold]
    assert 0.002 < np.std(np.log(apart)) < 0.06
    assert np.mean(np.log(apart)) == pytest.approx(0.0, abs=0.03)
    # the climb itself, on 256 particles a client, ends within 0.03 of where many would
    told = drawn(known(make_predictive), 400, 2, spread=1.4)
    held = held_out(known(make_predictive), told)
    kept = told.of_clients(np.flatnonzero(held.fold != 0))
    again = recalibrate(type(held)(kept, held.fold[held.fold != 0], held.predictives), told.n_readings > 0, 1)
    assert again.recalibration.spread == pytest.approx(result.by_fold[0].spread, abs=0.06)
