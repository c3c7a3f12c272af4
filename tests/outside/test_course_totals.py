"""What a course adds up to, against identities of textbooks.

A geometric number of geometric amounts is geometric again, with the product of the chances (Feller, W. 1968.
An Introduction to Probability Theory and Its Applications I, 3rd ed., XII.2: compound distributions). Sums of
yes-or-no amounts are binomial; quantiles of both by scipy. Exact: the tolerance is that of arithmetic.
"""

import numpy as np
import pytest
from scipy.stats import binom, geom

from outcomes.predictive.tally import Tally, several, smallest, until_done


def test_a_geometric_number_of_geometric_amounts():
    done, each, limit = 0.45, 0.6, 12
    shares = geom.pmf(np.arange(60), each)
    amount = Tally(1.0, shares / shares.sum(), 100)
    sessions = geom.pmf(np.arange(1, limit + 1), done)
    chances = until_done((*sessions, 1.0 - sessions.sum()), several(amount, amount, limit))
    # a total of 12 takes 12 sessions at most, so that the limit doesn't show
    up_to = np.arange(limit + 1)
    assert chances[: limit + 1] == pytest.approx(geom.pmf(up_to, done * each), abs=1e-12)
    for share in (0.1, 0.5, 0.9):
        assert smallest(chances, share) == geom.ppf(share, done * each)


def test_sums_of_yes_and_no_are_binomial():
    once = Tally(1.0, np.array([0.7, 0.3]), 100)
    for number, shares in enumerate(several(once, once, 8), start=1):
        assert shares == pytest.approx(binom.pmf(np.arange(number + 1), number, 0.3), abs=1e-12)
