"""A block integrated over its own effect by adaptive Gauss-Hermite quadrature, with derivatives.

On fixed nodes a block is a mixture: h = log sum_k W_k exp(L_k), L_k the joint log density of its units
and its effect at node k. All derivatives of h are posterior moments over the nodes, to any order; with
one node and no effect (Laplace throughout, or exact data) the same formulas give plain sums.
Where the nodes lie is `outcomes.engine.placing`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from outcomes.engine.placing import Moments, Placement, place, posterior_moments
from outcomes.engine.problem import Piece
from outcomes.engine.readings import Derivatives, Effects, Values, unit_terms

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class BlockSums:
    """What a Newton step needs from a piece."""

    value: FloatArray  # (blocks,) h
    gradient: FloatArray  # (predictors,) dh/dp
    curvature: FloatArray  # (pairs,) -d2h/dp dp'
    safe: FloatArray  # (pairs,) a positive semi-definite stand-in for the same
    moments: Moments  # of the blocks' effects
    shift: FloatArray  # (predictors,) d mean / dp
    companion_shift: FloatArray  # (predictors,) d companion mean / dp


@dataclass(frozen=True, eq=False)
class OuterSums:
    """What the outer gradient and information need from a piece.

    Parameters: log theta, log reading sd of each kind, log sd of the finest group, of the companion.
    """

    trace_gradient: FloatArray  # (predictors,) d/dp of sum(weight * d2h/dp dp')
    by_parameter: FloatArray  # (parameters,) dh, summed over blocks
    by_parameters: FloatArray  # (parameters, parameters) d2h, summed over blocks
    mixed: FloatArray  # (predictors, parameters) d2h/dp dparameter
    curved: FloatArray  # (pairs, parameters) d3h/dp dp' dparameter


def _blocks(piece: Piece, unit_values: FloatArray) -> FloatArray:
    return np.asarray(np.add.reduceat(unit_values, piece.block_starts, axis=0))


def _predictors(piece: Piece, by_eta: FloatArray, by_alpha: FloatArray | None) -> FloatArray:
    total = piece.eta_sum @ by_eta
    if by_alpha is not None and piece.alpha_sum is not None:
        total = total + piece.alpha_sum @ by_alpha
    return np.asarray(total)


def _pairs(piece: Piece, ee: FloatArray, ea: FloatArray | None, aa: FloatArray | None) -> FloatArray:
    total = piece.pairs_ee @ ee
    if ea is not None and aa is not None and piece.pairs_ea is not None and piece.pairs_aa is not None:
        total = total + piece.pairs_ea @ ea + piece.pairs_aa @ aa
    return np.asarray(total)


def _posterior(piece: Piece, terms: Derivatives, weight: FloatArray) -> tuple[FloatArray, FloatArray]:
    """h of each block and the posterior share of each node."""
    joint = _blocks(piece, terms[""]) + weight
    top = joint.max(axis=1, keepdims=True)
    share = np.exp(joint - top)
    total = share.sum(axis=1, keepdims=True)
    return (top + np.log(total))[:, 0], share / total


def block_sums(
    piece: Piece, predictor: FloatArray, placement: Placement, values: Values, count: int
) -> BlockSums:
    """Value, gradient and curvature of every block of a piece.

    Far from any data numbers may overflow; the value is then not finite and the step that led there is
    shortened.

    Parameters
    ----------
    piece : Piece
    predictor : ndarray (predictors of the piece,)
    placement : Placement
    values : Values
    count : int
        Number of nodes; 0 means that no effect is integrated.

    Returns
    -------
    BlockSums
    """
    with np.errstate(over="ignore", invalid="ignore"):
        return _block_sums(piece, predictor, placement, values, count)


def _block_sums(
    piece: Piece, predictor: FloatArray, placement: Placement, values: Values, count: int
) -> BlockSums:
    effect, weight = place(piece, placement, values, count)
    terms = unit_terms(piece, predictor, effect, values, full=False)
    value, share = _posterior(piece, terms, weight)
    unit_share = share[piece.unit_block]
    alpha = "a" in terms

    def average(key: str) -> FloatArray:
        return np.asarray((unit_share * terms[key]).sum(axis=1))

    by_node = _predictors(piece, terms["n"], terms.get("a"))
    predictor_share = share[piece.predictor_block]
    gradient = (predictor_share * by_node).sum(axis=1)
    own = _pairs(piece, average("nn"), average("na") if alpha else None, average("aa") if alpha else None)
    safe = -_pairs(
        piece,
        average("safe nn"),
        average("safe na") if alpha else None,
        average("safe aa") if alpha else None,
    )
    moments = posterior_moments(piece, placement, share, effect)
    if count == 0:
        zero = np.zeros_like(gradient)
        return BlockSums(value, gradient, -own, safe, moments, zero, zero)
    centred = by_node - gradient[:, None]
    weighted = predictor_share * centred
    spread = (weighted[piece.pair_first] * centred[piece.pair_second]).sum(axis=1)
    shift = (weighted * effect.eta[piece.predictor_block]).sum(axis=1)
    companion_shift = np.zeros_like(shift)
    if effect.alpha is not None:
        companion_shift = (weighted * effect.alpha[piece.predictor_block]).sum(axis=1)
    return BlockSums(
        value=value,
        gradient=gradient,
        curvature=-own - spread,
        safe=_without_effect(piece, safe, values.finest_sd),
        moments=moments,
        shift=shift,
        companion_shift=companion_shift,
    )


def _without_effect(piece: Piece, safe: FloatArray, sd: float) -> FloatArray:
    """The stand-in after its block's effect (prior precision 1/sd**2) has been eliminated.

    The companion is left in: that only makes the stand-in, an upper bound, a little larger.
    """
    to_eta = np.where(piece.is_eta[piece.pair_second], safe, 0.0)
    row = np.add.reduceat(to_eta, piece.pair_pointer[:-1])
    total = np.bincount(
        piece.predictor_block, weights=np.where(piece.is_eta, row, 0.0), minlength=len(piece.block_starts)
    )
    divisor = np.where(piece.has_effect, total + 1.0 / (sd * sd), np.inf)
    block = piece.predictor_block[piece.pair_first]
    return np.asarray(safe - row[piece.pair_first] * row[piece.pair_second] / divisor[block])


def outer_sums(
    piece: Piece,
    predictor: FloatArray,
    placement: Placement,
    values: Values,
    count: int,
    pair_weight: FloatArray,
) -> OuterSums:
    """Derivatives beyond the Newton step, on the nodes as they lie.

    Parameters
    ----------
    piece : Piece
    predictor : ndarray (predictors of the piece,)
    placement : Placement
    values : Values
    count : int
        Number of nodes; 0 means that no effect is integrated.
    pair_weight : ndarray (pairs,)
        Symmetric weights c of the trace sum(c * d2h/dp dp') whose gradient is wanted.

    Returns
    -------
    OuterSums
    """
    with np.errstate(over="ignore", invalid="ignore"):
        return _outer_sums(piece, predictor, placement, values, count, pair_weight)


def _outer_sums(
    piece: Piece,
    predictor: FloatArray,
    placement: Placement,
    values: Values,
    count: int,
    pair_weight: FloatArray,
) -> OuterSums:
    effect, weight = place(piece, placement, values, count)
    terms = unit_terms(piece, predictor, effect, values, full=True)
    _, share = _posterior(piece, terms, weight)
    unit_share = share[piece.unit_block]
    predictor_share = share[piece.predictor_block]
    alpha = piece.alpha_sum is not None

    by_node = _predictors(piece, terms["n"], terms.get("a"))
    centred = by_node - (predictor_share * by_node).sum(axis=1, keepdims=True)

    at_ee, at_ea, at_aa = piece.pair_of_unit
    c_ee = np.where(at_ee >= 0, pair_weight[at_ee], 0.0)[:, None]
    c_ea = np.where(at_ea >= 0, pair_weight[at_ea], 0.0)[:, None]
    c_aa = np.where(at_aa >= 0, pair_weight[at_aa], 0.0)[:, None]

    # Y = C (G - mean G); Q = sum of c (S + (G - mean)(G - mean)') at each node
    turned = _times_pairs(piece, pair_weight, centred)
    own = c_ee * terms["nn"]
    if alpha:
        own = own + 2.0 * c_ea * terms["na"] + c_aa * terms["aa"]
    quadratic = _blocks(piece, own) + _by_block(piece, centred * turned)

    y_eta = turned[piece.unit_eta]
    to_eta = c_ee * terms["nnn"] + 2.0 * terms["nn"] * y_eta
    to_alpha = None
    if alpha:
        y_alpha = np.where(piece.unit_alpha[:, None] >= 0, turned[piece.unit_alpha], 0.0)
        to_eta = to_eta + 2.0 * c_ea * terms["nna"] + c_aa * terms["naa"] + 2.0 * terms["na"] * y_alpha
        to_alpha = (
            c_ee * terms["nna"]
            + 2.0 * c_ea * terms["naa"]
            + c_aa * terms["aaa"]
            + 2.0 * (terms["na"] * y_eta + terms["aa"] * y_alpha)
        )
        to_alpha = (unit_share * to_alpha).sum(axis=1)
    trace_gradient = _predictors(piece, (unit_share * to_eta).sum(axis=1), to_alpha)
    trace_gradient = trace_gradient + (predictor_share * quadratic[piece.predictor_block] * centred).sum(
        axis=1
    )

    scores, second, keys = _parameter_scores(piece, terms, effect, values, count)
    n_parameters = len(scores)
    by_parameter = np.zeros(n_parameters)
    mixed = np.zeros((piece.n_predictors, n_parameters))
    curved = np.zeros((len(piece.pair_first), n_parameters))
    deviations = []
    for i, score in enumerate(scores):
        mean = (share * score).sum(axis=1, keepdims=True)
        by_parameter[i] = mean.sum()
        deviations.append(score - mean)
    by_parameters = second(share, unit_share)
    for i in range(n_parameters):
        for j in range(i, n_parameters):
            covariance = float((share * deviations[i] * deviations[j]).sum())
            by_parameters[i, j] += covariance
            if j != i:
                by_parameters[j, i] += covariance
        key, chosen = keys[i]
        moved = np.zeros((piece.n_predictors, effect.eta.shape[1]))
        if key:
            moved = _predictors(
                piece, chosen * terms["n" + key], chosen * terms["a" + key] if alpha else None
            )
        tilt = deviations[i][piece.predictor_block]
        mixed[:, i] = (predictor_share * (moved + centred * tilt)).sum(axis=1)
        unit_tilt = unit_share * deviations[i][piece.unit_block]

        def pair_average(
            name: str,
            key: str = key,
            chosen: FloatArray | float = chosen,
            tilt: FloatArray = unit_tilt,
        ) -> FloatArray:
            total = (tilt * terms[name]).sum(axis=1)
            if key:
                total = total + (unit_share * chosen * terms[name + key]).sum(axis=1)
            return np.asarray(total)

        curved[:, i] = _pairs(
            piece,
            pair_average("nn"),
            pair_average("na") if alpha else None,
            pair_average("aa") if alpha else None,
        )
        if count:
            one = predictor_share * (centred * tilt + moved)
            other = predictor_share * centred
            first, last = piece.pair_first, piece.pair_second
            curved[:, i] += (one[first] * centred[last] + other[first] * moved[last]).sum(axis=1)
    return OuterSums(trace_gradient, by_parameter, by_parameters, mixed, curved)


def _by_block(piece: Piece, predictor_values: FloatArray) -> FloatArray:
    starts = np.searchsorted(piece.predictor_block, np.arange(len(piece.block_starts)))
    return np.asarray(np.add.reduceat(predictor_values, starts, axis=0))


def _times_pairs(piece: Piece, pair_weight: FloatArray, values: FloatArray) -> FloatArray:
    """The block-diagonal matrix of pair weights times (predictors, nodes)."""
    product = pair_weight[:, None] * values[piece.pair_second]
    return np.asarray(np.add.reduceat(product, piece.pair_pointer[:-1], axis=0))


def _parameter_scores(
    piece: Piece, terms: Derivatives, effect: Effects, values: Values, count: int
) -> tuple[
    list[FloatArray],
    Callable[[FloatArray, FloatArray], FloatArray],
    list[tuple[str, FloatArray | float]],
]:
    """Score of each parameter at each (block, node), second derivatives, and how units meet it."""
    scores: list[FloatArray] = []
    keys: list[tuple[str, FloatArray | float]] = []
    if piece.family is not None:
        scores.append(_blocks(piece, terms["t"]))
        keys.append(("t", 1.0))
    for kind in range(piece.n_kinds):
        chosen = (piece.unit_kind == kind)[:, None].astype(float)
        scores.append(_blocks(piece, chosen * terms["w"]))
        keys.append(("w", chosen))
    squares: list[FloatArray] = []
    if count:
        standard = np.where(piece.has_effect[:, None], effect.eta / values.finest_sd, 1.0)
        squares.append(np.where(piece.has_effect[:, None], standard * standard, 0.0))
        scores.append(standard * standard - 1.0)
        keys.append(("", 0.0))
    if count and values.companion_sd > 0:
        across = np.zeros_like(effect.eta) if effect.alpha is None else effect.alpha
        standard = np.where(piece.has_companion[:, None], across / values.companion_sd, 1.0)
        squares.append(np.where(piece.has_companion[:, None], standard * standard, 0.0))
        scores.append(standard * standard - 1.0)
        keys.append(("", 0.0))

    def second(share: FloatArray, unit_share: FloatArray) -> FloatArray:
        total = np.zeros((len(scores), len(scores)))
        shaped = piece.family is not None
        if shaped:
            total[0, 0] = (unit_share * terms["tt"]).sum()
        for kind in range(piece.n_kinds):
            rows = piece.unit_kind == kind
            i = kind + shaped
            total[i, i] = (unit_share[rows] * terms["ww"][rows]).sum()
            if shaped:
                total[0, i] = total[i, 0] = (unit_share[rows] * terms["tw"][rows]).sum()
        for i, square in enumerate(squares, start=len(scores) - len(squares)):
            total[i, i] = -2.0 * (share * square).sum()
        return total

    return scores, second, keys
