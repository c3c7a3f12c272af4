"""The joint log density of readings and effects, blocks integrated, and where its nodes go next."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Any, Protocol

import numpy as np
import numpy.typing as npt

from outcomes.engine.nodes import BlockSums, block_sums
from outcomes.engine.placing import Placement
from outcomes.engine.problem import Piece, Problem
from outcomes.engine.readings import Values

FloatArray = npt.NDArray[np.float64]
MapFunction = Callable[..., Iterable[Any]]


@dataclass(frozen=True, eq=False)
class Setting:
    """Everything that the inner problem is solved at."""

    values: Values  # theta and the sds
    precision: FloatArray  # (random effects,) 1 / sd**2
    log_density: float  # sum of log(1 / sd) over the random effects
    fixed_mean: FloatArray  # (coefficients,) of the prior; precision 0 means flat
    fixed_precision: FloatArray  # (coefficients,)
    tilt: FloatArray  # (coefficients,) a linear term: where they are maximised, what the determinant adds
    nodes: int  # of the quadrature; 0 when no group is integrated by it


class Placed(Protocol):
    """Whatever knows where its nodes lie, and what the posteriors look like from there."""

    @property
    def placements(self) -> tuple[Placement, ...]:
        """Of the nodes of each piece."""

    @property
    def sums(self) -> tuple[BlockSums, ...]:
        """Of each piece."""


@dataclass(frozen=True, eq=False)
class Point:
    """The joint log density at some unknowns.

    Attributes
    ----------
    unknowns : ndarray (unknowns,)
        [cluster effects | other effects | coefficients].
    predictor : ndarray (predictors,)
    value : float
        Without the Gaussian constants of the random effects.
    gradient : ndarray (unknowns,)
    sums : tuple of BlockSums
        Of each piece.
    placements : tuple of Placement
        Of the nodes of each piece.
    """

    unknowns: FloatArray
    predictor: FloatArray
    value: float
    gradient: FloatArray
    sums: tuple[BlockSums, ...]
    placements: tuple[Placement, ...]


def loaded(problem: Problem, unknowns: FloatArray) -> FloatArray:
    """Loadings times unknowns.

    Parameters
    ----------
    problem : Problem
    unknowns : ndarray (unknowns,)

    Returns
    -------
    ndarray (predictors,)
    """
    c, r = problem.n_clustered, problem.n_random
    return np.asarray(
        problem.clustered @ unknowns[:c] + problem.rest @ unknowns[c:r] + problem.fixed @ unknowns[r:]
    )


def at(problem: Problem, unknowns: FloatArray) -> FloatArray:
    """Predictors with their known part.

    Parameters
    ----------
    problem : Problem
    unknowns : ndarray (unknowns,)

    Returns
    -------
    ndarray (predictors,)
    """
    return loaded(problem, unknowns) + problem.offset


def to_unknowns(problem: Problem, by_predictor: FloatArray) -> FloatArray:
    """Loadings' times a vector over predictors.

    Parameters
    ----------
    problem : Problem
    by_predictor : ndarray (predictors,)

    Returns
    -------
    ndarray (unknowns,)
    """
    return np.asarray(
        np.r_[
            problem.clustered.T @ by_predictor, problem.rest.T @ by_predictor, problem.fixed.T @ by_predictor
        ]
    )


def joint_density(
    problem: Problem,
    setting: Setting,
    unknowns: FloatArray,
    placements: tuple[Placement, ...],
    run: MapFunction,
) -> Point:
    """The joint log density and its gradient.

    Parameters
    ----------
    problem : Problem
    setting : Setting
    unknowns : ndarray (unknowns,)
    placements : tuple of Placement
        One for each piece.
    run : callable
        Like the built-in `map`.

    Returns
    -------
    Point
    """
    predictor = at(problem, unknowns)
    count = len(problem.pieces)
    sums = tuple(
        run(
            block_sums,
            problem.pieces,
            [predictor[part] for part in problem.piece_predictors],
            placements,
            [setting.values] * count,
            [setting.nodes] * count,
        )
    )
    r = problem.n_random
    effects, away = unknowns[:r], unknowns[r:] - setting.fixed_mean
    value = sum(float(piece.value.sum()) for piece in sums)
    value += setting.log_density - 0.5 * float((setting.precision * effects * effects).sum())
    known = setting.fixed_precision > 0
    value -= 0.5 * float((setting.fixed_precision * away * away).sum())
    value += 0.5 * float(np.log(setting.fixed_precision[known] / (2.0 * np.pi)).sum())
    value += float(setting.tilt @ unknowns[r:])
    gradient = to_unknowns(problem, np.concatenate([piece.gradient for piece in sums]))
    gradient = gradient - np.r_[setting.precision * effects, setting.fixed_precision * away - setting.tilt]
    return Point(unknowns, predictor, value, gradient, sums, placements)


def carry_nodes(problem: Problem, point: Placed, step: FloatArray, setting: Setting) -> tuple[Placement, ...]:
    """Nodes for the next point: where the posterior is now, carried along with the step.

    Parameters
    ----------
    problem : Problem
    point : Placed
        Where the moments of each block are known.
    step : ndarray (unknowns,)
        To the next point.
    setting : Setting

    Returns
    -------
    tuple of Placement
        One for each piece.
    """
    if setting.nodes == 0:
        return point.placements
    change = loaded(problem, step)
    values = setting.values
    out = []
    for piece, part, sums, now in zip(
        problem.pieces, problem.piece_predictors, point.sums, point.placements, strict=True
    ):

        def carried(shift: FloatArray, sd: float, piece: Piece = piece, part: slice = part) -> FloatArray:
            blocks = len(piece.block_starts)
            moved = np.bincount(piece.predictor_block, weights=shift * change[part], minlength=blocks)
            return np.clip(moved, -4.0 * sd, 4.0 * sd)

        found = sums.moments
        root = np.sqrt(found.variance)
        first_off = found.mean - now.centre
        scale = _rescaled(root, now.scale, first_off, values.finest_sd)
        centre = found.mean + carried(sums.shift, values.finest_sd)
        centre = np.clip(centre, -9 * values.finest_sd, 9 * values.finest_sd)
        if values.companion_sd == 0.0:
            out.append(replace(now, centre=centre, scale=scale))
            continue
        tilt = found.covariance / np.maximum(root, 1e-300)
        rest = np.sqrt(np.maximum(found.companion_variance - tilt * tilt, 0.0))
        second_off = found.companion_mean - now.companion_centre - now.tilt * first_off / now.scale
        companion_scale = _rescaled(rest, now.companion_scale, second_off, values.companion_sd)
        lost = (scale > 1.5 * root) | (companion_scale > 1.5 * rest)
        tilt = np.where(lost, 0.0, np.clip(tilt, -2.0 * values.companion_sd, 2.0 * values.companion_sd))
        out.append(
            Placement(
                centre=centre,
                scale=scale,
                companion_centre=found.companion_mean + carried(sums.companion_shift, values.companion_sd),
                tilt=tilt,
                companion_scale=companion_scale,
            )
        )
    return tuple(out)


def _rescaled(found: FloatArray, now: FloatArray, off: FloatArray, sd: float) -> FloatArray:
    """A new scale for the nodes from the posterior sd that the present nodes saw."""
    scale = np.clip(found, 0.4 * now, 2.5 * now)
    # all weight on an outermost node: the posterior lies beyond, so reach out before narrowing
    scale = np.where(np.abs(off) > 2.0 * now, 2.0 * now, scale)
    # the Gaussian that places the nodes never needs to be wider than the effect itself
    return np.clip(scale, 1e-6 * sd, sd)


def first_placements(problem: Problem, values: Values) -> tuple[Placement, ...]:
    """Nodes spread as the effects themselves.

    Parameters
    ----------
    problem : Problem
    values : Values

    Returns
    -------
    tuple of Placement
        One for each piece.
    """
    return tuple(
        Placement.at_prior(len(piece.block_starts), values.finest_sd, values.companion_sd)
        for piece in problem.pieces
    )


def settled(point: Placed, slack: float = 1.0) -> bool:
    """Whether the nodes of every block lie where its posterior is.

    Parameters
    ----------
    point : Placed
    slack : float
        Widens what passes: 1 allows a tenth of a posterior sd, and a scale that is 15 % off.

    Returns
    -------
    bool
    """
    near, wide = 0.1 * slack, 1.0 + 0.15 * slack
    for sums, now in zip(point.sums, point.placements, strict=True):
        found = sums.moments
        root = np.sqrt(found.variance)
        z = (found.mean - now.centre) / now.scale
        if (np.abs(z) > near).any() or _differ(root, now.scale, wide):
            return False
        tilt = found.covariance / np.maximum(root, 1e-300)
        rest = np.sqrt(np.maximum(found.companion_variance - tilt * tilt, 0.0))
        z = (found.companion_mean - now.companion_centre - now.tilt * z) / now.companion_scale
        if (np.abs(z) > near).any() or _differ(rest, now.companion_scale, wide):
            return False
        if (np.abs(tilt - now.tilt) > 2.0 * near * now.companion_scale).any():
            return False
    return True


def _differ(one: FloatArray, other: FloatArray, factor: float) -> bool:
    return bool(((one > factor * other) | (other > factor * one)).any())
