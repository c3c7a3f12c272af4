"""Whether bands hold, and chances are right, in invented salons that aren't as the model thinks.

    python tests/benchmarks/honest_bands.py [--logs 20] [--worlds plain heavy_tails ...]

Each log has 1,600 visits. Two thirds of the clients are fitted and calibrated on, the others are new.
Coverage is of the 80 % band, by randomised PIT, each client counting once: of the first look at a first
visit, and of the level read after a first session whose longest time is the one that was planned.
P(1) and P(2) are compared with the truth that `outcomes.demo.truth` plays out for 40 plans.

The peers know the same covariates and the minutes: least squares with a normal band (statsmodels), boosted
quantiles with a conformal band (scikit-learn). For first looks they learn from first looks, for sessions from
final rows. For a session they are asked at its longest time, what they expect beyond the goal counting as the
goal, and for two sessions they are asked again from where the first one ended.
"""

from __future__ import annotations

import argparse
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace

import numpy as np
import pandas as pd
from threadpoolctl import threadpool_limits

from outcomes.answers.sessions import sessions
from outcomes.calibration.baselines import BoostedQuantiles, LeastSquares
from outcomes.calibration.calibrate import calibrate
from outcomes.calibration.checked import check_other_log
from outcomes.calibration.coverage import inside_share
from outcomes.calibration.folds import HeldOut
from outcomes.calibration.peers import first_levels
from outcomes.calibration.reliability import longest_time, plans_of_visits
from outcomes.demo.simulate import simulate_log
from outcomes.demo.truth import random_plans, true_session_chances
from outcomes.demo.worlds import WORLD_NAMES, world
from outcomes.log.read import VisitLog
from outcomes.models.lift import LiftModel
from outcomes.models.told import told_visits
from outcomes.predictive.simulate import simulate_courses
from outcomes.readings.covariates import design_columns

VISITS = 1600
PLANS = 40
COVERAGE = 0.8
GRID = np.arange(1.0, 10.25, 0.5)


def as_log(tables, name):
    """Invented tables as a log."""
    visits = tables["visits"]
    return VisitLog(
        visits=visits,
        checks=tables["checks"],
        washes=tables["washes"],
        given=frozenset(),
        faults=visits.iloc[:0],
        warnings=visits.iloc[:0],
        counts={},
        source=name,
        notes=(),
    )


