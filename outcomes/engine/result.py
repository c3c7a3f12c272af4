"""What a fit gives back: frozen, with its notes."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
import pandas as pd

from outcomes.engine.pieces import calm_algebra

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True)
class ShapeEstimate:
    """theta with its 95 % interval (Gaussian on the log scale); 'saturating' in reference exposures.

    Attributes
    ----------
    family : {"power", "saturating"}
    value, low, high : float
        theta and the ends of its interval.
    coverage : float
    """

    family: str
    value: float
    low: float
    high: float
    coverage: float = 0.95

    def to_dict(self) -> dict[str, object]:
        """The estimate as JSON values."""
        return {"family": self.family, "value": self.value, "low": self.low, "high": self.high}


@dataclass(frozen=True, eq=False)
class Joint:
    """Joint Gaussian approximation over [effects of small groups | coefficients] and outer parameters.

    Attributes
    ----------
    inner_names : tuple of str (inner)
    inner_mean : ndarray (inner,)
    inner_covariance : ndarray (inner, inner)
        Given the outer parameters.
    outer_names : tuple of str (outer)
    outer_mean, outer_covariance : ndarray (outer,), (outer, outer)
        Of logarithms.
    response : ndarray (inner, outer)
        d inner / d outer.
    """

    inner_names: tuple[str, ...]
    inner_mean: FloatArray
    inner_covariance: FloatArray  # given the outer parameters
    outer_names: tuple[str, ...]
    outer_mean: FloatArray  # logarithms
    outer_covariance: FloatArray
    response: FloatArray  # (inner, outer) d inner / d outer


@dataclass(frozen=True, eq=False)
class MixedFit:
    """Result of `fit_interval_mixed`.

    Attributes
    ----------
    coefficients : Series
        Additive ones as "additive:NAME".
    covariance : DataFrame
        Of the coefficients, the outer parameters as estimated.
    joint_covariance : DataFrame
        Of coefficients, "shape" (theta), "log_sd:GROUP" and "log_reading_sd" (or "log_reading_sd:KIND").
    group_sd : dict name -> float
        0 exactly where the estimate lies on its boundary (see `notes`).
    group_effects : dict name -> DataFrame
        Index the group's labels; `effect` and `sd` (coefficients integrated).
    reading_sd : float or dict kind -> float
    shape : ShapeEstimate or None
    loglik : float
        Of the criterion asked for, priors included.
    converged : bool
    notes : tuple of str
        What sits on a boundary, what isn't identified, what failed. Empty when there is nothing to say.
    diagnostics : DataFrame
        One row an outer iteration: `value`, `decrement`, `damping`, `inner_steps`, and the parameters.
    """

    coefficients: pd.Series
    covariance: pd.DataFrame
    joint_covariance: pd.DataFrame
    group_sd: Mapping[str, float]
    group_effects: Mapping[str, pd.DataFrame]
    reading_sd: float | Mapping[object, float]
    shape: ShapeEstimate | None
    loglik: float
    converged: bool
    notes: tuple[str, ...]
    diagnostics: pd.DataFrame
    joint: Joint = field(repr=False)

    def draws(self, n: int, seed: int, groups: Collection[str] | None = None) -> pd.DataFrame:
        """Draw from the joint Gaussian approximation (outer parameters on the log scale).

        Parameters
        ----------
        n : int
            Number of draws.
        seed : int
        groups : collection of str, optional
            Whose effects are drawn; all by default. Hundreds of effects that nobody asks for cost more than
            all else.

        Returns
        -------
        DataFrame (n, parameters)
            Coefficients under their names; "shape"; "sd:GROUP"; "reading_sd" (or "reading_sd:KIND"); and
            "GROUP[LABEL]" for each effect of groups that are small enough to be kept jointly.
        """
        joint = self.joint
        rng = np.random.default_rng(seed)
        outer = rng.standard_normal((n, len(joint.outer_mean))) @ _root(joint.outer_covariance).T
        wanted = self._wanted(groups)
        root = _root(joint.inner_covariance[np.ix_(wanted, wanted)])
        inner = rng.standard_normal((n, len(wanted))) @ root.T + outer @ joint.response[wanted].T
        names = [joint.inner_names[i] for i in wanted]
        frame = pd.DataFrame(joint.inner_mean[wanted] + inner, columns=names)
        logs = joint.outer_mean + outer
        for i, name in enumerate(joint.outer_names):
            plain = "shape" if name == "shape" else name.removeprefix("log_")
            frame[plain] = np.exp(logs[:, i])
        return frame

    def _wanted(self, groups: Collection[str] | None) -> npt.NDArray[np.intp]:
        """Which of the inner unknowns are coefficients, or effects of these groups."""
        left_out = {f"{name}[" for name in self.group_effects if groups is not None and name not in groups}
        names = self.joint.inner_names
        coefficients = set(self.coefficients.index)
        return np.array(
            [
                i
                for i, name in enumerate(names)
                if name in coefficients or not any(name.startswith(start) for start in left_out)
            ],
            dtype=np.intp,
        )


def _root(covariance: FloatArray) -> FloatArray:
    """A square root that bears a covariance with zero variances in it."""
    with calm_algebra(len(covariance)):
        values, vectors = np.linalg.eigh(covariance)
    return np.asarray(vectors * np.sqrt(np.maximum(values, 0.0)))
