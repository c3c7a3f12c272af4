"""Derivatives of a unit's log-likelihood by all that moves it, alternatives included."""

import numpy as np
import pytest
from scipy.stats import norm

from outcomes.engine.readings import Effects, Values, unit_terms

CASES = [
    ("identity", None),
    ("identity", "power"),
    ("identity", "saturating"),
    ("log", None),
    ("log", "power"),
    ("log", "saturating"),
]


def _piece(make_case, make_plan, **options):
    plan = make_plan(make_case(missing=False, **options))
    (piece,) = plan.problem.pieces
    rng = np.random.default_rng(11)
    predictor = np.where(piece.is_eta, 1.1, 0.05) + 0.1 * rng.standard_normal(piece.n_predictors)
    blocks = len(piece.block_starts)
    companion = 0.2 * rng.standard_normal((blocks, 3)) if piece.has_companion.any() else None
    return piece, predictor, Effects(0.3 * rng.standard_normal((blocks, 3)), companion)


def _moved(piece, predictor, effect, letter, step, *, full=True):
    theta, log_sd = 0.7, np.log([0.35, 0.25])
    if letter == "n":
        predictor = predictor + step * piece.is_eta
    elif letter == "a":
        predictor = predictor + step * ~piece.is_eta
        if effect.alpha is not None:
            effect = Effects(effect.eta, effect.alpha + step)
    elif letter == "t":
        theta *= np.exp(step)
    elif letter == "w":
        log_sd = log_sd + step
    return unit_terms(piece, predictor, effect, Values(theta, log_sd, 0.3), full=full)


@pytest.mark.parametrize("alternatives", [False, True])
@pytest.mark.parametrize(("link", "shape"), CASES)
def test_every_derivative_is_that_of_the_one_before(make_case, make_plan, link, shape, alternatives):
    piece, predictor, effect = _piece(make_case, make_plan, link=link, shape=shape, alternatives=alternatives)
    here = _moved(piece, predictor, effect, "", 0.0)
    both_scales = piece.alpha_sum is not None
    assert both_scales == (link == "log" or shape is not None)
    assert {"nnn", "nnw", "ww"} <= here.keys()
    assert ("nna" in here) == both_scales
    assert ("nnt" in here) == (shape is not None)
    h = 1e-3
    # a unit may meet an alpha predictor, the companion, or both
    alpha_moves = (piece.unit_alpha >= 0) + piece.unit_companion
    if both_scales and alternatives is False:
        assert set(alpha_moves) >= {1.0, 2.0}
    for letter in "natw":
        moves = alpha_moves if letter == "a" else np.ones(len(alpha_moves))
        seen = moves > 0
        keys = [key for key in here if key and key[-1] == letter]
        near, far = (
            [_moved(piece, predictor, effect, letter, sign * step) for sign in (1.0, -1.0)]
            for step in (h / 2, h)
        )
        for key in keys:
            of = key[:-1]
            numerical = (4.0 * (near[0][of] - near[1][of]) / h - (far[0][of] - far[1][of]) / (2.0 * h)) / 3.0
            numerical = numerical[seen] / moves[seen, None]
            np.testing.assert_allclose(here[key][seen], numerical, rtol=2e-6, atol=2e-6, err_msg=key)


@pytest.mark.parametrize(("link", "shape"), CASES)
def test_newton_terms_are_the_first_of_all(make_case, make_plan, link, shape):
    piece, predictor, effect = _piece(make_case, make_plan, link=link, shape=shape)
    every = _moved(piece, predictor, effect, "", 0.0)
    few = _moved(piece, predictor, effect, "", 0.0, full=False)
    plain = {"", "n", "nn", "a", "na", "aa"} if piece.alpha_sum is not None else {"", "n", "nn"}
    assert plain <= set(few)
    assert all(key.startswith("safe ") for key in set(few) - plain)  # stand-ins: see test_nodes
    for key in plain:
        value = few[key]
        np.testing.assert_allclose(np.broadcast_to(value, every[key].shape), every[key], rtol=1e-12)


def test_alternatives_sum_probabilities_with_their_weights(make_case, make_plan):
    """By hand for every unit: log of the weighted sum over branches of products of P(lower < y <= upper)."""
    piece, predictor, effect = _piece(make_case, make_plan)
    value = _moved(piece, predictor, effect, "", 0.0)[""]
    assert piece.alternatives is not None
    assert piece.branches is not None
    weights, together = piece.alternatives.toarray(), piece.branches.toarray()
    assert sorted(together.sum(axis=1)) == [1.0, 1.0, 1.0, 2.0]
    sds = np.array([0.35, 0.25])
    for unit, rows_of in enumerate(np.bincount(piece.row_unit)):
        single, products = 1.0, np.ones((len(together), effect.eta.shape[1]))
        for row in np.flatnonzero(piece.row_unit == unit):
            block = piece.unit_block[unit]
            rate = np.exp(predictor[piece.unit_eta[unit]] + effect.eta[block])
            mean = rate * piece.exposure[row] ** 0.7 + piece.unit_companion[unit] * effect.alpha[block]
            if piece.unit_alpha[unit] >= 0:
                mean = mean + predictor[piece.unit_alpha[unit]]
            sd = sds[piece.kind[row]]
            if piece.exact[row]:
                inside = norm.pdf(piece.lower[row, 0], mean, sd)
            else:
                low, high = (piece.lower[row, 0] - mean) / sd, (piece.upper[row, 0] - mean) / sd
                # from the side on which the tail is short
                inside = np.where(low > 0, norm.sf(low) - norm.sf(high), norm.cdf(high) - norm.cdf(low))
            if rows_of > 1:
                local = np.flatnonzero(piece.alternative_rows == row)[0]
                products[together[:, local] == 1] *= inside
            else:
                single = single * inside
        total = single
        if rows_of > 1:
            total = weights[np.flatnonzero(piece.alternative_units == unit)[0]] @ products
        np.testing.assert_allclose(value[unit], np.log(total), rtol=1e-8, atol=1e-8)
