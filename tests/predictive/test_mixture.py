"""Draws of two distributions, in proportion."""

import numpy as np
import pytest

from outcomes.predictive.mixture import mix


@pytest.mark.parametrize("share", [0.0, 0.1, 0.35, 1.0])
def test_every_first_part_of_the_draws_has_the_share(make_predictive, share):
    first = make_predictive()
    second = make_predictive(family="saturating", shape=np.full(400, 1.5))
    found = mix(first, second, share)
    of_second = found.draws["saturating"] == 1.0
    assert of_second.mean() == pytest.approx(share, abs=1e-9)
    for part in (20, 100, 250):
        assert of_second[:part].sum() == pytest.approx(share * part, abs=0.5)
    assert (found.draws["shape"][of_second] == 1.5).all()
    for name, values in found.draws.items():
        assert (values[~of_second] == first.draws[name][~of_second]).all()
        assert (values[of_second] == second.draws[name][of_second]).all()
    assert found.family == "power"
