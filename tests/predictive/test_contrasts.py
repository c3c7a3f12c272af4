import numpy as np
import pytest
from scipy.stats import norm

from outcomes.errors import InputError
from outcomes.predictive.contrasts import against, equivalence, pairs, simultaneous


def test_contrasts_by_hand():
    assert against(3, 1).tolist() == [[1, -1, 0], [0, -1, 1]]
    assert pairs(3).tolist() == [[-1, 1, 0], [-1, 0, 1], [0, -1, 1]]


def test_bands_are_the_critical_value_wide():
    found = simultaneous(np.array([1.0, 3.0]), np.diag([0.25, 0.25]), against(2), 0.95)
    assert found.value == pytest.approx([2.0])
    assert found.se == pytest.approx([np.sqrt(0.5)])
    assert found.low == pytest.approx([2.0 - norm.ppf(0.975) * np.sqrt(0.5)], abs=1e-5)
    assert found.high == pytest.approx([2.0 + norm.ppf(0.975) * np.sqrt(0.5)], abs=1e-5)
    assert found.coverage == 0.95


def test_equivalence_agrees_with_the_90_percent_interval():
    z = norm.ppf(0.95)
    for value in np.linspace(-0.3, 0.3, 25):
        inside = value - 0.05 * z > -0.2 and value + 0.05 * z < 0.2
        assert equivalence(value, 0.05, 0.2).equivalent == inside


def test_what_can_not_be_compared():
    with pytest.raises(InputError, match="estimates: found shape"):
        simultaneous(np.ones(3), np.eye(2), against(2))
    for k, reference in ((1, 0), (3, 3), (3, -1)):
        with pytest.raises(InputError, match="2 or more"):
            against(k, reference)
    with pytest.raises(InputError, match="2 or more"):
        pairs(1)
    with pytest.raises(InputError, match="above 0"):
        equivalence(0.1, 0.0, 0.2)
    for df in (0.5, np.inf):
        with pytest.raises(InputError, match="degrees of freedom"):
            equivalence(0.1, 0.1, 0.2, df)
