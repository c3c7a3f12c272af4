"""Log-likelihood of every unit at given predictors, with derivatives by everything that moves it.

Derivatives are kept in a dict whose keys say by what: n (eta), a (alpha), t (log theta), w (log reading
sd); "nna" is the third derivative by eta, eta, alpha. The mean of a reading is

    m = exp(eta) g(x; theta) + alpha     (log link)
    m = eta g(x; theta) + alpha          (identity link; g = 1 where there is no shape)
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np
import numpy.typing as npt
from scipy import sparse

from outcomes.engine.problem import Piece
from outcomes.engine.shapes import shape_at
from outcomes.engine.terms import all_terms, mean_terms

FloatArray = npt.NDArray[np.float64]
Derivatives = dict[str, FloatArray]

_ORDER = "natw"
_SAFE = "safe "  # before nn, na, aa: a second derivative without the parts that can be positive
_MOST_ETA = 300.0  # exp of more than this is no level of anything; damping steps back long before


@dataclass(frozen=True, eq=False)
class Values:
    """The outer parameters at which units are evaluated."""

    theta: float  # of the shape; unused where there is none
    log_reading_sd: FloatArray  # (kinds,)
    finest_sd: float  # sd of the group that quadrature integrates; 0 where there is none
    companion_sd: float = 0.0  # of the additive effect that is integrated with it


@dataclass(frozen=True, eq=False)
class Effects:
    """A block's own effects at the nodes, (blocks, nodes): on eta, and its companion on alpha."""

    eta: FloatArray
    alpha: FloatArray | None = None


def unit_terms(
    piece: Piece, predictor: FloatArray, effect: Effects, values: Values, *, full: bool
) -> Derivatives:
    """Log-likelihood of each unit and its derivatives.

    Parameters
    ----------
    piece : Piece
    predictor : ndarray (predictors of the piece,)
    effect : Effects
        Of the finest group and its companion at each node.
    values : Values
    full : bool
        False: the keys "", n, nn, a, na, aa that a Newton step needs, and of the second derivatives a form
        that is never positive ("safe nn", ...). True: all derivatives.

    Returns
    -------
    dict of ndarray (units, nodes)
    """
    rows = _row_terms(piece, predictor, effect, values, full=full)
    if piece.alternatives is None:
        return rows
    shape = (len(piece.unit_kind), effect.eta.shape[1])
    branches = {key: value[piece.alternative_rows] for key, value in rows.items()}
    if piece.branches is not None:  # readings that hold together: their logarithms add up
        branches = {key: piece.branches @ value for key, value in branches.items()}
    mixed = _mix(branches, piece.alternatives)
    units: Derivatives = {}
    for key, row_values in rows.items():
        units[key] = np.empty(shape)
        units[key][piece.single_units] = row_values[piece.single_rows]
        units[key][piece.alternative_units] = mixed[key]
    return units


