"""The curvature of the inner problem, put together in the parts that its structure gives it.

The unknowns are [cluster effects | other effects | coefficients]. Clusters don't meet each other, so
their part of the matrix is block-diagonal.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import sparse

from outcomes.engine.problem import Problem

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Symmetric:
    """A symmetric matrix over the unknowns, in the parts that its structure gives it."""

    clusters: FloatArray  # (sum of squared cluster sizes,) the diagonal blocks, flat
    cluster_rest: sparse.csr_array  # (cluster effects, other effects)
    cluster_fixed: FloatArray  # (cluster effects, coefficients)
    rest: FloatArray  # (other effects + coefficients) squared

    def scaled(self, factor: float) -> Symmetric:
        """The matrix times a number.

        Parameters
        ----------
        factor : float

        Returns
        -------
        Symmetric
        """
        return Symmetric(
            factor * self.clusters,
            factor * self.cluster_rest,
            factor * self.cluster_fixed,
            factor * self.rest,
        )


class Structure:
    """Positions of the diagonal blocks; depends on the problem alone.

    Attributes
    ----------
    problem : Problem
    offset : ndarray of int (clusters + 1,)
        First effect of each cluster, and the end.
    base : ndarray of int (clusters + 1,)
        First number of each cluster's block in the flat blocks, and the end.
    cluster_of, size_of : ndarray of int (cluster effects,)
        Cluster of each effect, and its size.
    diagonal : ndarray of int (cluster effects,)
        Place of each effect's diagonal entry in the flat blocks.
    by_size : list of (int, ndarray of int (clusters, size * size))
        Places of the blocks of each size.
    pointer, indices : ndarray of int
        Of the blocks as a csr matrix.
    first : (ndarray, Symmetric) or None
        What `assemble_like` keeps.
    """

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.first: tuple[FloatArray, Symmetric] | None = None
        sizes = problem.cluster_sizes
        self.offset = np.r_[0, np.cumsum(sizes)].astype(np.int64)
        self.base = np.r_[0, np.cumsum(sizes * sizes)].astype(np.int64)
        self.cluster_of = np.repeat(np.arange(len(sizes)), sizes)
        self.size_of = sizes[self.cluster_of] if len(sizes) else np.zeros(0, np.int64)
        local = np.arange(problem.n_clustered) - self.offset[self.cluster_of]
        self.diagonal = self.base[self.cluster_of] + local * self.size_of + local
        self.by_size: list[tuple[int, IntArray]] = []
        for size in np.unique(sizes[sizes > 0]):
            starts = self.base[:-1][sizes == size]
            self.by_size.append((int(size), starts[:, None] + np.arange(size * size)))
        self.pointer = np.r_[0, np.cumsum(self.size_of)].astype(np.int64)
        within = np.arange(self.pointer[-1]) - np.repeat(self.pointer[:-1], self.size_of)
        self.indices = np.repeat(self.offset[self.cluster_of], self.size_of) + within

    def block_diagonal(self, flat: FloatArray) -> sparse.csr_array:
        """A matrix from its flat diagonal blocks.

        Parameters
        ----------
        flat : ndarray (sum of squared cluster sizes,)

        Returns
        -------
        csr_array (cluster effects, cluster effects)
        """
        n = self.problem.n_clustered
        return sparse.csr_array((flat, self.indices, self.pointer), shape=(n, n))

    def assemble(self, pair_values: FloatArray) -> Symmetric:
        """Sum over pairs of predictors of value * loading loading'.

        Parameters
        ----------
        pair_values : ndarray (pairs,)
            In the order of the problem's pairs.

        Returns
        -------
        Symmetric
        """
        p = self.problem
        n = p.n_predictors
        weights = sparse.csr_array((pair_values, p.pair_second, p.pair_pointer), shape=(n, n))
        weighted_fixed = weights @ p.fixed
        weighted_rest = weights @ p.rest
        flat = np.zeros(int(self.base[-1]))
        cluster_rest = sparse.csr_array((p.n_clustered, p.n_rest))
        cluster_fixed = np.zeros((p.n_clustered, p.n_fixed))
        if p.n_clustered:
            transposed = sparse.csr_array(p.clustered.T)
            inner = sparse.coo_array(transposed @ (weights @ p.clustered))
            row, column = inner.coords
            local = column - self.offset[self.cluster_of[row]]
            # one thread of entries each: duplicates have been summed by the product
            flat[self.pointer[row] + local] = inner.data
            cluster_fixed = np.asarray(transposed @ weighted_fixed)
            if p.n_rest:
                cluster_rest = sparse.csr_array(transposed @ weighted_rest)
        total = p.n_rest + p.n_fixed
        rest = np.zeros((total, total))
        if p.n_rest:
            rest[: p.n_rest, : p.n_rest] = np.asarray((p.rest.T @ weighted_rest).toarray())
            cross = np.asarray(p.rest.T @ weighted_fixed)
            rest[: p.n_rest, p.n_rest :] = cross
            rest[p.n_rest :, : p.n_rest] = cross.T
        rest[p.n_rest :, p.n_rest :] = np.asarray(p.fixed.T @ weighted_fixed)
        return Symmetric(flat, cluster_rest, cluster_fixed, rest)

    def assemble_like(self, pair_values: FloatArray) -> Symmetric:
        """The same for the curvature of exact data, which changes by a factor only: the first is kept.

        Parameters
        ----------
        pair_values : ndarray (pairs,)

        Returns
        -------
        Symmetric
        """
        if self.first is not None:
            values, matrix = self.first
            factor = float(pair_values[0] / values[0])
            if np.allclose(pair_values, factor * values, rtol=1e-14, atol=0.0):
                return matrix.scaled(factor)
        self.first = pair_values, self.assemble(pair_values)
        return self.first[1]

    def diagonal_matrix(self, values: FloatArray) -> Symmetric:
        """A diagonal matrix over the random effects in the same form (zero for coefficients).

        Parameters
        ----------
        values : ndarray (random effects,)

        Returns
        -------
        Symmetric
        """
        p = self.problem
        flat = np.zeros(int(self.base[-1]))
        flat[self.diagonal] = values[: p.n_clustered]
        total = p.n_rest + p.n_fixed
        rest = np.zeros((total, total))
        index = np.arange(p.n_rest)
        rest[index, index] = values[p.n_clustered :]
        return Symmetric(
            flat,
            sparse.csr_array((p.n_clustered, p.n_rest)),
            np.zeros((p.n_clustered, p.n_fixed)),
            rest,
        )
