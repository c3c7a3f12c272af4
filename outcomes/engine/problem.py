"""What is given: the readings, sorted into blocks, and how each meets the unknown effects.

A *unit* is one reading, or a set of alternative rows of which exactly one holds. A *block* is what is
integrated by quadrature together: all units with one code of the finest group; when nothing is
integrated by quadrature, each unit is a block of its own. A block may have a *companion*, one additive
effect that no other block meets (the error of a visit's start, say), which is integrated with it. A
*predictor* is a distinct linear
combination of effects inside a block: `eta` predictors act through the link and the shape, `alpha`
predictors on the scale of the reading. Blocks see the effects only through their few predictors, so
their curvature is a small matrix, and everything beyond is linear algebra.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import sparse

from outcomes.engine.terms import OPEN

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]


_PIECE = 40_000  # units times nodes in a piece: an array of that many numbers stays in the cache


@dataclass(frozen=True, eq=False)
class Group:
    """A set of exchangeable effects: which unit meets which effect, and with what weight."""

    name: str
    labels: tuple[object, ...]
    unit: IntArray  # the three arrays list the non-zero entries of a (units, effects) matrix
    code: IntArray
    weight: FloatArray
    additive: bool

    @property
    def size(self) -> int:
        return len(self.labels)


@dataclass(frozen=True, eq=False)
class Readings:
    """Checked input, one entry a row or a unit; nothing here changes during a fit."""

    lower: FloatArray  # (rows,) open bounds as -OPEN; an exact reading stands here
    upper: FloatArray  # (rows,) open bounds and exact readings as OPEN
    exact: BoolArray
    exposure: FloatArray  # (rows,) ones where there is no shape
    row_unit: IntArray  # (rows,) ascending
    row_log_weight: FloatArray
    kind: IntArray  # (units,)
    kinds: tuple[object, ...]
    design: FloatArray  # (units, p)
    additive: FloatArray  # (units, q)
    coefficient_names: tuple[str, ...]
    groups: tuple[Group, ...]
    link: str
    family: str | None

    @property
    def n_units(self) -> int:
        return len(self.kind)

    @property
    def merged(self) -> bool:
        """Identity link without a shape: additive terms act like any other term of the mean."""
        return self.link == "identity" and self.family is None


@dataclass(frozen=True, eq=False)
class Piece:
    """The units of some blocks, with positions local to the piece: what one worker needs."""

    lower: FloatArray
    upper: FloatArray
    exact: BoolArray
    exposure: FloatArray
    kind: IntArray  # (rows,)
    unit_kind: IntArray
    single_rows: IntArray  # rows that are a unit by themselves, and their units
    single_units: IntArray
    alternatives: sparse.csr_array | None  # (alternative units, alternative rows), weights inside
    alternative_rows: IntArray
    alternative_units: IntArray
    row_unit: IntArray
    unit_block: IntArray
    unit_eta: IntArray  # local predictor, -1 where there is none
    unit_alpha: IntArray
    eta_sum: sparse.csr_array  # (predictors, units)
    alpha_sum: sparse.csr_array | None
    block_starts: IntArray  # first unit of each block
    n_predictors: int
    predictor_block: IntArray
    pair_first: IntArray  # predictors that share a block, in the order of a csr matrix
    pair_second: IntArray
    pair_pointer: IntArray
    pairs_ee: sparse.csr_array  # (pairs, units)
    pairs_ea: sparse.csr_array | None
    pairs_aa: sparse.csr_array | None
    pair_of_unit: tuple[IntArray, IntArray, IntArray]  # position of (eta, eta), (eta, alpha), (alpha, alpha)
    has_effect: BoolArray  # (blocks,) False where the finest group's code is missing
    has_companion: BoolArray  # (blocks,)
    unit_companion: FloatArray  # (units,) weight of the companion in each unit
    is_eta: BoolArray  # (predictors,)
    link: str
    family: str | None
    n_kinds: int


@dataclass(frozen=True, eq=False)
class Problem:
    """A whole fit: the pieces and the loadings that join them to the unknown effects."""

    readings: Readings
    finest: Group | None  # integrated by quadrature
    companion: Group | None  # those of its effects that only one block meets are integrated with the block
    groups: tuple[Group, ...]  # in the inner problem; of the companion what is left of it
    pieces: tuple[Piece, ...]
    piece_predictors: tuple[slice, ...]
    piece_blocks: tuple[slice, ...]
    clustered: sparse.csr_array  # (predictors, cluster effects)
    rest: sparse.csr_array  # (predictors, other effects)
    fixed: FloatArray  # (predictors, coefficients)
    cluster_sizes: IntArray
    position: Mapping[str, IntArray]  # of each effect in the vector of unknowns
    pair_first: IntArray
    pair_second: IntArray
    pair_pointer: IntArray
    block_code: IntArray  # code of the finest group, -1 where missing
    block_companion: IntArray  # code of the companion, -1 where the block has none
    offset: FloatArray  # (predictors,) known part; zero unless coefficients are given

    @property
    def n_clustered(self) -> int:
        return int(self.clustered.shape[1])

    @property
    def n_rest(self) -> int:
        return int(self.rest.shape[1])

    @property
    def n_fixed(self) -> int:
        return int(self.fixed.shape[1])

    @property
    def n_random(self) -> int:
        return self.n_clustered + self.n_rest

    @property
    def n_predictors(self) -> int:
        return int(self.fixed.shape[0])


def build_problem(readings: Readings, finest: str | None, shards: int, nodes: int = 1) -> Problem:
    """Sort units into blocks and predictors and lay out the unknown effects.

    `finest` names the group to integrate by quadrature; `shards` is the least number of pieces, `nodes` that
    of quadrature nodes, so that a piece's arrays fit into the cache.
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
        companion, confined, weight, inner = _companion(readings, inner, block_key)
    key_group, members = _cluster_key(readings, inner, block_key)
    order = _unit_order(readings, block_key, key_group)
    layout = _predictors(readings, inner, block_key[order], order)
    position, sizes, n_clustered, n_random = _positions(inner, key_group, members)
    loadings = _loadings(readings, inner, layout, position, n_random)
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
        clustered=sparse.csr_array(loadings[:, :n_clustered]),
        rest=sparse.csr_array(loadings[:, n_clustered:]),
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


