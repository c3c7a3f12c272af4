"""A team's review: do its bands hold, is chance named too often, and how long does it take?

    python tests/benchmarks/team_review.py --teams 200
    python tests/benchmarks/team_review.py --speed

Each team is invented: 300 visits of 6 stylists by the simulator, whose stylists are known and don't change.
Reviewed is 2024Q2, by the fit alone (bands of rates come from it, not from the check of bands). Told are: how
often the 90 % bands of the rate ratios hold the truth, how often the bands of the change hold none (there is
none), how far the raw and the shrunken rates lie from the truth, and of all findings about lift rates named
over all teams which share points to the wrong side of the truth. Nobody differs in goals, promises or fade
but by those rates and chance. `--speed` runs the command itself on 3,000 visits of 30 stylists, as CPU time
over `import pandas`; wanted are 20 seconds at most.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd

from outcomes.calibration.ahead import of_visits
from outcomes.demo.simulate import simulate_log
from outcomes.demo.worlds import world
from outcomes.log.read import VisitLog
from outcomes.models.lift import LiftModel
from outcomes.models.stylists import stylist_rates
from outcomes.review.clustered import clustered_mean
from outcomes.review.expected import expected_visits
from outcomes.review.findings import chosen
from outcomes.review.measures import changes, goals, rates

QUARTER = pd.Period("2024Q2")
VISITS, STYLISTS = 300, 6


def invented(seed: int) -> tuple[VisitLog, pd.Series]:
    """A log up to the end of the quarter, and the log of each stylist's rate."""
    tables, truth = simulate_log(replace(world("plain"), n_stylists=STYLISTS), VISITS, seed)
    empty = tables["visits"].iloc[:0]
    log = VisitLog(
        *(tables["visits"], tables["checks"], tables["washes"], frozenset(), empty, empty, {}),
        source="invented",
        notes=(),
    )
    return of_visits(log, log.visits["date"] < "2024-07-01"), truth.stylists.set_index("stylist")["effect"]


def bands(teams: int) -> None:
    """Print how often bands held, and how findings lay."""
    held, by_team, held_change, raw_off, off, inside, named, wrong = [], [], [], [], [], [], 0, 0
    for seed in range(1, teams + 1):
        log, effect = invented(seed)
        model = LiftModel(shapes=("power",)).fit(log)
        found = stylist_rates(model, QUARTER)
        if found is None:
            continue
        true = effect.reindex(found.stylists).to_numpy()
        true = true - true.mean()
        table = found.table()
        inside_band = (np.log(table["low"]) <= true) & (true <= np.log(table["high"]))
        held += list(inside_band)
        by_team.append(inside_band.mean())
        told = table["change"].notna()
        held_change += list((table["change_low"][told] <= 1.0) & (table["change_high"][told] >= 1.0))
        raw_off += list(found.raw - true)
        off += list(np.log(table["value"]) - true)
        visits = expected_visits(model, model.predictive_).visits
        now = visits[visits["quarter"] == QUARTER].assign(stylist=lambda rows: rows["stylist"].astype(str))
        share, _ = goals(now)
        inside += [one.p > 0.05 for one in share.comparisons]
        compared = [*rates(found, now).comparisons, *share.comparisons, *changes(found, now).comparisons]
        for one in chosen(compared):
            if one.kind == "rate":
                named += 1
                wrong += (one.value - 1.0) * true[found.stylists.index(one.who)] < 0.0
            else:
                named += one.kind == "change"
                wrong += one.kind == "change"
        if seed % 20 == 0:
            print(f"{seed} teams: {np.mean(held):.3f}", file=sys.stderr, flush=True)
    band = clustered_mean(by_team, np.arange(len(by_team)), 0.95)
    print(
        f"{teams} teams: 90 % bands of rates held {np.mean(held):.3f} ({band.low:.3f} to {band.high:.3f}) of "
        f"{len(held)} stylists' truths;"
    )
    print(f"  of the change, where there is none, {np.mean(held_change):.3f};")
    print(f"  off the truth (root mean square): raw {_rms(raw_off):.3f}, shrunken {_rms(off):.3f};")
    print(f"  goals: chance above 0.05 in {np.mean(inside):.3f} of stylists, whose rates do differ;")
    print(f"  findings about rates and changes: {named}, of which {wrong} to the wrong side or of no change")


def _rms(values: list[float]) -> float:
    return float(np.sqrt(np.mean(np.square(values))))


def speed() -> None:
    """Print how long a full report takes."""
    with tempfile.TemporaryDirectory() as folder:
        log = Path(folder) / "log"
        log.mkdir()
        tables, _ = simulate_log(replace(world("plain"), n_stylists=30), 3000, 1)
        for name, frame in tables.items():
            frame.to_csv(log / f"{name}.csv", index=False)
        command = [sys.executable, "-m", "outcomes", "team", str(log), "--quarter", "2024Q2"]
        began = time.perf_counter()
        subprocess.run([*command, "--to", str(Path(folder) / "review")], check=True, capture_output=True)
        took = time.perf_counter() - began
        began = time.perf_counter()
        subprocess.run([sys.executable, "-c", "import pandas"], check=True)
        unit = time.perf_counter() - began
    print(f"3,000 visits, 30 stylists: {took:.1f} s, {took / unit:.0f} times importing pandas")


def main() -> None:
    """Run what is asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--teams", type=int, default=200)
    parser.add_argument("--speed", action="store_true")
    args = parser.parse_args()
    if args.speed:
        speed()
    else:
        bands(args.teams)


if __name__ == "__main__":
    main()
