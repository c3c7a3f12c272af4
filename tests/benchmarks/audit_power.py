"""How often the audit raises an alarm, where there is a reason and where there is none.

    python tests/benchmarks/audit_power.py [--logs 10]

Logs of 1,600 visits. "honest": as they are. "narrow": a spread 25 % too small is forced. "slower quarter":
hair lifted 15 % more slowly in the last quarter. "shuffled": results are dealt out anew between visits.
An alarm is any row of the audit's flags.
"""

from __future__ import annotations

import argparse
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace

import numpy as np
from threadpoolctl import threadpool_limits

from outcomes.calibration.audit import audit
from outcomes.calibration.calibrate import calibrate
from outcomes.demo.simulate import simulate_log
from outcomes.demo.worlds import world
from outcomes.log.read import VisitLog
from outcomes.models.lift import LiftModel

VISITS = 1600
CASES = ("honest", "narrow", "slower quarter", "shuffled")


def invented(name, seed):
    """An invented log."""
    tables, _ = simulate_log(world(name), VISITS, seed)
    visits = tables["visits"]
    empty = visits.iloc[:0]
    return VisitLog(
        visits, tables["checks"], tables["washes"], frozenset(), empty, empty, {}, source=name, notes=()
    )


def alarms(job):
    """What was flagged: (group, reading, what) of each row."""
    case, seed = job
    log = invented("slower_quarter" if case == "slower quarter" else "plain", seed)
    if case == "shuffled":
        dealt = np.random.default_rng(seed).permutation(len(log.visits))
        results = log.visits["achieved_level"].to_numpy()[dealt]
        log = replace(log, visits=log.visits.assign(achieved_level=results))
    model = LiftModel().fit(log)
    calibrated = calibrate(model)
    forced = None
    if case == "narrow":
        own = calibrated.predictive_.recalibration
        forced = replace(own, spread=0.75 * own.spread)
    found = audit(model, calibrated, log, peers=False, recalibration=forced)
    return [] if found is None else found.flags[["group", "reading", "what"]].values.tolist()


def main() -> None:
    """Print for each case how many logs raised an alarm, and what was flagged most."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--logs", type=int, default=10)
    parser.add_argument("--cases", nargs="+", default=CASES, choices=CASES)
    parser.add_argument("--processes", type=int, default=2)
    args = parser.parse_args()
    with ProcessPoolExecutor(args.processes, initializer=threadpool_limits, initargs=(1,)) as pool:
        for case in args.cases:
            found = list(pool.map(alarms, [(case, seed) for seed in range(args.logs)]))
            most = Counter(" / ".join(row) for rows in found for row in rows).most_common(4)
            said = ", ".join(f"{what} ({number})" for what, number in most)
            print(f"{case:<16}{sum(map(bool, found)):>3} of {args.logs}   {said}", flush=True)


if __name__ == "__main__":
    main()
