"""Readings of lift or fade as the engine takes them."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from outcomes.engine import MixedFit, fit_interval_mixed
from outcomes.models.starter import rate_prior
from outcomes.readings.covariates import FADE, design_columns
from outcomes.readings.design import Design
from outcomes.readings.fade import FadeReadings
from outcomes.readings.lift import LiftReadings

__all__ = ["STEP", "Arranged", "arrange_fade", "arrange_lift", "fit_arranged"]

STEP = 0.5
_ROUNDING = STEP**2 / 12.0  # variance of a number rounded to the step

# A result that is copied as the next start is exact: its error *is* the next start's. The engine wants some
# error in every reading; this much (levels) is small beside the start's own, which is 0.23 at least.
LINKED_SD = 0.1

_TO_SPARE = 5  # root shades more than their levels and tones take, for a spread between shades


@dataclass(frozen=True, eq=False)
class Arranged:
    """Arguments of a fit, and what was left out of it; n readings.

    Attributes
    ----------
    measure : str
        "lift", or a measure of fade: whose priors hold.
    lower, upper : ndarray (n,)
        Bounds of the progress.
    design : DataFrame (n, p)
    groups : dict of str to Series (n,)
    exposure : ndarray (n,)
        In reference exposures.
    kind : ndarray of str (n,)
        "look", "result", or "linked" for a result copied as the next start.
    alternatives : (codes (n,), weights (n,), branches (n,)) or None
    additive : DataFrame (n, 1) or None
        Whether a reading is a look, written down or not; None where all or none are.
    start : (codes (n, 2), weights (n, 2)) or None
        Visits whose start errors enter a reading; None where the start is what was applied.
    notes : tuple of str
    """

    measure: str
    lower: npt.NDArray[np.float64]
    upper: npt.NDArray[np.float64]
    design: pd.DataFrame
    groups: dict[str, pd.Series]
    exposure: npt.NDArray[np.float64]
    kind: npt.NDArray[np.object_]
    alternatives: tuple[npt.NDArray[np.int64], npt.NDArray[np.float64], npt.NDArray[np.int64]] | None
    additive: pd.DataFrame | None
    start: tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]] | None
    notes: tuple[str, ...]

    def part(self, rows: npt.NDArray[np.bool_]) -> Arranged:
        """Some of the readings alone; a group that's left with one category is left out.

        Parameters
        ----------
        rows : ndarray of bool (n,)

        Returns
        -------
        Arranged
        """
        groups = {name: codes[rows].reset_index(drop=True) for name, codes in self.groups.items()}
        additive = None if self.additive is None else self.additive[rows].reset_index(drop=True)
        if additive is not None and len(additive["look"].unique()) < 2:
            additive = None
        alternatives, start = self.alternatives, self.start
        return Arranged(
            measure=self.measure,
            lower=self.lower[rows],
            upper=self.upper[rows],
            design=self.design[rows].reset_index(drop=True),
            groups={name: codes for name, codes in groups.items() if len(codes.dropna().unique()) > 1},
            exposure=self.exposure[rows],
            kind=self.kind[rows],
            alternatives=None
            if alternatives is None
            else (alternatives[0][rows], alternatives[1][rows], alternatives[2][rows]),
            additive=additive,
            start=None if start is None else (start[0][rows], start[1][rows]),
            notes=self.notes,
        )

    def common(self) -> dict[str, Any]:
        """What every call of the engine on these readings shares."""
        return {
            "lower": self.lower,
            "upper": self.upper,
            "design": self.design,
            "groups": self.groups,
            "link": "log",
            "exposure": self.exposure,
            "kind": self.kind,
            "alternatives": self.alternatives,
            "additive": self.additive,
        }


def arrange_lift(readings: LiftReadings, design: Design) -> Arranged:
    """Lay out readings of lift for the engine.

    Groups of fewer than two categories are left out and noted: a salon with one stylist must fit.

    Parameters
    ----------
    readings : LiftReadings
    design : Design

    Returns
    -------
    Arranged

    Raises
    ------
    InputError
        As `Design.encode`, where the design was learned from another log.
    """
    visits = readings.visits
    later = visits["later_session"].to_numpy(dtype=bool)
    matrix = design.encode(design_columns(visits), later)
    kind = readings.kind.astype(object).copy()
    kind[readings.linked_result] = "linked"
    groups, notes = _groups(readings.groups, readings.group_labels)
    is_look = (kind == "look").astype(float)
    additive = pd.DataFrame({"look": is_look}) if is_look.any() and not is_look.all() else None
    start_codes = readings.start_codes.astype(np.float64)
    start_codes[start_codes < 0] = np.nan
    return Arranged(
        measure="lift",
        lower=readings.lower,
        upper=readings.upper,
        design=pd.DataFrame(matrix[readings.visit], columns=list(design.names)),
        groups=groups,
        exposure=readings.exposure,
        kind=kind,
        alternatives=(readings.alternative, readings.weight, readings.way),
        additive=additive,
        start=(start_codes, readings.start_weights),
        notes=notes,
    )


def arrange_fade(readings: FadeReadings, design: Design) -> Arranged:
    """Lay out readings after washes for the engine.

    Parameters
    ----------
    readings : FadeReadings
    design : Design

    Returns
    -------
    Arranged

    Raises
    ------
    InputError
        As `Design.encode`, where the design was learned from another log.
    """
    matrix = design.encode(design_columns(readings.visits, FADE[readings.measure]))
    groups, notes = _groups(readings.groups, readings.group_labels)
    if "product" in groups and _shades_to_spare(readings, matrix, design) < _TO_SPARE:
        # their effects would be those of level and tone over again, known as badly as the spread is
        del groups["product"]
        notes = (*notes, "root shades are told by level and tone alone: too few of them for a spread beside")
    return Arranged(
        measure=readings.measure,
        lower=readings.lower,
        upper=readings.upper,
        design=pd.DataFrame(matrix[readings.visit], columns=list(design.names)),
        groups=groups,
        exposure=readings.exposure,
        kind=np.full(len(readings.lower), "result", dtype=object),
        alternatives=None,
        additive=None,
        start=None,
        notes=notes,
    )


def _shades_to_spare(readings: FadeReadings, matrix: npt.NDArray[np.float64], design: Design) -> int:
    """Root shades in excess of what their levels and tones take to tell."""
    shade = readings.groups["product"]
    at = np.flatnonzero(shade >= 0)
    _, first = np.unique(shade[at], return_index=True)
    rows = matrix[readings.visit[at[first]]]
    of_shade = [name.startswith(("intercept", "root_level", "root_tone")) for name in design.names]
    return len(rows) - int(np.linalg.matrix_rank(rows[:, of_shade]))


def _groups(
    codes_of: Mapping[str, npt.NDArray[np.int64]], labels_of: Mapping[str, tuple[str, ...]]
) -> tuple[dict[str, pd.Series], tuple[str, ...]]:
    """Groups of two categories or more, and what is left out."""
    notes = []
    groups: dict[str, pd.Series] = {}
    for name in ("visit", "client", "stylist", "product"):
        codes, labels = codes_of[name], labels_of[name]
        present = np.unique(codes[codes >= 0])
        if len(present) < 2:
            # that there is one stylist only, the readings say
            if name in ("client", "product") and len(present):
                notes.append(f"one {name} only: the spread between {name}s isn't known from this log")
            continue
        text = np.array([*labels, None], dtype=object)
        # a visit's label needs no meaning, and numbers sort faster
        groups[name] = pd.Series(codes if name == "visit" else text[codes])
    return groups, tuple(notes)


def fit_arranged(
    arranged: Arranged,
    family: str,
    *,
    use_prior: bool,
    nodes: int | None = None,
    start: MixedFit | None = None,
    tolerance: float | None = None,
    start_error: bool = True,
    information: pd.DataFrame | None = None,
    flat: Collection[str] = (),
) -> MixedFit:
    """Fit one shape to arranged readings.

    Parameters
    ----------
    arranged : Arranged
    family : {"power", "saturating"}
    use_prior : bool
        Whether to fit with `rate_prior`.
    nodes, start, tolerance, information : as for `fit_interval_mixed`
    start_error : bool
        False: starts count as exact, which is quicker, and near enough to compare habits by.
    flat : collection of str
        Columns without a prior.

    Returns
    -------
    MixedFit

    Raises
    ------
    InputError, FitError
        As `fit_interval_mixed`.
    """
    linked = bool((arranged.kind == "linked").any())
    starts = arranged.start
    if starts is None or not start_error or len(np.unique(starts[0][:, 0])) < 2:
        starts = None
    kinds = [str(kind) for kind in np.unique(arranged.kind.astype(str)) if kind != "linked"]
    names = [name for name in arranged.design.columns if name not in flat]
    if arranged.additive is not None:
        names.append("additive:look")
    prior = rate_prior(arranged.measure, names, arranged.groups, kinds, family) if use_prior else None
    # where every result is the look that ended its visit, a start is read with a look's error too
    as_read = "result" if "result" in kinds else kinds[0]
    return fit_interval_mixed(
        **arranged.common(),
        shape=family,
        additive_groups=None if starts is None else {"start": starts},
        ties=None if starts is None else {"start": (as_read, _ROUNDING)},
        held_reading_sd={"linked": LINKED_SD} if linked else None,
        prior=prior,
        nodes=nodes,
        start=start,
        tolerance=tolerance,
        information=information,
    )
