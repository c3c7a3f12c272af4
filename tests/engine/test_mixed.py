"""Fits as a caller sees them: the same thing two ways, options, boundaries, far starts."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from scipy.stats import norm

from outcomes.engine import Prior, fit_interval_mixed, log_marginal
from outcomes.errors import InputError


def _numbers(fit):
    """Every estimate of a fit in one vector, and the standard error of each."""
    joint = fit.joint_covariance
    names = [name for name in joint.index if name not in fit.coefficients.index]
    logs = []
    for name in names:
        if name == "shape":
            logs.append(fit.shape.value)
        elif name.startswith("log_sd:"):
            logs.append(np.log(fit.group_sd[name.removeprefix("log_sd:")]))
        elif name == "log_reading_sd":
            logs.append(np.log(fit.reading_sd))
        else:
            logs.append(np.log(fit.reading_sd[name.removeprefix("log_reading_sd:")]))
    return np.r_[fit.coefficients, logs], np.sqrt(np.diag(joint))


def _rounded(y, step=0.5):
    middle = np.round(y / step) * step
    return middle - step / 2, middle + step / 2


def _looked_at(seed, *, visits=300, client_sd=0.2, visit_sd=0.14):
    """Three readings a visit in half steps: log link, power shape 0.62, reading sd 0.18."""
    rng = np.random.default_rng(seed)
    visit, client = np.repeat(np.arange(visits), 3), rng.integers(0, visits // 3, visits)
    x, time = rng.normal(0.0, 0.3, visits), rng.uniform(0.2, 1.4, 3 * visits)
    log_rate = 1.45 + 0.4 * x + client_sd * rng.normal(size=visits // 3)[client]
    log_rate = log_rate + visit_sd * rng.normal(size=visits)
    low, high = _rounded(np.exp(log_rate)[visit] * time**0.62 + 0.18 * rng.normal(size=3 * visits))
    return {
        "lower": np.where(low < 0, -np.inf, low),
        "upper": np.where(low < 0, 0.25, high),
        "design": pd.DataFrame({"mean": 1.0, "x": x[visit]}),
        "groups": {"visit": visit, "client": client[visit]},
        "link": "log",
        "exposure": time,
        "shape": "power",
    }


def _without_looks(seed, visits=800):
    """Colourists look now and then until a reading is at the goal: the result, and "not yet" before it.

    Time between looks is long beside the reading error (0.18 level), so that the last look before the
    result tells what the ones before it told. True shape 0.62.
    """
    rng = np.random.default_rng(seed)
    client, x = rng.integers(0, visits // 3, visits), rng.normal(0.0, 0.3, visits)
    log_rate = 1.45 + 0.4 * x + 0.2 * rng.normal(size=visits // 3)[client] + 0.14 * rng.normal(size=visits)
    goal, gap = rng.choice(np.arange(2.0, 6.0, 0.5), visits), rng.uniform(0.25, 0.45, visits)
    time, looks = gap * rng.uniform(0.4, 1.0, visits), np.zeros(visits, int)
    result, going = np.zeros(visits), np.ones(visits, bool)
    while going.any():
        read = np.round(2.0 * (np.exp(log_rate) * time**0.62 + 0.18 * rng.normal(size=visits))) / 2.0
        result, looks = np.where(going, read, result), looks + going
        going = going & (read < goal)
        time = np.where(going, time + gap, time)
    before = np.flatnonzero(looks > 1)
    visit = np.r_[np.arange(visits), before]
    return {
        "lower": np.r_[np.where(result <= 0, -np.inf, result - 0.25), np.full(len(before), -np.inf)],
        "upper": np.r_[result + 0.25, goal[before] - 0.25],
        "design": pd.DataFrame({"mean": 1.0, "x": x[visit]}),
        "groups": {"visit": visit, "client": client[visit]},
        "link": "log",
        "exposure": np.r_[time, (time - gap)[before]],
        "shape": "power",
    }


def test_a_log_without_looks_breaks_laplace_and_not_the_default():
    """Over 12 logs: single ones say a reading sd of 0.16 to 0.22."""
    made = [_without_looks(seed) for seed in range(12)]
    fits = [fit_interval_mixed(**given) for given in made]
    assert all(fit.converged for fit in fits)
    assert np.mean([fit.shape.value for fit in fits]) == pytest.approx(0.62, abs=0.015)
    assert np.mean([fit.reading_sd for fit in fits]) == pytest.approx(0.18, abs=0.015)
    for given in made:
        laplace = fit_interval_mixed(**given, nodes=1)
        assert laplace.shape.value > 0.62 + 0.02
        assert laplace.reading_sd < 0.09
        assert laplace.group_sd["visit"] > 0.14 + 0.1


@pytest.mark.parametrize("function", [fit_interval_mixed, log_marginal])
@pytest.mark.parametrize(
    ("option", "why"),
    [
        *(({"nodes": nodes}, "nodes .* whole number") for nodes in (0, 2.5, True)),
        ({"nodes": 371}, "300 at most"),
        *(({"shards": shards}, "shards .* whole number") for shards in (0, None)),
        ({"prior": "x"}, "a Prior or None"),
        ({"map": None}, "a function like the built-in map"),
    ],
)
def test_options_that_cannot_be(function, option, why):
    given = _coarse()
    known = {"group_sd": {"group": 0.6, "other": 0.3}, "reading_sd": 0.4} if function is log_marginal else {}
    with pytest.raises(InputError, match=why):
        function(**given, **known, **option)


def _coarse(seed=4):
    rng = np.random.default_rng(seed)
    group, other = np.repeat(np.arange(50), 4), rng.integers(0, 6, 200)
    x = rng.normal(size=200)
    y = 5.0 + 0.5 * x + 0.6 * rng.normal(size=50)[group] + 0.3 * rng.normal(size=6)[other]
    low, high = _rounded(y + 0.4 * rng.normal(size=200), step=1.0)
    design = pd.DataFrame({"mean": np.ones(200), "x": x})
    return {"lower": low, "upper": high, "design": design, "groups": {"group": group, "other": other}}


@pytest.mark.parametrize("make", [lambda: _without_looks(5), _coarse], ids=["log without looks", "coarse"])
def test_more_nodes_move_no_estimate_by_a_tenth_of_its_standard_error(make):
    given = make()
    finest, se = _numbers(fit_interval_mixed(**given, nodes=34))
    for nodes in (17, None):
        found, _ = _numbers(fit_interval_mixed(**given, nodes=nodes))
        assert (np.abs(found - finest) < 0.1 * se).all()


@pytest.mark.parametrize("shards", [2, 3, 7])
def test_shards_are_exactly_the_whole(make_case, shards):
    given = make_case(visits=60, clients=15, stylists=4, seed=3)
    # few steps at given parameters show the pieces; a climb would only add its own rounding
    options = {
        "group_sd": {"visit": 0.2, "client": 0.3, "stylist": 0.1, "start": 0.2},
        "reading_sd": {"look": 0.3, "result": 0.2},
        "shape_value": 0.6,
    }
    whole = log_marginal(**given, **options)
    assert log_marginal(**given, **options, shards=shards) == pytest.approx(whole, rel=1e-9)


@pytest.mark.parametrize("shards", [2, 3, 7])
@pytest.mark.parametrize("make", [_coarse, lambda: _looked_at(1, visits=90)], ids=["coarse", "looked at"])
def test_a_fit_by_shards_is_the_whole_fit(make, shards):
    whole = fit_interval_mixed(**make())
    with ThreadPoolExecutor(2) as pool:
        for run in (map, pool.map):
            parts = fit_interval_mixed(**make(), shards=shards, map=run)
            np.testing.assert_allclose(_numbers(parts)[0], _numbers(whole)[0], rtol=1e-9)
            assert parts.loglik == pytest.approx(whole.loglik, rel=1e-9)


def test_a_fit_does_not_wander(make_case):
    """Start errors tied to the readings' and few nodes once made the climb try 700 points here."""
    calls = []

    def counting(function, *arguments):
        calls.append(function.__name__)
        return map(function, *arguments)

    given = make_case(visits=120, clients=30, stylists=4, seed=3)
    fit = fit_interval_mixed(**given, ties={"start": ("result", 0.02)}, map=counting)
    assert fit.converged
    assert len(calls) < 600


