"""The frozen result: its tables, its draws, its notes."""

from dataclasses import FrozenInstanceError

import numpy as np
import pandas as pd
import pytest

from outcomes.engine import fit_interval_mixed


@pytest.fixture(scope="module")
def fit(make_case):
    given = make_case(visits=120, clients=30, stylists=4, seed=3)
    return fit_interval_mixed(**given, ties={"start": ("result", 0.02)})


def test_names(fit):
    names = ["mean", "x", "additive:look"]
    assert fit.converged
    assert list(fit.coefficients.index) == names
    assert list(fit.covariance.index) == list(fit.covariance.columns) == names
    outer = [name for name in fit.joint_covariance.index if name not in names]
    assert sorted(outer) == sorted(
        [
            "shape",
            "log_reading_sd:look",
            "log_reading_sd:result",
            "log_sd:visit",
            "log_sd:client",
            "log_sd:stylist",
        ]
    )
    assert set(fit.group_sd) == {"visit", "client", "stylist", "start"}
    assert set(fit.reading_sd) == {"look", "result"}
    assert (fit.shape.family, fit.shape.coverage) == ("power", 0.95)
    assert fit.shape.low < fit.shape.value < fit.shape.high
    assert set(fit.shape.to_dict()) == {"family", "value", "low", "high"}
    sizes = {name: len(frame) for name, frame in fit.group_effects.items()}
    assert sizes == {"visit": 120, "client": 30, "stylist": 4, "start": 120}
    for frame in fit.group_effects.values():
        assert list(frame.columns) == ["effect", "sd"]
        assert np.isfinite(frame.to_numpy()).all()
        assert (frame["sd"] > 0).all()


def test_effects_carry_labels(fit, make_case):
    assert list(fit.group_effects["stylist"].index) == [0.0, 1.0, 2.0, 3.0]
    given = make_case(visits=120, clients=30, stylists=4, seed=3)
    names = np.array(["Q", "B", "X", "A"], dtype=object)
    codes = given["groups"]["stylist"]
    words = np.where(np.isnan(codes), None, names[np.nan_to_num(codes).astype(int)])
    renamed = fit_interval_mixed(
        **(given | {"groups": given["groups"] | {"stylist": words}}), ties={"start": ("result", 0.02)}
    )
    effects = renamed.group_effects["stylist"]["effect"]
    assert list(effects.index) == ["A", "B", "Q", "X"]
    np.testing.assert_allclose(effects[names], fit.group_effects["stylist"]["effect"], atol=1e-4)


def test_covariances_belong_together(fit):
    """What the outer parameters add to the coefficients' variance is never negative."""
    joint = fit.joint_covariance
    np.testing.assert_allclose(joint, joint.T, atol=1e-12)
    assert np.linalg.eigvalsh(joint).min() > 0
    names = list(fit.coefficients.index)
    added = joint.loc[names, names] - fit.covariance
    assert np.linalg.eigvalsh(added).min() > -1e-12
    # the shape's interval is Gaussian on the log scale
    se = np.log(fit.shape.high / fit.shape.low) / (2.0 * 1.959963985)
    assert joint.loc["shape", "shape"] == pytest.approx((fit.shape.value * se) ** 2, rel=1e-6)


def test_draws_have_the_moments_of_the_joint_covariance(fit):
    n = 40_000
    draws = fit.draws(n, seed=9)
    assert len(draws) == n
    logs = {
        "log_sd:visit": np.log(draws["sd:visit"]),
        "log_sd:client": np.log(draws["sd:client"]),
        "log_sd:stylist": np.log(draws["sd:stylist"]),
        "log_reading_sd:look": np.log(draws["reading_sd:look"]),
        "log_reading_sd:result": np.log(draws["reading_sd:result"]),
        # theta to first order
        "shape": fit.shape.value * np.log(draws["shape"]),
    }
    frame = pd.DataFrame({**{name: draws[name] for name in fit.coefficients.index}, **logs})
    expected = fit.joint_covariance
    found = frame[list(expected.index)].cov()
    sd = np.sqrt(np.diag(expected))
    # 5 Monte Carlo errors of a variance are 5 sqrt(2 / n) of it
    np.testing.assert_allclose(found / np.outer(sd, sd), expected / np.outer(sd, sd), atol=5 * np.sqrt(2 / n))
    error = 5.0 * sd[:3] / np.sqrt(n)
    assert (np.abs(draws[list(fit.coefficients.index)].mean() - fit.coefficients) < error).all()
    assert np.median(draws["sd:client"]) == pytest.approx(fit.group_sd["client"], rel=0.03)
    assert np.median(draws["shape"]) == pytest.approx(fit.shape.value, rel=0.01)


def test_draws_of_effects(fit):
    """`sd` is given sds and shape; their doubt comes on top, to first order."""
    draws, joint = fit.draws(40_000, seed=2), fit.joint
    added = joint.response @ joint.outer_covariance @ joint.response.T
    for label, row in fit.group_effects["stylist"].iterrows():
        place = joint.inner_names.index(f"stylist[{label}]")
        column = draws[f"stylist[{label}]"]
        expected = np.sqrt(row["sd"] ** 2 + added[place, place])
        assert column.std() == pytest.approx(expected, rel=5.0 / np.sqrt(80_000))
        assert column.mean() == pytest.approx(row["effect"], abs=5.0 * expected / 200.0)


def test_draws_are_seeded(fit):
    pd.testing.assert_frame_equal(fit.draws(5, seed=4), fit.draws(5, seed=4))
    assert not np.allclose(fit.draws(5, seed=4), fit.draws(5, seed=5))


def test_result_is_frozen(fit):
    with pytest.raises(FrozenInstanceError):
        fit.loglik = 0.0


def test_nothing_to_say_says_nothing(fit):
    assert fit.notes == ()


def test_draws_of_some_groups_have_the_law_of_all_draws(make_case):
    given = make_case(visits=60, clients=15, stylists=4, seed=3)
    fit = fit_interval_mixed(**given, nodes=9, tolerance=0.3)
    every = fit.draws(20000, 1)
    some = fit.draws(20000, 1, groups={"stylist"})
    kept = [name for name in every.columns if not name.startswith(("visit[", "client[", "start["))]
    assert list(some.columns) == kept
    assert any(name.startswith("stylist[") for name in kept)
    assert any(name.startswith("client[") for name in every.columns)
    sd = every[kept].std()
    # means of 20,000 draws each: a hundredth of an sd is their standard error, four of it a lot
    assert ((every[kept].mean() - some.mean()).abs() < 0.04 * sd).all()
    np.testing.assert_allclose(some.corr(), every[kept].corr(), atol=0.04)