def split(log, seed):
    """Two thirds of the clients, and the others."""
    clients = np.sort(log.visits["client"].unique())
    chosen = np.random.default_rng(seed).permutation(clients)[: 2 * len(clients) // 3]
    known = log.visits["client"].isin(chosen).to_numpy()
    return [replace(log, visits=log.visits[rows].reset_index(drop=True)) for rows in (known, ~known)]


def covariates(model, visits, later):
    """Encoded covariates without the intercept."""
    rows = model.design_.encode(design_columns(visits), np.full(len(visits), later))
    return rows[:, [name != "intercept" for name in model.design_.names]]


class Asked:
    """A peer, asked about sessions."""

    def __init__(self, peer, model):
        visits = model.readings_.visits
        rows = model.design_.encode(design_columns(visits), visits["later_session"].to_numpy())
        rows = rows[:, [name != "intercept" for name in model.design_.names]]
        gain = (visits["achieved_level"] - visits["start_level"]).to_numpy()
        self.peer = peer.fit(rows, visits["minutes"].to_numpy(), gain, visits["client"].to_numpy())
        self.model = model

    def band(self, rows, minutes):
        """Ends of the 80 % band of levels gained."""
        return self.peer.band(rows, minutes, COVERAGE)

    def plans(self, plans):
        """Chances of a goal read in one session, and within two, (plans, 2)."""
        visits = self.model.readings_.visits
        asked, again = [], []
        for number, plan in enumerate(plans):
            like = visits[visits["hair"] == plan.hair]
            like = like.iloc[:: max(len(like) // 50, 1)].assign(
                start_level=plan.start, heat=plan.heat, peroxide_pct=plan.peroxide, number=number
            )
            like = like.assign(case=len(like), minutes=plan.minutes, goal_level=plan.goal)
            asked.append(like)
            # where the first session ends, by half steps below the goal
            again += [like.assign(ended=level) for level in np.arange(plan.start, plan.goal, 0.5)]
        first, again = pd.concat(asked), pd.concat(again)
        gain = (first["goal_level"] - first["start_level"]).to_numpy() - 0.25
        one = self._reached(first, False, gain)
        below, step = (again["ended"] - again["start_level"]).to_numpy(), 0.25
        upto = np.where(below == 0, 1.0, self._reached(again, False, below - step))
        ends = np.maximum(upto - self._reached(again, False, below + step), 0.0)
        # and what a second adds from there
        more = again.assign(start_level=again["ended"])
        second = self._reached(more, True, (again["goal_level"] - again["ended"]).to_numpy() - step)
        weight = 1.0 / first["case"].to_numpy(), 1.0 / again["case"].to_numpy()
        one = np.bincount(first["number"], weight[0] * one, len(plans))
        two = np.bincount(again["number"], weight[1] * ends * second, len(plans))
        return np.stack([one, one + two], axis=1)

    def _reached(self, visits, later, need):
        return self.peer.chance_reached(
            covariates(self.model, visits, later), visits["minutes"].to_numpy(dtype=float), need
        )


def look_peers(model):
    """Peers that learned from the first readings of all visits; none where nobody writes looks down."""
    codes = (model.predictive_.stylists, model.predictive_.products)
    told = told_visits(model.readings_, model.design_, *codes)
    usable, gain, rows = first_levels(HeldOut(told, np.zeros(0, int), (model.predictive_,)))
    if usable.sum() < 100:
        return []
    client = np.repeat(np.arange(len(told.n_visits)), told.n_visits)
    minutes = told.minutes[told.first_reading[usable]]
    return [
        peer.fit(rows[usable], minutes, gain[usable], client[usable])
        for peer in (LeastSquares(), BoostedQuantiles())
    ]


def one_log(job):
    """Coverages of first look and session's level, errors of P(1) and P(2): the model, then the peers."""
    name, seed = job
    made = world(name)
    tables, truth = simulate_log(made, VISITS, seed)
    known, new = split(as_log(tables, name), seed)
    model = LiftModel().fit(known)
    calibrated = calibrate(model)
    predictive = calibrated.predictive_
    peers = [Asked(peer, model) for peer in (LeastSquares(), BoostedQuantiles())]
    lookers = look_peers(model)

    checked, held = check_other_log(model, predictive, new, seed)
    told, visits = held.told, checked.visits
    at = told.first_visit[told.n_readings[told.first_visit] > 0]
    reading = told.first_reading[at]
    look = [inside_share(checked.followed.low[reading], checked.followed.high[reading], COVERAGE).mean()]
    usable, gain, rows = first_levels(held)
    seen = at[usable[at]]
    for peer in lookers:
        low, high = peer.band(rows[seen], told.minutes[told.first_reading[seen]], COVERAGE)
        look.append(((low <= gain[seen]) & (gain[seen] <= high)).mean() if len(seen) else np.nan)
    first = visits.iloc[at]

    once = first[first["session"] == 1]
    minutes = longest_time(visits)[once.index]
    plans = plans_of_visits(once, minutes, predictive.stylists)
    levels = simulate_courses(predictive, plans, 256, seed, limit=1, draws=1, per_draw=32).levels[:, 0]
    upto = np.cumsum(levels, axis=1)
    cell = np.rint((once["achieved_level"].to_numpy() - 1.0) / 0.5).astype(int)
    high = upto[np.arange(len(cell)), cell]
    low = high - levels[np.arange(len(cell)), cell]
    after = [inside_share(np.clip(low, 0, 1), np.clip(high, 0, 1), COVERAGE).mean()]
    goal, start = once["goal_level"].to_numpy(), once["start_level"].to_numpy()
    reached = np.minimum(once["achieved_level"].to_numpy(), goal) - start
    rows = covariates(model, once, False)
    for peer in peers:
        low, high = (np.minimum(end, goal - start) for end in peer.band(rows, minutes))
        after.append(((low <= reached) & (reached <= high)).mean())

    asked = random_plans(made, tables, PLANS, seed + 100)
    true = [np.cumsum(true_session_chances(made, truth, plan).probabilities)[:2] for plan in asked]
    given = [(p.start, p.goal, p.hair, p.peroxide, p.heat, p.minutes) for p in asked]
    said = [np.array([np.cumsum(sessions(predictive, *plan).sessions)[:2] for plan in given])]
    said += [peer.plans(asked) for peer in peers]
    off = np.mean(np.abs(np.array(said) - np.array(true)), axis=1)
    rescaled = predictive.recalibration
    scale = [
        rescaled.spread,
        rescaled.reading,
        rescaled.later,
        0.0 if rescaled.df is None else 1 / rescaled.df,
    ]
    look += [np.nan] * (3 - len(look))
    return np.concatenate([look, after, off.T.ravel(), scale])


def main() -> None:
    """Print one line a world, means over its logs."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--logs", type=int, default=20)
    parser.add_argument("--worlds", nargs="+", default=list(WORLD_NAMES), choices=list(WORLD_NAMES))
    parser.add_argument("--processes", type=int, default=2)
    args = parser.parse_args()
    heads = ("first look", "after a session", "error of P(1)", "error of P(2)")
    print(" " * 20 + "".join(f"{head:<22}" for head in heads) + "rescaled")
    print(f"{'world':<20}" + f"{'model  OLS    trees':<22}" * 4 + "spread reading later  1/df")
    # threads of two processes would only wait for each other
    with ProcessPoolExecutor(args.processes, initializer=threadpool_limits, initargs=(1,)) as pool:
        for name in args.worlds:
            found = np.array(list(pool.map(one_log, [(name, seed) for seed in range(args.logs)])))
            means = found.mean(axis=0)
            parts = ["  ".join(f"{v:.3f}" for v in means[k : k + 3]) for k in (0, 3, 6, 9)]
            scale = "  ".join(f"{v:.3f}" for v in means[12:])
            print(f"{name:<20}" + "".join(f"{part:<22}" for part in parts) + scale, flush=True)


if __name__ == "__main__":
    main()