def _single_code(unit: IntArray, code: IntArray, owner: IntArray, n_owners: int) -> IntArray:
    """For each owner (a block, say) the one code that its units meet: -1 none, -2 several."""
    low = np.full(n_owners, np.iinfo(np.int64).max)
    high = np.full(n_owners, -1, dtype=np.int64)
    np.minimum.at(low, owner[unit], code)
    np.maximum.at(high, owner[unit], code)
    return np.where(high < 0, -1, np.where(low == high, high, -2))


def _companion(
    readings: Readings, inner: tuple[Group, ...], block_key: IntArray
) -> tuple[Group | None, IntArray, FloatArray, tuple[Group, ...]]:
    """The additive group with the most effects that lie inside one block.

    Returns it, its code in each block (in the order of the sorted block keys, -1 for none), the weight of
    that effect in each unit, and the inner groups with those effects taken out.
    """
    _, block = np.unique(block_key, return_inverse=True)
    n_blocks = int(block.max()) + 1
    best: tuple[int, Group | None, IntArray] = (0, None, np.zeros(0, np.int64))
    for group in inner:
        if not group.additive:
            continue
        home = _single_code(group.code, block[group.unit], np.arange(group.size), group.size)
        codes = np.flatnonzero(home >= 0)
        blocks, first = np.unique(home[codes], return_index=True)
        of_block = np.full(n_blocks, -1, dtype=np.int64)
        of_block[blocks] = codes[first]
        if len(blocks) > best[0]:
            best = (len(blocks), group, of_block)
    _, chosen, of_block = best
    weight = np.zeros(readings.n_units)
    if chosen is None:
        return None, of_block, weight, inner
    taken = of_block[block[chosen.unit]] == chosen.code
    np.add.at(weight, chosen.unit[taken], chosen.weight[taken])
    kept, code = np.unique(chosen.code[~taken], return_inverse=True)
    left = Group(
        name=chosen.name,
        labels=tuple(chosen.labels[i] for i in kept),
        unit=chosen.unit[~taken],
        code=np.asarray(code, dtype=np.int64),
        weight=chosen.weight[~taken],
        additive=True,
    )
    return chosen, of_block, weight, tuple(left if g.name == chosen.name else g for g in inner)


def _cluster_key(
    readings: Readings, inner: tuple[Group, ...], block_key: IntArray
) -> tuple[Group | None, dict[str, IntArray]]:
    """Choose the group whose codes become clusters: eliminated one by one, before the dense rest.

    Every block must lie inside one cluster. Groups nested in the key join its clusters. The choice is
    the cheapest: sum of (cluster size)**3 plus (size of the rest)**3.
    """
    _, block = np.unique(block_key, return_inverse=True)
    n_blocks = int(block.max()) + 1
    total = sum(group.size for group in inner)
    best: tuple[float, Group | None, dict[str, IntArray]] = (float(total + 1) ** 3, None, {})
    for key in inner:
        if key.size == 0:
            continue
        home = _single_code(key.unit, key.code, block, n_blocks)
        if (home < 0).any() or not _covers(key, block, n_blocks, home):
            continue
        members = {key.name: np.arange(key.size)}
        for group in inner:
            if group.name == key.name:
                continue
            cluster = _single_code(group.code, home[block[group.unit]], np.arange(group.size), group.size)
            if (cluster >= 0).all():
                members[group.name] = cluster
        sizes = np.bincount(np.concatenate(list(members.values())), minlength=key.size)
        cost = float((sizes.astype(float) ** 3).sum()) + float(total - sizes.sum() + 1) ** 3
        if cost < best[0]:
            best = (cost, key, members)
    return best[1], best[2]


