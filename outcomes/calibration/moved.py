"""How far estimates of lift and fade move when a log is changed, in standard errors of the log's own fit."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, cast

import numpy as np
import numpy.typing as npt
import pandas as pd

from outcomes.errors import FitError, InputError
from outcomes.models.fade import FadeModel
from outcomes.models.lift import LiftModel
from outcomes.readings.fade import MEASURES, Measure

if TYPE_CHECKING:
    from outcomes.log.read import VisitLog

__all__ = ["Moved", "compare_terms", "estimates_moved", "terms_of"]

Doing = Callable[[str], AbstractContextManager[object]]


@dataclass(frozen=True, eq=False)
class Moved:
    """Estimates before and after.

    Attributes
    ----------
    table : DataFrame
        As `compare_terms` gives it, with `model`: `lift` or a measure of fade.
    left_out : mapping of str to str
        Models that couldn't be compared, and why.
    """

    table: pd.DataFrame
    left_out: Mapping[str, str]

    @property
    def furthest(self) -> pd.DataFrame:
        """The row of each model that moved furthest."""
        told = self.table.dropna(subset=["moved"])
        return told.loc[told["moved"].abs().groupby(told["model"], sort=False).idxmax()]

    def frame(self) -> pd.DataFrame:
        """One row a model and term."""
        return self.table.copy()

    def to_dict(self) -> dict[str, Any]:
        """Terms by model as JSON values, and the one that moved furthest; None where a term is gone."""
        models: dict[str, list[dict[str, Any]]] = {}
        for row in self.table.to_dict("records"):
            numbers = {
                name: None if np.isnan(row[name]) else round(float(row[name]), 4)
                for name in ("before", "after", "se", "moved")
            }
            models.setdefault(str(row["model"]), []).append(
                {"term": row["term"], "kind": row["kind"], **numbers}
            )
        furthest = {
            model: {"term": term, "moved": round(float(away), 4)}
            for model, term, away in self.furthest[["model", "term", "moved"]].itertuples(index=False)
        }
        return {"models": models, "furthest": furthest, "left_out": dict(self.left_out)}


def estimates_moved(log: VisitLog, changed: VisitLog, *, doing: Doing = nullcontext) -> Moved:
    """Fit a log and a changed one, lift and every measure of fade that both have readings enough of.

    Nothing is calibrated: recalibration is about bands, and estimates stay as they are.

    Parameters
    ----------
    log, changed : VisitLog
    doing : callable
        Makes a context from a few words, entered while that is worked on.

    Returns
    -------
    Moved
    """
    parts: list[pd.DataFrame] = []
    left_out: dict[str, str] = {}
    for name in ("lift", *MEASURES):
        what = "lift" if name == "lift" else "fade"
        try:
            with doing(f"fitting {what}, the log as it is"):
                before = terms_of(_fitted(name, log))
        except (InputError, FitError) as cause:
            left_out[name] = str(cause)
            continue
        try:
            with doing(f"fitting {what}, the changed log"):
                after = terms_of(_fitted(name, changed))
        except (InputError, FitError) as cause:
            left_out[name] = f"not the changed log: {cause}"
            continue
        parts.append(compare_terms(before, after).assign(model=name))
    columns = ["model", "term", "kind", "before", "after", "se", "moved"]
    table = pd.concat(parts, ignore_index=True) if parts else pd.DataFrame(columns=columns)
    return Moved(table[columns], left_out)


def _fitted(name: str, log: VisitLog) -> LiftModel | FadeModel:
    return LiftModel().fit(log) if name == "lift" else FadeModel(cast(Measure, name)).fit(log)


def terms_of(model: LiftModel | FadeModel) -> pd.DataFrame:
    """Estimates of a fitted model with their standard errors.

    Parameters
    ----------
    model : LiftModel or FadeModel

    Returns
    -------
    DataFrame
        Index the term. `kind`: `ratio` (of rates; the standard error is of its logarithm), `spread` (a
        standard deviation; the same) or `value`. `value`, `se`.
    """
    fit = model.fit_
    se = pd.Series(np.sqrt(np.diagonal(fit.joint_covariance)), index=fit.joint_covariance.index)
    ratios = set(model.effects().dropna(subset=["ratio"])["term"]) | {"intercept"}
    rows = []
    for name, value in fit.coefficients.items():
        term = str(name).removeprefix("additive:")
        is_ratio = term in ratios
        shown = ("rate of all references" if term == "intercept" else term, "ratio" if is_ratio else "value")
        rows.append((*shown, float(np.exp(value)) if is_ratio else float(value), float(se[str(name)])))
    if fit.shape is not None and "shape" in se:
        rows.append((f"{fit.shape.family} shape", "value", fit.shape.value, se["shape"]))
    reading = fit.reading_sd if isinstance(fit.reading_sd, Mapping) else {None: fit.reading_sd}
    names = {f"log_sd:{group}": (f"spread of {group}s", sd) for group, sd in fit.group_sd.items()}
    for kind, sd in reading.items():
        name = "log_reading_sd" if kind is None else f"log_reading_sd:{kind}"
        names[name] = ("error of a reading" if kind is None else f"error of a {kind}", sd)
    rows += [(term, "spread", float(sd), se[name]) for name, (term, sd) in names.items() if name in se]
    return pd.DataFrame(rows, columns=["term", "kind", "value", "se"]).set_index("term")


def compare_terms(before: pd.DataFrame, after: pd.DataFrame) -> pd.DataFrame:
    """How far each term moved.

    Parameters
    ----------
    before, after : DataFrame
        As `terms_of` gives them.

    Returns
    -------
    DataFrame
        `term`, `kind`, `before`, `after` (NaN: it can't be estimated any more), `se` (before), `moved`: the
        difference over `se`, of logarithms for ratios and spreads; NaN where one of them is 0, or `se`.
    """
    value, now = before["value"].astype(float), after["value"].reindex(before.index).astype(float)
    se = before["se"].astype(float)
    on_log = before["kind"] != "value"

    def on_its_scale(numbers: pd.Series[float]) -> npt.NDArray[np.float64]:
        return np.where(on_log, np.log(numbers.where(numbers > 0).to_numpy()), numbers.to_numpy())

    away = (on_its_scale(now) - on_its_scale(value)) / se.where(se > 0).to_numpy()
    return pd.DataFrame(
        {
            "term": before.index,
            "kind": before["kind"].to_numpy(),
            "before": value.to_numpy(),
            "after": now.to_numpy(),
            "se": se.to_numpy(),
            "moved": away,
        }
    )
