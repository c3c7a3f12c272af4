"""Are the bands honest? Everything that was checked out of sample, in one answer."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, ClassVar, Self, TypeVar

import numpy as np
import pandas as pd

from outcomes.calibration.ahead import quarter_ahead
from outcomes.calibration.calibrate import Calibrated
from outcomes.calibration.checked import CheckedReadings, check_readings
from outcomes.calibration.coverage import FEWEST, coverage_table, flags_table, reading_weights
from outcomes.calibration.peers import scores_table
from outcomes.calibration.pit import interval_pit_band, interval_pit_heights
from outcomes.calibration.reliability import reach_table, sessions_table
from outcomes.models.lift import LiftModel
from outcomes.models.rate import RateModel
from outcomes.predictive.distribution import Predictive, Recalibration
from outcomes.predictive.fade import FadePredictive
from outcomes.predictive.lift import LiftPredictive

if TYPE_CHECKING:
    from outcomes.log.read import VisitLog

__all__ = ["BINS", "COLUMNS", "TABLES", "Audit", "BandAudit", "audit", "audit_fade", "with_audit"]

P = TypeVar("P", bound=Predictive)

BINS = 10
"""Of the histogram of probability integral transforms."""

_CHANCES = ("from", "to", "predicted", "observed", "low", "high", "left_failed", "n")
COLUMNS = {
    "coverage": ("group", "reading", "nominal", "observed", "low", "high", "printed", "n"),
    "reach": _CHANCES,
    "sessions": ("sessions", *_CHANCES),
    "scores": ("model", "crps", "interval_score_80", "log_score", "n"),
    "flags": ("group", "reading", "what", "observed", "expected", "n", "p"),
}
"""Of each table."""

TABLES = tuple(COLUMNS)


@dataclass(frozen=True, eq=False, kw_only=True)
class BandAudit:
    """What was checked of the bands of any reading, of lift or of fade.

    Attributes
    ----------
    coverage, flags : DataFrame
        From `coverage_table` and `flags_table`.
    heights : mapping of str to tuple of float
        Histogram of interval probability integral transforms by "first" and "later", as densities.
    by_chance : mapping of str to tuple of (float, float)
        Low and high of each of these heights: all lie within 95 times in 100 if the forecast is right. None
        with fewer than 20 clients.
    recalibration : mapping
        What was rescaled.
    notes : tuple of str
        What couldn't be checked, and why.
    """

    tables: ClassVar[tuple[str, ...]] = ("coverage", "flags")

    coverage: pd.DataFrame
    flags: pd.DataFrame
    heights: Mapping[str, tuple[float, ...]]
    by_chance: Mapping[str, tuple[tuple[float, float], ...]]
    recalibration: Mapping[str, Any]
    notes: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """As JSON values; the tables as lists of rows."""
        tables = {name: _rows(getattr(self, name)) for name in self.tables}
        heights = {name: list(values) for name, values in self.heights.items()}
        return {
            **tables,
            "heights": heights,
            "by_chance": {name: [list(ends) for ends in bars] for name, bars in self.by_chance.items()},
            "recalibration": dict(self.recalibration),
            "notes": list(self.notes),
        }

    @classmethod
    def from_dict(cls, stored: Mapping[str, Any]) -> Self:
        """What `to_dict` wrote, as a model file keeps it.

        Parameters
        ----------
        stored : mapping

        Returns
        -------
        Audit
        """
        # without a row a table still has its columns
        tables = {name: pd.DataFrame(stored[name], columns=list(COLUMNS[name])) for name in cls.tables}
        heights = {name: tuple(values) for name, values in stored["heights"].items()}
        by_chance = {
            name: tuple((float(low), float(high)) for low, high in bars)
            for name, bars in stored["by_chance"].items()
        }
        return cls(
            **tables,
            heights=heights,
            by_chance=by_chance,
            recalibration=stored["recalibration"],
            notes=tuple(stored["notes"]),
        )


@dataclass(frozen=True, eq=False, kw_only=True)
class Audit(BandAudit):
    """Of lift, besides: whether stated chances came true, and scores beside those of other methods.

    Attributes
    ----------
    reach, sessions : DataFrame
        From `reach_table` and `sessions_table`.
    scores : DataFrame
        From `scores_table`.
    """

    tables: ClassVar[tuple[str, ...]] = TABLES

    reach: pd.DataFrame
    sessions: pd.DataFrame
    scores: pd.DataFrame


def audit(
    model: LiftModel,
    calibrated: Calibrated[LiftPredictive],
    log: VisitLog | None = None,
    *,
    peers: bool = True,
    recalibration: Recalibration | None = None,
    seed: int = 1,
) -> Audit | None:
    """Check a calibrated model out of sample.

    Parameters
    ----------
    model : LiftModel
    calibrated : Calibrated
        From `calibrate(model)`.
    log : VisitLog, optional
        The model's; with it the last quarter is told by those before, which takes another fit.
    peers : bool
        Whether other methods are scored too.
    recalibration : Recalibration, optional
        Checked in place of the calibrated model's own, to see that a wrong one is found out.
    seed : int

    Returns
    -------
    Audit or None
        None where nobody could be left out.
    """
    held = calibrated.held_out
    if held is None or calibrated.recalibrated is None:
        return None
    if recalibration is not None:
        held = held.with_recalibration(recalibration)
    checked = check_readings(model.told_rows_, held, seed)
    return Audit(
        **_bands(model, calibrated, checked, log, seed),
        reach=reach_table(checked, held, seed),
        sessions=sessions_table(checked, held, seed),
        scores=scores_table(checked, held, peers=peers),
    )


def audit_fade(
    model: RateModel[FadePredictive],
    calibrated: Calibrated[FadePredictive],
    log: VisitLog | None = None,
    *,
    seed: int = 1,
) -> BandAudit | None:
    """Check a calibrated model of fade out of sample.

    Parameters
    ----------
    model : FadeModel
    calibrated : Calibrated
        From `calibrate(model)`.
    log : VisitLog, optional
        The model's; with it the last quarter is told by those before, which takes another fit.
    seed : int

    Returns
    -------
    BandAudit or None
        None where nobody could be left out.
    """
    held = calibrated.held_out
    if held is None or calibrated.recalibrated is None:
        return None
    checked = check_readings(model.told_rows_, held, seed)
    return BandAudit(**_bands(model, calibrated, checked, log, seed))


def _bands(
    model: RateModel[P],
    calibrated: Calibrated[P],
    checked: CheckedReadings,
    log: VisitLog | None,
    seed: int,
) -> dict[str, Any]:
    """Fields of `BandAudit`."""
    assert calibrated.recalibrated is not None
    readings, notes = checked.frame, list(calibrated.notes)
    if log is not None:
        ahead, reason = quarter_ahead(log, model, seed=seed)
        if ahead is None:
            notes.append(reason)
        else:
            readings = pd.concat([readings, ahead], ignore_index=True)
    drawn = {name: _histogram(checked.frame, name) for name in ("first", "later")}
    return {
        "coverage": coverage_table(readings),
        "flags": flags_table(readings),
        "heights": {name: heights for name, (heights, _) in drawn.items()},
        "by_chance": {name: bars for name, (_, bars) in drawn.items()},
        "recalibration": calibrated.recalibrated.to_dict(),
        "notes": tuple(notes),
    }


def with_audit(predictive: P, found: BandAudit | None) -> P:
    """A distribution that carries its audit into the model file.

    Parameters
    ----------
    predictive : Predictive
    found : BandAudit or None

    Returns
    -------
    Predictive
    """
    return predictive if found is None else replace(predictive, audit=found.to_dict())


def _histogram(
    readings: pd.DataFrame, which: str
) -> tuple[tuple[float, ...], tuple[tuple[float, float], ...]]:
    """Heights of the bars, and how far each goes by chance."""
    rows = readings[readings["reading"] == which]
    if not len(rows):
        return (), ()
    low, high = (np.clip(rows[name].to_numpy(dtype=np.float64), 0.0, 1.0) for name in ("low", "high"))
    clients = rows["client"].to_numpy()
    weight = reading_weights(clients)
    heights = tuple(float(height) for height in interval_pit_heights(low, high, BINS, weight))
    if len(np.unique(clients)) < FEWEST:
        return heights, ()
    least, most = interval_pit_band(low, high, BINS, clients, weight)
    return heights, tuple((float(a), float(b)) for a, b in zip(least, most, strict=True))


def _rows(table: pd.DataFrame) -> list[dict[str, Any]]:
    """Rows as JSON values, as many digits as mean anything."""
    return [{str(key): _value(value) for key, value in row.items()} for row in table.to_dict("records")]


def _value(value: Any) -> Any:
    if isinstance(value, float):
        return None if not np.isfinite(value) else float(f"{value:.6g}")
    return value
