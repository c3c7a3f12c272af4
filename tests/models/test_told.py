import numpy as np

from outcomes.models.told import in_order, told_visits
from outcomes.predictive.lift import LiftPredictive


def test_order_places_and_codes(small):
    readings = small.model.readings_
    predictive: LiftPredictive = small.model.predictive_
    told = told_visits(readings, small.model.design_, predictive.stylists, predictive.products)
    order = in_order(readings.visits)
    visits = readings.visits.iloc[order].reset_index(drop=True)
    assert sorted(order) == list(range(len(order)))
    assert visits["client"].is_monotonic_increasing
    for first, count in zip(told.first_visit, told.n_visits, strict=True):
        own = visits.iloc[first : first + count]
        assert own["client"].nunique() == 1
        assert own["date"].is_monotonic_increasing
    assert told.n_visits.sum() == len(visits)
    assert (told.start == visits["start_level"]).all()
    assert (told.rinse == visits["minutes"]).all()
    assert [predictive.stylists[code] for code in told.stylist] == visits["stylist"].tolist()


def test_a_copied_start_points_to_the_visit_that_it_was_copied_from(small):
    readings = small.model.readings_
    told = told_visits(readings, small.model.design_, ("S01",), ())
    visits = readings.visits.iloc[in_order(readings.visits)].reset_index(drop=True)
    copied = np.flatnonzero(told.previous >= 0)
    assert len(copied) > 20
    before = visits.iloc[told.previous[copied]]
    assert (before["achieved_level"].to_numpy() == visits["start_level"].to_numpy()[copied]).all()
    assert (before["course"].to_numpy() == visits["course"].to_numpy()[copied]).all()
    assert (visits["session"].to_numpy()[copied] == before["session"].to_numpy() + 1).all()
    # codes that the distribution doesn't know
    assert set(told.stylist) == {0, -2}
    assert set(told.product) == {-2}


def test_readings_are_half_steps_in_order_of_time(small):
    readings = small.model.readings_
    told = told_visits(readings, small.model.design_, (), ())
    for visit in range(len(told.start)):
        rows = slice(told.first_reading[visit], told.first_reading[visit] + told.n_readings[visit])
        assert (np.diff(told.minutes[rows]) >= 0).all()
    closed = np.isfinite(told.lower) & np.isfinite(told.upper)
    assert np.allclose((told.upper - told.lower)[closed], 0.5)
    gained = told.lower[closed] + 0.25
    assert np.allclose(2 * gained, np.round(2 * gained))
    # the looks that were written down, and one reading at the rinse or more
    assert told.is_look.sum() >= len(small.log.checks)
    assert (told.n_readings >= 1).all()


def test_a_product_that_is_not_given():
    from outcomes.models.told import _numbers

    codes = np.array(["P1", None, np.nan, "P9"], dtype=object)
    assert _numbers(codes, ("P0", "P1")).tolist() == [1, -1, -1, -2]
