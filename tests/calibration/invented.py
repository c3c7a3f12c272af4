"""Visits drawn from a known distribution, so that what calibration finds can be compared with the truth."""

from __future__ import annotations

import dataclasses

import numpy as np

from outcomes.calibration.folds import HeldOut
from outcomes.predictive.lift import LiftPredictive
from outcomes.predictive.told import ToldVisits

STYLIST = 1


def known(make_predictive, **changes) -> LiftPredictive:
    """A distribution with a single draw: nothing about its parameters is uncertain."""
    parts = {"shape": 0.6, "sd_client": 0.2, "sd_visit": 0.15, "sd_result": 0.18, "sd_look": 0.25}
    parts |= {"look_offset": -0.1, "sd_start": 0.23, "sd_stylist": 0.1, "sd_product": 0.05} | changes
    one = {name: np.array([value]) for name, value in parts.items()}
    coefficients = make_predictive().draws["coefficients"].mean(axis=0)[None]
    effects = {"stylist": np.array([[-0.1, 0.0, 0.12]]), "product": np.array([[-0.03, 0.04]])}
    return make_predictive(**one, **effects, coefficients=coefficients)


def drawn(predictive, clients, seed, *, visits=2, spread=1.0, reading=1.0, df=None, later=1.0) -> ToldVisits:
    """Visits of new clients, looked at after 10, 20 and 30 minutes and read at the rinse after 40.

    `spread`, `reading`, `df` and `later` say by how much hair and eyes differ from what the distribution has.
    """
    rng = np.random.default_rng(seed)
    n = clients * visits
    number = np.tile(np.arange(visits), clients)
    start = rng.choice(np.arange(2.0, 5.5, 0.5), n)
    columns = {name: np.array([word] * n, dtype=object) for name, word in WORDS.items()}
    columns |= {"peroxide_pct": rng.choice([3.0, 6.0, 9.0], n), "start_level": start}
    rows = predictive.design.encode(columns, np.zeros(n, dtype=bool))
    sd = {name: float(predictive.draws[name][0]) for name in predictive.draws if name.startswith("sd_")}
    mixing = np.ones(clients) if df is None else np.sqrt(df / rng.chisquare(df, clients))
    own = sd["sd_client"] * rng.standard_normal(clients)
    luck = sd["sd_visit"] * np.where(number, later, 1.0) * rng.standard_normal(n)
    away = spread * np.repeat(mixing, visits) * (np.repeat(own, visits) + luck)
    rate = np.exp(rows @ predictive.draws["coefficients"][0] + away)
    true = start + sd["sd_start"] * rng.standard_normal(n)
    minutes = np.tile([10.0, 20.0, 30.0, 40.0], n)
    look = np.tile([True, True, True, False], n)
    level = np.repeat(true, 4) + np.repeat(rate, 4) * (minutes / 45.0) ** predictive.draws["shape"][0]
    level += look * predictive.draws["look_offset"][0]
    error = reading * np.where(look, sd["sd_look"], sd["sd_result"]) * rng.standard_normal(4 * n)
    gained = np.floor(2.0 * (level + error) + 0.5) / 2.0 - np.repeat(start, 4)
    return ToldVisits(
        first_visit=np.arange(0, n, visits),
        n_visits=np.full(clients, visits),
        rows=rows,
        start=start,
        rinse=np.full(n, 40.0),
        stylist=np.full(n, STYLIST),
        product=np.full(n, -1),
        previous=np.full(n, -1),
        first_reading=np.arange(0, 4 * n, 4),
        n_readings=np.full(n, 4),
        minutes=minutes,
        is_look=look,
        lower=np.where(gained <= 0, -np.inf, gained - 0.25),
        upper=np.maximum(gained, 0.0) + 0.25,
    )


WORDS = {"hair": "natural", "heat": "low", "texture": "medium"}


def held_out(predictive, told, folds=5) -> HeldOut:
    """As if every fold had been predicted by this very distribution."""
    fold = np.arange(len(told.n_visits)) % folds
    return HeldOut(told, fold, (dataclasses.replace(predictive),) * folds)