@pytest.mark.parametrize("shift", [-2.0, 1.5, 3.0])
def test_log_link_from_far_away(shift):
    """From a rate 7 times too small to 20 times too large: steps are shortened, the estimates the same."""
    given = _looked_at(2, visits=90)
    fit = fit_interval_mixed(**given)
    far = replace(fit, coefficients=fit.coefficients + np.array([shift, 1.0]))
    again = fit_interval_mixed(**given, start=far)
    assert again.converged
    found, se = _numbers(again)
    assert (np.abs(found - _numbers(fit)[0]) < 1e-3 * se).all()


def test_a_climb_by_a_given_information_ends_at_the_same_maximum():
    given = _looked_at(2, visits=90)
    fit = fit_interval_mixed(**given)
    names = list(fit.joint.outer_names)
    # 1.5 times too much of it: every step then goes two thirds of the way
    information = pd.DataFrame(1.5 * np.linalg.inv(fit.joint.outer_covariance), index=names, columns=names)
    shuffled = information.iloc[::-1, ::-1]
    again = fit_interval_mixed(**given, information=shuffled)
    assert again.converged
    found, se = _numbers(again)
    assert (np.abs(found - _numbers(fit)[0]) < 1e-3 * se).all()
    assert again.joint.outer_covariance == pytest.approx(fit.joint.outer_covariance / 1.5, rel=1e-6)


