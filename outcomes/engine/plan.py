"""Which outer parameters a fit has, which of them are free, and how the rest follow."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from outcomes.engine.blocks import Structure
from outcomes.engine.joint import Setting
from outcomes.engine.problem import Problem
from outcomes.engine.readings import Values

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Tie:
    """A group's variance is a reading variance plus a constant.

    Attributes
    ----------
    kind : int
        Code of the kind of reading.
    extra : float
        The constant, 0 or more.
    """

    kind: int
    extra: float


@dataclass(frozen=True, eq=False)
class Plan:
    """Which outer parameters are free, and how the rest follow from them.

    The raw parameters are log theta (where there is a shape), the log reading sd of every kind, the log
    sd of the finest group (where quadrature integrates one), of its companion (which is that of the group
    the companion comes from) and of every other group, in this order.
    """

    problem: Problem
    structure: Structure  # of the problem's curvature
    nodes: int  # of the quadrature; 0 when no group is integrated by it
    fixed_mean: FloatArray  # (coefficients,) of the prior
    fixed_precision: FloatArray  # (coefficients,) 0 means flat
    held: Mapping[int, float]  # raw position -> value that isn't estimated
    ties: Mapping[int, Tie]  # raw position -> what it follows
    prior_mean: FloatArray  # (raw,)
    prior_precision: FloatArray  # (raw,)
    integrated: bool  # coefficients integrated; False: maximised

    @property
    def gaussian(self) -> bool:
        """Whether the readings make it the ordinary linear mixed model."""
        return self.problem.readings.gaussian

    @property
    def has_shape(self) -> bool:
        """Whether there is a theta."""
        return self.problem.readings.family is not None

    @property
    def n_kinds(self) -> int:
        """Number of kinds of reading."""
        return len(self.problem.readings.kinds)

    @property
    def n_block(self) -> int:
        """Raw parameters that act inside blocks."""
        own = int(self.problem.finest is not None) + int(self.problem.companion is not None)
        return int(self.has_shape) + self.n_kinds + own

    @property
    def n_raw(self) -> int:
        """Number of raw parameters."""
        return self.n_block + len(self.problem.groups)

    @property
    def free(self) -> list[int]:
        """Raw positions of the parameters that are estimated."""
        return [
            i
            for i in range(self.n_raw)
            if i not in self.held and i not in self.ties and i != self.companion_position
        ]

    @property
    def companion_position(self) -> int | None:
        """Raw position of the companion's log sd, if there is one."""
        return None if self.problem.companion is None else self.n_block - 1

    def kind_position(self, kind: int) -> int:
        """Raw position of a log reading sd.

        Parameters
        ----------
        kind : int
            Code of the kind of reading.

        Returns
        -------
        int
        """
        return int(self.has_shape) + kind

    def group_position(self, name: str) -> int:
        """Raw position of a group's log sd.

        Parameters
        ----------
        name : str

        Returns
        -------
        int
        """
        if self.problem.finest is not None and name == self.problem.finest.name:
            return int(self.has_shape) + self.n_kinds
        return self.n_block + [group.name for group in self.problem.groups].index(name)

    def raw(self, free: FloatArray) -> FloatArray:
        """All raw parameters from the free ones.

        Parameters
        ----------
        free : ndarray (free,)

        Returns
        -------
        ndarray (raw,)
        """
        raw = np.zeros(self.n_raw)
        raw[self.free] = free
        for position, value in self.held.items():
            raw[position] = value
        for position, tie in self.ties.items():
            raw[position] = 0.5 * np.log(np.exp(2.0 * raw[self.kind_position(tie.kind)]) + tie.extra)
        if self.problem.companion is not None:
            raw[self.n_block - 1] = raw[self.group_position(self.problem.companion.name)]
        return raw

    def jacobian(self, raw: FloatArray) -> tuple[FloatArray, list[tuple[int, int, float]]]:
        """Derivatives of the raw parameters by the free ones.

        Parameters
        ----------
        raw : ndarray (raw,)

        Returns
        -------
        matrix : ndarray (raw, free)
            d raw / d free.
        bends : list of (int, int, float)
            Second derivatives of tied ones: raw position, free position, value.
        """
        free = self.free
        matrix = np.zeros((self.n_raw, len(free)))
        matrix[free, np.arange(len(free))] = 1.0
        bends = []
        for position, tie in self.ties.items():
            source = self.kind_position(tie.kind)
            if source in free:
                variance = np.exp(2.0 * raw[source])
                share = variance / (variance + tie.extra)
                matrix[position, free.index(source)] = share
                bends.append((position, free.index(source), 2.0 * share * (1.0 - share)))
        if self.problem.companion is not None:
            whole = self.group_position(self.problem.companion.name)
            matrix[self.n_block - 1] = matrix[whole]
            bends += [(self.n_block - 1, column, bend) for at, column, bend in bends if at == whole]
        return matrix, bends

    def setting(self, raw: FloatArray) -> Setting:
        """What the inner problem is solved at.

        Parameters
        ----------
        raw : ndarray (raw,)

        Returns
        -------
        Setting
        """
        problem = self.problem
        first = int(self.has_shape)
        finest = problem.finest
        sd = float(np.exp(raw[first + self.n_kinds])) if finest is not None else 0.0
        precision = np.empty(problem.n_random)
        log_density = 0.0
        for i, group in enumerate(problem.groups):
            log_sd = raw[self.n_block + i]
            precision[problem.position[group.name]] = np.exp(-2.0 * log_sd)
            log_density -= group.size * log_sd
        return Setting(
            values=Values(
                theta=float(np.exp(raw[0])) if first else 1.0,
                log_reading_sd=raw[first : first + self.n_kinds],
                finest_sd=sd,
                companion_sd=float(np.exp(raw[self.n_block - 1])) if problem.companion is not None else 0.0,
            ),
            precision=precision,
            log_density=float(log_density),
            fixed_mean=self.fixed_mean,
            fixed_precision=self.fixed_precision,
            tilt=np.zeros(self.problem.n_fixed),
            nodes=self.nodes if finest is not None else 0,
        )
