"""Fade: does the 80 % band of the level after 15 washes hold, and what does a fit of 10,000 readings cost?

    python tests/benchmarks/fade_bands.py --logs 20

Each log has 1,600 invented visits, six in ten read after washes. It is fitted and calibrated as
`outcomes fit` does it; then the roots of new clients, with the shades of another log, are read once at 15
washes. Their truth is that of `outcomes.demo.fading`, written apart from the model. Coverage is the share of
randomised probability integral transforms of the reading inside the middle 80 %; 78 to 82 % are wanted.
"""

from __future__ import annotations

import argparse
import time
from dataclasses import replace

import numpy as np
import pandas as pd

from outcomes.calibration.calibrate import calibrate
from outcomes.calibration.checked import check_other_log
from outcomes.calibration.coverage import inside_share
from outcomes.demo import fading
from outcomes.demo.simulate import simulate_log
from outcomes.demo.worlds import world
from outcomes.log.read import VisitLog
from outcomes.models.fade import FadeModel

WASHES = 15
SD_CLIENT = 0.25
VISITS = 1600


def invented(visits: int, seed: int, **changes: float) -> VisitLog:
    """An invented log."""
    tables, _ = simulate_log(world("plain", **changes), visits, seed)
    empty = tables["visits"].iloc[:0]
    return VisitLog(
        *(tables["visits"], tables["checks"], tables["washes"], frozenset(), empty, empty, {}),
        source="invented",
        notes=(),
    )


def read_once(log: VisitLog, seed: int) -> VisitLog:
    """A log of new clients, whose root shades are each read once, after 15 washes."""
    rng = np.random.default_rng(seed)
    visits = log.visits[log.visits["root_level"].notna()].drop_duplicates("client").reset_index(drop=True)
    n = len(visits)
    shampoo = rng.choice(np.array(list(fading.SHAMPOO), dtype=object), n)
    log_rate = fading.LOG_ROOT_RATE + visits["root_tone"].map(fading.ROOT_TONE).to_numpy(float)
    log_rate = log_rate + np.array([fading.SHAMPOO[word] for word in shampoo])
    log_rate = log_rate + SD_CLIENT * rng.standard_normal(n) + fading.SD_VISIT * rng.standard_normal(n)
    level = visits["root_level"].to_numpy(float) + np.exp(log_rate) * (WASHES / 10) ** fading.FADE_THETA
    level = world("plain").rounded(level + fading.LEVEL_ERROR * rng.standard_normal(n))
    washes = log.washes.iloc[np.zeros(n, dtype=int)].reset_index(drop=True)
    washes = washes.assign(visit=visits["visit"], zone="roots", washes=WASHES, level=level, shampoo=shampoo)
    return replace(log, visits=visits, washes=washes)


def coverage(seed: int) -> tuple[float, float, int]:
    """Share inside the 80 % band, mean of the transforms, clients."""
    log = invented(VISITS, seed, wash_share=0.6)
    model = FadeModel("level").fit(log)
    predictive = calibrate(model).predictive_
    other = invented(VISITS, 5000 + seed)
    # stylists of another log are other people: nobody is known
    other = replace(other, visits=other.visits.assign(stylist="new", client="N" + other.visits["client"]))
    checked, _ = check_other_log(model, predictive, read_once(other, seed), seed)
    low, high = (checked.frame[name].to_numpy(float) for name in ("low", "high"))
    inside = inside_share(np.clip(low, 0, 1), np.clip(high, 0, 1), 0.8)
    return float(inside.mean()), float(0.5 * (low + high).mean()), len(low)


def cost() -> None:
    """Seconds of a fit of some 10,000 readings, both shapes."""
    log = invented(6700, 5, wash_share=1.0)
    FadeModel("level").fit(replace(log, washes=log.washes.iloc[:500]))  # warm
    begun = time.perf_counter()
    model = FadeModel("level").fit(log)
    print(f"{len(model.readings_.lower):,} readings: {time.perf_counter() - begun:.1f} s, both shapes")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--logs", type=int, default=20)
    parser.add_argument("--first", type=int, default=0)
    args = parser.parse_args()
    cost()
    rows = []
    for seed in range(args.first, args.first + args.logs):
        rows.append((seed, *coverage(seed)))
        print("log {} held {:.1%}, mean {:.3f}, {} clients".format(*rows[-1]), flush=True)
    found = pd.DataFrame(rows, columns=["log", "held", "mean", "clients"])
    se = found["held"].std(ddof=1) / np.sqrt(len(found))
    print(f"80 % band after {WASHES} washes: {found['held'].mean():.1%} (standard error {se:.1%})")


if __name__ == "__main__":
    main()