def test_a_given_information_that_lacks_a_parameter_is_passed_over():
    given = _looked_at(2, visits=90)
    fit = fit_interval_mixed(**given)
    names = list(fit.joint.outer_names)[:-1]
    again = fit_interval_mixed(**given, information=pd.DataFrame(1e6 * np.eye(len(names)), names, names))
    assert again.joint.outer_covariance == pytest.approx(fit.joint.outer_covariance, rel=1e-9)


def test_alternatives_by_hand():
    """No groups: the log of the weighted sum of probabilities, unit by unit."""
    lower = np.array([1.75, -np.inf, -np.inf, -np.inf, 2.3])
    upper = np.array([2.25, 2.75, 2.75, 2.75, 2.3])
    time = np.array([0.5, 0.9, 0.7, 0.5, 0.8])
    weights = np.array([9.0, 0.25, 0.5, 0.25, 9.0])
    rate, theta, sd = np.exp(1.3), 0.65, 0.3
    mean = rate * time**theta
    inside = norm.cdf(upper, mean, sd) - norm.cdf(lower, mean, sd)
    expected = np.log(inside[0]) + np.log(weights[1:4] @ inside[1:4]) + norm.logpdf(2.3, mean[4], sd)
    for codes in (np.array([-1, 0, 0, 0, -1]), np.array([None, "a", "a", "a", None], dtype=object)):
        found = log_marginal(
            lower,
            upper,
            pd.DataFrame({"mean": np.ones(5)}),
            {},
            group_sd={},
            reading_sd=sd,
            coefficients=[1.3],
            shape_value=theta,
            link="log",
            exposure=time,
            shape="power",
            alternatives=(codes, weights),
        )
        assert found == pytest.approx(expected, abs=1e-10)


def test_readings_of_one_branch_hold_together():
    """No groups: log of the weighted sum over branches of the product of probabilities, by hand."""
    upper, time = np.array([2.75, 2.0, 2.75, 2.75]), np.array([0.9, 0.5, 0.7, 0.6])
    weights, branches = np.array([0.7, 0.7, 0.3, 1.0]), np.array([5, 5, 2, -1])
    mean = np.exp(1.3) * time**0.65
    below = norm.cdf(upper, mean, 0.3)
    expected = np.log(0.7 * below[0] * below[1] + 0.3 * below[2]) + np.log(below[3])
    for order in (np.arange(4), np.array([3, 1, 2, 0])):
        found = log_marginal(
            np.full(4, -np.inf),
            upper[order],
            pd.DataFrame({"mean": np.ones(4)}),
            {},
            group_sd={},
            reading_sd=0.3,
            coefficients=[1.3],
            shape_value=0.65,
            link="log",
            exposure=time[order],
            shape="power",
            alternatives=(np.array([0, 0, 0, -1])[order], weights[order], branches[order]),
        )
        assert found == pytest.approx(expected, abs=1e-10)


