"""How fast hair lifts with each stylist of a team in one quarter, all else alike, and how that changed.

One more group of effects beside those of the lift model: a stylist's own deviation in each quarter. What the
visits of the quarter say by themselves, without drawing anybody towards the team, comes from a second fit in
which these visits have effects without a distribution.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from outcomes.engine import MixedFit
from outcomes.errors import InputError
from outcomes.models.arrange import Arranged, fit_arranged
from outcomes.models.lift import LiftModel

__all__ = ["StylistRates", "stylist_rates"]

FloatArray = npt.NDArray[np.float64]

GROUP = "stylist_quarter"
_OWN = "own:"  # columns of the second fit
_THIS = "this_quarter"
_MOST = 450  # effects of quarters that draws keep jointly; earlier quarters share none beyond that
_NODES, _TOLERANCE = 9, 0.01  # both start from the model's own fit


@dataclass(frozen=True, eq=False)
class StylistRates:
    """Lift rates of the S stylists of a quarter, each against the middle of these S.

    Attributes
    ----------
    stylists : tuple of str
    quarter : str
    log_ratio : ndarray (D, S)
        Draws of the log of the rate ratio, drawn towards the team as far as few visits tell little.
    change : ndarray (D, S)
        Draws of the log of this quarter's rate over that of the quarter before; NaN for who wasn't there
        then.
    raw, raw_error : ndarray (S,)
        Log of the rate ratio by the quarter's own visits, drawn towards nobody, and its standard error.
    sd_stylist, sd_quarter : float
        Between stylists, and between quarters of a stylist, of log R.
    converged : bool
        Whether both fits settled; where one didn't, draws may be anything.
    """

    stylists: tuple[str, ...]
    quarter: str
    log_ratio: FloatArray
    change: FloatArray
    raw: FloatArray
    raw_error: FloatArray
    sd_stylist: float
    sd_quarter: float
    converged: bool

    def table(self, coverage: float = 0.9) -> pd.DataFrame:
        """Ratios and their bands, one row a stylist.

        Parameters
        ----------
        coverage : float

        Returns
        -------
        DataFrame (S)
            `stylist`, `raw`, `value`, `low`, `high`, `change`, `change_low`, `change_high` (ratios; NaN where
            there is none), `best_third`, `lowest_third` (chances to be there; NaN for teams of fewer than 3).
        """
        tail = 0.5 * (1.0 - coverage)
        ends = [tail, 0.5, 1.0 - tail]
        low, value, high = np.exp(np.quantile(self.log_ratio, ends, axis=0))
        was_there = ~np.isnan(self.change[0])
        changes = np.full((3, len(self.stylists)), np.nan)
        changes[:, was_there] = np.exp(np.quantile(self.change[:, was_there], ends, axis=0))
        best, lowest = self._thirds()
        return pd.DataFrame(
            {
                "stylist": self.stylists,
                "raw": np.exp(self.raw),
                "value": value,
                "low": low,
                "high": high,
                "change": changes[1],
                "change_low": changes[0],
                "change_high": changes[2],
                "best_third": best,
                "lowest_third": lowest,
            }
        )

    def _thirds(self) -> tuple[FloatArray, FloatArray]:
        n = len(self.stylists)
        if n < 3:
            return np.full(n, np.nan), np.full(n, np.nan)
        third = round(n / 3)
        rank = self.log_ratio.argsort(axis=1).argsort(axis=1)
        return (rank >= n - third).mean(axis=0), (rank < third).mean(axis=0)


def stylist_rates(
    model: LiftModel,
    quarter: pd.Period,
    team: Collection[str] | None = None,
    *,
    draws: int = 4000,
    seed: int = 1,
) -> StylistRates | None:
    """Compare the stylists of a quarter.

    Parameters
    ----------
    model : LiftModel
        Fitted to visits up to the end of that quarter.
    quarter : Period
        Of three months.
    team : collection of str, optional
        Stylists to compare with each other; without it, all who worked in that quarter.
    draws, seed : int

    Returns
    -------
    StylistRates or None
        None where the quarter has a single stylist of the team, who has nobody to be compared with.

    Raises
    ------
    InputError
        The log has no visit of the team in that quarter.
    FitError
        As the engine.
    """
    visits = model.readings_.visits
    when = visits["date"].dt.to_period("Q")
    here = (when == quarter).to_numpy(dtype=bool)
    if team is not None:
        here = here & visits["stylist"].astype(str).isin(list(team)).to_numpy(dtype=bool)
    if not here.any():
        raise InputError(f"quarter {quarter}: the log has no visit in it")
    stylists = tuple(sorted(visits.loc[here, "stylist"].astype(str).unique()))
    if len(stylists) < 2:
        return None
    arranged = model.arranged_
    fit = _with_quarters(model, arranged, visits["stylist"].astype(str), when)
    frame = fit.draws(draws, seed, groups=("stylist", GROUP))
    zero = np.zeros(len(frame))

    def effect(group: str, label: str) -> FloatArray:
        name = f"{group}[{label}]"
        return frame[name].to_numpy(dtype=np.float64) if name in frame else zero

    own = np.array([effect("stylist", code) for code in stylists]).T
    now = np.array([effect(GROUP, f"{code} {quarter}") for code in stylists]).T
    before = np.array([effect(GROUP, f"{code} {quarter - 1}") for code in stylists]).T
    then = visits.loc[(when == quarter - 1).to_numpy(dtype=bool), "stylist"].astype(str).unique()
    before[:, ~np.isin(stylists, then)] = np.nan
    raw, error, settled = _by_themselves(model, arranged, visits["stylist"].astype(str), here, stylists, fit)
    both = own + now
    return StylistRates(
        stylists=stylists,
        quarter=str(quarter),
        log_ratio=both - both.mean(axis=1, keepdims=True),
        change=now - before,
        raw=raw,
        raw_error=error,
        sd_stylist=float(fit.group_sd.get("stylist", 0.0)),
        sd_quarter=float(fit.group_sd.get(GROUP, 0.0)),
        converged=fit.converged and settled,
    )


def _with_quarters(model: LiftModel, arranged: Arranged, stylist: pd.Series, when: pd.Series) -> MixedFit:
    """The lift model's fit with one more group: stylist and quarter."""
    codes = (stylist + " " + when.astype(str)).astype(object)
    quarters = sorted(when.unique(), reverse=True)
    kept = next(
        (k for k in range(len(quarters), 1, -1) if codes[when.isin(quarters[:k])].nunique() <= _MOST), 1
    )
    codes = codes.where(when.isin(quarters[:kept]), None)
    readings = codes.to_numpy(dtype=object)[model.readings_.visit]
    groups = dict(arranged.groups)
    # in a single quarter a stylist's deviation in it is the stylist's own
    if len(quarters) > 1:
        groups[GROUP] = pd.Series(readings, dtype=object)
    return _settled(model, replace(arranged, groups=groups), model.fit_)


