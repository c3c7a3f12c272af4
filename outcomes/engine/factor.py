"""The curvature of the inner problem, solved: eliminate clusters, factorise the small dense rest.

Clusters are inverted block by block; what remains (stylists, products, coefficients, say) is a small dense
system to which every cluster adds its piece. Nothing here ever fills in a large sparse matrix.
"""

from __future__ import annotations

from functools import cached_property

import numpy as np
import numpy.typing as npt
from scipy import linalg, sparse

from outcomes.engine.blocks import Structure, Symmetric

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.intp]

_SMALL = 8_000_000  # clusters times the square of the rest; above it the sparse coupling is quicker
_CHUNK = 4096  # predictors at a time where a dense row of the rest is needed for each


class NotPositiveDefinite(Exception):
    """The curvature isn't that of a maximum; the caller takes a safer one."""


class Factor:
    """A positive definite `Symmetric`, factorised."""

    def __init__(
        self, structure: Structure, matrix: Symmetric, precision: FloatArray, fixed_precision: FloatArray
    ) -> None:
        """`precision` of each random effect and of each coefficient is added to the diagonal.

        Raises
        ------
        NotPositiveDefinite
        """
        p = structure.problem
        self.structure = structure
        self.matrix = matrix
        self.n_rest, self.n_fixed, self.n_clustered = p.n_rest, p.n_fixed, p.n_clustered
        flat = matrix.clusters.copy()
        flat[structure.diagonal] += precision[: p.n_clustered]
        inverse = np.empty_like(flat)
        self.log_det_clusters = 0.0
        self.beside_readings, self.beside_prior = np.zeros((2, p.n_clustered))
        for size, index in structure.by_size:
            if size == 1:
                value = flat[index[:, 0]]
                if not (value > 0).all():
                    raise NotPositiveDefinite
                inverse[index[:, 0]] = 1.0 / value
                alone = np.flatnonzero(structure.size_of == 1)
                self._take_alone(alone, value, precision[alone])
                continue
            stacked = flat[index].reshape(-1, size, size)
            try:
                root = np.linalg.cholesky(stacked)
            except np.linalg.LinAlgError:
                raise NotPositiveDefinite from None
            self.log_det_clusters += 2.0 * float(np.log(np.diagonal(root, axis1=1, axis2=2)).sum())
            inverse[index] = np.linalg.inv(stacked).reshape(-1, size * size)
        self.inverse_flat = inverse
        self.inverse = structure.block_diagonal(inverse)
        rest = matrix.rest.copy()
        index = np.arange(self.n_rest)
        rest[index, index] += precision[p.n_clustered :]
        index = np.arange(self.n_rest, self.n_rest + self.n_fixed)
        rest[index, index] += fixed_precision
        self.turned_rest = self.inverse @ matrix.cluster_rest  # W = D^-1 B
        self.turned_fixed = np.asarray(self.inverse @ matrix.cluster_fixed)
        if p.n_clustered:
            z, x = slice(0, self.n_rest), slice(self.n_rest, None)
            if self.n_rest:
                transposed = matrix.cluster_rest.T
                rest[z, z] -= (transposed @ self.turned_rest).toarray()
                cross = transposed @ self.turned_fixed
                rest[z, x] -= cross
                rest[x, z] -= cross.T
            rest[x, x] -= matrix.cluster_fixed.T @ self.turned_fixed
        total = self.n_rest + self.n_fixed
        self.root = np.zeros((0, 0))
        if total:
            if not np.isfinite(rest).all():
                raise NotPositiveDefinite
            try:
                self.root = linalg.cholesky(rest, lower=True)
            except linalg.LinAlgError:
                raise NotPositiveDefinite from None
        diagonal = np.log(np.diagonal(self.root))
        self.log_det_rest = 2.0 * float(diagonal[: self.n_rest].sum())
        self.log_det_fixed = 2.0 * float(diagonal[self.n_rest :].sum())

    def _take_alone(self, effect: IntArray, value: FloatArray, prior: FloatArray) -> None:
        """Add effects that are clusters by themselves to the log determinant.

        Readings that contradict each other may leave an effect with less curvature than its own distribution
        has. Towards none its Gaussian integral grows without bound, which the true one, of a density no wider
        than that distribution's, doesn't: a climb would end there. So below the prior's own the curvature
        counts as c = prior (1 + exp(2 (value / prior - 1))) / 2, with the same slope where the two meet.
        """
        x = value / prior
        low = x < 1.0
        grown = np.exp(2.0 * (np.minimum(x, 1.0) - 1.0))
        counted = np.where(low, 0.5 * (1.0 + grown), x)
        slope = np.where(low, grown, 1.0) / counted
        self.log_det_clusters += float(np.log(prior * counted).sum())
        # derivatives of the log determinant by what readings and prior add, less the inverse
        self.beside_readings[effect] = np.where(low, slope / prior - 1.0 / value, 0.0)
        self.beside_prior[effect] = np.where(low, (1.0 - slope * (x - 1.0)) / prior - 1.0 / value, 0.0)

    @cached_property
    def rest_inverse(self) -> FloatArray:
        """Inverse of the reduced dense part."""
        return _inverse_of(self.root) if len(self.root) else np.zeros((0, 0))

    def log_det(self, *, with_fixed: bool) -> float:
        """Of the whole matrix, or of the random effects' part (coefficients held fixed).

        Parameters
        ----------
        with_fixed : bool
            True: of the whole matrix.

        Returns
        -------
        float
        """
        total = self.log_det_clusters + self.log_det_rest
        return total + self.log_det_fixed if with_fixed else total

    def solve(self, vector: FloatArray) -> FloatArray:
        """Matrix inverse times a vector over all unknowns.

        Parameters
        ----------
        vector : ndarray (unknowns,)

        Returns
        -------
        ndarray (unknowns,)
        """
        clusters, others = vector[: self.n_clustered], vector[self.n_clustered :]
        reduced = others - np.r_[self.turned_rest.T @ clusters, self.turned_fixed.T @ clusters]
        solved = linalg.cho_solve((self.root, True), reduced) if len(reduced) else reduced
        inner = self.inverse @ clusters
        inner = inner - self.turned_rest @ solved[: self.n_rest] - self.turned_fixed @ solved[self.n_rest :]
        return np.asarray(np.r_[inner, solved])

    def solve_random(self, vector: FloatArray) -> FloatArray:
        """As `solve`, coefficients held fixed: their part of the answer is zero.

        Parameters
        ----------
        vector : ndarray (unknowns,)

        Returns
        -------
        ndarray (unknowns,)
        """
        clusters, others = vector[: self.n_clustered], vector[self.n_clustered :][: self.n_rest]
        dense = self.dense_inverse(with_fixed=False)[: self.n_rest, : self.n_rest]
        solved = dense @ (others - self.turned_rest.T @ clusters)
        inner = self.inverse @ clusters - self.turned_rest @ solved
        return np.asarray(np.r_[inner, solved, np.zeros(self.n_fixed)])

    def dense_inverse(self, *, with_fixed: bool) -> FloatArray:
        """Inverse of the reduced dense part; with coefficients held fixed their rows are zero.

        Parameters
        ----------
        with_fixed : bool
            False: coefficients are held fixed.

        Returns
        -------
        ndarray (other effects + coefficients) squared
        """
        if with_fixed:
            return self.rest_inverse
        held = np.zeros_like(self.rest_inverse)
        n = self.n_rest
        if n:
            held[:n, :n] = _inverse_of(self.root[:n, :n])
        return held

    def variances(self, *, with_fixed: bool, counted: bool = False) -> FloatArray:
        """Diagonal of the inverse, over the random effects.

        Parameters
        ----------
        with_fixed : bool
            False: coefficients are held fixed.
        counted : bool
            As the log determinant counts curvature: its derivatives by the effects' precisions.

        Returns
        -------
        ndarray (random effects,)
        """
        dense = self.dense_inverse(with_fixed=with_fixed)
        out = np.empty(self.n_clustered + self.n_rest)
        out[self.n_clustered :] = np.diagonal(dense)[: self.n_rest]
        out[: self.n_clustered] = self.inverse_flat[self.structure.diagonal]
        for start in range(0, self.n_clustered, _CHUNK):
            part = slice(start, min(start + _CHUNK, self.n_clustered))
            turned = np.hstack([self.turned_rest[part].toarray(), self.turned_fixed[part]])
            out[part] += ((turned @ dense) * turned).sum(axis=1)
        if counted:
            out[: self.n_clustered] += self.beside_prior
        return out

    def pair_covariances(self, *, with_fixed: bool, counted: bool = False) -> FloatArray:
        """Covariance of each pair of predictors that share a block: loading inverse loading'.

        Parameters
        ----------
        with_fixed : bool
            False: coefficients are held fixed.
        counted : bool
            As the log determinant counts curvature: its derivatives by what the pairs add.

        Returns
        -------
        ndarray (pairs,)
        """
        p = self.structure.problem
        dense = self.dense_inverse(with_fixed=with_fixed)
        out = np.zeros(len(p.pair_first))
        if self.n_clustered:
            inverse = self.inverse
            if counted and self.beside_readings.any():
                inverse = inverse + sparse.diags_array(self.beside_readings, format="csr")
            inner = p.clustered @ inverse
            own = (inner[p.pair_first].multiply(p.clustered[p.pair_second])).sum(axis=1)
            out += np.asarray(own).ravel()
        sparse_part = sparse.csr_array(p.rest - p.clustered @ self.turned_rest)
        dense_part = p.fixed - p.clustered @ self.turned_fixed
        for start in range(0, p.n_predictors, _CHUNK):
            # a chunk ends where a block ends, so that both members of each pair are in it
            end = min(start + _CHUNK, p.n_predictors)
            pairs = slice(int(p.pair_pointer[start]), int(p.pair_pointer[end]))
            first = p.pair_first[pairs] - start
            second = p.pair_second[pairs]
            low, high = int(second.min()), int(second.max()) + 1
            rows = np.hstack([sparse_part[start:end].toarray(), dense_part[start:end]]) @ dense
            partner = np.hstack([sparse_part[low:high].toarray(), dense_part[low:high]])
            out[pairs] += np.einsum("ij,ij->i", rows[first], partner[second - low])
        return out

    def trace_products(self, matrices: list[Symmetric], *, with_fixed: bool) -> FloatArray:
        """tr(inverse M_i inverse M_j) for every two of the matrices.

        Parameters
        ----------
        matrices : list of Symmetric (k)
        with_fixed : bool
            False: coefficients are held fixed.

        Returns
        -------
        ndarray (k, k)
        """
        count = len(matrices)
        dense = self.dense_inverse(with_fixed=with_fixed)
        if self.n_clustered * len(dense) ** 2 <= _SMALL:
            return self._small_trace_products(matrices, dense)
        blocks, leftovers, reduced = [], [], []
        for matrix in matrices:
            inner = self.structure.block_diagonal(matrix.clusters)
            rest_left = sparse.csr_array(matrix.cluster_rest - inner @ self.turned_rest)
            fixed_left = matrix.cluster_fixed - inner @ self.turned_fixed
            blocks.append(self.inverse @ inner)
            leftovers.append((rest_left, fixed_left))
            # [-W' I] M [-W; I] = r - W'b - b'W + W'aW, with b - aW the leftover
            together = self._outer(matrix.cluster_rest, matrix.cluster_fixed)
            half = self._outer(rest_left, fixed_left)
            reduced.append(dense @ (matrix.rest - together.T - half))
        out = np.zeros((count, count))
        for i in range(count):
            turned = (self.inverse @ leftovers[i][0], np.asarray(self.inverse @ leftovers[i][1]))
            for j in range(i, count):
                value = float((reduced[i] * reduced[j].T).sum())
                if self.n_clustered:
                    value += float(blocks[i].multiply(blocks[j].T).sum())
                    cross = _cross(leftovers[j], turned)
                    value += 2.0 * float((dense * cross).sum())
                out[i, j] = out[j, i] = value
        return out

    def _small_trace_products(self, matrices: list[Symmetric], dense: FloatArray) -> FloatArray:
        """The same where the coupling is small enough to be dense: less to compute than to look up."""
        turned = np.hstack([self.turned_rest.toarray(), self.turned_fixed])
        groups = [index for _, index in self.structure.by_size]
        sizes = [size for size, _ in self.structure.by_size]
        reduced, spread, solved, blocks = [], [], [], []
        for matrix in matrices:
            coupling = np.hstack([matrix.cluster_rest.toarray(), matrix.cluster_fixed])
            leftover = coupling - self.structure.block_diagonal(matrix.clusters) @ turned
            reduced.append(dense @ (matrix.rest - coupling.T @ turned - turned.T @ leftover))
            spread.append(leftover @ dense)
            solved.append(self.inverse @ leftover)
            blocks.append(
                [
                    self.inverse_flat[index].reshape(-1, size, size)
                    @ matrix.clusters[index].reshape(-1, size, size)
                    for size, index in zip(sizes, groups, strict=True)
                ]
            )
        out = np.zeros((len(matrices), len(matrices)))
        for i in range(len(matrices)):
            for j in range(i, len(matrices)):
                value = np.vdot(reduced[i], reduced[j].T) + 2.0 * np.vdot(spread[j], solved[i])
                for one, other in zip(blocks[i], blocks[j], strict=True):
                    value += np.vdot(one, other.transpose(0, 2, 1))
                out[i, j] = out[j, i] = value
        return out

    def _outer(self, rest: sparse.csr_array, fixed: FloatArray) -> FloatArray:
        """W' N, W the eliminated coupling."""
        return _cross((self.turned_rest, self.turned_fixed), (rest, fixed))


def _inverse_of(root: FloatArray) -> FloatArray:
    """Inverse of a matrix from its lower Cholesky root."""
    inverse, _ = linalg.lapack.dpotri(np.asfortranarray(root), lower=1)
    lower = np.tril(inverse)
    return np.asarray(lower + np.tril(inverse, -1).T)


def _cross(
    one: tuple[sparse.csr_array, FloatArray], other: tuple[sparse.csr_array, FloatArray]
) -> FloatArray:
    """[one]' [other] for matrices given as a sparse and a dense group of columns."""
    return np.block(
        [
            [(one[0].T @ other[0]).toarray(), np.asarray(one[0].T @ other[1])],
            [np.asarray(other[0].T @ one[1]).T, one[1].T @ other[1]],
        ]
    )