def test_ties_do_what_they_say():
    """A start error of variance tau**2 + step**2 / 12, shared by a visit's readings."""
    given = _looked_at(3, visits=120)
    given["additive_groups"] = {"start": given["groups"]["visit"]}
    fit = fit_interval_mixed(**given, ties={"start": (None, 0.25 / 12.0)})
    assert fit.converged
    assert fit.group_sd["start"] ** 2 == pytest.approx(fit.reading_sd**2 + 0.25 / 12.0, rel=1e-12)
    assert "log_sd:start" not in fit.joint_covariance.index
    # the criterion at the estimates, tie or no tie
    options = {"group_sd": fit.group_sd, "reading_sd": fit.reading_sd, "shape_value": fit.shape.value}
    assert log_marginal(**given, **options, nodes=17) == pytest.approx(fit.loglik, abs=0.05)
    for factor in (0.93, 1.07):
        sd = fit.reading_sd * factor
        moved = options | {
            "reading_sd": sd,
            "group_sd": {**fit.group_sd, "start": np.sqrt(sd**2 + 0.25 / 12)},
        }
        assert log_marginal(**given, **moved, nodes=17) < log_marginal(**given, **options, nodes=17) + 1e-3


def test_held_reading_sd_is_held():
    given = _looked_at(3, visits=120)
    kind = np.tile(["look", "look", "result"], 120)
    fit = fit_interval_mixed(**given, kind=kind, held_reading_sd={"look": 0.25})
    assert fit.reading_sd["look"] == pytest.approx(0.25, rel=1e-12)
    assert fit.reading_sd["result"] != pytest.approx(0.25, rel=1e-3)
    assert "log_reading_sd:look" not in fit.joint_covariance.index
    assert "log_reading_sd:result" in fit.joint_covariance.index


def test_no_reading_sd_free_at_all():
    """Exact identity data with everything known but the mean: precision-weighted average."""
    y = np.array([1.0, 2.0, 4.0, 3.0])
    kind = np.array(["a", "a", "b", "b"])
    fit = fit_interval_mixed(
        y, y, pd.DataFrame({"mean": np.ones(4)}), {}, kind=kind, held_reading_sd={"a": 1.0, "b": 2.0}
    )
    assert fit.coefficients["mean"] == pytest.approx((1 + 2 + 4 / 4 + 3 / 4) / 2.5)
    assert fit.covariance.iloc[0, 0] == pytest.approx(1 / 2.5)


def test_priors_are_those_of_conjugate_regression():
    """Exact data, known sd: posterior mean and variance of a Gaussian prior on the mean; flat where none."""
    y = np.array([1.0, 2.0, 4.0, 3.0, 2.5])
    design = pd.DataFrame({"mean": np.ones(5)})
    fit = fit_interval_mixed(
        y, y, design, {}, held_reading_sd={None: 0.8}, prior=Prior(coefficients={"mean": (1.0, 0.5)})
    )
    precision = 5 / 0.64 + 1 / 0.25
    assert fit.covariance.iloc[0, 0] == pytest.approx(1 / precision)
    assert fit.coefficients["mean"] == pytest.approx((y.sum() / 0.64 + 1.0 / 0.25) / precision)
    # the marginal density of y, a multivariate normal
    covariance = 0.64 * np.eye(5) + 0.25
    away = y - 1.0
    expected = -0.5 * (
        away @ np.linalg.solve(covariance, away) + np.linalg.slogdet(covariance)[1] + 5 * np.log(2 * np.pi)
    )
    assert fit.loglik == pytest.approx(expected, abs=1e-9)


def test_a_prior_on_an_sd_pulls_it():
    given = _coarse()
    flat = fit_interval_mixed(**given)
    tight = fit_interval_mixed(**given, prior=Prior(log_group_sd={"other": (np.log(0.6), 0.01)}))
    wide = fit_interval_mixed(**given, prior=Prior(log_group_sd={"other": (np.log(0.6), 1e3)}))
    assert tight.group_sd["other"] == pytest.approx(0.6, rel=0.01)
    assert wide.group_sd["other"] == pytest.approx(flat.group_sd["other"], rel=1e-3)


