"""Block elimination against dense linear algebra on the same small problems."""

import numpy as np
import pytest

from outcomes.engine.blocks import Structure, Symmetric
from outcomes.engine.factor import Factor, NotPositiveDefinite

# nodes 7: the visit is integrated and client, stylist remain; nodes 1: start and visit effects remain too
LAYOUTS = ["clusters", "clusters of several", "one dense rest", "no effects", "nested only"]


def _plan(layout, make_case, make_plan):
    if layout == "clusters":
        return make_plan(make_case(missing=False, additive=False), nodes=7)
    if layout == "clusters of several":
        return make_plan(make_case(missing=False, additive=False), nodes=1)
    if layout == "one dense rest":
        # a reading without a client belongs to no cluster
        given = make_case()
        client = given["groups"]["client"].astype(float)
        client[0] = np.nan
        return make_plan(given | {"groups": given["groups"] | {"client": client}}, nodes=7)
    given = make_case(missing=False, additive=False)
    if layout == "no effects":
        return make_plan(given | {"groups": {}}, nodes=1)
    client = given["groups"]["client"]
    nested = {"client": client, "place": client % 2 == 0}
    return make_plan(given | {"groups": nested}, nodes=1)


class Dense:
    """The same matrices, written out."""

    def __init__(self, plan, seed):
        problem = plan.problem
        self.problem, self.structure = problem, Structure(problem)
        self.loadings = np.hstack([problem.clustered.toarray(), problem.rest.toarray(), problem.fixed])
        rng = np.random.default_rng(seed)
        n = problem.n_predictors
        root = rng.standard_normal((n, n))
        # any symmetric matrix will do that meets pairs inside blocks only; diagonal blocks of root root'
        whole = root @ root.T / n + np.eye(n)
        self.pairs = whole[problem.pair_first, problem.pair_second]
        self.weights = np.zeros((n, n))
        self.weights[problem.pair_first, problem.pair_second] = self.pairs
        self.matrix = self.loadings.T @ self.weights @ self.loadings
        self.precision = rng.uniform(0.5, 3.0, problem.n_random)
        self.fixed_precision = rng.uniform(0.0, 0.5, problem.n_fixed)
        self.whole = self.matrix + np.diag(np.r_[self.precision, self.fixed_precision])

    def factor(self):
        return Factor(
            self.structure, self.structure.assemble(self.pairs), self.precision, self.fixed_precision
        )

    def inverse(self, with_fixed):
        if with_fixed:
            return np.linalg.inv(self.whole)
        r = self.problem.n_random
        out = np.zeros_like(self.whole)
        out[:r, :r] = np.linalg.inv(self.whole[:r, :r])
        return out


def _written_out(problem, structure, matrix: Symmetric):
    c, r = problem.n_clustered, problem.n_random
    out = np.zeros((r + problem.n_fixed,) * 2)
    out[:c, :c] = structure.block_diagonal(matrix.clusters).toarray()
    out[:c, c:r] = matrix.cluster_rest.toarray()
    out[:c, r:] = matrix.cluster_fixed
    out[c:, :c] = out[:c, c:].T
    out[c:, c:] = matrix.rest
    return out


@pytest.fixture(params=LAYOUTS)
def dense(request, make_case, make_plan):
    return Dense(_plan(request.param, make_case, make_plan), 3)


def test_layouts_are_what_they_are_called(make_case, make_plan):
    found = {name: _plan(name, make_case, make_plan).problem for name in LAYOUTS}
    assert found["clusters"].n_clustered == 4
    assert found["clusters"].n_rest == 2
    assert found["clusters of several"].cluster_sizes.max() > 1
    assert found["one dense rest"].n_clustered == 0
    # of the start errors those that more than one block meets: before visits 3, 6 and 9, and of visit 6
    assert found["one dense rest"].n_rest == 4 + 2 + 4
    assert found["no effects"].n_random == 0
    assert found["nested only"].n_random == 6


def test_assembled_matrix(dense):
    assembled = _written_out(dense.problem, dense.structure, dense.structure.assemble(dense.pairs))
    np.testing.assert_allclose(assembled, dense.matrix, atol=1e-10)
    diagonal = dense.structure.diagonal_matrix(dense.precision)
    expected = np.diag(np.r_[dense.precision, np.zeros(dense.problem.n_fixed)])
    np.testing.assert_allclose(_written_out(dense.problem, dense.structure, diagonal), expected, atol=0)


@pytest.mark.parametrize("with_fixed", [True, False])
def test_log_determinant(dense, with_fixed):
    size = len(dense.whole) if with_fixed else dense.problem.n_random
    expected = np.linalg.slogdet(dense.whole[:size, :size])[1] if size else 0.0
    assert dense.factor().log_det(with_fixed=with_fixed) == pytest.approx(expected, rel=1e-11, abs=1e-11)


@pytest.fixture
def contradicted(make_case, make_plan):
    """Readings of the first client take curvature away from its effect; the whole stays positive definite."""
    dense = Dense(_plan("clusters", make_case, make_plan), 3)
    client = np.asarray(dense.problem.clustered[:, [0]].toarray()).ravel() != 0
    dense.pairs = np.where(client[dense.problem.pair_first], -0.02, 1.0) * dense.pairs
    dense.precision = dense.precision + 2.0
    return dense


