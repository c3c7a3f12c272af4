"""Visits left to the clock: their share, and what leaving it out would do to the shape."""

import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from outcomes.demo.simulate import simulate_log
from outcomes.demo.worlds import world
from outcomes.models.clock import clock_notes, likelier_by, mixture_share
from outcomes.models.lift import LiftModel
from tests.models.logs import as_log


@pytest.mark.slow
@pytest.mark.parametrize(("blind", "at_goal", "seed"), [(0.0, 5, 1), (0.4, 20, 2), (0.9, 0, 3)])
def test_share_is_the_likeliest(blind, at_goal, seed):
    """The EM algorithm against a search for the maximum of the mixture's own likelihood."""
    rng = np.random.default_rng(seed)
    looked = rng.random(60) >= blind
    # what a look adds to the log-likelihood of a visit: survived looks are less likely than none
    adds = np.where(looked, rng.normal(-0.4, 0.3, 60), rng.normal(-2.0, 1.0, 60))

    def lacking(share):
        mixed = np.log(share + (1.0 - share) * np.exp(adds)).sum() + at_goal * np.log1p(-share)
        return -(mixed + 2.0 * (0.2 * np.log(share) + 0.8 * np.log1p(-share)))

    best = minimize_scalar(lacking, bounds=(1e-9, 1.0 - 1e-9), method="bounded", options={"xatol": 1e-9})
    share = mixture_share(adds, at_goal)
    assert share == pytest.approx(best.x, abs=1e-4)
    beats = np.log(share + (1.0 - share) * np.exp(adds)).sum() + at_goal * np.log1p(-share) - adds.sum()
    assert likelier_by(adds, at_goal, share) == pytest.approx(beats)


@pytest.fixture(scope="module")
def left():
    return LiftModel(shapes=("power",)).fit(as_log(simulate_log(world("left_to_clock"), 1000, 0)[0]))


@pytest.mark.slow
def test_shape_and_share_of_a_log_left_to_the_clock_are_recovered(left):
    made = world("left_to_clock")
    assert left.fit_.converged
    assert left.fit_.shape.value == pytest.approx(made.theta, abs=0.05)
    # a look's error would swell to explain readings that no look had seen
    assert left.fit_.reading_sd["look"] == pytest.approx(made.tau_look, abs=0.1)
    visits = left.readings_.visits
    share = visits["stylist"].map(left.clock_).fillna(0.0)
    open_to_doubt = visits["stop"] != "target"
    # of sessions that didn't stop at their goal more were left: 0.4 of all is what the share is of
    assert share[open_to_doubt].mean() == pytest.approx(made.clock_share, abs=0.1)
    assert any("left to the clock" in note for note in left.notes_)


@pytest.mark.slow
@pytest.mark.parametrize(("n", "seed"), [(1000, 0), (100, 0), (100, 1), (100, 2), (100, 3)])
def test_who_always_looks_is_not_said_to_leave_visits_to_the_clock(n, seed):
    model = LiftModel(shapes=("power",)).fit(as_log(simulate_log(world("no_looks"), n, seed)[0]))
    assert not any("left to the clock" in note for note in model.notes_)
    visits = model.readings_.visits
    assert visits["stylist"].map(model.clock_).fillna(0.0).mean() < 0.05


@pytest.mark.slow
def test_looks_that_nobody_wrote_down_may_read_dark():
    """The offset shows in results read anew; taken as 0 the shape came out at 0.76."""
    made = world("no_looks", look_bias=-0.3)
    fit = LiftModel(shapes=("power",)).fit(as_log(simulate_log(made, 1000, 5)[0])).fit_
    assert fit.shape.value == pytest.approx(made.theta, abs=0.05)
    assert fit.coefficients["additive:look"] == pytest.approx(-0.3, abs=0.12)


def test_notes_say_how_often_and_nobodys_name():
    assert clock_notes({"S1": 0.05}) == ()
    (note,) = clock_notes({"S1": 0.05, "S2": 0.42, "S3": 0.31})
    assert "31 % to 42 % of visits" in note
    assert note.endswith("with 2 stylists")
    # a habit is said of the log, not of a person
    assert "S2" not in note