def test_identity_link_knows_no_second_scale():
    """Without a shape additive terms are terms like others, and order and labels of rows don't matter."""
    given = _coarse()
    plain = fit_interval_mixed(**given)
    split = fit_interval_mixed(
        **(given | {"design": given["design"][["mean"]], "groups": {"group": given["groups"]["group"]}}),
        additive=given["design"][["x"]],
        additive_groups={"other": given["groups"]["other"]},
    )
    np.testing.assert_allclose(split.coefficients[["mean", "additive:x"]], plain.coefficients, atol=1e-6)
    assert split.loglik == pytest.approx(plain.loglik, abs=1e-6)
    order = np.random.default_rng(0).permutation(200)
    words = np.array([f"stylist {9 - i}" for i in range(6)])
    shuffled = fit_interval_mixed(
        given["lower"][order],
        given["upper"][order],
        given["design"].iloc[order],
        {"other": words[given["groups"]["other"][order]], "group": given["groups"]["group"][order]},
    )
    assert shuffled.loglik == pytest.approx(plain.loglik, abs=1e-6)
    # climbs that start alike differ in rounding only
    np.testing.assert_allclose(shuffled.coefficients, plain.coefficients, atol=1e-6)


def _between(seed=11):
    """A covariate that differs between groups only, and no spread between groups at all."""
    rng = np.random.default_rng(seed)
    group = np.repeat(np.arange(20), 5)
    treated = (group % 2).astype(float)
    residual = rng.normal(size=100)
    # take the groups' means out: what is left has less spread between groups than chance gives
    residual -= np.repeat(residual.reshape(20, 5).mean(axis=1), 5)
    y = 3.0 + 0.8 * treated + residual
    return y, pd.DataFrame({"mean": np.ones(100), "treated": treated}), group


@pytest.mark.parametrize("criterion", ["integrated", "ml"])
def test_between_group_coefficients_survive_a_variance_at_its_boundary(criterion):
    """A known failure elsewhere: with the variance at 0 a mixed model must be least squares, unmoved.

    Reported of another library as its issue 10239: coefficients of columns constant within groups came
    out wrong once the variance sat at 0.
    """
    y, design, group = _between()
    fit = fit_interval_mixed(y, y, design, {"group": group}, criterion=criterion)
    beta, rss, *_ = np.linalg.lstsq(design.to_numpy(), y, rcond=None)
    sd = np.sqrt(rss[0] / (98 if criterion == "integrated" else 100))
    assert fit.group_sd["group"] == 0.0
    np.testing.assert_allclose(fit.coefficients, beta, rtol=1e-9)
    assert fit.coefficients["treated"] == pytest.approx(0.8, abs=1e-9)
    assert fit.reading_sd == pytest.approx(sd, rel=1e-6)
    se = sd * np.sqrt(np.diag(np.linalg.inv(design.T @ design)))
    np.testing.assert_allclose(np.sqrt(np.diag(fit.covariance)), se, rtol=1e-6)
    low, high = _rounded(y)
    rounded = fit_interval_mixed(low, high, design, {"group": group}, criterion=criterion)
    without = fit_interval_mixed(low, high, design, {}, criterion=criterion)
    assert rounded.group_sd["group"] == 0.0
    np.testing.assert_allclose(rounded.coefficients, without.coefficients, atol=1e-5)


def test_variance_on_its_boundary_is_noted_and_zero():
    y, design, group = _between()
    fit = fit_interval_mixed(y, y, design, {"group": group})
    assert [note for note in fit.notes if "'group'" in note and "boundary" in note]
    assert (fit.group_effects["group"] == 0.0).all(axis=None)
    assert "log_sd:group" not in fit.joint_covariance.index


def test_one_exact_reading_a_visit_is_not_identified_and_said():
    rng = np.random.default_rng(2)
    y, visit = rng.normal(size=40), np.arange(40)
    fit = fit_interval_mixed(y, y, pd.DataFrame({"mean": np.ones(40)}), {"visit": visit})
    assert any("'visit'" in note and "can't be told apart" in note for note in fit.notes)
    total = np.hypot(fit.group_sd["visit"], fit.reading_sd)
    assert total == pytest.approx(y.std(ddof=1), rel=1e-5)


def test_failed_convergence_is_said():
    """Laplace on a log without looks sends the reading error to 0: never returned in silence."""
    fit = fit_interval_mixed(**_without_looks(5), nodes=1)
    assert fit.converged == (not any("did not converge" in note for note in fit.notes))
    assert fit.notes


