"""Observed shares with their uncertainty: of weighted rows, of few, of rows not followed to the end."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from scipy.special import ndtri

from outcomes.calibration.given import given_numbers, given_share, given_weights
from outcomes.errors import InputError

__all__ = ["effective_number", "kaplan_meier", "wilson"]

FloatArray = npt.NDArray[np.float64]


def effective_number(weights: npt.ArrayLike) -> float:
    """How many rows of equal weight tell as much: the sum squared over the sum of squares.

    Parameters
    ----------
    weights : array_like (n,)
        Not negative.

    Returns
    -------
    float
        0 for no rows.

    Raises
    ------
    InputError
        A weight below 0, or none above 0.

    References
    ----------
    Kish, L. (1965). Survey Sampling. Wiley, section 11.7.
    """
    if not np.size(weights):
        return 0.0
    weight = given_weights(weights, np.size(weights))
    # in units of the largest, so that squares stay numbers
    weight = weight / weight.max()
    return float(weight.sum() ** 2 / (weight**2).sum())


def wilson(count: npt.ArrayLike, n: npt.ArrayLike, confidence: float = 0.95) -> tuple[FloatArray, FloatArray]:
    """Wilson's score interval of a share.

    Parameters
    ----------
    count, n : array_like
        Rows with it, and rows; shapes that fit each other. Not whole where rows are weighted: an effective
        number, and its part.
    confidence : float

    Returns
    -------
    low, high : ndarray
        0 and 1 where n is 0.

    Raises
    ------
    InputError
        A count below 0 or above n; a confidence that isn't between 0 and 1.

    References
    ----------
    Wilson, E. B. (1927). Probable inference, the law of succession, and statistical inference. J. Am. Stat.
    Assoc. 22, 209-212; Newcombe, R. G. (1998). Two-sided confidence intervals for the single proportion.
    Stat. Med. 17, 857-872. By statsmodels.
    """
    from statsmodels.stats.proportion import proportion_confint  # a second that scores can do without

    alpha = 1.0 - given_share("confidence", confidence)
    counts, rows = np.broadcast_arrays(np.asarray(count, dtype=np.float64), np.asarray(n, dtype=np.float64))
    # a weighted share of 1 may stand a rounding error above
    if not ((counts >= 0.0) & (counts <= rows * (1.0 + 1e-9))).all():
        raise InputError("a count below 0 or above n; from 0 to n is expected; look at the weights")
    told = rows > 0.0
    known = np.where(told, rows, 1.0)
    ends = proportion_confint(np.where(told, np.minimum(counts, known), 0.0), known, alpha, "wilson")
    return np.where(told, ends[0], 0.0), np.where(told, ends[1], 1.0)


def kaplan_meier(
    time: npt.ArrayLike,
    event: npt.ArrayLike,
    at: npt.ArrayLike,
    weights: npt.ArrayLike | None = None,
    confidence: float = 0.95,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Chance that an event has happened by a time, from rows of which some weren't followed until then.

    Parameters
    ----------
    time : array_like (n,)
        Of the event, or until when it hadn't happened.
    event : array_like of bool (n,)
        Whether it happened. One at the time at which others were last seen comes first.
    at : array_like (m,)
        Times to be told of.
    weights : array_like (n,), optional
        Of the rows; only their ratios matter. The band counts as many rows as their effective number.
    confidence : float
        Of the band at each time by itself.

    Returns
    -------
    chance, low, high : ndarray (m,)
        The band is Greenwood's on the scale of log(-log(1 - chance)). While nothing has happened its high end
        is Wilson's of the rows still followed, and once all has happened its low end is Wilson's of as many
        rows as would be followed had none been lost (those followed over the share left before), for that
        scale tells nothing there. After the last row was lost the chance is NaN, low stays and high is 1.

    Raises
    ------
    InputError
        No rows, or shapes that don't fit; a weight below 0.

    References
    ----------
    Kaplan, E. L. & Meier, P. (1958). Nonparametric estimation from incomplete observations. J. Am. Stat.
    Assoc. 53, 457-481; Kalbfleisch, J. D. & Prentice, R. L. (2002). The Statistical Analysis of Failure Time
    Data. Wiley, section 1.4; the number of rows is that of Peto, R. et al. (1977), Br. J. Cancer 35, 1-39
    (from memory). The estimate by statsmodels, whose standard error under weights isn't of it.
    """
    from statsmodels.duration.survfunc import SurvfuncRight

    reach = float(ndtri(0.5 + 0.5 * given_share("confidence", confidence)))
    times = given_numbers("time", time, (-1,))
    if not len(times):
        raise InputError("time: found no rows; one or more are expected; there is nothing to estimate from")
    happened = given_numbers("event", event, times.shape) > 0.0
    asked = given_numbers("at", at, (-1,))
    weight = given_weights(weights, len(times))
    weight = weight * (effective_number(weight) / weight.sum())
    curve = SurvfuncRight(times, happened.astype(np.float64), freq_weights=weight)
    # in front the time before anything happened
    left = np.append(1.0, curve.surv_prob)
    lost, risk = curve.n_events, curve.n_risk
    ends = np.clip(risk - lost, 1e-12 * risk, None)
    error = np.sqrt(np.append(0.0, np.cumsum(lost / (risk * ends))))
    inside = (left > 0.0) & (left < 1.0)
    log_left = np.log(np.where(inside, left, 0.5))
    far = np.exp(np.where(inside, reach * error / -log_left, 0.0))
    low, high = -np.expm1(log_left / far), -np.expm1(log_left * far)
    low[0] = 0.0
    over = left <= 0.0
    if over.any():
        # only the last can be
        number = risk[-1] / left[-2]
        low[-1] = max(low[-2], float(wilson(number, number, confidence)[0]))
        high[-1] = 1.0

    place = np.searchsorted(curve.surv_times, asked, side="right")
    followed = weight @ (times[:, None] >= asked)
    chance, low, high = 1.0 - left[place], low[place], high[place]
    high = np.where(place == 0, wilson(np.zeros(len(asked)), followed, confidence)[1], high)
    gone = (asked > times[weight > 0.0].max()) & ~over.any()
    return np.where(gone, np.nan, chance), low, np.where(gone, 1.0, high)
