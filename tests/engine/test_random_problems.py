"""Any small problem fits, or says honestly what it could not do."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from outcomes.engine import fit_interval_mixed

GROUPINGS = ("none", "one", "crossed", "nested", "crossed and nested")


@st.composite
def problems(draw):
    """Options by hypothesis, numbers by numpy: a failure shrinks to few options."""
    return {
        "seed": draw(st.integers(0, 10_000)),
        "n": draw(st.integers(24, 60)),
        "link": draw(st.sampled_from(["identity", "log"])),
        "shape": draw(st.sampled_from([None, "power", "saturating"])),
        "grouping": draw(st.sampled_from(GROUPINGS)),
        "rows": draw(st.sampled_from(["exact", "interval", "interval", "mixed", "mixed", "mostly open"])),
        "kinds": draw(st.booleans()),
        "missing": draw(st.booleans()),
        "alternatives": draw(st.booleans()),
        "additive": draw(st.booleans()),
        "additive_group": draw(st.booleans()),
        "criterion": draw(st.sampled_from(["integrated"] * 5 + ["ml"])),
        "nodes": draw(st.sampled_from([None, None, 1])),
        # a thousandth of a standard error is near enough for most of them
        "tolerance": draw(st.sampled_from([1e-6, 1e-6, None])),
        "spread": draw(st.sampled_from([0.0, 0.3])),
        "step": draw(st.sampled_from([0.25, 0.5])),
    }


def _bounds(kind, y, step, rng):
    rounded = np.round(y / step) * step
    low, high = rounded - step / 2, rounded + step / 2
    choice = rng.random(len(y))
    if kind == "exact":
        return y, y
    if kind == "mixed":
        exact = choice < 0.3
        low, high = np.where(exact, y, low), np.where(exact, y, high)
    if kind in ("mixed", "mostly open"):
        below = choice > (0.85 if kind == "mixed" else 0.6)
        above = (choice > (0.7 if kind == "mixed" else 0.3)) & ~below
        low, high = np.where(below, -np.inf, low), np.where(above, np.inf, high)
    return low, high


def _codes(grouping, n, missing, rng):
    if grouping == "none":
        return {}
    visit = np.arange(n) // 3
    client = (visit // 2).astype(float)
    stylist = rng.permutation(np.arange(n) % 3)
    if missing:
        client[rng.random(n) < 0.15] = np.nan
        client[:4] = [0.0, 1.0, 0.0, 1.0]
    return {
        "one": {"visit": visit},
        "crossed": {"visit": visit, "stylist": stylist},
        "nested": {"visit": visit, "client": client},
        "crossed and nested": {"visit": visit, "client": client, "stylist": stylist},
    }[grouping]


def _arguments(p):
    rng = np.random.default_rng(p["seed"])
    n = p["n"]
    x, time = rng.normal(size=n), rng.choice([0.0, 0.25, 0.5, 1.0, 1.6], n)
    if p["alternatives"]:
        x[:2] = x[0]  # the first two rows are alternatives of one reading
    groups = _codes(p["grouping"], n, p["missing"], rng)
    eta = 0.8 + 0.3 * x
    for codes in groups.values():
        known = np.nan_to_num(codes).astype(int)
        eta = eta + p["spread"] * rng.normal(size=known.max() + 1)[known]
    mean = (np.exp(eta) if p["link"] == "log" else 2.0 + eta) * (time**0.6 if p["shape"] else 1.0)
    kind = np.where(np.arange(n) % 2 == 0, "look", "result")
    mean = mean + 0.2 * (kind == "look") * p["additive"]
    if p["alternatives"]:
        kind[1] = kind[0]
        groups = {name: np.r_[codes[0], codes[0], codes[2:]] for name, codes in groups.items()}
    low, high = _bounds(p["rows"], mean + 0.25 * rng.normal(size=n), p["step"], rng)
    out = {
        "lower": low,
        "upper": high,
        "design": pd.DataFrame({"mean": np.ones(n), "x": x}),
        "groups": groups,
        "link": p["link"],
        "criterion": p["criterion"],
        "nodes": p["nodes"],
        "tolerance": p["tolerance"],
    }
    if p["shape"]:
        out |= {"shape": p["shape"], "exposure": time}
    if p["kinds"]:
        out["kind"] = kind
    if p["alternatives"]:
        out["alternatives"] = (np.r_[0, 0, np.full(n - 2, -1)], np.r_[0.3, 0.7, np.ones(n - 2)])
    if p["additive"]:
        out["additive"] = pd.DataFrame({"look": (kind == "look").astype(float)})
    if p["additive_group"]:
        place = np.arange(n) // 4
        place[:2] = place[0]
        out["additive_groups"] = {"start": place}
    return out


@pytest.mark.slow
# no shrinking: a failing problem is small as it is, and each try is a fit
@settings(
    max_examples=200,
    derandomize=True,
    deadline=None,
    database=None,
    phases=[Phase.explicit, Phase.generate],
)
@given(problems())
def test_a_fit_is_finite_or_says_why_not(problem):
    fit = fit_interval_mixed(**_arguments(problem))
    sds = fit.reading_sd.values() if isinstance(fit.reading_sd, dict) else [fit.reading_sd]
    numbers = [*fit.coefficients, *fit.group_sd.values(), *sds, fit.loglik]
    assert np.isfinite(numbers).all()
    assert min(sds) > 0
    assert min([0.0, *fit.group_sd.values()]) == 0.0
    if not fit.converged:
        assert any("did not converge" in note for note in fit.notes)
    for name, sd in fit.group_sd.items():
        assert (sd == 0.0) == any(repr(name) in note and "boundary" in note for note in fit.notes)
    assert np.isfinite(fit.joint_covariance.to_numpy()).all() or fit.notes
    for frame in fit.group_effects.values():
        assert np.isfinite(frame.to_numpy()).all()
    assert np.isfinite(fit.draws(3, seed=1).to_numpy()).all()