@pytest.mark.parametrize("with_fixed", [True, False])
def test_curvature_below_an_effects_own_counts_otherwise(contradicted, with_fixed):
    dense = contradicted
    weights = np.zeros((dense.problem.n_predictors,) * 2)
    weights[dense.problem.pair_first, dense.problem.pair_second] = dense.pairs
    whole = dense.loadings.T @ weights @ dense.loadings
    whole += np.diag(np.r_[dense.precision, dense.fixed_precision])
    size = len(whole) if with_fixed else dense.problem.n_random
    left, prior = whole[0, 0], dense.precision[0]
    assert 0 < left < prior
    counted = prior * (1.0 + np.exp(2.0 * (left / prior - 1.0))) / 2.0
    expected = np.linalg.slogdet(whole[:size, :size])[1] + np.log(counted / left)
    factor = dense.factor()
    assert factor.log_det(with_fixed=with_fixed) == pytest.approx(expected, rel=1e-11)
    # variances are what they are
    inverse = np.linalg.inv(whole[:size, :size])
    assert factor.variances(with_fixed=with_fixed)[0] == pytest.approx(inverse[0, 0])


@pytest.mark.parametrize("with_fixed", [True, False])
def test_its_log_determinant_has_the_slopes_that_are_given(contradicted, with_fixed):
    dense, rng, h = contradicted, np.random.default_rng(6), 1e-5
    pairs, precision = dense.pairs.copy(), dense.precision.copy()
    factor = dense.factor()
    change = rng.standard_normal((dense.problem.n_predictors,) * 2)
    by_pairs = (change + change.T)[dense.problem.pair_first, dense.problem.pair_second]
    by_prior = rng.standard_normal(len(precision))

    def log_det(step, pairs_too, prior_too):
        dense.pairs = pairs + step * pairs_too * by_pairs
        dense.precision = precision + step * prior_too * by_prior
        return dense.factor().log_det(with_fixed=with_fixed)

    slope = (log_det(h, 1, 0) - log_det(-h, 1, 0)) / (2 * h)
    found = factor.pair_covariances(with_fixed=with_fixed, counted=True)
    assert found @ by_pairs == pytest.approx(slope, rel=1e-6)
    slope = (log_det(h, 0, 1) - log_det(-h, 0, 1)) / (2 * h)
    assert factor.variances(with_fixed=with_fixed, counted=True) @ by_prior == pytest.approx(slope, rel=1e-6)


def test_solutions(dense):
    vector = np.random.default_rng(4).standard_normal(len(dense.whole))
    factor = dense.factor()
    np.testing.assert_allclose(factor.solve(vector), np.linalg.solve(dense.whole, vector), rtol=1e-9)
    held = dense.inverse(False) @ vector
    np.testing.assert_allclose(factor.solve_random(vector), held, rtol=1e-9, atol=1e-12)


@pytest.mark.parametrize("with_fixed", [True, False])
def test_variances_and_pair_covariances(dense, with_fixed):
    inverse, factor, r = dense.inverse(with_fixed), dense.factor(), dense.problem.n_random
    np.testing.assert_allclose(factor.variances(with_fixed=with_fixed), np.diagonal(inverse)[:r], rtol=1e-9)
    covariance = dense.loadings @ inverse @ dense.loadings.T
    np.testing.assert_allclose(
        factor.pair_covariances(with_fixed=with_fixed),
        covariance[dense.problem.pair_first, dense.problem.pair_second],
        rtol=1e-9,
        atol=1e-12,
    )


@pytest.mark.parametrize("small", [True, False])
@pytest.mark.parametrize("with_fixed", [True, False])
def test_traces_of_products(dense, with_fixed, small, monkeypatch):
    monkeypatch.setattr("outcomes.engine.factor._SMALL", 10**12 if small else -1)
    rng, r = np.random.default_rng(6), dense.problem.n_random
    inverse = dense.inverse(with_fixed)
    parts, written = [], []
    for _ in range(2):
        other = rng.standard_normal((dense.problem.n_predictors,) * 2)
        other = (other + other.T)[dense.problem.pair_first, dense.problem.pair_second]
        parts.append(dense.structure.assemble(other))
    parts.append(dense.structure.diagonal_matrix(rng.uniform(0.0, 2.0, r)))
    written = [_written_out(dense.problem, dense.structure, part) for part in parts]
    expected = [[np.trace(inverse @ a @ inverse @ b) for b in written] for a in written]
    found = dense.factor().trace_products(parts, with_fixed=with_fixed)
    np.testing.assert_allclose(found, expected, rtol=1e-8, atol=1e-9)


def test_a_saddle_is_refused(dense):
    structure = dense.structure
    for sign in (-1.0, np.nan):
        with pytest.raises(NotPositiveDefinite):
            Factor(
                structure,
                structure.assemble(sign * dense.pairs),
                0.0 * dense.precision,
                dense.fixed_precision,
            )
