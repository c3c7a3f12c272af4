"""Whether the lift model's posterior is what its own prior and likelihood make it: ranks of the truth.

    python tests/benchmarks/simulation_based_calibration.py [--logs 200] [--habits known] [--to FILE.csv]

Simulation-based calibration (Talts, Betancourt, Simpson, Vehtari & Gelman 2018, arXiv:1804.06788). Every
parameter is drawn from the prior of `models/starter.csv`, a log of 300 visits from the likelihood, and the
rank of the truth among 399 posterior draws of `LiftModel(shapes=("power",))` is put into ten bins. With an
exact posterior ranks are even: of 200 logs each bin then holds 10 to 32 with a chance of 99 %, so among all
parameters one or two bins lie outside by chance. Beside the counts: chi-square p; the mean of
(stated - true) / stated sd, which should be 0; and the sd of the same, which should be 1. Spreads and the
shape are compared by their logarithms.

Who comes and what is done for it are the same in every log: 150 clients, half of them once and half of them
three times, 5 stylists, 4 products, one session a course; starts, goals, developer, heat, hair and longest
times as the demo's salons choose them. Looks come every ten minutes or so, are written down unless they end
the visit, and results are read anew after the rinse. Logs are used as they come, absurd worlds too. A fit
that failed is counted, and its ranks are missing.

--habits decided: `LiftModel` decides itself how results are written. known: it's told, so that what is left
is the engine's own.
"""

from __future__ import annotations

import argparse
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy.stats import chisquare
from threadpoolctl import threadpool_limits

from outcomes.calibration.scores import rank_counts_band
from outcomes.demo.choices import draw_openings, draw_settings, switch_stylists
from outcomes.demo.columns import as_table
from outcomes.demo.people import draw_products, draw_stylists
from outcomes.demo.worlds import world
from outcomes.errors import FitError
from outcomes.log.read import VisitLog
from outcomes.models.arrange import arrange_lift, fit_arranged
from outcomes.models.draws import rate_draws
from outcomes.models.lift import LiftModel
from outcomes.models.starter import drawn
from outcomes.readings.covariates import design_columns
from outcomes.readings.learn import learn_design
from outcomes.readings.lift import lift_readings, look_at

CLIENTS, STYLISTS = 150, 5
DRAWS, BINS = 399, 10
STEP, LONGEST = 0.5, 45.0
GROUPS = ("visit", "client", "stylist", "product")
KINDS = ("result", "look")
FIRST = "stylist[S01]"  # one effect beside the parameters


def as_read(level):
    """Levels as written."""
    return np.clip(STEP * np.floor(level / STEP + 0.5), 1.0, 10.0)


@dataclass(frozen=True)
class Salon:
    """Visits without their readings, the columns of their predictor, and the longest time of each."""

    visits: pd.DataFrame
    names: tuple[str, ...]
    rows: np.ndarray
    codes: dict[str, np.ndarray]
    longest: np.ndarray


def salon():
    """The visits that every log has."""
    rng = np.random.default_rng(1)
    plain = world("plain", n_stylists=STYLISTS)
    client = np.repeat(np.arange(CLIENTS), np.where(np.arange(CLIENTS) % 2, 3, 1))
    n = len(client)
    stylists, products = draw_stylists(plain, n, rng), draw_products(plain, rng)
    usual = rng.choice(STYLISTS, size=CLIENTS, p=stylists["share"].to_numpy())
    stylist = switch_stylists(usual[client], stylists, rng)
    opening = draw_openings(plain, n, rng)
    need = opening.goal_level - opening.start_level
    chosen = draw_settings(need, opening.hair, opening.condition, stylists.iloc[stylist], products, rng)
    columns = {
        "visit": [f"V{i + 1:03d}" for i in range(n)],
        "course": [f"K{i + 1:03d}" for i in range(n)],
        "client": [f"C{i + 1:03d}" for i in client],
        "stylist": stylists["stylist"].to_numpy(dtype=object)[stylist],
        "date": np.datetime64("2023-01-03") + rng.integers(0, 500, n).astype("timedelta64[D]"),
        "zone": np.full(n, "lengths", dtype=object),
        "hair": opening.hair,
        "start_level": opening.start_level,
        "goal_level": opening.goal_level,
        **{name: chosen[name] for name in ("product", "peroxide_pct", "heat")},
    }
    visits = as_table("visits", columns)
    codes = {"visit": np.arange(n), "client": client, "stylist": stylist}
    codes["product"] = pd.factorize(visits["product"], sort=True)[0]
    later = np.zeros(n, dtype=bool)
    design = learn_design(design_columns(visits), later)
    rows = design.encode(design_columns(visits), later)
    return Salon(visits, design.names, rows, codes, chosen["planned_minutes"])


