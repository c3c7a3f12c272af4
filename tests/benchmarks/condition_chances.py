"""How near stated chances of strand condition come to a simulated team's truth.

    python tests/benchmarks/condition_chances.py [--logs 4] [--visits 1600]

Three figures for each log. Condition written after a session against the chances that a fit without the
client's fifth of the log stated, given the real minutes: shares of each point, and the mean log score beside
that of plain shares by condition before. Chance that condition falls below a floor before the goal is read,
against the truth that `outcomes.demo.truth` plays out, 20 plans with conditions 3 and 4 and floors at and one
below them. Correlation between what a visit lost more than expected and how far its lift was above what was
expected: independence is taken for granted.
"""

from __future__ import annotations

import argparse

import numpy as np

from outcomes.answers.condition import course_condition
from outcomes.answers.sessions import sessions
from outcomes.demo.simulate import simulate_log
from outcomes.demo.truth import random_plans, true_session_chances
from outcomes.demo.worlds import world
from outcomes.log.read import VisitLog
from outcomes.models.condition_chain import condition_losses
from outcomes.models.lift import LiftModel
from outcomes.predictive.condition_chain import CLIENTS
from outcomes.review.expected import expected_visits


def as_log(tables):
    """The tables as a log that was read."""
    nothing = tables["visits"].iloc[:0]
    return VisitLog(
        **tables, given=frozenset(), faults=nothing, warnings=nothing, counts={}, source="simulated", notes=()
    )


def stated(losses, rows):
    """Chances of 1 to 5 after each row's session."""
    found = np.empty((len(rows), 5))
    weight = CLIENTS[1] / len(losses.coefficients)
    asked = rows[["minutes", "peroxide_pct", "heat", "hair", "later_session", "condition_before"]]
    known = {}
    for place, row in enumerate(asked.itertuples(index=False)):
        minutes, peroxide, heat, hair, later, before = row
        key = (minutes, peroxide, heat, hair, later)
        if key not in known:
            known[key] = np.einsum("c,dcba->ba", weight, losses.after(*key))
        found[place] = known[key][int(before) - 1]
    return found


def held_out(visits, folds=5):
    """Shares that came and were stated, and mean log scores, of clients left out."""
    told = visits["condition_before"].notna() & visits["condition_after"].notna()
    number = {c: i for i, c in enumerate(np.random.default_rng(1).permutation(visits["client"].unique()))}
    fold = visits["client"].map(number).to_numpy() % folds
    came, chances, plain = [], [], []
    for k in range(folds):
        without = visits[fold != k].reset_index(drop=True)
        previous = np.full(len(visits), -1)
        previous[fold != k] = np.arange(len(without))
        old = without["previous"].to_numpy()
        without["previous"] = np.where(old >= 0, previous[old], -1)
        losses, _ = condition_losses(without)
        rows = visits[(fold == k) & told.to_numpy()]
        table = np.full((5, 5), 0.5)
        there = visits[(fold != k) & told.to_numpy()]
        np.add.at(
            table, (there["condition_before"].astype(int) - 1, there["condition_after"].astype(int) - 1), 1
        )
        table /= table.sum(axis=1, keepdims=True)
        chances.append(stated(losses, rows))
        plain.append(table[rows["condition_before"].astype(int) - 1])
        came.append(rows["condition_after"].to_numpy(dtype=int) - 1)
    came, chances, plain = map(np.concatenate, (came, chances, plain))
    score = [float(np.log(p[np.arange(len(came)), came]).mean()) for p in (chances, plain)]
    return np.bincount(came, minlength=5) / len(came), chances.mean(axis=0), score


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--logs", type=int, default=4)
    parser.add_argument("--visits", type=int, default=1600)
    args = parser.parse_args()
    for seed in range(1, args.logs + 1):
        here = world("plain")
        tables, truth = simulate_log(here, args.visits, seed)
        model = LiftModel().fit(as_log(tables))
        visits = model.readings_.visits
        came, said, score = held_out(visits)
        print(f"log {seed}: came {came.round(4)}, stated {said.round(4)}")
        print(f"  log score {score[0]:.4f}; plain shares by condition before {score[1]:.4f}")
        errors, sizes = [], []
        for plan in random_plans(here, tables, 20, seed):
            for before in (3, 4):
                true = true_session_chances(here, truth, plan, seed=seed, condition=float(before))
                asked = (plan.start, plan.goal, plan.hair, plan.peroxide, plan.heat, plan.minutes)
                answer = sessions(model, *asked)
                if answer.support == "outside":
                    continue
                for floor in (before, before - 1):
                    found = course_condition(model, answer, before, floor)
                    errors.append(found.stops_first - true.stops_first(floor))
                    sizes.append(true.stops_first(floor))
        errors = np.array(errors)
        print(
            f"  stops first: true 0 to {max(sizes):.3f}; mean error {errors.mean():+.4f}, "
            f"mean absolute {abs(errors).mean():.4f}, largest {abs(errors).max():.4f}"
        )
        expected = expected_visits(model, model.predictive_)
        rows = expected.visits
        both = rows["loss"].notna() & rows["residual"].notna()
        extra = (rows["loss"] - rows["loss_expected"])[both]
        r = np.corrcoef(extra, rows["residual"][both])[0, 1]
        minutes = rows["minutes"][both]
        partial = [
            v - np.polyval(np.polyfit(minutes, v, 1), minutes) for v in (extra, rows["residual"][both])
        ]
        print(
            f"  correlation of losses with lift: {r:+.3f} (se {1 / np.sqrt(both.sum()):.3f}), "
            f"given minutes {np.corrcoef(*partial)[0, 1]:+.3f}"
        )


if __name__ == "__main__":
    main()
