"""What is given: the readings, sorted into blocks, and how each meets the unknown effects.

A *unit* is one reading, or a set of alternatives of which exactly one holds, each of them a row or a
branch: rows that hold together. A *block* is what is integrated by quadrature together: all units with
one code of the finest group; when nothing is integrated by quadrature, each unit is a block of its own. A
block may have a *companion*, one additive effect that no other block meets (the error of a visit's start,
say), which is integrated with it. A *predictor* is a distinct linear combination of effects inside a
block: `eta` predictors act through the link and the shape, `alpha` predictors on the scale of the reading.
Blocks see the effects only through their few predictors, so their curvature is a small matrix, and
everything beyond is linear algebra.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
from scipy import sparse

from outcomes.engine.terms import OPEN

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]


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
        """Number of effects."""
        return len(self.labels)


@dataclass(frozen=True, eq=False)
class Readings:
    """Checked input, one entry a row or a unit; nothing here changes during a fit."""

    lower: FloatArray  # (rows,) open bounds as -OPEN; an exact reading stands here
    upper: FloatArray  # (rows,) open bounds and exact readings as OPEN
    exact: BoolArray
    exposure: FloatArray  # (rows,) ones where there is no shape
    row_unit: IntArray  # (rows,) ascending
    row_branch: IntArray  # (rows,) ascending; rows of one unit that hold together share a number
    row_log_weight: FloatArray  # of the branch
    kind: IntArray  # (units,)
    kinds: tuple[object, ...]
    design: FloatArray  # (units, p)
    additive: FloatArray  # (units, q)
    coefficient_names: tuple[str, ...]
    groups: tuple[Group, ...]
    link: str
    family: str | None

    @cached_property
    def log_size(self) -> float:
        """Under the log link, log of a usual reading: an effect there moves a reading by a share of it."""
        if self.link == "identity":
            return 0.0
        ends = np.where(np.abs(self.lower) < 0.5 * OPEN, self.lower, self.upper)
        size = ends[(ends > 0) & (ends < 0.5 * OPEN)]
        return float(np.log(np.median(size))) if len(size) else 0.0

    @property
    def n_units(self) -> int:
        """Number of units."""
        return len(self.kind)

    @property
    def gaussian(self) -> bool:
        """Exact readings, identity link, nothing on a second scale: the ordinary linear mixed model."""
        single = len(self.row_unit) == self.n_units
        return self.merged and single and bool(self.exact.all())

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
    alternatives: sparse.csr_array | None  # (alternative units, branches), weights inside
    branches: sparse.csr_array | None  # (branches, alternative rows); None where every branch is one row
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
        """Effects in clusters."""
        return int(self.clustered.shape[1])

    @property
    def n_rest(self) -> int:
        """Other effects of the inner problem."""
        return int(self.rest.shape[1])

    @property
    def n_fixed(self) -> int:
        """Coefficients."""
        return int(self.fixed.shape[1])

    @property
    def n_random(self) -> int:
        """Random effects of the inner problem."""
        return self.n_clustered + self.n_rest

    @property
    def n_predictors(self) -> int:
        """Predictors of all pieces."""
        return int(self.fixed.shape[0])


def companion_nodes(count: int) -> int:
    """Nodes across a companion: half as many, for it is smoothed by the effect's own integral.

    Parameters
    ----------
    count : int
        Nodes across the effect itself.

    Returns
    -------
    int
    """
    return max(3, (count + 1) // 2)
