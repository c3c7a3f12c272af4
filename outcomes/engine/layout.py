"""Units sorted into blocks, and the few predictors through which each block meets the effects."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import sparse

from outcomes.engine.problem import BoolArray, FloatArray, Group, IntArray, Readings


@dataclass(frozen=True, eq=False)
class Layout:
    """Order of the units, their predictors, and the pairs of predictors that share a block.

    Attributes
    ----------
    order : ndarray of int (units,)
        The units of the readings in the order of the blocks; everything below counts them in this order.
    block_starts : ndarray of int (blocks,)
        First unit of each block.
    unit_block, unit_eta, unit_alpha : ndarray of int (units,)
        Block and predictors of each unit; -1 where it has no alpha predictor.
    eta_first : ndarray of int (predictors,)
        A unit of each predictor.
    is_eta : ndarray of bool (predictors,)
    predictor_block : ndarray of int (predictors,)
    block_predictors, block_units : ndarray of int (blocks + 1,)
        First predictor and first unit of each block, and the ends.
    fixed : ndarray (predictors, coefficients)
        What each coefficient adds to each predictor.
    pair_first, pair_second : ndarray of int (pairs,)
        Predictors that share a block, in the order of a csr matrix.
    pair_pointer : ndarray of int (predictors + 1,)
    """

    order: IntArray
    block_starts: IntArray
    unit_block: IntArray
    unit_eta: IntArray
    unit_alpha: IntArray
    eta_first: IntArray  # a unit of each predictor
    is_eta: BoolArray
    predictor_block: IntArray
    block_predictors: IntArray  # first predictor of each block, and the end
    block_units: IntArray
    fixed: FloatArray
    pair_first: IntArray
    pair_second: IntArray
    pair_pointer: IntArray


def _identity(values: FloatArray, seed: int) -> IntArray:
    """Codes that are equal exactly where rows of a matrix are equal (a random projection tells)."""
    if values.shape[1] == 0:
        return np.zeros(len(values), dtype=np.int64)
    mark = (values * np.random.default_rng(seed).standard_normal(values.shape[1])).sum(axis=1)
    return np.asarray(np.unique(mark, return_inverse=True)[1], dtype=np.int64)


def _combine(first: IntArray, second: IntArray) -> IntArray:
    joined = first * (int(second.max(initial=0)) + 1) + second
    return np.asarray(np.unique(joined, return_inverse=True)[1], dtype=np.int64)


def _signature(readings: Readings, inner: tuple[Group, ...], additive: bool, block: IntArray) -> IntArray:
    """Units with equal codes have the same eta (or alpha) predictor and lie in the same block."""
    n = readings.n_units
    code = block
    matrix = readings.additive if additive else readings.design
    if readings.merged:
        matrix = np.hstack([readings.design, readings.additive])
    code = _combine(code, _identity(matrix, 1))
    for group in inner:
        if readings.merged or group.additive == additive:
            entry = np.full(n, 0.0)
            # several codes of one group in a unit: their random marks add up to one mark
            marks = np.random.default_rng(2).standard_normal(group.size)
            np.add.at(entry, group.unit, marks[group.code] * group.weight)
            code = _combine(code, np.asarray(np.unique(entry, return_inverse=True)[1], dtype=np.int64))
    return code


def lay_out(readings: Readings, inner: tuple[Group, ...], block_key: IntArray, order: IntArray) -> Layout:
    """Find the predictors of each block: units of a block that meet all the same effects share one.

    Parameters
    ----------
    readings : Readings
    inner : tuple of Group
        All groups but those integrated with a block.
    block_key : ndarray of int (units,)
        Equal within a block; in the order of `order`.
    order : ndarray of int (units,)
        From `unit_order`.

    Returns
    -------
    Layout
    """
    n = readings.n_units
    starts = np.flatnonzero(np.r_[True, block_key[1:] != block_key[:-1]])
    unit_block = np.cumsum(np.r_[False, block_key[1:] != block_key[:-1]]).astype(np.int64)
    block_of = np.empty(n, dtype=np.int64)
    block_of[order] = unit_block
    eta_code = _signature(readings, inner, False, block_of)[order]
    has_alpha = not readings.merged and (
        readings.additive.shape[1] > 0 or any(group.additive for group in inner)
    )
    # an alpha predictor of nothing at all is no predictor
    alpha_code = np.full(n, -1, dtype=np.int64)
    if has_alpha:
        empty = (readings.additive == 0).all(axis=1)
        for group in inner:
            if group.additive:
                empty[group.unit] = False
        alpha_code = np.where(empty, -1, _signature(readings, inner, True, block_of))[order]
    _, eta_unit, unit_eta = np.unique(eta_code, return_index=True, return_inverse=True)
    _, alpha_unit, unit_alpha = np.unique(alpha_code, return_index=True, return_inverse=True)
    if has_alpha and (alpha_code < 0).any():
        alpha_unit, unit_alpha = alpha_unit[1:], unit_alpha - 1
    elif not has_alpha:
        alpha_unit, unit_alpha = alpha_unit[:0], np.full(n, -1, dtype=np.int64)
    first = np.r_[eta_unit, alpha_unit]
    is_eta = np.r_[np.ones(len(eta_unit), bool), np.zeros(len(alpha_unit), bool)]
    block = unit_block[first]
    rank = np.lexsort((first, ~is_eta, block))
    place = np.empty(len(rank), dtype=np.int64)
    place[rank] = np.arange(len(rank))
    eta_place, alpha_place = place[: len(eta_unit)], place[len(eta_unit) :]
    unit_alpha = np.where(unit_alpha >= 0, np.r_[alpha_place, 0][unit_alpha], -1)
    first, is_eta, block = first[rank], is_eta[rank], block[rank]
    units = order[first]
    p, q = readings.design.shape[1], readings.additive.shape[1]
    fixed = np.zeros((len(rank), p + q))
    if readings.merged:
        fixed = np.hstack([readings.design[units], readings.additive[units]])
    else:
        fixed[is_eta, :p] = readings.design[units[is_eta]]
        fixed[~is_eta, p:] = readings.additive[units[~is_eta]]
    counts = np.bincount(block, minlength=len(starts))
    bounds = np.r_[0, np.cumsum(counts)]
    per_predictor = counts[block]
    pair_first = np.repeat(np.arange(len(rank)), per_predictor)
    pointer = np.r_[0, np.cumsum(per_predictor)]
    within = np.arange(pointer[-1]) - np.repeat(pointer[:-1], per_predictor)
    pair_second = np.repeat(bounds[block], per_predictor) + within
    return Layout(
        order=order,
        block_starts=starts,
        unit_block=unit_block,
        unit_eta=eta_place[unit_eta],
        unit_alpha=unit_alpha,
        eta_first=first,
        is_eta=is_eta,
        predictor_block=block,
        block_predictors=bounds,
        block_units=np.r_[starts, n],
        fixed=fixed,
        pair_first=pair_first,
        pair_second=pair_second,
        pair_pointer=pointer,
    )


def loadings(
    readings: Readings,
    inner: tuple[Group, ...],
    layout: Layout,
    position: dict[str, IntArray],
    n_random: int,
) -> sparse.csr_array:
    """What each random effect adds to each predictor.

    Parameters
    ----------
    readings : Readings
    inner : tuple of Group
    layout : Layout
    position : dict of group to ndarray of int (effects,)
        Place of each effect in the vector of unknowns.
    n_random : int
        Number of those effects.

    Returns
    -------
    csr_array (predictors, random effects)
    """
    unit_of = layout.order[layout.eta_first]
    n_predictors = len(unit_of)
    rows: list[IntArray] = [np.zeros(0, np.int64)]
    columns: list[IntArray] = [np.zeros(0, np.int64)]
    values: list[FloatArray] = [np.zeros(0)]
    for group in inner:
        incidence = sparse.csr_array(
            (group.weight, (group.unit, group.code)), shape=(readings.n_units, group.size)
        )
        wanted = layout.is_eta if readings.merged or not group.additive else ~layout.is_eta
        chosen = np.flatnonzero(wanted)
        part = sparse.coo_array(incidence[unit_of[chosen]])
        rows.append(chosen[part.coords[0]])
        columns.append(position[group.name][part.coords[1]])
        values.append(part.data)
    triplet = (np.concatenate(values), (np.concatenate(rows), np.concatenate(columns)))
    return sparse.csr_array(triplet, shape=(n_predictors, n_random))