def _covers(key: Group, block: IntArray, n_blocks: int, home: IntArray) -> bool:
    """Whether every unit meets the key once: a unit without a code would belong to no cluster."""
    units_met = np.bincount(block[key.unit], minlength=n_blocks)
    return bool((units_met >= np.bincount(block, minlength=n_blocks)).all() and (home >= 0).all())


def _positions(
    inner: tuple[Group, ...], key: Group | None, members: dict[str, IntArray]
) -> tuple[dict[str, IntArray], IntArray, int, int]:
    position: dict[str, IntArray] = {}
    sizes = np.zeros(0, dtype=np.int64)
    n_clustered = 0
    if key is not None:
        names = list(members)
        cluster = np.concatenate([members[name] for name in names])
        order = np.argsort(cluster, kind="stable")
        place = np.empty(len(cluster), dtype=np.int64)
        place[order] = np.arange(len(cluster))
        first = 0
        for name in names:
            count = len(members[name])
            position[name] = place[first : first + count]
            first += count
        sizes = np.bincount(cluster, minlength=key.size).astype(np.int64)
        n_clustered = len(cluster)
    start = n_clustered
    for group in inner:
        if group.name not in position:
            position[group.name] = np.arange(start, start + group.size)
            start += group.size
    return position, sizes, n_clustered, start


def _unit_order(readings: Readings, block_key: IntArray, key: Group | None) -> IntArray:
    """Units by cluster, then by block, so that neighbours in memory are neighbours in the model."""
    cluster = np.zeros(readings.n_units, dtype=np.int64)
    if key is not None:
        cluster[key.unit] = key.code
    return np.lexsort((np.arange(readings.n_units), block_key, cluster))


@dataclass(frozen=True, eq=False)
class _Layout:
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


def _predictors(
    readings: Readings, inner: tuple[Group, ...], block_key: IntArray, order: IntArray
) -> _Layout:
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
    return _Layout(
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


def _loadings(
    readings: Readings,
    inner: tuple[Group, ...],
    layout: _Layout,
    position: dict[str, IntArray],
    n_random: int,
) -> sparse.csr_array:
    """(predictors, random effects): what each effect adds to each predictor."""
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


def companion_nodes(count: int) -> int:
    """Nodes across a companion: half as many, for it is smoothed by the effect's own integral."""
    return max(3, (count + 1) // 2)


def _spans(layout: _Layout, shards: int, nodes: int) -> list[tuple[int, int]]:
    """Cut the blocks into pieces of about equal numbers of units (small enough for the cache)."""
    n_blocks = len(layout.block_starts)
    n_units = int(layout.block_units[-1])
    count = min(n_blocks, max(shards, -(-n_units * nodes // _PIECE)))
    wanted = np.linspace(0, n_units, count + 1)[1:-1]
    cuts = np.searchsorted(layout.block_units, wanted)
    bounds = np.unique(np.r_[0, cuts, n_blocks])
    return [(int(a), int(b)) for a, b in zip(bounds[:-1], bounds[1:], strict=True)]


def _incidence(rows: IntArray, n_rows: int, n_units: int) -> sparse.csr_array:
    chosen = np.flatnonzero(rows >= 0)
    return sparse.csr_array((np.ones(len(chosen)), (rows[chosen], chosen)), shape=(n_rows, n_units))


def _piece(
    readings: Readings,
    layout: _Layout,
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
    row_bounds = np.searchsorted(readings.row_unit, np.c_[units, units + 1])
    counts = row_bounds[:, 1] - row_bounds[:, 0]
    row_unit = np.repeat(np.arange(n_units), counts)
    offset = np.arange(len(row_unit)) - np.repeat(np.cumsum(counts) - counts, counts)
    rows = row_bounds[row_unit, 0] + offset
    several = counts > 1
    alternative_units = np.flatnonzero(several)
    alternative_rows = np.flatnonzero(several[row_unit])
    alternatives = None
    if len(alternative_units):
        local = np.searchsorted(alternative_units, row_unit[alternative_rows])
        weights = np.exp(readings.row_log_weight[rows[alternative_rows]])
        alternatives = sparse.csr_array(
            (weights, (local, np.arange(len(alternative_rows)))),
            shape=(len(alternative_units), len(alternative_rows)),
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