def _row_terms(
    piece: Piece, predictor: FloatArray, effect: Effects, values: Values, *, full: bool
) -> Derivatives:
    eta_of, alpha_of = piece.unit_eta[piece.row_unit], piece.unit_alpha[piece.row_unit]
    eta = predictor[eta_of][:, None] + effect.eta[piece.unit_block[piece.row_unit]]
    has_alpha = piece.alpha_sum is not None
    shape = None if piece.family is None else shape_at(piece.family, piece.exposure, values.theta)
    g = None if shape is None else shape.value[:, None]
    if piece.link == "log":
        base = np.exp(np.minimum(eta, _MOST_ETA))
        mean = base if g is None else base * g
        m_n, curved = mean, True
    else:
        mean = eta if g is None else eta * g
        m_n = np.ones((len(eta), 1)) if g is None else g
        base, curved = eta, False
    if has_alpha:
        alpha = np.where(alpha_of >= 0, predictor[alpha_of], 0.0)
        mean = mean + alpha[:, None]
    if effect.alpha is not None:
        weight = piece.unit_companion[piece.row_unit][:, None]
        mean = mean + weight * effect.alpha[piece.unit_block[piece.row_unit]]
    sd = np.exp(values.log_reading_sd)[piece.kind][:, None]
    if not full:
        term = mean_terms(piece.lower, piece.upper, piece.exact, mean, sd)
        square = term.mm * m_n * m_n
        out = {"": term.value, "n": term.m * m_n, "nn": square, _SAFE + "nn": square}
        if curved:
            out["nn"] = square + out["n"]
        if has_alpha:
            out |= {"a": term.m, "na": term.mm * m_n, "aa": term.mm}
            out |= {_SAFE + "na": out["na"], _SAFE + "aa": out["aa"]}
        return out
    t = all_terms(piece.lower, piece.upper, piece.exact, mean, sd)
    m_nn = m_n if curved else 0.0
    square = m_n * m_n
    out = {
        "": t.value,
        "n": t.m * m_n,
        "nn": t.mm * square + t.m * m_nn,
        "nnn": t.mmm * square * m_n + 3.0 * t.mm * m_n * m_nn + t.m * m_nn,
        "w": t.w,
        "ww": t.ww,
        "nw": t.mw * m_n,
        "nnw": t.mmw * square + t.mw * m_nn,
    }
    if has_alpha:
        out |= {
            "a": t.m,
            "na": t.mm * m_n,
            "aa": t.mm,
            "nna": t.mmm * square + t.mm * m_nn,
            "naa": t.mmm * m_n,
            "aaa": t.mmm,
            "aw": t.mw,
            "naw": t.mmw * m_n,
            "aaw": t.mmw,
        }
    if shape is not None:
        first, second = shape.first[:, None], shape.second[:, None]
        m_t, m_tt = base * first, base * second
        m_nt = m_t if curved else first
        m_nnt = m_t if curved else 0.0
        out |= {
            "t": t.m * m_t,
            "tt": t.mm * m_t * m_t + t.m * m_tt,
            "nt": t.mm * m_n * m_t + t.m * m_nt,
            "nnt": t.mmm * square * m_t + t.mm * (m_nn * m_t + 2.0 * m_n * m_nt) + t.m * m_nnt,
            "tw": t.mw * m_t,
        }
        if has_alpha:
            out |= {"at": t.mm * m_t, "nat": t.mmm * m_n * m_t + t.mm * m_nt, "aat": t.mmm * m_t}
    return {key: np.broadcast_to(value, mean.shape) for key, value in out.items()}


def _mix(rows: Derivatives, weights: sparse.csr_array) -> Derivatives:
    """Log of the weighted sum of the alternatives' probabilities, with all derivatives.

    With f the probabilities, derivatives of a sum are sums of derivatives; f_x / f, f_xy / f ... follow
    from those of log f, and back.
    """
    starts = weights.indptr[:-1]
    owner = np.repeat(np.arange(weights.shape[0]), np.diff(weights.indptr))
    top = np.maximum.reduceat(rows[""], starts, axis=0)
    relative = np.exp(rows[""] - top[owner])
    total = weights @ relative
    share = relative / total[owner]
    ratio: Derivatives = {
        key: weights @ (share * _ratio(rows, key)) for key in rows if key and not key.startswith(_SAFE)
    }
    mixed: Derivatives = {"": top + np.log(total)}
    mixed |= {key: weights @ (share * rows[key]) for key in rows if key.startswith(_SAFE)}
    for key in sorted(ratio, key=len):
        mixed[key] = _log_derivative(ratio, key)
    return mixed


def _join(*letters: str) -> str:
    return "".join(sorted("".join(letters), key=_ORDER.index))


def _ratio(log_f: Derivatives, key: str) -> FloatArray:
    """f_key / f from the derivatives of log f."""
    if len(key) == 1:
        return log_f[key]
    if len(key) == 2:
        return log_f[key] + log_f[key[0]] * log_f[key[1]]
    total = log_f[key] + log_f[key[0]] * log_f[key[1]] * log_f[key[2]]
    for pair in combinations(range(3), 2):
        single = key[3 - sum(pair)]
        total = total + log_f[_join(*(key[i] for i in pair))] * log_f[single]
    return total


def _log_derivative(ratio: Derivatives, key: str) -> FloatArray:
    """The derivative of log f from f_x / f, f_xy / f, ...: the inverse of `_ratio`."""
    if len(key) == 1:
        return ratio[key]
    if len(key) == 2:
        return ratio[key] - ratio[key[0]] * ratio[key[1]]
    total = ratio[key] + 2.0 * ratio[key[0]] * ratio[key[1]] * ratio[key[2]]
    for pair in combinations(range(3), 2):
        single = key[3 - sum(pair)]
        total = total - ratio[_join(*(key[i] for i in pair))] * ratio[single]
    return total