def from_prior(names, rng):
    """Every parameter, under the name that it has among a fit's draws."""
    rows = {name: f"coefficient:{name.partition('[')[0]}" for name in names}
    rows |= {"additive:look": "coefficient:additive:look", "shape": "log_shape:power"}
    rows |= {f"sd:{group}": f"log_group_sd:{group}" for group in GROUPS}
    rows |= {f"reading_sd:{kind}": f"log_reading_sd:{kind}" for kind in KINDS}
    return {name: float(drawn(row, 1, rng)[0]) for name, row in rows.items()}


def simulated(made, truth, rng):
    """A log of these visits in a world of these parameters, and the effect of the first stylist."""
    n = len(made.visits)
    log_rate = made.rows @ np.array([truth[name] for name in made.names])
    for group in GROUPS:
        effects = truth[f"sd:{group}"] * rng.standard_normal(made.codes[group].max() + 1)
        log_rate += effects[made.codes[group]]
        if group == "stylist":
            first = float(effects[0])
    start, goal = (made.visits[name].to_numpy() for name in ("start_level", "goal_level"))
    of_result, of_look = (truth[f"reading_sd:{kind}"] for kind in KINDS)
    # starts are given as they were written; what they are lies about that
    true_start = start + np.sqrt(of_result**2 + STEP**2 / 12.0) * rng.standard_normal(n)

    def level(at, minutes):
        return true_start[at] + np.exp(log_rate[at]) * (minutes / LONGEST) ** truth["shape"]

    minutes, target = made.longest.astype(float), np.zeros(n, dtype=bool)
    at, clock, taken = np.arange(n), np.zeros(n), []
    while len(at):
        clock = clock + np.maximum(2.0, np.round(10.0 * np.exp(0.2 * rng.standard_normal(len(at)))))
        still = clock < minutes[at]
        at, clock = at[still], clock[still]
        noise = truth["additive:look"] + of_look * rng.standard_normal(len(at))
        read = as_read(level(at, clock) + noise)
        ends = read >= goal[at]
        minutes[at[ends]], target[at[ends]] = clock[ends], True
        at, clock = at[~ends], clock[~ends]
        taken.append(pd.DataFrame({"row": at, "minutes": clock, "level": read[~ends]}))
    looks = pd.concat(taken).sort_values(["row", "minutes"], ignore_index=True)
    result = as_read(level(np.arange(n), minutes) + of_result * rng.standard_normal(n))
    visits = made.visits.assign(
        minutes=minutes,
        looks=np.bincount(looks["row"], minlength=n).astype(float),
        achieved_level=result,
        stop=np.where(target, "target", "time").astype(object),
    )
    written = {"visit": visits["visit"].to_numpy()[looks["row"]], "zone": np.full(len(looks), "lengths")}
    written |= {name: looks[name].to_numpy() for name in ("minutes", "level")}
    none = visits.iloc[:0]
    log = VisitLog(
        visits=visits,
        checks=as_table("checks", written),
        washes=as_table("washes", {}),
        given=frozenset(),
        faults=none,
        warnings=none,
        counts={},
        source="from the prior",
        notes=(),
    )
    return log, first


def fitted(log, habits):
    """Fit of a log, and the stylists whose habit was decided wrongly."""
    if habits == "decided":
        model = LiftModel(shapes=("power",)).fit(log)
        copied = [name for name, anew in model.habits_.reread.items() if not anew]
        heaped = [name for name, heaps in model.habits_.heaped.items() if heaps]
        return model.fit_, len(copied), len(heaped)
    seen = look_at(log)
    readings = lift_readings(seen, reread=dict.fromkeys(seen.visits["stylist"].unique(), True))
    later = np.zeros(len(seen.visits), dtype=bool)
    arranged = arrange_lift(readings, learn_design(design_columns(seen.visits), later))
    return fit_arranged(arranged, "power", use_prior=True, tolerance=1e-3), 0, 0  # as `LiftModel` has it


