"""Which effects are integrated with a block, which form clusters, and where each one stands."""

from __future__ import annotations

import numpy as np

from outcomes.engine.problem import FloatArray, Group, IntArray, Readings


def _single_code(unit: IntArray, code: IntArray, owner: IntArray, n_owners: int) -> IntArray:
    """For each owner (a block, say) the one code that its units meet: -1 none, -2 several."""
    low = np.full(n_owners, np.iinfo(np.int64).max)
    high = np.full(n_owners, -1, dtype=np.int64)
    np.minimum.at(low, owner[unit], code)
    np.maximum.at(high, owner[unit], code)
    return np.where(high < 0, -1, np.where(low == high, high, -2))


def find_companion(
    readings: Readings, inner: tuple[Group, ...], block_key: IntArray
) -> tuple[Group | None, IntArray, FloatArray, tuple[Group, ...]]:
    """The additive group with the most effects that lie inside one block.

    Parameters
    ----------
    readings : Readings
    inner : tuple of Group
        All groups but the one that quadrature integrates.
    block_key : ndarray of int (units,)
        Equal within a block.

    Returns
    -------
    companion : Group or None
    code : ndarray of int (blocks,)
        Its effect in each block, in the order of the sorted block keys; -1 for none.
    weight : ndarray (units,)
        Of that effect in each unit.
    inner : tuple of Group
        The inner groups with those effects taken out.
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


def cluster_key(
    readings: Readings, inner: tuple[Group, ...], block_key: IntArray
) -> tuple[Group | None, dict[str, IntArray]]:
    """Choose the group whose codes become clusters: eliminated one by one, before the dense rest.

    Every block must lie inside one cluster. Groups nested in the key join its clusters. The choice is
    the cheapest: sum of (cluster size)**3 plus (size of the rest)**3.

    Parameters
    ----------
    readings : Readings
    inner : tuple of Group
    block_key : ndarray of int (units,)
        Equal within a block.

    Returns
    -------
    key : Group or None
        None: no group is worth it.
    members : dict of group to ndarray of int (effects,)
        Cluster of each effect of every group that joins the clusters.
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


def positions(
    inner: tuple[Group, ...], key: Group | None, members: dict[str, IntArray]
) -> tuple[dict[str, IntArray], IntArray, int, int]:
    """Place every inner effect in the vector of unknowns: clusters one after another, then the rest.

    Parameters
    ----------
    inner : tuple of Group
    key : Group or None
    members : dict of group to ndarray of int (effects,)
        As `cluster_key` gives them.

    Returns
    -------
    position : dict of group to ndarray of int (effects,)
    sizes : ndarray of int (clusters,)
    n_clustered, n_random : int
        Effects in clusters, and all of them.
    """
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


def unit_order(readings: Readings, block_key: IntArray, key: Group | None) -> IntArray:
    """Units by cluster, then by block, so that neighbours in memory are neighbours in the model.

    Parameters
    ----------
    readings : Readings
    block_key : ndarray of int (units,)
    key : Group or None
        From `cluster_key`.

    Returns
    -------
    ndarray of int (units,)
    """
    cluster = np.zeros(readings.n_units, dtype=np.int64)
    if key is not None:
        cluster[key.unit] = key.code
    return np.lexsort((np.arange(readings.n_units), block_key, cluster))
