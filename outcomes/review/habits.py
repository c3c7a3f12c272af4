"""Which habits of work differ between stylists, and what goes with them: association, not cause."""

from __future__ import annotations

import warnings
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from outcomes.predictive.hazard import HEAT_RANK

__all__ = ["HABITS", "Habit", "habit_values", "habits"]

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Habit:
    """A habit of work.

    Attributes
    ----------
    name : str
    words : str
        As it's told.
    step : float
        Difference that an association is told for.
    step_words : str
    """

    name: str
    words: str
    step: float
    step_words: str


HABITS = (
    Habit("minutes", "longest time intended, minutes", 10.0, "10 minutes longer"),
    Habit("peroxide", "developer strength, %", 3.0, "3 % stronger"),
    Habit("heat", "added heat (0 none to 3 high)", 1.0, "a step more heat"),
    Habit("looks", "looks in 45 minutes", 1.0, "a look more in 45 minutes"),
)
"""Minutes are those intended, not those it took: fast hair is rinsed early, which would look like haste."""

_FEWEST = 60  # visits for an association
_COLUMNS = (
    *("habit", "lowest", "lowest_stylist", "highest", "highest_stylist", "odds_ratio", "low", "high"),
    *("n", "p"),
)


def habit_values(visits: pd.DataFrame) -> pd.DataFrame:
    """Each habit in each visit.

    Parameters
    ----------
    visits : DataFrame (n rows)
        Canonical columns, `longest` (minutes) and `n_looks` (written; NaN where looks aren't).

    Returns
    -------
    DataFrame (n)
        A column each of `HABITS`.
    """
    minutes = visits["minutes"].to_numpy(dtype=np.float64)
    return pd.DataFrame(
        {
            "minutes": visits["longest"].to_numpy(dtype=np.float64),
            "peroxide": visits["peroxide_pct"].to_numpy(dtype=np.float64),
            "heat": visits["heat"].map(HEAT_RANK).to_numpy(dtype=np.float64),
            "looks": visits["n_looks"].to_numpy(dtype=np.float64) / minutes * 45.0,
        },
        index=visits.index,
    )


def habits(
    visits: pd.DataFrame, here: pd.Series, shown: frozenset[str], coverage: float = 0.9
) -> pd.DataFrame:
    """Compare habits, and tell what goes with them.

    Means are of the quarter, adjusted to the same levels wanted, start, hair and session of the course. The
    association is with reaching the goal in the visit, over all visits up to then, adjusted for the same and
    for the other habits; its errors hold for clients who come again.

    Parameters
    ----------
    visits : DataFrame (n rows)
        As for `habit_values`, with `reached`, `later_session`.
    here : Series of bool (n)
        Which are of the quarter.
    shown : frozenset of str
        Stylists who may be named.
    coverage : float

    Returns
    -------
    DataFrame
        A row for each habit that is written: means of the two stylists furthest apart (NaN and None with
        fewer than two), `odds_ratio` for a step with its band and `p` (NaN where too little tells), and `n`
        visits.
    """
    values = habit_values(visits)
    mix = _case_mix(visits)
    associations = _associations(values, mix, visits, coverage)
    rows = []
    for habit in HABITS:
        ends: list[tuple[float, str | None]] = [(np.nan, None)] * 2
        told = here & values[habit.name].notna()
        means = _adjusted_means(values.loc[told, habit.name], mix[told], visits.loc[told, "stylist"])
        means = means[means.index.isin(list(shown))]
        if len(means) > 1:
            ends = [
                (float(means.iloc[at]), str(means.index[at]))
                for at in map(int, (means.argmin(), means.argmax()))
            ]
        found = associations.get(habit.name, (np.nan, np.nan, np.nan, 0, np.nan))
        if values[habit.name].notna().any():
            rows.append((habit.name, *ends[0], *ends[1], *found))
    return pd.DataFrame(rows, columns=list(_COLUMNS))


def _case_mix(visits: pd.DataFrame) -> pd.DataFrame:
    start = visits["start_level"].to_numpy(dtype=np.float64)
    return pd.DataFrame(
        {
            "wanted": visits["goal_level"].to_numpy(dtype=np.float64) - start,
            "start": start,
            "coloured": (visits["hair"] == "coloured").to_numpy(dtype=float),
            "lightened": (visits["hair"] == "lightened").to_numpy(dtype=float),
            "later": visits["later_session"].to_numpy(dtype=float),
        },
        index=visits.index,
    )


def _adjusted_means(values: pd.Series, mix: pd.DataFrame, stylist: pd.Series) -> pd.Series:
    """Mean of each stylist at the case mix of all, by least squares."""
    if not len(values):
        return pd.Series(dtype=float)
    centred = (mix - mix.mean()).to_numpy()
    code, names = pd.factorize(stylist, sort=True)
    matrix = np.column_stack([np.eye(len(names))[code], centred])
    found = np.linalg.lstsq(matrix, values.to_numpy(dtype=np.float64), rcond=None)[0]
    return pd.Series(found[: len(names)], index=names)


def _associations(
    values: pd.DataFrame, mix: pd.DataFrame, visits: pd.DataFrame, coverage: float
) -> dict[str, tuple[float, float, float, int, float]]:
    """Odds ratio of reaching the goal for a step of each habit that varies, its band, n and p."""
    import statsmodels.api as sm
    from scipy.stats import norm

    varied = [h for h in HABITS if values[h.name].notna().mean() > 0.5 and values[h.name].std() > 1e-9]
    used = values[[h.name for h in varied]].notna().all(axis=1)
    reached = visits["reached"].to_numpy(dtype=float)[used]
    if not varied or used.sum() < _FEWEST or not 0.0 < reached.mean() < 1.0:
        return {}
    columns = mix[used].assign(**{h.name: values.loc[used, h.name] / h.step for h in varied})
    columns = columns.loc[:, columns.std() > 1e-9]
    matrix = sm.add_constant(columns - columns.mean())
    clients = pd.factorize(visits.loc[used, "client"])[0]
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            fit = sm.GLM(reached, matrix, family=sm.families.Binomial()).fit(
                cov_type="cluster", cov_kwds={"groups": clients}
            )
    except (Warning, np.linalg.LinAlgError, ValueError, sm.tools.sm_exceptions.PerfectSeparationError):
        return {}
    reach = norm.ppf(0.5 + 0.5 * coverage)
    return {
        h.name: (
            float(np.exp(fit.params[h.name])),
            float(np.exp(fit.params[h.name] - reach * fit.bse[h.name])),
            float(np.exp(fit.params[h.name] + reach * fit.bse[h.name])),
            int(used.sum()),
            float(fit.pvalues[h.name]),
        )
        for h in varied
        if h.name in columns
    }
