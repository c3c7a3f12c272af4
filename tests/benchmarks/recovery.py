"""Bias and interval coverage of every parameter of the lift model over many simulated logs.

    python tests/benchmarks/recovery.py [--logs 50] [--worlds plain no_looks ...]

Each log has 1,600 visits; seeds 0, 1, 2 ..., none left out. For each parameter: bias (estimate minus truth)
with its Monte Carlo standard error, standard deviation over logs, mean stated standard error, and how often
the 95 % interval holds the truth. Spreads and the shape have their interval on the log scale. A fit that
did not converge, or that kept the other shape, is counted and said.
"""

from __future__ import annotations

import argparse
from concurrent.futures import ProcessPoolExecutor

import numpy as np

from outcomes.demo.simulate import simulate_log
from outcomes.demo.worlds import WORLD_NAMES, World, world
from outcomes.log.read import VisitLog
from outcomes.models.lift import LiftModel

VISITS = 1600
BIAS = {"shape": 0.02}  # asked; 0.03 of everything else

Row = dict[str, tuple[float, float, float, bool]]  # parameter: truth, estimate, standard error, holds


def truths(made: World) -> dict[str, float]:
    """What the model's parameters are in a world."""
    out = {"peroxide": made.peroxide_exponent, "mix_ratio": made.mix_exponent, "later_session": made.later}
    for column in ("heat", "hair", "texture", "zone", "wrap", "colour_history"):
        out |= {f"{column}[{word}]": value for word, value in getattr(made, column).items() if value != 0.0}
    out["applications"] = made.second_application / np.log(2.0)
    out["additive:look"] = made.look_bias
    return out


def one_log(job: tuple[str, int]) -> tuple[bool, bool, Row]:
    """Whether the fit converged, whether it kept the world's shape, and every parameter."""
    name, seed = job
    made = world(name)
    tables, _ = simulate_log(made, VISITS, seed)
    none = tables["visits"].iloc[:0]
    log = VisitLog(**tables, given=frozenset(), faults=none, warnings=none, counts={}, source=name, notes=())
    model = LiftModel().fit(log)
    fit = model.fits_[made.shape]
    joint = fit.joint_covariance
    error = dict(zip(joint.index, np.sqrt(np.diagonal(joint.to_numpy())), strict=True))
    out: Row = {}
    for term, true in truths(made).items():
        if term in fit.coefficients.index:
            found = float(fit.coefficients[term])
            out[term] = (true, found, error[term], abs(found - true) < 1.96 * error[term])
    assert fit.shape is not None
    theta = made.theta / 45.0 if made.shape == "saturating" else made.theta
    spreads = {
        "shape": (theta, fit.shape.value, error["shape"] / fit.shape.value),
        **{
            f"sd {group}": (
                getattr(made, f"sd_{group}"),
                fit.group_sd[group],
                error.get(f"log_sd:{group}", 0.0),
            )
            for group in ("client", "stylist", "product", "visit")
        },
        **{
            f"sd {kind} read": (true, fit.reading_sd[kind], error[f"log_reading_sd:{kind}"])
            for kind, true in (("result", made.tau_result), ("look", made.tau_look))
        },
    }
    for name_of, (true, found, log_error) in spreads.items():
        holds = found > 0 and abs(np.log(found / true)) < 1.96 * log_error
        out[name_of] = (true, found, found * log_error, bool(holds))
    return fit.converged, model.shape_ == made.shape, out


def main() -> None:
    """Print a table a world."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--logs", type=int, default=50)
    parser.add_argument("--worlds", nargs="+", default=list(WORLD_NAMES), choices=list(WORLD_NAMES))
    parser.add_argument("--processes", type=int, default=2)
    args = parser.parse_args()
    with ProcessPoolExecutor(args.processes) as pool:
        for name in args.worlds:
            found = list(pool.map(one_log, [(name, seed) for seed in range(args.logs)]))
            converged, kept = sum(part[0] for part in found), sum(part[1] for part in found)
            print(f"\n{name}: {len(found)} logs, {converged} fits converged, {kept} kept the true shape")
            print("parameter                  truth    bias    (se)     sd      stated se  95 % holds")
            for term in found[0][2]:
                rows = np.array([part[2][term] for part in found if term in part[2]], dtype=float)
                off = rows[:, 1] - rows[:, 0]
                bias, se = off.mean(), off.std() / np.sqrt(len(off))
                mark = "  <- more than asked" if abs(bias) > BIAS.get(term, 0.03) else ""
                print(
                    f"{term:<25} {rows[0, 0]:+.3f}   {bias:+.4f} ({se:.4f})  {off.std():.4f}  "
                    f"{rows[:, 2].mean():.4f}     {rows[:, 3].mean():.2f}{mark}",
                    flush=True,
                )


if __name__ == "__main__":
    main()
