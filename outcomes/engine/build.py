"""From checked readings to a problem: pieces that one worker can take, and what joins them."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from scipy import sparse

from outcomes.engine.clusters import cluster_key, find_companion, positions, unit_order
from outcomes.engine.layout import Layout, lay_out, loadings
from outcomes.engine.problem import (
    BoolArray,
    FloatArray,
    IntArray,
    Piece,
    Problem,
    Readings,
    companion_nodes,
)

_PIECE = 80_000  # units times nodes in a piece: an array of that many numbers stays in the cache


def build_problem(readings: Readings, finest: str | None, shards: int, nodes: int = 1) -> Problem:
    """Sort units into blocks and predictors and lay out the unknown effects.

    Parameters
    ----------
    readings : Readings
    finest : str or None
        Group to integrate by quadrature.
    shards : int
        Least number of pieces.
    nodes : int
        Quadrature nodes, so that a piece's arrays fit into the cache.

    Returns
    -------
    Problem
    """
    inner = tuple(group for group in readings.groups if group.name != finest)
    quadrature = next((group for group in readings.groups if group.name == finest), None)
    unit_code = np.full(readings.n_units, -1, dtype=np.int64)
    if quadrature is None:
        block_key = np.arange(readings.n_units, dtype=np.int64)
    else:
        unit_code[quadrature.unit] = quadrature.code
        missing = unit_code < 0
        block_key = np.where(missing, quadrature.size + np.cumsum(missing), unit_code)
    companion, confined, weight = None, np.zeros(0, np.int64), np.zeros(readings.n_units)
    if quadrature is not None and not readings.merged:
        companion, confined, weight, inner = find_companion(readings, inner, block_key)
    key_group, members = cluster_key(readings, inner, block_key)
    order = unit_order(readings, block_key, key_group)
    layout = lay_out(readings, inner, block_key[order], order)
    position, sizes, n_clustered, n_random = positions(inner, key_group, members)
    effect_loadings = loadings(readings, inner, layout, position, n_random)
    across = companion_nodes(nodes) if companion is not None else 1
    spans = _spans(layout, shards, nodes * across)
    block_first_unit = layout.block_starts
    block_companion = np.full(len(block_first_unit), -1, dtype=np.int64)
    if companion is not None:
        _, block = np.unique(block_key[order][block_first_unit], return_inverse=True)
        block_companion = confined[block]
    pieces = tuple(
        _piece(readings, layout, span, unit_code[order], block_companion >= 0, weight) for span in spans
    )
    return Problem(
        readings=readings,
        finest=quadrature,
        companion=companion,
        groups=inner,
        pieces=pieces,
        piece_predictors=tuple(slice(*layout.block_predictors[[s, e]]) for s, e in spans),
        piece_blocks=tuple(slice(s, e) for s, e in spans),
        clustered=sparse.csr_array(effect_loadings[:, :n_clustered]),
        rest=sparse.csr_array(effect_loadings[:, n_clustered:]),
        fixed=layout.fixed,
        cluster_sizes=sizes,
        position=position,
        pair_first=layout.pair_first,
        pair_second=layout.pair_second,
        pair_pointer=layout.pair_pointer,
        block_code=unit_code[order][block_first_unit],
        block_companion=block_companion,
        offset=np.zeros(len(layout.fixed)),
    )


def _spans(layout: Layout, shards: int, nodes: int) -> list[tuple[int, int]]:
    """Cut the blocks into pieces of about equal numbers of units (small enough for the cache)."""
    n_blocks = len(layout.block_starts)
    n_units = int(layout.block_units[-1])
    count = min(n_blocks, max(shards, -(-n_units * nodes // _PIECE)))
    wanted = np.linspace(0, n_units, count + 1)[1:-1]
    cuts = np.searchsorted(layout.block_units, wanted)
    bounds = np.unique(np.r_[0, cuts, n_blocks])
    return [(int(a), int(b)) for a, b in pairwise(bounds)]


def _incidence(rows: IntArray, n_rows: int, n_units: int) -> sparse.csr_array:
    chosen = np.flatnonzero(rows >= 0)
    return sparse.csr_array((np.ones(len(chosen)), (rows[chosen], chosen)), shape=(n_rows, n_units))


def _piece(
    readings: Readings,
    layout: Layout,
    span: tuple[int, int],
    unit_code: IntArray,
    has_companion: BoolArray,
    companion_weight: FloatArray,
) -> Piece:
    start, end = span
    first, last = layout.block_units[[start, end]]
    p0, p1 = layout.block_predictors[[start, end]]
    units = layout.order[first:last]
    n_units = len(units)
    row_bounds: IntArray = np.asarray(np.searchsorted(readings.row_unit, np.c_[units, units + 1]))
    counts = row_bounds[:, 1] - row_bounds[:, 0]
    row_unit = np.repeat(np.arange(n_units), counts)
    offset = np.arange(len(row_unit)) - np.repeat(np.cumsum(counts) - counts, counts)
    rows = row_bounds[row_unit, 0] + offset
    several = counts > 1
    alternative_units = np.flatnonzero(several)
    alternative_rows = np.flatnonzero(several[row_unit])
    alternatives = branches = None
    if len(alternative_units):
        chosen = rows[alternative_rows]
        # in the order of this piece's units, which isn't that of the readings
        starts = np.diff(readings.row_branch[chosen], prepend=-1) != 0
        lead = np.flatnonzero(starts)
        if len(lead) < len(chosen):
            branches = _incidence(np.cumsum(starts) - 1, len(lead), len(chosen))
        local = np.searchsorted(alternative_units, row_unit[alternative_rows[lead]])
        weights = np.exp(readings.row_log_weight[chosen[lead]])
        alternatives = sparse.csr_array(
            (weights, (local, np.arange(len(lead)))), shape=(len(alternative_units), len(lead))
        )
    eta = layout.unit_eta[first:last] - p0
    alpha = np.where(layout.unit_alpha[first:last] >= 0, layout.unit_alpha[first:last] - p0, -1)
    n_predictors = int(p1 - p0)
    pairs = slice(int(layout.pair_pointer[p0]), int(layout.pair_pointer[p1]))
    n_pairs = pairs.stop - pairs.start
    pointer = layout.pair_pointer[p0 : p1 + 1] - layout.pair_pointer[p0]
    block_first = layout.block_predictors[layout.predictor_block[p0:p1]] - p0

    def pair_at(one: IntArray, other: IntArray) -> IntArray:
        safe = np.where(one >= 0, one, 0)
        place = pointer[safe] + other - block_first[safe]
        return np.where((one >= 0) & (other >= 0), place, -1)

    at_ee, at_ea, at_ae, at_aa = (
        pair_at(eta, eta),
        pair_at(eta, alpha),
        pair_at(alpha, eta),
        pair_at(alpha, alpha),
    )
    has_alpha = bool((alpha >= 0).any())
    both = None
    if has_alpha:
        both = sparse.csr_array(_incidence(at_ea, n_pairs, n_units) + _incidence(at_ae, n_pairs, n_units))
    return Piece(
        lower=readings.lower[rows, None],
        upper=readings.upper[rows, None],
        exact=readings.exact[rows],
        exposure=readings.exposure[rows],
        kind=readings.kind[units][row_unit],
        unit_kind=readings.kind[units],
        single_rows=np.flatnonzero(~several[row_unit]),
        single_units=np.flatnonzero(~several),
        alternatives=alternatives,
        branches=branches,
        alternative_rows=alternative_rows,
        alternative_units=alternative_units,
        row_unit=row_unit,
        unit_block=layout.unit_block[first:last] - start,
        unit_eta=eta,
        unit_alpha=alpha,
        eta_sum=_incidence(eta, n_predictors, n_units),
        alpha_sum=_incidence(alpha, n_predictors, n_units) if has_alpha else None,
        block_starts=layout.block_starts[start:end] - first,
        n_predictors=n_predictors,
        predictor_block=layout.predictor_block[p0:p1] - start,
        pair_first=layout.pair_first[pairs] - p0,
        pair_second=layout.pair_second[pairs] - p0,
        pair_pointer=pointer,
        pairs_ee=_incidence(at_ee, n_pairs, n_units),
        pairs_ea=both,
        pairs_aa=_incidence(at_aa, n_pairs, n_units) if has_alpha else None,
        pair_of_unit=(at_ee, at_ea, at_aa),
        has_effect=unit_code[layout.block_starts[start:end]] >= 0,
        has_companion=has_companion[start:end],
        unit_companion=companion_weight[units],
        is_eta=layout.is_eta[p0:p1],
        link=readings.link,
        family=readings.family,
        n_kinds=len(readings.kinds),
    )
