"""What else is written down of a visit: its end at the basin, the promise, the time in the chair."""

from __future__ import annotations

import numpy as np
import pandas as pd

from outcomes.demo.people import pick
from outcomes.demo.worlds import FloatArray

__all__ = ["chair_minutes", "finished"]


def finished(rows: pd.DataFrame, stylists: pd.DataFrame, rng: np.random.Generator) -> dict[str, object]:
    """Columns that don't bear on the lift: warmth, evenness, tests, promise, chair time, shade, toner.

    Parameters
    ----------
    rows : DataFrame (n)
        From `courses.work_courses`.
    stylists : DataFrame
        From `people.draw_stylists`.
    rng : numpy Generator

    Returns
    -------
    dict
        Values by canonical column, shape (n,). The root shade lies between the start level and a little above
        it, below the result.
    """
    n = len(rows)
    achieved, start = rows["achieved_level"].to_numpy(), rows["start_level"].to_numpy()
    first = rows["session"].to_numpy() == 1
    colour = np.array(["red", "orange", "yellow", "pale_yellow", "none"], dtype=object)
    warmth = colour[np.searchsorted([5.5, 7.25, 8.75, 9.75], achieved + 0.4 * rng.standard_normal(n))]
    need = rows["goal_level"].to_numpy() - start
    expected = need / 3.6 + 0.3 + stylists["optimism"].to_numpy()[rows["stylist"]] * 0.4
    quoted = np.clip(np.round(expected + 0.35 * rng.standard_normal(n)), 1.0, 6.0)
    root = np.round(2.0 * (start + rng.uniform(-0.5, 1.75, size=n))) / 2.0
    return {
        "warmth": warmth,
        "evenness": rng.choice([3.0, 2.0, 1.0], size=n, p=[0.72, 0.23, 0.05]),
        # promised once, at the consultation
        "quoted_sessions": np.where(first, quoted, np.nan),
        "chair_minutes": chair_minutes(rows["minutes"].to_numpy(), rng),
        "patch_test": pick(rng, ("yes", "no"), (0.88, 0.12), n),
        "strand_test": pick(rng, ("yes", "no"), (0.55, 0.45), n),
        "root_level": np.clip(root, 1.0, np.maximum(1.0, achieved - 0.5)),
        "root_tone": pick(
            rng, ("neutral", "ash", "violet", "gold", "copper"), (0.4, 0.3, 0.12, 0.12, 0.06), n
        ),
        "toner_tone": pick(
            rng, ("silver", "beige", "pearl", "violet", "ash", "gold"), (0.2, 0.25, 0.2, 0.15, 0.12, 0.08), n
        ),
        "toner_minutes": rng.choice([5.0, 10.0, 15.0, 20.0], size=n, p=[0.2, 0.4, 0.25, 0.15]),
        "toner_ratio": rng.choice([1.0, 1.5, 2.0], size=n, p=[0.3, 0.2, 0.5]),
    }


def chair_minutes(processed: FloatArray, rng: np.random.Generator) -> FloatArray:
    """Time in the chair: processing, and 133 minutes besides on average.

    Parameters
    ----------
    processed : ndarray (n,)
        Minutes of processing.
    rng : numpy Generator

    Returns
    -------
    ndarray (n,)
        In steps of 5 minutes.
    """
    besides = 85.0 + rng.gamma(4.0, 12.0, size=len(processed))
    return np.asarray(5.0 * np.round((processed + besides) / 5.0))