def _settled(model: LiftModel, arranged: Arranged, start: MixedFit, flat: tuple[str, ...] = ()) -> MixedFit:
    """Quickly, or where that doesn't settle, with the engine's own care."""
    fit = fit_arranged(
        arranged,
        model.shape_,
        use_prior=model.use_prior,
        flat=flat,
        nodes=_NODES,
        start=start,
        tolerance=_TOLERANCE,
    )
    if fit.converged:
        return fit
    return fit_arranged(arranged, model.shape_, use_prior=model.use_prior, flat=flat)


def _by_themselves(
    model: LiftModel,
    arranged: Arranged,
    stylist: pd.Series,
    here: npt.NDArray[np.bool_],
    stylists: tuple[str, ...],
    start: MixedFit,
) -> tuple[FloatArray, FloatArray, bool]:
    """Log rate ratios of the quarter's stylists without a distribution between them, and standard errors."""
    of_reading = model.readings_.visit
    reading_here = here[of_reading]
    code = stylist.to_numpy(dtype=object)[of_reading]
    last = code == stylists[-1]
    # deviations from the middle of these stylists: the last one's is minus the sum of the others'
    columns = {f"{_OWN}{name}": (code == name).astype(float) - last for name in stylists[:-1]}
    own = pd.DataFrame(columns).where(pd.Series(reading_here), 0.0)
    if not here.all():
        own[_THIS] = reading_here.astype(float)
    groups = dict(arranged.groups)
    if "stylist" in groups:
        others = groups["stylist"].where(pd.Series(~reading_here), None)
        groups["stylist"] = others
        if others.nunique() < 2:
            del groups["stylist"]
    wider = replace(arranged, design=pd.concat([arranged.design, own], axis=1), groups=groups)
    fit = _settled(model, wider, start, flat=tuple(own.columns))
    names = [f"{_OWN}{name}" for name in stylists[:-1]]
    turn = np.vstack([np.eye(len(names)), -np.ones(len(names))])
    covariance = fit.joint_covariance.loc[names, names].to_numpy(dtype=np.float64)
    raw = turn @ fit.coefficients[names].to_numpy(dtype=np.float64)
    return raw, np.sqrt(np.einsum("ij,jk,ik->i", turn, covariance, turn)), fit.converged
