"""How near session chances come to a simulated team's truth, beside least squares.

    python tests/benchmarks/sessions_accuracy.py [--logs 10] [--worlds plain no_looks ...]

Each log has 1,600 visits; 40 plans are drawn from what it covers. Total variation is half the sum of
absolute differences of P(1), P(2), ... to the truth that `outcomes.demo.truth` plays out. The peers predict
the level after the longest time from final rows with the same covariates; a normal band around it gives
their P(1).
"""

from __future__ import annotations

import argparse
from statistics import NormalDist

import numpy as np

from outcomes.answers.sessions import sessions
from outcomes.demo.simulate import simulate_log
from outcomes.demo.truth import Plan, random_plans, true_session_chances
from outcomes.demo.worlds import WORLD_NAMES, world
from outcomes.log.read import VisitLog
from outcomes.models.lift import LiftModel
from outcomes.readings.lift import design_columns

PLANS = 40
VISITS = 1600
ASKED = {"plain": 0.022, "no_looks": 0.035, "heavy_tails": 0.035, "heaped_results": 0.035}
ASKED |= {"look_bias": 0.045, "saturating": 0.045, "reread_starts": 0.022}


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


def one_log(name: str, seed: int) -> tuple[float, float, float, float, float]:
    """Mean over plans: total variation; error of P(1) of the model and of both peers; medians that agree."""
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
    peers = [LeastSquares(model, logs=logs) for logs in (False, True)]
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
        if told["median"] is not None and (np.abs(np.cumsum(true.probabilities) - 0.5) > 0.05).all():
            agree.append(told["median"] == true.median)
    model_first, levels, log_levels = np.mean(first, axis=0)
    return float(np.mean(far)), float(model_first), float(levels), float(log_levels), float(np.mean(agree))


def main() -> None:
    """Print one line a world."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--logs", type=int, default=10)
    parser.add_argument("--worlds", nargs="+", default=list(WORLD_NAMES), choices=list(WORLD_NAMES))
    args = parser.parse_args()
    print(
        "world            total variation        asked   error of P(1): model  levels  log levels   medians"
    )
    for name in args.worlds:
        found = np.array([one_log(name, seed) for seed in range(args.logs)])
        tv, first, levels, log_levels, agree = found.mean(axis=0)
        print(
            f"{name:<16} {tv:.4f} (worst {found[:, 0].max():.4f})  {ASKED[name]:.3f}  "
            f"{first:.4f}{'':14} {levels:.3f}   {log_levels:.3f}        {agree:.2f}",
            flush=True,
        )


if __name__ == "__main__":
    main()