def test_all_intervals_none_and_one_side_only():
    rng = np.random.default_rng(6)
    group, x = np.repeat(np.arange(30), 6), rng.normal(size=180)
    y = 4.0 + 0.5 * x + 0.5 * rng.normal(size=30)[group] + 0.4 * rng.normal(size=180)
    limit = rng.uniform(2.5, 5.5, 180)
    logs = {
        "exact": (y, y),
        "intervals": _rounded(y),
        "left-censored": (np.where(y < 3.8, -np.inf, y), np.where(y < 3.8, 3.8, y)),
        "right-censored": (y.clip(max=4.3), np.where(y > 4.3, np.inf, y)),
        "below or above a limit": (np.where(y < limit, -np.inf, limit), np.where(y < limit, limit, np.inf)),
    }
    design = pd.DataFrame({"mean": np.ones(180), "x": x})
    for name, (low, high) in logs.items():
        fit = fit_interval_mixed(low, high, design, {"group": group})
        assert fit.converged, name
        found, se = _numbers(fit)
        truth = np.r_[4.0, 0.5, np.log([0.4, 0.5])]
        assert (np.abs(found - truth) < 3.5 * se).all(), name


def _with_a_dummy(link, low, high):
    """Half-step readings, and a dummy whose six rows are read as (low, high)."""
    rng = np.random.default_rng(1)
    n = 240
    x, client = 0.3 * rng.standard_normal(n), np.arange(n) // 3
    eta = 1.4 + 0.4 * x + 0.2 * rng.standard_normal(n // 3)[client]
    y = (np.exp(eta) if link == "log" else eta) + 0.2 * rng.standard_normal(n)
    read = np.round(2.0 * y) / 2.0
    dummy = (np.arange(n) < 6).astype(float)
    lower, upper = np.where(dummy, low, read - 0.25), np.where(dummy, high, read + 0.25)
    return {
        "lower": lower,
        "upper": np.where(lower >= upper, np.inf, upper),
        "design": pd.DataFrame({"mean": 1.0, "x": x, "dummy": dummy}),
        "groups": {"client": client},
        "link": link,
    }


@pytest.mark.parametrize("link", ["identity", "log"])
def test_a_coefficient_without_information_is_named(link):
    fit = fit_interval_mixed(**_with_a_dummy(link, -np.inf, np.inf))
    (note,) = [note for note in fit.notes if "not identified" in note]
    assert "dummy" in note
    assert "x," not in note.replace("dummy", "")
    seen = fit_interval_mixed(**_with_a_dummy(link, 3.75, 4.25))
    assert not any("not identified" in note for note in seen.notes)


def test_a_shape_without_information_has_no_bounds_worth_the_name():
    given = _with_a_dummy("log", 3.75, 4.25)
    fit = fit_interval_mixed(**given, exposure=np.ones(240), shape="power")
    assert any("shape" in note for note in fit.notes)
    # every reading at the reference exposure: theta could be anything
    assert fit.shape.high / fit.shape.low > 1e6


@pytest.mark.parametrize("scale", [1e-6, 1e-3, 1e3, 1e6])
@pytest.mark.parametrize("exact", [True, False])
def test_under_the_log_link_units_move_the_intercept_alone(scale, exact):
    """An effect there is a share of what is read, however large the numbers are that it's written in."""
    rng = np.random.default_rng(0)
    group = rng.integers(0, 10, 60)
    y, half = rng.normal(5.0, 1.0, 60), 0.0 if exact else 0.25
    design = pd.DataFrame({"mean": np.ones(60)})

    def fit(unit):
        return fit_interval_mixed(unit * (y - half), unit * (y + half), design, {"group": group}, link="log")

    plain, scaled = fit(1.0), fit(scale)
    assert plain.group_sd["group"] > 0.01
    assert plain.converged
    assert scaled.converged
    assert scaled.coefficients["mean"] == pytest.approx(plain.coefficients["mean"] + np.log(scale), abs=1e-6)
    assert scaled.group_sd["group"] == pytest.approx(plain.group_sd["group"], rel=1e-4)
    assert scaled.reading_sd == pytest.approx(scale * plain.reading_sd, rel=1e-5)
