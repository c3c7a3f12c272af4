"""Where the quadrature nodes of a block lie, and what its posterior looks like from there.

Nodes are placed by the posterior mean and sd of the last evaluation (Naylor & Smith 1982, Appl. Stat.
31, 214-225), which serves rounded readings better than mode and curvature: inside its rounding window
a reading is nearly flat.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt

from outcomes.engine.problem import Piece, companion_nodes
from outcomes.engine.readings import Effects, Values

FloatArray = npt.NDArray[np.float64]

MOST_NODES = 300
"""Nodes up to which the outermost weights are still numbers (at 371 they are not)."""


@dataclass(frozen=True, eq=False)
class Placement:
    """Where the nodes of each block lie: a Gaussian that resembles its posterior, arrays (blocks,).

    effect = centre + scale z1;  companion = companion_centre + tilt z1 + companion_scale z2.

    Attributes
    ----------
    centre, scale : ndarray (blocks,)
        Of the effect.
    companion_centre, tilt, companion_scale : ndarray (blocks,)
        Of its companion; the tilt is what it gains for each z1.
    """

    centre: FloatArray
    scale: FloatArray
    companion_centre: FloatArray
    tilt: FloatArray
    companion_scale: FloatArray

    @classmethod
    def at_prior(cls, blocks: int, sd: float, companion_sd: float) -> Placement:
        """Spread as the effects themselves.

        Parameters
        ----------
        blocks : int
        sd, companion_sd : float
            Of the effect and of its companion; 0 where there is none.

        Returns
        -------
        Placement
        """
        zero = np.zeros(blocks)
        return cls(
            zero, np.full(blocks, max(sd, 1e-12)), zero, zero, np.full(blocks, max(companion_sd, 1e-12))
        )


@dataclass(frozen=True, eq=False)
class Moments:
    """Posterior moments of a block's effect and its companion, arrays (blocks,).

    Attributes
    ----------
    mean, variance : ndarray (blocks,)
    companion_mean, companion_variance : ndarray (blocks,)
    covariance : ndarray (blocks,)
        Of effect and companion.
    """

    mean: FloatArray
    variance: FloatArray
    companion_mean: FloatArray
    covariance: FloatArray
    companion_variance: FloatArray


@dataclass(frozen=True, eq=False)
class _Rule:
    """Standard nodes and log weights of the integral of f(z) dz, or of f(z, z2) dz dz2; arrays (nodes,)."""

    z: FloatArray
    log_weight: FloatArray
    middle: npt.NDArray[np.bool_]  # nodes at the middle of z: they stand for an effect that isn't there
    z2: FloatArray
    log_weight2: FloatArray
    middle2: npt.NDArray[np.bool_]


def _hermite(count: int) -> tuple[FloatArray, FloatArray]:
    """Nodes and log weights of the integral of f(z) dz, nodes in standard deviations."""
    x, w = np.polynomial.hermite.hermgauss(count)
    return np.sqrt(2.0) * x, np.log(w) + x * x + 0.5 * np.log(2.0)


@cache
def _rule(count: int, *, two: bool) -> _Rule:
    z, log_weight = _hermite(count)
    z2, log_weight2 = _hermite(companion_nodes(count) if two else 1)
    first, second = (axis.ravel() for axis in np.indices((len(z), len(z2))))
    return _Rule(
        z[first],
        log_weight[first],
        first == len(z) // 2,
        z2[second],
        log_weight2[second],
        second == len(z2) // 2,
    )


def _density(value: FloatArray, sd: float) -> FloatArray:
    standard = value / sd
    return np.asarray(-0.5 * standard * standard - np.log(sd) - 0.5 * np.log(2.0 * np.pi))


def _weights(
    log_weight: FloatArray,
    middle: npt.NDArray[np.bool_],
    effect: FloatArray,
    scale: FloatArray,
    sd: float,
    present: npt.NDArray[np.bool_],
) -> FloatArray:
    """Log weights with the effect's own density; without the effect one node at zero with weight one."""
    weight = log_weight + np.log(scale)[:, None] + _density(effect, sd)
    if not present.all():
        effect[~present] = 0.0
        weight[~present] = np.where(middle, 0.0, -np.inf)
    return weight


def place(piece: Piece, placement: Placement, values: Values, count: int) -> tuple[Effects, FloatArray]:
    """Effects at the nodes and the log weight of each, their own densities included.

    Parameters
    ----------
    piece : Piece
    placement : Placement
    values : Values
    count : int
        Number of nodes; 0 means that no effect is integrated.

    Returns
    -------
    effects : Effects
    weight : ndarray (blocks, nodes)
    """
    blocks = len(piece.block_starts)
    if count == 0:
        return Effects(np.zeros((blocks, 1))), np.zeros((blocks, 1))
    rule = _rule(count, two=bool(piece.has_companion.any()))
    effect = placement.centre[:, None] + placement.scale[:, None] * rule.z
    weight = _weights(
        rule.log_weight, rule.middle, effect, placement.scale, values.finest_sd, piece.has_effect
    )
    if not piece.has_companion.any():
        return Effects(effect), weight
    tilt = np.where(piece.has_effect, placement.tilt, 0.0)
    across = (
        placement.companion_centre[:, None]
        + tilt[:, None] * rule.z
        + placement.companion_scale[:, None] * rule.z2
    )
    weight = weight + _weights(
        rule.log_weight2,
        rule.middle2,
        across,
        placement.companion_scale,
        values.companion_sd,
        piece.has_companion,
    )
    return Effects(effect, across), weight


def posterior_moments(piece: Piece, placement: Placement, share: FloatArray, effect: Effects) -> Moments:
    """Posterior moments; where there is nothing to place, the placement is called right as it is.

    Parameters
    ----------
    piece : Piece
    placement : Placement
    share : ndarray (blocks, nodes)
        Posterior share of each node.
    effect : Effects

    Returns
    -------
    Moments
    """
    mean = (share * effect.eta).sum(axis=1)
    away = effect.eta - mean[:, None]
    variance = np.where(piece.has_effect, (share * away * away).sum(axis=1), placement.scale**2)
    mean = np.where(piece.has_effect, mean, placement.centre)
    if effect.alpha is None:
        return Moments(
            mean,
            variance,
            placement.companion_centre,
            placement.tilt * np.sqrt(variance),
            placement.tilt**2 + placement.companion_scale**2,
        )
    has = piece.has_companion
    companion = (share * effect.alpha).sum(axis=1)
    off = effect.alpha - companion[:, None]
    covariance = np.where(has, (share * away * off).sum(axis=1), placement.tilt * np.sqrt(variance))
    spread = np.where(has, (share * off * off).sum(axis=1), placement.tilt**2 + placement.companion_scale**2)
    return Moments(mean, variance, np.where(has, companion, placement.companion_centre), covariance, spread)
