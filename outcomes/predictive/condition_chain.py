"""Strand condition (5 strong to 1 breaking) over the sessions of a course, as a chain of whole points.

A session takes m + b + e points off, m from the treatment and the condition before, b the client's own and
the same in every session, e the session's; what is written is the nearest whole point, 1 at worst, and never
better than before. Until the next session hair may recover: shares of a change of -2 ... 2 points, one row
for hair that stands as it did before the course, one for hair that lost.

A page needs of `ConditionLosses`: `coefficients` (D, 8), `sd_client`, `sd_session`, `recovery` (2, 5),
`visits` and `pauses`; besides, `CLIENTS` (9 nodes and weights) and the terms of a session as `LOSS_TERMS`
lists them. No random number is used.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from outcomes.errors import InputError
from outcomes.predictive.hazard import HAZARD_TERMS, hazard_features
from outcomes.predictive.normal import normal_cdf

__all__ = [
    "BEFORE",
    "BEST",
    "CLIENTS",
    "CONDITIONS",
    "LOSS_TERMS",
    "STRONG",
    "ConditionChain",
    "ConditionLosses",
    "follow_condition",
]

FloatArray = npt.NDArray[np.float64]

BEFORE = "condition_before"
STRONG = 4.0
"""Conditions before stand against it."""

BEST = 5
CONDITIONS = np.arange(1.0, BEST + 1.0)
LOSS_TERMS = (*HAZARD_TERMS, BEFORE)
"""As `hazard_features` has them, minutes as they are passed; then the condition before, less 4."""

_nodes, _weights = np.polynomial.hermite_e.hermegauss(9)
CLIENTS: tuple[FloatArray, FloatArray] = (_nodes, _weights / _weights.sum())
"""Standard deviations of a client from the middle, and their weights (Gauss-Hermite)."""

_CHANGES = np.arange(-2, 3)
_SUM = 1e-4


def _unchanged() -> FloatArray:
    return np.tile((_CHANGES == 0).astype(np.float64), (2, 1))


@dataclass(frozen=True, eq=False)
class ConditionLosses:
    """What sessions take off strand condition, in D draws; no draws: it isn't known.

    Attributes
    ----------
    coefficients : ndarray (D, 8)
        Of `LOSS_TERMS`, points lost.
    sd_client, sd_session : float
        Points: of a client over all sessions, and of one session.
    recovery : ndarray (2, 5)
        Shares of a change of -2 ... 2 points until the next session: of hair as before the course or better,
        of hair that lost. Rows add up to 1.
    visits : int
        With both conditions.
    pauses : int
        Pairs of sessions that recovery rests on; 0: taken as none.

    Raises
    ------
    InputError
        Arrays that don't fit each other, a spread below 0, shares that don't add up to 1.
    """

    coefficients: FloatArray = field(default_factory=lambda: np.zeros((0, len(LOSS_TERMS))))
    sd_client: float = 0.0
    sd_session: float = 1.0
    recovery: FloatArray = field(default_factory=_unchanged)
    visits: int = 0
    pauses: int = 0

    def __post_init__(self) -> None:
        n = len(self.coefficients)
        shapes = {
            "coefficients": (self.coefficients, (n, len(LOSS_TERMS))),
            "recovery": (self.recovery, (2, len(_CHANGES))),
        }
        for name, (found, wanted) in shapes.items():
            if found.shape != wanted:
                raise InputError(f"{name}: found shape {found.shape}; expected {wanted}")
        if self.sd_client < 0 or self.sd_session <= 0:
            raise InputError("sd_session: found a spread at or below 0; expected a number above 0")
        if (self.recovery < 0).any() or (abs(self.recovery.sum(axis=1) - 1.0) > _SUM).any():
            raise InputError("recovery: found shares below 0, or that don't add up to 1")

    @property
    def is_known(self) -> bool:
        """Whether anything was learned."""
        return len(self.coefficients) > 0

    def after(self, minutes: float, peroxide: float, heat: str, hair: str, later: bool) -> FloatArray:
        """Chances of every condition after a session, by the condition before.

        Parameters
        ----------
        minutes, peroxide : float
        heat, hair : str
        later : bool
            Whether it's a later session of the course.

        Returns
        -------
        ndarray (D, 9, 5, 5)
            By draw and node of the client; from the condition before to the one after.
        """
        words = [np.array([word], dtype=object) for word in (heat, hair)]
        treatment = hazard_features(
            np.array([minutes]), np.array([peroxide]), words[0], words[1], np.array([later])
        )
        terms = np.column_stack([np.tile(treatment, (BEST, 1)), CONDITIONS - STRONG])
        mean = (self.coefficients @ terms.T)[:, None, :] + self.sd_client * CLIENTS[0][:, None]
        # chance that at most so many points are lost; whoever loses more than there are ends at 1
        points = np.arange(BEST) + 0.5
        within = normal_cdf((points - mean[..., None]) / self.sd_session)
        found = np.zeros((*mean.shape, BEST))
        for before in range(BEST):
            lost = np.diff(within[:, :, before, :before], axis=-1, prepend=0.0)
            found[:, :, before, before - np.arange(before)] = lost
            found[:, :, before, 0] += 1.0 - lost.sum(axis=-1)
        return found

    def until_next(self, before_course: int) -> FloatArray:
        """Chances of the condition at the next session, by the condition after the last.

        Parameters
        ----------
        before_course : int
            Condition before the first session.

        Returns
        -------
        ndarray (5, 5)
        """
        found = np.zeros((BEST, BEST))
        for now in range(BEST):
            shares = self.recovery[int(now + 1 < before_course)]
            np.add.at(found[now], np.clip(now + _CHANGES, 0, BEST - 1), shares)
        return found


@dataclass(frozen=True, eq=False)
class ConditionChain:
    """Condition over a course.

    Attributes
    ----------
    after : ndarray (limit, 5)
        Chances of 1 to 5 after each session, as if every course went on so far.
    below : ndarray (limit,)
        Chance of standing below the floor then.
    first_below : ndarray (limit,)
        Chance of falling below it in that session for the first time.
    end : ndarray (5,)
        Chances after a course's last session: the goal read, or below the floor, or the limit reached.
    stops : float
        Chance of falling below the floor before the goal is read, within the limit.
    """

    after: FloatArray
    below: FloatArray
    first_below: FloatArray
    end: FloatArray
    stops: float


def follow_condition(
    losses: ConditionLosses,
    treatments: Sequence[FloatArray],
    before: int,
    floor: int,
    sessions: Sequence[float],
) -> ConditionChain:
    """Follow condition from session to session.

    Parameters
    ----------
    losses : ConditionLosses
    treatments : sequence of ndarray (limit)
        From `ConditionLosses.after`, one a session.
    before : int
        Condition before, 1 to 5.
    floor : int
        Courses go on as long as it isn't below.
    sessions : sequence of float (limit + 1)
        Chances of 1, 2, ..., limit sessions, then of more, independent of condition.

    Returns
    -------
    ConditionChain
    """
    rest = losses.until_next(before)
    shape = treatments[0].shape[:2]
    weight = np.broadcast_to(CLIENTS[1] / shape[0], shape)  # of each draw and node
    anyhow = np.zeros((*shape, BEST))
    anyhow[..., before - 1] = 1.0
    strong = anyhow.copy()  # those that were never below the floor
    is_below = floor > CONDITIONS
    after, below, first_below, end = [], [], [], np.zeros(BEST)
    going = 1.0  # courses whose goal isn't read yet, whatever their condition
    for session, (treatment, done) in enumerate(zip(treatments, sessions[:-1], strict=True), start=1):
        anyhow, strong = (np.einsum("dcb,dcba->dca", state, treatment) for state in (anyhow, strong))
        now, still = (np.einsum("dc,dca->a", weight, state) for state in (anyhow, strong))
        after.append(now)
        below.append(float(now[is_below].sum()))
        first_below.append(float(still[is_below].sum()))
        ends = going if session == len(treatments) else done
        end += ends * still + (going - ends) * still * is_below
        going -= done
        strong = (strong * ~is_below) @ rest
        anyhow = anyhow @ rest
    alive = 1.0 - np.cumsum(sessions[:-1])
    stops = float(alive @ np.array(first_below))
    return ConditionChain(np.array(after), np.array(below), np.array(first_below), end, stops)
