"""How near the stated time in the chair of a course comes to a simulated team's truth.

    python tests/benchmarks/chair_times.py [--logs 2] [--visits 2000] [--plans 20]

Middle and ends of the 80 % band against courses that `outcomes.demo.truth` plays out, whose sessions take
what the simulator writes down as chair minutes: some plans of 15 to 58 minutes, and random ones.
"""

from __future__ import annotations

import argparse

import numpy as np

from outcomes.answers.costs import course_costs
from outcomes.answers.sessions import sessions
from outcomes.demo.finish import chair_minutes
from outcomes.demo.simulate import simulate_log
from outcomes.demo.truth import Plan, random_plans, true_session_chances
from outcomes.demo.worlds import world
from outcomes.log.read import VisitLog
from outcomes.models.lift import LiftModel

NAMED = [
    *(Plan(3.0, 9.5, "natural", 6.0, "low", minutes) for minutes in (15.0, 30.0, 45.0, 58.0)),
    *(Plan(5.0, 7.0, "natural", 6.0, "low", minutes) for minutes in (15.0, 30.0, 45.0)),
]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--logs", type=int, default=2)
    parser.add_argument("--visits", type=int, default=2000)
    parser.add_argument("--plans", type=int, default=20)
    args = parser.parse_args()
    for seed in range(7, 7 + args.logs):
        tables, truth = simulate_log(world("plain"), args.visits, seed)
        model = LiftModel(shapes=("power",)).fit(as_log(tables))
        differences = []
        for plan in [*random_plans(world("plain"), tables, args.plans, seed), *NAMED]:
            told, played = stated(model, plan), true_ends(truth, plan, seed)
            if plan in NAMED:
                print(f"  {plan.start:g} to {plan.goal:g}, {plan.minutes:g} minutes: {told}, truth {played}")
            elif None not in told and np.isfinite(played).all():
                differences.append(np.subtract(told, played))
        mean, far = np.mean(differences, axis=0), np.abs(differences)
        print(
            f"log {seed}, {len(differences)} plans: middle, low, high: mean error {np.round(mean, 1)}, "
            f"mean absolute {np.round(far.mean(axis=0), 1)}, largest {far.max(axis=0)}"
        )


def as_log(tables):
    """The tables as a log that was read."""
    nothing = tables["visits"].iloc[:0]
    return VisitLog(
        **tables, given=frozenset(), faults=nothing, warnings=nothing, counts={}, source="simulated", notes=()
    )


def stated(model: LiftModel, plan: Plan) -> list[float | None]:
    answer = sessions(model, *vars(plan).values())
    total = course_costs(model, answer).to_dict()["chair_time"]
    return [total[end] for end in ("median", "low", "high")]


def true_ends(truth, plan: Plan, seed: int) -> list[float]:
    chances = true_session_chances(world("plain"), truth, plan, n_courses=20_000, seed=seed)
    rng = np.random.Generator(np.random.PCG64(seed))
    taken = sum(np.nan_to_num(chair_minutes(of, rng)) for of in chances.processed.T)
    # those that aren't done within the sessions followed take longer than any
    taken = np.sort(np.where(chances.needed <= chances.processed.shape[1], taken, np.inf))
    return [float(taken[int(np.ceil(share * len(taken))) - 1]) for share in (0.5, 0.1, 0.9)]


if __name__ == "__main__":
    main()
