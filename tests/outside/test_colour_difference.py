"""Colour differences against published pairs.

Sharma, Wu & Dalal (2005), Color Res. Appl. 30, 21-30, table 1: ten of its 34 pairs, four decimals. The plain
distances are arithmetic. Pairs 9 and 11 differ by 0.0002 in one b*, across the jump of the mean hue.
"""

import numpy as np
import pytest

from outcomes.errors import InputError
from outcomes.readings.colour import ciede2000, cielab_difference, grey_scale_step

PAIRS = [
    (50, 2.6772, -79.7751, 50, 0, -82.7485, 2.0425, 4.0011),
    (50, 3.1571, -77.2803, 50, 0, -82.7485, 2.8615, 6.3142),
    (50, -1, 2, 50, 0, 0, 2.3669, 2.2361),
    (50, 2.49, -0.001, 50, -2.49, 0.0009, 7.1792, 4.9800),
    (50, 2.49, -0.001, 50, -2.49, 0.0011, 7.2195, 4.9800),
    (50, 2.5, 0, 73, 25, -18, 27.1492, 36.8680),
    (60.2574, -34.0099, 36.2677, 60.4626, -34.1751, 39.4387, 1.2644, 3.1819),
    (22.7233, 20.0904, -46.6940, 23.0331, 14.9730, -42.5619, 2.0373, 6.5847),
    (90.9257, -0.5406, -0.9208, 88.6381, -0.8985, -0.7239, 1.5381, 2.3238),
    (2.0776, 0.0795, -1.1350, 0.9033, -0.0636, -0.5514, 0.9082, 1.3191),
]


def test_published_pairs():
    table = np.array(PAIRS)
    first, second = table[:, :3], table[:, 3:6]
    np.testing.assert_allclose(ciede2000(first, second), table[:, 6], atol=1e-4)
    np.testing.assert_allclose(ciede2000(second, first), table[:, 6], atol=1e-4)
    np.testing.assert_allclose(cielab_difference(first, second), table[:, 7], atol=1e-4)


def test_missing_values_stay_missing():
    found = ciede2000([[50, 0, 0], [50, np.nan, 0]], [[50, 0, 0], [50, 0, 0]])
    assert found[0] == 0.0
    assert np.isnan(found[1])


def test_grey_scale_steps():
    """CIELAB differences and tolerances of ISO 105-A02: within them a step must be named so."""
    steps = {
        "5": (0, 0.2), "4-5": (0.8, 0.2), "4": (1.7, 0.3), "3-4": (2.5, 0.35), "3": (3.4, 0.4),
        "2-3": (4.8, 0.5), "2": (6.8, 0.6), "1-2": (9.6, 0.7), "1": (13.6, 1.0),
    }  # fmt: skip
    for name, (middle, tolerance) in steps.items():
        low, high = max(middle - tolerance, 0.0), middle + tolerance
        assert grey_scale_step([low, middle, high]).tolist() == [name] * 3
    assert grey_scale_step([40.0, np.nan]).tolist() == ["1", None]


@pytest.mark.parametrize("shape", [(3,), (2, 2), (1, 3, 1)])
def test_shapes_that_are_no_colours(shape):
    with pytest.raises(InputError, match=r"expected \(n, 3\)"):
        ciede2000(np.zeros(shape), np.zeros(shape))
