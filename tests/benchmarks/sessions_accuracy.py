"""How near session chances come to a simulated team's truth, beside what a user would try first.

    python tests/benchmarks/sessions_accuracy.py [--logs 10] [--worlds plain no_looks ...]

Each log has 1,600 visits; 40 plans are drawn from what it covers. Total variation is half the sum of
absolute differences of P(1), P(2), ... to the truth that `outcomes.demo.truth` plays out. The peers predict
the level after the longest time from final rows with the same covariates, and give P(1) by a band around it:
least squares of levels and of log levels by a normal one, boosted trees by their residuals in five folds by
client.
"""

from __future__ import annotations

import argparse
from concurrent.futures import ProcessPoolExecutor
from statistics import NormalDist

import numpy as np
from sklearn.ensemble import HistGradientBoostingRegressor
from sklearn.model_selection import GroupKFold, cross_val_predict
from threadpoolctl import threadpool_limits

from outcomes.answers.sessions import sessions
from outcomes.demo.simulate import simulate_log
from outcomes.demo.truth import Plan, random_plans, true_session_chances
from outcomes.demo.worlds import world
from outcomes.log.read import VisitLog
from outcomes.models.lift import LiftModel
from outcomes.readings.covariates import design_columns

PLANS = 40
VISITS = 1600
ASKED = {"plain": 0.022, "no_looks": 0.035, "heavy_tails": 0.035, "heaped_results": 0.035}
ASKED |= {"look_bias": 0.045, "saturating": 0.045, "reread_starts": 0.022, "left_to_clock": 0.035}


class LeastSquares:
    """Levels gained, or their logarithm, on log minutes and the model's covariates."""

    def __init__(self, model: LiftModel, *, logs: bool) -> None:
        visits = model.readings_.visits
        gained = (visits["achieved_level"] - visits["start_level"]).to_numpy()
        rows = gained > 0 if logs else np.ones(len(gained), bool)
        covariates = model.design_.encode(design_columns(visits), visits["later_session"].to_numpy())
        minutes = np.log(visits["minutes"].to_numpy() / 45.0)
        design, target = np.column_stack([minutes, covariates])[rows], gained[rows]
        target = np.log(target) if logs else target
        self.beta = np.linalg.lstsq(design, target, rcond=None)[0]
        self.sd = float((target - design @ self.beta).std())
        self.visits, self.covariates, self.logs = visits, covariates, logs

    def reached(self, plan: Plan, model: LiftModel) -> float:
        """P(done in one session), the covariates not asked for averaged over the visits with that hair."""
        like = self.visits[self.visits["hair"] == plan.hair].assign(
            start_level=plan.start, heat=plan.heat, peroxide_pct=plan.peroxide
        )
        rows = model.design_.encode(design_columns(like), np.zeros(len(like), bool))
        minutes = np.full(len(rows), np.log(plan.minutes / 45.0))
        mean = np.column_stack([minutes, rows]) @ self.beta
        need = plan.goal - plan.start - 0.25
        z = (mean - (np.log(need) if self.logs else need)) / self.sd
        return float(np.mean([NormalDist().cdf(value) for value in z]))


class BoostedTrees:
    """Levels gained by gradient boosting on the same rows; trees of the size that five folds prefer."""

    def __init__(self, model: LiftModel) -> None:
        visits = model.readings_.visits
        gained = (visits["achieved_level"] - visits["start_level"]).to_numpy()
        covariates = model.design_.encode(design_columns(visits), visits["later_session"].to_numpy())
        rows = np.column_stack([visits["minutes"].to_numpy(), covariates])
        folds = list(GroupKFold(5).split(rows, gained, visits["client"]))
        best = np.inf
        for leaves in (4, 8, 16):
            trees = HistGradientBoostingRegressor(
                learning_rate=0.05, max_iter=200, max_leaf_nodes=leaves, random_state=1
            )
            off = gained - cross_val_predict(trees, rows, gained, cv=folds)
            if off.std() < best:
                best, self.off, self.trees = off.std(), off, trees
        self.trees.fit(rows, gained)
        self.visits = visits

    def reached(self, plan: Plan, model: LiftModel) -> float:
        """P(done in one session), as above."""
        like = self.visits[self.visits["hair"] == plan.hair].assign(
            start_level=plan.start, heat=plan.heat, peroxide_pct=plan.peroxide
        )
        rows = model.design_.encode(design_columns(like), np.zeros(len(like), bool))
        mean = self.trees.predict(np.column_stack([np.full(len(rows), plan.minutes), rows]))
        need = plan.goal - plan.start - 0.25
        return float(np.mean(mean[:, None] + self.off >= need))


def middle(chances: np.ndarray) -> int:
    """Fewest sessions within which half are done; one more than were followed where it takes longer."""
    return int(np.searchsorted(np.cumsum(chances[:-1]), 0.5 - 1e-9)) + 1


def one_log(job: tuple[str, int]) -> tuple[float, ...]:
    """Mean over plans: total variation; error of P(1) of the model and its peers; medians that agree."""
    name, seed = job
    made = world(name)
    tables, truth = simulate_log(made, VISITS, seed)
    log = VisitLog(
        visits=tables["visits"],
        checks=tables["checks"],
        washes=tables["washes"],
        given=frozenset(),
        faults=tables["visits"].iloc[:0],
        warnings=tables["visits"].iloc[:0],
        counts={},
        source=name,
        notes=(),
    )
    model = LiftModel().fit(log)
    peers = [LeastSquares(model, logs=False), LeastSquares(model, logs=True), BoostedTrees(model)]
    far, first, agree = [], [], []
    for plan in random_plans(made, tables, PLANS, seed + 100):
        true = true_session_chances(made, truth, plan)
        told = sessions(
            model, plan.start, plan.goal, plan.hair, plan.peroxide, plan.heat, plan.minutes
        ).to_dict()
        chances = np.array(list(told["sessions"].values()))
        far.append(0.5 * np.abs(chances - true.probabilities).sum())
        first.append(
            [
                abs(p - true.probabilities[0])
                for p in (chances[0], *(peer.reached(plan, model) for peer in peers))
            ]
        )
        if (np.abs(np.cumsum(true.probabilities[:-1]) - 0.5) > 0.05).all():
            agree.append(middle(chances) == middle(true.probabilities))
    return (float(np.mean(far)), *np.mean(first, axis=0), float(np.mean(agree)), float(model.fit_.converged))


def main() -> None:
    """Print one line a world, means over its logs."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--logs", type=int, default=10)
    parser.add_argument("--worlds", nargs="+", default=list(ASKED), choices=list(ASKED))
    parser.add_argument("--processes", type=int, default=2)
    args = parser.parse_args()
    print("                 total variation                error of P(1)")
    print("world            mean    worst   asked   model   levels  logs    trees   medians  converged")
    # threads of two processes would only wait for each other
    with ProcessPoolExecutor(args.processes, initializer=threadpool_limits, initargs=(1,)) as pool:
        for name in args.worlds:
            found = np.array(list(pool.map(one_log, [(name, seed) for seed in range(args.logs)])))
            tv, first, levels, logs, trees, agree, converged = found.mean(axis=0)
            print(
                f"{name:<16} {tv:.4f}  {found[:, 0].max():.4f}  {ASKED[name]:.3f}   {first:.4f}  "
                f"{levels:.3f}   {logs:.3f}   {trees:.3f}   {agree:.3f}    {converged:.2f}",
                flush=True,
            )


if __name__ == "__main__":
    main()
