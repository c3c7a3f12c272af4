"""What a reading after washes says: an interval on how far the colour has faded since it was applied.

Three measures, each with what was applied as its start: the level of a root shade (levels drifted to
lighter), the share of the tone that is left (its -log), and the colour itself (CIEDE2000 from a reading at 0
washes).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, get_args

import numpy as np
import numpy.typing as npt
import pandas as pd

from outcomes.errors import InputError
from outcomes.readings.bounds import HALF_STEP, TOP
from outcomes.readings.colour import ciede2000, cielab_difference, grey_scale_step

if TYPE_CHECKING:
    from outcomes.log.read import VisitLog

__all__ = [
    "MEASURES",
    "REFERENCE_WASHES",
    "FadeReadings",
    "Measure",
    "fade_readings",
    "readings_by_shade",
    "shade_names",
]

FloatArray = npt.NDArray[np.float64]

Measure = Literal["level", "tone_left", "delta_e"]

MEASURES: tuple[Measure, ...] = get_args(Measure)

REFERENCE_WASHES = 10.0
"""A rate is the progress in so many washes."""

_HALF_SHARE = 12.5
"""Half the recording step of a share of tone, %."""

_COLOUR = ["L", "a", "b"]


@dataclass(frozen=True, eq=False)
class FadeReadings:
    """Readings of one measure, in order of fading hair and washes.

    Attributes
    ----------
    measure : {"level", "tone_left", "delta_e"}
    visits : DataFrame (F)
        One row for each visit and zone that was read: its visit's columns, with the zone that was read, and
        `shampoo`, the one that most of its readings name.
    visit : ndarray of int (n,)
        Row of `visits` of each reading.
    washes : ndarray (n,)
    lower, upper : ndarray (n,)
        Bounds of the progress: levels; -log of the share left; or CIEDE2000, where both are equal.
    cielab : ndarray (n,)
        Of delta_e, the CIELAB difference (1976) beside it; NaN for other measures.
    groups : mapping of str to ndarray of int (n,)
        Codes of "visit" (and zone), "client", "stylist", and of "product": the root shade, named by its level
        and tone as no log has a code of its own for it; -1 elsewhere.
    group_labels : mapping of str to tuple of str
        What the codes stand for.
    notes : tuple of str
        What was left out, and why.
    """

    measure: Measure
    visits: pd.DataFrame
    visit: npt.NDArray[np.int64]
    washes: FloatArray
    lower: FloatArray
    upper: FloatArray
    cielab: FloatArray
    groups: Mapping[str, npt.NDArray[np.int64]]
    group_labels: Mapping[str, tuple[str, ...]]
    notes: tuple[str, ...]

    @property
    def exposure(self) -> FloatArray:
        """Washes in reference exposures, (n,)."""
        return self.washes / REFERENCE_WASHES

    def frame(self) -> pd.DataFrame:
        """One row a reading, for reading by people.

        Returns
        -------
        DataFrame
            `visit`, `client`, `zone`, `shampoo`, `washes`, `lower`, `upper`; of colour differences also
            `cielab_difference` and `nearest_grey_scale_step`: that of ISO 105-A02 whose CIELAB difference
            lies nearest, not a rating by the standard.
        """
        hair = self.visits[["visit", "client", "zone", "shampoo"]].iloc[self.visit].reset_index(drop=True)
        frame = hair.assign(washes=self.washes, lower=self.lower, upper=self.upper)
        if self.measure != "delta_e":
            return frame
        steps = grey_scale_step(self.cielab)
        return frame.assign(cielab_difference=self.cielab, nearest_grey_scale_step=steps)


def fade_readings(log: VisitLog, measure: Measure) -> FadeReadings:
    """Intervals of progress from the readings after washes.

    A reading on the wrong side of what was applied, darker or with all its tone, says "less than half a
    step". Zones are kept apart: the level is that of the root shade, read at the roots; tone and colour are
    read wherever they were.

    Parameters
    ----------
    log : VisitLog
    measure : {"level", "tone_left", "delta_e"}

    Returns
    -------
    FadeReadings
        Of no readings where the log has none of this measure.

    Raises
    ------
    InputError
        An unknown measure.
    """
    if measure not in MEASURES:
        raise InputError(f"measure {measure!r}: one of {', '.join(MEASURES)} is expected")
    found, notes = _read(log, measure)
    visits, visit = _fading_hair(log, found)
    washes = found["washes"].to_numpy(dtype=np.float64)
    if measure == "level":
        lower, upper = _level_bounds(found)
    elif measure == "tone_left":
        lower, upper = _share_bounds(found["tone_left"].to_numpy(dtype=np.float64))
    else:
        lower = upper = found["difference"].to_numpy(dtype=np.float64)
    colours = found["cielab"] if measure == "delta_e" else pd.Series(np.nan, index=found.index)
    groups, labels = _groups(visits, visit)
    cielab = np.asarray(colours, dtype=np.float64)
    return FadeReadings(measure, visits, visit, washes, lower, upper, cielab, groups, labels, notes)


def _read(log: VisitLog, measure: Measure) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Readings that serve a measure, in order, each with the row of its visit; and what doesn't serve."""
    washes = log.washes.assign(row=_visit_rows(log))
    washes = washes.sort_values(["row", "zone", "washes"], kind="stable", ignore_index=True)
    if measure == "level":
        at_roots = washes["zone"] == "roots"
        washes = washes[washes["level"].notna() & at_roots]
        applied = log.visits["root_level"].to_numpy(dtype=np.float64)[washes["row"].to_numpy()]
        washes = washes.assign(applied=applied)
        known = washes["applied"].notna()
        what = "the level of the root shade (root_level) isn't given"
    elif measure == "tone_left":
        washes = washes[washes["tone_left"].notna()]
        known = pd.Series(True, index=washes.index)
        what = ""
    else:
        washes = _with_difference(washes[washes[_COLOUR].notna().all(axis=1)])
        known = washes["difference"].notna()
        what = "the colour wasn't measured at 0 washes"
    left_out = int((~known).sum())
    said = "1 reading after washes doesn't" if left_out == 1 else f"{left_out} readings after washes don't"
    notes = (f"{said} serve: {what}",) if left_out else ()
    if measure == "delta_e":  # the start is no reading of its own distance
        known = known & (washes["washes"] > 0)
    return washes[known].reset_index(drop=True), notes


