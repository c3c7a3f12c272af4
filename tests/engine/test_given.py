"""What a fit refuses, and that it says what it found and what to do."""

import numpy as np
import pandas as pd
import pytest

from outcomes.engine import Prior, fit_interval_mixed, log_marginal
from outcomes.errors import InputError

N = 12
RNG = np.random.default_rng(1)


def _given(**changes):
    lower = np.round(2.0 * RNG.normal(3.0, 1.0, N)) / 2.0
    given = {
        "lower": lower,
        "upper": lower + 0.5,
        "design": pd.DataFrame({"mean": np.ones(N), "dose": np.arange(N, dtype=float)}),
        "groups": {"client": np.repeat(np.arange(4), 3)},
    }
    return given | changes


def _spoiled(values, place, value):
    out = np.array(values, dtype=float)
    out[place] = value
    return out


LOWER = _given()["lower"]
REFUSED = {
    "lower above upper": (
        {"lower": LOWER, "upper": _spoiled(LOWER + 0.5, 3, LOWER[3] - 1.0)},
        r"lower .* above upper .* position 3",
    ),
    "NaN bound": (
        {"lower": _spoiled(LOWER, [2, 7], np.nan)},
        r"lower is missing .*position 2, 7.*-inf or inf",
    ),
    "no number inside": (
        {"lower": _spoiled(LOWER, 5, np.inf), "upper": _spoiled(LOWER + 0.5, 5, np.inf)},
        "no number.*position 5",
    ),
    "lengths": ({"upper": LOWER[:-1]}, r"\(12,\).*\(11,\)"),
    "nothing": ({"lower": [], "upper": []}, "no readings"),
    "rank": (
        {"design": pd.DataFrame({"mean": 1.0, "first": np.arange(N) < 5, "rest": np.arange(N) >= 5})},
        "3 columns but rank 2.*'(mean|first|rest)' is a combination of '(mean|first|rest)', '",
    ),
    "zero column": (
        {"design": pd.DataFrame({"mean": np.ones(N), "never": np.zeros(N)})},
        "'never' is zero throughout",
    ),
    "NaN in the design": (
        {"design": pd.DataFrame({"mean": np.ones(N), "dose": _spoiled(np.ones(N), 1, np.nan)})},
        "column 'dose' has missing",
    ),
    "design as an array": ({"design": np.ones((N, 1))}, "ndarray; a DataFrame"),
    "design rows": ({"design": pd.DataFrame({"mean": np.ones(N + 1)})}, "13 rows; 12"),
    "one category": (
        {"groups": {"stylist": np.repeat("S1", N)}},
        "'stylist' has one category.*Leave it out",
    ),
    "group length": ({"groups": {"client": np.arange(5)}}, "'client' has 5 codes; 12"),
    "link": ({"link": "logit"}, "'logit'; one of identity, log"),
    "shape": ({"shape": "spline", "exposure": np.ones(N)}, "'spline'; one of power, saturating"),
    "exposure alone": ({"exposure": np.ones(N)}, "exposure and shape go together"),
    "shape alone": ({"shape": "power"}, "exposure and shape go together"),
    "exposure below 0": (
        {"shape": "power", "exposure": _spoiled(np.ones(N), 4, -1.0)},
        "exposure -1.*position 4",
    ),
    "exposure missing": ({"shape": "power", "exposure": _spoiled(np.ones(N), 4, np.nan)}, "position 4"),
    "kind missing": ({"kind": [None] + ["look"] * (N - 1)}, "every reading needs one"),
    "kind length": ({"kind": ["look"]}, "kind has 1 codes; 12"),
    "weight": (
        {"alternatives": (np.repeat([0, 1], [2, 10]), np.zeros(N))},
        "weight of an alternative isn't above 0",
    ),
    "weights within a branch": (
        {"alternatives": (np.repeat([0, 1], [2, 10]), np.linspace(0.1, 0.9, N), np.zeros(N))},
        "one branch differ in weight",
    ),
    "branches missing": (
        {"alternatives": (np.repeat([0, 1], [2, 10]), np.ones(N), np.zeros(3))},
        "have 3 branches",
    ),
    "huge": ({"lower": np.r_[1e31, np.zeros(N - 1)], "upper": np.full(N, np.inf)}, "larger units"),
    "text in the design": (
        {"design": pd.DataFrame({"mean": 1.0, "dose": list("abcdefghijkl")})},
        "column 'dose' holds",
    ),
    "text for bounds": ({"lower": ["a"] * N}, "lower holds something"),
    "no groups": ({"groups": None}, "a mapping from name to codes"),
    "parts of alternatives": ({"alternatives": (np.zeros(N),)}, "have 1 parts"),
    "alternatives differ": (
        {"alternatives": (np.r_[0, 0, np.full(N - 2, -1)], np.full(N, 0.5))},
        "alternatives of one code differ",
    ),
    "one name twice": (
        {"additive_groups": {"client": np.repeat(np.arange(4), 3)}},
        "one name",
    ),
    "additive aliased with the design": (
        {"additive": pd.DataFrame({"also": np.full(N, 2.0)})},
        "rank 2.*'(mean|additive:also)'",
    ),
    "criterion": ({"criterion": "reml"}, "'reml'; one of integrated, ml"),
    "nodes": ({"nodes": 0}, "nodes 0"),
    "half a node": ({"nodes": 1.5}, "nodes 1.5; a whole number"),
    "shards": ({"shards": 0}, "shards 0; a whole number"),
    "prior of nothing": ({"prior": Prior(coefficients={"slope": (0.0, 1.0)})}, "'slope'.*known: "),
    "prior of no group": ({"prior": Prior(log_group_sd={"town": (0.0, 1.0)})}, "'town'.*known: client"),
    "a column twice": (
        {"design": pd.DataFrame(np.ones((N, 2)), columns=["mean", "mean"])},
        "two columns are called 'mean'",
    ),
    "nobody in a group": ({"groups": {"client": np.full(N, np.nan)}}, "'client' has no category"),
    "tie": ({"ties": {"start": (None, 0.0)}}, "'start'"),
    "held sd": ({"held_reading_sd": {"look": 0.2}}, "'look'"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_refused_with_what_was_found(name):
    changes, message = REFUSED[name]
    with pytest.raises(InputError, match=f"(?s){message}"):
        fit_interval_mixed(**_given(**changes))


def test_refused_by_log_marginal():
    given = _given()
    with pytest.raises(InputError, match="'client'"):
        log_marginal(**given, group_sd={}, reading_sd=0.3)
    with pytest.raises(InputError, match="kind None"):
        log_marginal(**given, group_sd={"client": 0.2}, reading_sd=0.0)
    with pytest.raises(InputError, match="shape and shape_value"):
        log_marginal(**given, group_sd={"client": 0.2}, reading_sd=0.3, shape_value=0.6)
    for changed, said in (
        ({"shape": "power", "exposure": np.ones(N), "shape_value": -1.0}, "shape_value -1.0"),
        ({"reading_sd": np.inf}, "kind None"),
        ({"group_sd": {"client": np.nan}}, "group 'client'"),
        ({"coefficients": [np.nan, 1.0]}, "coefficient 'mean' is missing"),
    ):
        with pytest.raises(InputError, match=said):
            log_marginal(**{**given, "group_sd": {"client": 0.2}, "reading_sd": 0.3, **changed})
    with pytest.raises(InputError, match="1 coefficients; 2 are expected: mean, dose"):
        log_marginal(**given, group_sd={"client": 0.2}, reading_sd=0.3, coefficients=[1.0])
    with pytest.raises(InputError, match="lack 'dose'"):
        log_marginal(**given, group_sd={"client": 0.2}, reading_sd=0.3, coefficients=pd.Series({"mean": 1.0}))


def test_prior_without_width():
    with pytest.raises(InputError, match="'mean' has sd 0"):
        Prior(coefficients={"mean": (0.0, 0.0)})


def test_missing_code_means_no_effect():
    """A visit whose client isn't known is read as if its client were average: as by a column without code."""
    given = _given()
    codes = np.repeat(["A", "B", "C", None], 3).astype(object)
    numbers = np.repeat([7.0, 8.0, 9.0, np.nan], 3)
    options = {"group_sd": {"client": 0.4}, "reading_sd": 0.3, "coefficients": [2.0, 0.1]}
    known = slice(0, 9)
    parts = log_marginal(
        given["lower"][known],
        given["upper"][known],
        given["design"][:9],
        {"client": codes[known]},
        **options,
    ) + log_marginal(
        given["lower"][9:], given["upper"][9:], given["design"][9:], {}, **(options | {"group_sd": {}})
    )
    for written in (codes, numbers):
        whole = log_marginal(**(given | {"groups": {"client": written}}), **options)
        assert whole == pytest.approx(parts, abs=1e-9)
