"""Sizes of studies: against another program, a textbook formula, and studies simulated and fitted."""

import dataclasses
import math

import numpy as np
import pytest

from outcomes.answers.study_size import study_size
from outcomes.models.fade import FadeModel
from outcomes.predictive.study import design_effect, group_size, two_group_power
from tests.predictive.fades import invented_fade
from tests.readings.conftest import build_log, canonical


def test_two_groups():
    """R 4.2.2, power.t.test(delta = 0.5, sd = 1): 63.76576371 and 85.03128939 for each group."""
    assert group_size(0.5, 0.8) == pytest.approx(63.76576371, rel=1e-5)
    assert group_size(0.5, 0.9) == pytest.approx(85.03128939, rel=1e-5)
    assert two_group_power(63.76576371, 0.5) == pytest.approx(0.8, abs=1e-6)


def test_repeated_readings():
    """Kish (1965): 4 readings that correlate 0.3, design effect 1.9: 121.1549511 readings, 31 clients."""
    effect = design_effect(4, 0.3)
    assert effect == pytest.approx(1.9)
    assert group_size(0.5, 0.8) * effect == pytest.approx(121.1549511, rel=1e-5)
    assert math.ceil(group_size(0.5, 0.8) * effect / 4) == 31


def test_an_answer_by_hand():
    fade = invented_fade(sd_client=0.2, sd_visit=0.15, theta=0.8)
    answer = study_size(fade, 0.25, 2, 0.8, washes=20)
    # the middle of shades and shampoos in the shares of that log, by simulation: about 0.55 exp(-0.05)
    between = np.hypot(0.2, 0.15)
    variance = 0.2**2 + 0.25 / 12
    middle = 0.5176
    information = sum((middle * (w / 10) ** 0.8) ** 2 / variance for w in (10, 20)) / 2
    total = between**2 + 1 / information
    effect = 1 + between**2 / total
    needed = group_size(np.log(1.25) / np.sqrt(total), 0.8) * effect / 2
    assert answer.sd_between == pytest.approx(between)
    assert answer.clients == pytest.approx(needed, rel=0.03)
    assert answer.total_readings == 2 * answer.clients
    # what is read more often takes fewer clients, but never fewer than their own spread asks for
    more = [study_size(fade, 0.25, n, 0.8).clients for n in (1, 3, 9)]
    assert more == sorted(more, reverse=True)
    assert more[-1] >= group_size(np.log(1.25) / between, 0.8)


@pytest.mark.slow
def test_simulated_studies_have_that_power():
    """120 studies of the size asked for, each fitted by the model: power 0.8 within 3 standard errors."""
    fade = invented_fade(sd_client=0.25, sd_visit=0.0, theta=0.8)
    answer = study_size(fade, 0.3, 3, 0.8, washes=24)
    middle = float(np.exp(np.log(0.55) - 0.05))
    shown = 0
    for seed in range(120):
        rng = np.random.default_rng(seed)
        visits, washes = [], []
        for number in range(2 * answer.clients):
            tone = ("neutral", "ash")[number % 2]
            rate = middle * (1.3 if tone == "ash" else 1.0) * np.exp(0.25 * rng.standard_normal())
            shade = {"root_level": 5.0, "root_tone": tone, "hair": "natural", "zone": "roots"}
            visits.append({"visit": f"V{number}", "client": f"C{number}", **shade})
            for after in (8, 16, 24):
                level = 5.0 + rate * (after / 10) ** 0.8 + 0.2 * rng.standard_normal()
                level = float(np.clip(np.floor(2 * level + 0.5) / 2, 1, 10))
                washes.append(
                    {
                        "visit": f"V{number}",
                        "zone": "roots",
                        "washes": after,
                        "level": level,
                        "shampoo": "plain",
                    }
                )
        log = dataclasses.replace(build_log(visits), washes=canonical("washes", washes))
        fit = FadeModel("level", shapes=("power",), use_prior=False).fit(log).fit_
        name = "root_tone[ash]"
        shown += abs(fit.coefficients[name]) > 1.96 * np.sqrt(fit.covariance.loc[name, name])
    assert shown / 120 == pytest.approx(0.8, abs=3 * np.sqrt(0.8 * 0.2 / 120))