def _visit_rows(log: VisitLog) -> npt.NDArray[np.int64]:
    """Row in visits of each reading: that of its zone, else the visit's first (a root shade has none)."""
    keys = ["visit", "zone"]
    rows = log.visits[keys].astype(object).assign(row=np.arange(len(log.visits)))
    given = log.washes[keys].astype(object)
    exact = given.merge(rows.drop_duplicates(keys), on=keys, how="left")["row"]
    first = given.merge(rows.drop_duplicates("visit")[["visit", "row"]], on="visit", how="left")["row"]
    return exact.fillna(first).to_numpy(dtype=np.int64)


def _with_difference(washes: pd.DataFrame) -> pd.DataFrame:
    """Both differences of each reading from the first at 0 washes of the same hair; NaN without one."""
    keys = ["row", "zone"]
    starts = washes[washes["washes"] == 0].drop_duplicates(keys)[[*keys, *_COLOUR]]
    both = washes.merge(starts, on=keys, how="left", suffixes=("", "_start"))
    first = both[[f"{name}_start" for name in _COLOUR]].to_numpy(dtype=np.float64)
    here = both[_COLOUR].to_numpy(dtype=np.float64)
    return both.assign(difference=ciede2000(here, first), cielab=cielab_difference(here, first))


def _fading_hair(log: VisitLog, found: pd.DataFrame) -> tuple[pd.DataFrame, npt.NDArray[np.int64]]:
    groups = found.groupby(["row", "zone"], sort=True)
    of = groups.ngroup().to_numpy(dtype=np.int64)
    keys = found[["row", "zone"]].drop_duplicates()
    hair = log.visits.iloc[keys["row"].to_numpy(dtype=int)].reset_index(drop=True)
    named = pd.DataFrame({"of": of, "shampoo": found["shampoo"]}).dropna()
    # of equally frequent ones the first by name
    counted = named.groupby(["of", "shampoo"]).size().reset_index(name="n")
    most = counted.sort_values(["of", "n"], ascending=[True, False], kind="stable").drop_duplicates("of")
    shampoo = most.set_index("of")["shampoo"].reindex(range(len(hair))).astype(object)
    made = hair.assign(zone=keys["zone"].to_numpy(dtype=object), shampoo=shampoo.to_numpy(dtype=object))
    return made, np.asarray(of, dtype=np.int64)


