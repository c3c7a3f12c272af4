"""Funnel limits, run lengths of control charts and false discoveries against what others published."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import binom, norm

from outcomes.errors import InputError
from outcomes.review.control_chart import chart, run_length
from outcomes.review.findings import Comparison, chosen
from outcomes.review.funnel import binomial_limits, overdispersion, widened

P = (0.001, 0.025, 0.975, 0.999)


@pytest.mark.parametrize(
    ("target", "n", "limits"),
    [
        (0.8, 20, [0.460746, 0.583885, 0.938316, 0.995663]),
        (0.8, 50, [0.600856, 0.672906, 0.895595, 0.945224]),
        (0.8, 100, [0.663234, 0.713524, 0.870258, 0.909022]),
        (0.5, 20, [0.136736, 0.255824, 0.694176, 0.813264]),
    ],
)
def test_exact_funnel_limits(target, n, limits):
    """Formula of Spiegelhalter (2005, Stat. Med. 24, 1185), appendix, from memory; computed with scipy."""
    assert binomial_limits(target, [n], P)[0] == pytest.approx(limits, abs=1e-6)


def test_limits_stay_between_none_and_all_where_normal_ones_do_not():
    """Target 0.8 of 20: the normal upper limit is 1.076399."""
    normal = 0.8 + norm.ppf(0.999) * np.sqrt(0.8 * 0.2 / 20)
    assert normal == pytest.approx(1.076399, abs=1e-6)
    limits = binomial_limits(0.8, np.arange(1, 60), P)
    assert limits.min() >= 0.0
    assert limits.max() <= 1.0
    wide = widened(limits, 0.8, 0.16 / np.arange(1, 60), 0.3)
    assert wide.min() >= 0.0
    assert wide.max() <= 1.0


def test_limits_lie_within_one_case_of_exact_quantiles():
    """Between whole numbers of cases, never past the number that the chance falls on."""
    n = np.arange(3, 200)
    for p in P:
        cases = binomial_limits(0.7, n, [p])[:, 0] * n
        exact = binom.ppf(p, n, 0.7)
        assert (cases <= exact + 1e-9).all()
        assert (cases >= np.maximum(exact - 1.0, 0.0) - 1e-9).all()


@pytest.mark.parametrize("what", [(0.0, [5], P), (1.0, [5], P), (0.5, [0], P), (0.5, [5], (0.0, 1.0))])
def test_limits_of_nothing_are_refused(what):
    with pytest.raises(InputError, match="expected"):
        binomial_limits(*what)


def test_chance_alone_is_no_overdispersion_and_a_spread_between_units_is_found():
    """Moments of DerSimonian and Laird (1986): 400 units with true shares about 0.6, sd 0.08."""
    rng = np.random.default_rng(2)
    n = np.full(400, 80)
    variance = 0.6 * 0.4 / n
    alone = overdispersion(rng.binomial(n, 0.6) / n, 0.6, variance)
    assert alone.between < 0.02
    true = np.clip(rng.normal(0.6, 0.08, 400), 0, 1)
    found = overdispersion(rng.binomial(n, true) / n, 0.6, variance)
    assert found.ratio > 1.5
    # winsorised at a tenth, so somewhat less than the spread itself
    assert 0.05 < found.between < 0.08
    limits = binomial_limits(0.6, n[:1], (0.025, 0.975))
    wide = widened(limits, 0.6, variance[:1], found.between)[0]
    factor = np.sqrt(1 + found.between**2 / variance[0])
    assert wide == pytest.approx(0.6 + (limits[0] - 0.6) * factor)


def test_of_few_units_one_at_either_end_is_winsorised():
    """Six z-scores -9, -0.5, 0, 0.2, 0.4, 1.5: the outermost count as -0.5 and 0.4."""
    z = np.array([-9.0, -0.5, 0.0, 0.2, 0.4, 1.5])
    found = overdispersion(0.6 + 0.1 * z, 0.6, np.full(6, 0.01))
    assert found.ratio == pytest.approx((2 * 0.25 + 0.0 + 0.04 + 2 * 0.16) / 6)
    assert found.between == 0.0


def test_one_unit_has_nobody_to_differ_from():
    assert overdispersion([0.3], 0.6, [0.01]).between == 0.0


@pytest.mark.parametrize(
    ("weight", "limit", "lengths"),
    [
        # Lucas & Saccucci (1990, Technometrics 32, table 3: 500, 31.3, 10.3, 4.4; from memory), to more
        # digits by an integral equation and a Markov chain
        (0.1, 2.814, (499.58, 31.30, 10.33, 4.36)),
        (0.2, 2.962, (499.74, 41.76, 10.54, 3.74)),
        (0.4, 3.054, (499.95, 71.20, 14.26, 3.52)),
        (0.05, 2.615, (499.93, 28.76, 11.38, 5.22)),
        # Crowder (1987, Technometrics 29; from memory)
        (0.25, 3.0, (502.90, 48.45, 11.15, 3.62)),
        (0.5, 3.0, (397.46, 75.35, 15.74, 3.47)),
    ],
)
def test_run_lengths(weight, limit, lengths):
    found = [run_length(weight, limit, shift) for shift in (0.0, 0.5, 1.0, 2.0)]
    assert found == pytest.approx(lengths, rel=0.005)


def test_run_length_without_memory():
    """A chart of single values: 1 / (2 (1 - Phi(3)))."""
    assert run_length(1.0, 3.0) == pytest.approx(370.398347, abs=1e-6)
    assert run_length(0.9999, 3.0) == pytest.approx(370.398347, rel=0.005)


def test_a_chart_stays_quiet_as_long_as_it_says_and_signals_a_shift():
    rng = np.random.default_rng(3)
    values = rng.standard_normal(400_000)
    told = chart(values)
    first = np.flatnonzero(told.signals)
    # runs counted from a fresh start after each signal, as the run length is defined
    runs, start = [], 0
    while start < len(values) - 20_000:
        step = chart(values[start : start + 20_000])
        length = int(np.flatnonzero(step.signals)[0]) + 1
        runs.append(length)
        start += length
    assert len(first) > 0
    assert np.mean(runs) == pytest.approx(told.run_length, rel=4.0 / np.sqrt(len(runs)))
    assert told.run_length == pytest.approx(499.74, rel=0.005)
    shifted = chart(np.concatenate([np.zeros(30), np.full(20, 2.0)]))
    assert not shifted.signals[:30].any()
    assert shifted.signals[30:35].any()


def test_the_weighted_mean_by_hand():
    assert chart([1.0, 0.0, -1.0], weight=0.5, limit=3.0).mean.tolist() == [0.5, 0.25, -0.375]


@pytest.mark.parametrize("what", [(0.0, 3.0), (1.1, 3.0), (0.2, 0.0)])
def test_no_such_chart(what):
    with pytest.raises(InputError, match="is expected"):
        run_length(*what)


def test_false_discoveries():
    """The 15 chances of Benjamini & Hochberg (1995, J. R. Stat. Soc. B 57, 289), from memory: 4 at 0.05."""
    p = [0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.3240, 0.4262, 0.5719,
         0.6528, 0.7590, 1.0]  # fmt: skip
    made = [Comparison("rate", f"S{i}", 1.0, 0.9, 1.1, 20, one) for i, one in enumerate(p)][::-1]
    assert [one.who for one in chosen(made, 0.05)] == ["S0", "S1", "S2", "S3"]
    # at 0.1 nine are, of which five are named
    assert [one.who for one in chosen(made, 0.1, most=20)] == [f"S{i}" for i in range(9)]
    assert len(chosen(made, 0.1)) == 5
    assert chosen([one for one in made if one.p > 0.3]) == ()
    assert chosen([]) == ()