def one_log(job):
    """Of each parameter truth, rank, and mean and sd of its draws; and what the log and its fit were like."""
    seed, habits = job
    made, rng = salon(), np.random.default_rng([2018, seed])
    truth = from_prior(made.names, rng)
    log, truth[FIRST] = simulated(made, truth, rng)
    visits, begun = log.visits, time.perf_counter()
    about = {
        "log": seed,
        "target": (visits["stop"] == "target").mean(),
        "first_look": ((visits["stop"] == "target") & (visits["looks"] == 0)).mean(),
        "top": (visits["achieved_level"] == 10.0).mean(),
        "unmoved": (visits["achieved_level"] <= visits["start_level"]).mean(),
    }
    try:
        fit, copied, heaped = fitted(log, habits)
    except FitError as error:
        return [about | {"failed": str(error)}]
    about |= {"converged": fit.converged, "copied": copied, "heaped": heaped, "failed": ""}
    about["seconds"] = time.perf_counter() - begun
    out = []
    for name, values in as_answers_have_it(fit, made, seed).items():
        logs, true = name.startswith(("shape", "sd:", "reading_sd:")), truth[name]
        scale = np.log(values) if logs else values
        row = {"parameter": name, "true": np.log(true) if logs else true}
        row |= {"rank": int((values < true).sum()), "mean": scale.mean(), "sd": scale.std()}
        out.append(about | row)
    return out


def as_answers_have_it(fit, made, seed):
    """Draws of every parameter, by the function that makes those which answers come from."""
    codes = {name: tuple(sorted(made.visits[name].unique())) for name in ("stylist", "product")}
    draws = rate_draws(fit, made.names, codes, DRAWS, seed, use_prior=True)
    named = dict(zip(made.names, draws["coefficients"].T, strict=True))
    named |= {"additive:look": draws["look_offset"], "shape": draws["shape"]}
    named |= {f"sd:{group}": draws[f"sd_{group}"] for group in GROUPS}
    named |= {f"reading_sd:{kind}": draws[f"sd_{kind}"] for kind in KINDS}
    return named | {FIRST: draws["stylist"][:, codes["stylist"].index("S01")]}


def report(found):
    """Print counts of ranks by parameter, and errors in stated sds."""
    runs = found["log"].nunique()
    low, high = rank_counts_band(runs, BINS)
    print(f"\nranks of the truth in {BINS} bins; each holds {low} to {high} with a chance of 99 %")
    print(f"{'parameter':<20}" + " " * 44 + "outside  chi2 p   mean z  sd z")
    for name, rows in found.groupby("parameter", sort=False):
        bins = rows["rank"].to_numpy() * BINS // (DRAWS + 1)
        counts = np.bincount(bins, minlength=BINS)
        outside = int(((counts < low) | (counts > high)).sum())
        z = (rows["mean"] - rows["true"]) / rows["sd"]
        print(
            f"{name:<20}"
            + "".join(f"{count:4d}" for count in counts)
            + f"     {outside or '':>5}    {chisquare(counts).pvalue:7.4f}  {z.mean():+6.2f}  {z.std():5.2f}"
        )


def main() -> None:
    """Print the table, and what kinds of logs the prior makes."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--logs", type=int, default=200)
    parser.add_argument("--habits", choices=("decided", "known"), default="decided")
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--to", help="CSV file for truth, rank, mean and sd of every log and parameter")
    args = parser.parse_args()
    begun = time.perf_counter()
    jobs = [(seed, args.habits) for seed in range(args.logs)]
    with ProcessPoolExecutor(args.processes, initializer=threadpool_limits, initargs=(1,)) as pool:
        found = pd.DataFrame([row for rows in pool.map(one_log, jobs) for row in rows])
    if args.to:
        found.to_csv(args.to, index=False)
    logs = found.drop_duplicates("log")
    failed = logs[logs["failed"] != ""]
    print(f"{len(logs)} logs, {(time.perf_counter() - begun) / 60:.1f} min; habits {args.habits}")
    print(f"fits that failed: {len(failed)} {failed['log'].tolist()}")
    fits = logs[logs["failed"] == ""]
    print(f"not converged: {fits.loc[~fits['converged'].astype(bool), 'log'].tolist()}")
    print(f"results called copied: {fits['copied'].sum():.0f} of {STYLISTS * len(fits)} stylists,", end=" ")
    print(f"in {(fits['copied'] > 0).sum()} logs; called heaped: {fits['heaped'].sum():.0f}")
    for what, share in (("first_look", "ended at their first look"), ("top", "have a result of 10")):
        print(f"logs where 9 in 10 visits {share}: {(logs[what] > 0.9).sum()}", end="; ")
    print(f"show no lift: {(logs['unmoved'] > 0.9).sum()}; in all of them: {(logs['first_look'] == 1).sum()}")
    report(found[found["failed"] == ""])
    if not fits["converged"].all():
        print("\nof the fits that converged:")
        report(found[(found["failed"] == "") & found["converged"].astype(bool)])


if __name__ == "__main__":
    main()
