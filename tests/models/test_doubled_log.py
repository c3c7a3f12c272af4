"""A log doubled says the same more surely: the same clients again under new codes."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from outcomes.demo.simulate import simulate_log
from outcomes.demo.worlds import world
from outcomes.log.read import VisitLog
from outcomes.models.lift import LiftModel
from tests.models.logs import as_log


def doubled(log: VisitLog) -> VisitLog:
    """Every row twice, the second time under other codes of visit, course and client."""
    tables = {}
    for name in ("visits", "checks", "washes"):
        table = getattr(log, name)
        codes = [column for column in ("visit", "course", "client") if column in table]
        again = table.assign(**{column: table[column].astype(object) + "x" for column in codes})
        tables[name] = pd.concat([table, again], ignore_index=True)
    return replace(log, **tables)


@pytest.mark.slow
def test_coefficients_narrow_by_the_root_of_two_and_spreads_stay():
    log = as_log(simulate_log(world("plain"), 800, 6)[0])
    # without priors, which would count once only
    once, twice = (
        LiftModel(shapes=("power",), use_prior=False).fit(part).fit_ for part in (log, doubled(log))
    )
    assert once.converged
    assert twice.converged
    within = [term for term in once.coefficients.index if term != "intercept"]
    at = [list(once.coefficients.index).index(term) for term in within]
    errors = [np.sqrt(np.diagonal(fit.joint_covariance))[at] for fit in (once, twice)]
    # stylists and products stay as many as they were, which a coefficient hardly rests on
    ratios = errors[0] / errors[1]
    assert np.median(ratios) == pytest.approx(np.sqrt(2.0), abs=0.03)
    assert ratios == pytest.approx(np.full(len(ratios), np.sqrt(2.0)), abs=0.15)
    widths = [np.log(fit.shape.high / fit.shape.low) for fit in (once, twice)]
    assert widths[0] / widths[1] == pytest.approx(np.sqrt(2.0), abs=0.06)
    same = once.coefficients[within] - twice.coefficients[within]
    assert np.abs(same.to_numpy() / errors[0]).max() < 0.25
    for group in ("client", "visit"):
        assert twice.group_sd[group] == pytest.approx(once.group_sd[group], rel=0.05)
    for kind in ("result", "look"):
        assert twice.reading_sd[kind] == pytest.approx(once.reading_sd[kind], rel=0.05)
