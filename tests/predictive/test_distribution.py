import numpy as np
import pytest

from outcomes.errors import InputError
from outcomes.predictive.distribution import Recalibration
from outcomes.predictive.practice import LookGaps, Practice


def test_progress_of_the_power_shape(predictive):
    # (90 / 45)^0.5 = sqrt 2, and g(45) = 1
    g = predictive.progress(np.array([90.0, 45.0]), np.array([0.5, 0.31]), np.zeros(2, dtype=bool))
    assert g == pytest.approx([np.sqrt(2.0), 1.0])


def test_progress_of_the_saturating_shape(predictive):
    g = predictive.progress(np.array([22.5, 45.0]), np.array([0.5, 0.8]), np.ones(2, dtype=bool))
    assert g == pytest.approx([(1 - np.exp(-1.0)) / (1 - np.exp(-2.0)), 1.0])


def test_draws_of_both_shapes_side_by_side(predictive):
    g = predictive.progress(np.full(2, 22.5), np.full(2, 0.5), np.array([False, True]))
    assert g == pytest.approx([np.sqrt(0.5), (1 - np.exp(-1.0)) / (1 - np.exp(-2.0))])


def test_recalibration_rescales_deviations_alone():
    centre, log_rate = np.array([1.0, 2.0]), np.array([1.5, 1.0])
    assert Recalibration(spread=2.0).rates(centre, log_rate, 1.0) == pytest.approx([2.0, 0.0])
    assert not Recalibration(reading=3.0).changes_rates


def test_recalibration_of_visits_after_the_first():
    later = Recalibration(later=1.5).visit(np.array([0.2, 0.2]), np.array([False, True]))
    assert later == pytest.approx([0.2, 0.3])


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"shape": np.full(400, np.nan)}, "draws.shape"),
        ({"sd_client": np.full(400, -0.1)}, "draws.sd_client"),
        ({"saturating": np.full(400, 0.5)}, "draws.saturating"),
        ({"sd_look": np.ones(399)}, "draws.sd_look"),
        ({"coefficients": np.zeros((400, 3))}, "draws.coefficients"),
        ({"stylist_visits": np.array([1, 2])}, "stylist_visits"),
        ({"look_gaps": LookGaps(np.array([5.0]), np.array([1.0]), np.ones((2, 1)))}, "look_gaps.by_stylist"),
        ({"look_gaps": LookGaps(np.zeros(1), np.ones(1), np.ones((3, 1)))}, "look_gaps.minutes"),
        ({"practice": Practice(reread=np.ones(2))}, "practice.reread"),
        ({"practice": Practice(unseen=np.array([0.0, 0.5, 1.5]))}, "practice.unseen"),
        ({"family": "straight"}, "family"),
    ],
)
def test_fields_that_do_not_fit_are_refused_by_name(make_predictive, change, said):
    with pytest.raises(InputError, match=said):
        make_predictive(**change)
