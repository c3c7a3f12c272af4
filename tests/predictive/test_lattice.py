import numpy as np
import pytest

from outcomes.errors import InputError
from outcomes.predictive.lattice import DIMENSIONS, SIZES, lattice


@pytest.mark.parametrize("n", SIZES)
def test_every_dimension_is_spread_evenly(n: int):
    cells = np.floor(lattice(n, DIMENSIONS, 3) * n).astype(int)
    assert (np.sort(cells, axis=1) == np.arange(n)).all()


def test_the_first_pairs_of_dimensions_fill_the_square():
    points = lattice(1024, 9, 5)
    for i in range(9):
        for j in range(i):
            cells = np.floor(points[i] * 8) * 8 + np.floor(points[j] * 8)
            counts = np.bincount(cells.astype(int), minlength=64)
            assert counts.min() >= 8, (i, j)  # 16 each on average
            assert counts.max() <= 24, (i, j)


def test_seed_decides():
    assert (lattice(64, 4, 9) == lattice(64, 4, 9)).all()
    assert not (lattice(64, 4, 9) == lattice(64, 4, 10)).any()


def test_averages_beat_independent_draws():
    # E exp(sum of u_j / j) over 6 uniforms is the product of j (e^(1/j) - 1); 30 shifts of 1,024 points
    j = np.arange(1.0, 7.0)
    exact = np.prod(j * np.expm1(1 / j))
    spread = np.sqrt(np.prod(j / 2 * np.expm1(2 / j)) - exact**2)
    found = [np.exp((lattice(1024, 6, seed) / j[:, None]).sum(axis=0)).mean() for seed in range(30)]
    assert abs(np.mean(found) - exact) < 4 * np.std(found, ddof=1) / np.sqrt(30)
    assert np.std(found) < 0.1 * spread / np.sqrt(1024)


@pytest.mark.parametrize(("n", "dimensions"), [(1000, 3), (1024, 0), (1024, DIMENSIONS + 1)])
def test_other_sizes_are_refused(n: int, dimensions: int):
    with pytest.raises(InputError, match="lattice of"):
        lattice(n, dimensions, 1)