def shade_names(root_level: pd.Series, root_tone: pd.Series) -> pd.Series:
    """Root shades as words, such as "6 ash"; of an unknown tone its level alone, of an unknown level None.

    Parameters
    ----------
    root_level, root_tone : Series (n,)

    Returns
    -------
    Series of object (n,)
    """
    tone = root_tone.astype(object).where(root_tone.notna(), "")
    level = root_level.astype(np.float64).map("{:g}".format).astype(object)
    return (level + " " + tone).str.strip().astype(object).where(root_level.notna(), None)


def readings_by_shade(log: VisitLog, measure: Measure, by: str) -> pd.DataFrame:
    """Readings of every shade, counted, for a figure.

    Parameters
    ----------
    log : VisitLog
    measure : {"level", "tone_left", "delta_e"}
    by : {"root_tone", "root_level", "shampoo", "toner_tone"}

    Returns
    -------
    DataFrame
        `shade`; `washes`; `written`: levels lighter than applied, % of the tone left, or CIEDE2000; `n`.

    Raises
    ------
    InputError
        An unknown measure.
    """
    readings = fade_readings(log, measure)
    words = readings.visits[by]
    words = words.map("{:g}".format) if by == "root_level" else words.astype(object)
    at_roots = (readings.visits["zone"] == "roots").to_numpy(dtype=bool)
    if by != "shampoo":
        words = words.where(at_roots if by.startswith("root") else ~at_roots)
    lower, upper = readings.lower, readings.upper
    if measure == "tone_left":
        most, least = np.exp(-np.where(np.isinf(lower), 0.0, lower)), np.exp(-upper)
        written = np.select([np.isinf(lower), np.isinf(upper)], [100.0, 0.0], 50.0 * (most + least))
    else:
        half = HALF_STEP if measure == "level" else 0.0
        written = np.where(np.isinf(lower), 0.0, lower + half)
    frame = pd.DataFrame(
        {
            "shade": words.to_numpy(dtype=object)[readings.visit],
            "washes": readings.washes,
            "written": np.round(written, 2),
        }
    )
    return frame.groupby(["shade", "washes", "written"]).size().reset_index(name="n")


def _groups(
    visits: pd.DataFrame, visit: npt.NDArray[np.int64]
) -> tuple[dict[str, npt.NDArray[np.int64]], dict[str, tuple[str, ...]]]:
    shade = shade_names(visits["root_level"], visits["root_tone"])
    at_roots = (visits["zone"] == "roots").to_numpy(dtype=bool)
    named = {
        "client": visits["client"].astype(str),
        "stylist": visits["stylist"].astype(str),
        "product": shade.where(at_roots, None),
    }
    groups = {"visit": visit}
    labels: dict[str, tuple[str, ...]] = {"visit": tuple(str(row) for row in range(len(visits)))}
    for name, words in named.items():
        codes, found = pd.factorize(words.to_numpy(dtype=object), sort=True)
        groups[name], labels[name] = np.asarray(codes, dtype=np.int64)[visit], tuple(found)
    return groups, labels


def _level_bounds(found: pd.DataFrame) -> tuple[FloatArray, FloatArray]:
    level = found["level"].to_numpy(dtype=np.float64)
    drift = level - found["applied"].to_numpy(dtype=np.float64)
    lower = np.where(drift <= 0, -np.inf, drift - HALF_STEP)
    upper = np.where(level >= TOP, np.inf, np.maximum(drift, 0.0) + HALF_STEP)
    return lower, upper


def _share_bounds(share: FloatArray) -> tuple[FloatArray, FloatArray]:
    least, most = (share - _HALF_SHARE) / 100.0, (share + _HALF_SHARE) / 100.0
    lower = np.where(most > 1.0, -np.inf, -np.log(np.minimum(most, 1.0)))
    upper = np.where(least <= 0.0, np.inf, -np.log(np.maximum(least, 1e-300)))
    return lower, upper
