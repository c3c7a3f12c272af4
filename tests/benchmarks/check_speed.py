"""Checking a large log, as a ratio in one run: python tests/benchmarks/check_speed.py [--rows 1000000]

Reading and checking one file of invented visits against `pandas.read_csv` of it (aim: at most 4 times), each
in a process of its own, pairs interleaved; and the most memory that checking holds (aim: at most 2 GB).
"""

from __future__ import annotations

import argparse
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

PAIRS = 5
PLAIN = "import pandas; pandas.read_csv(path)"
CHECK = (
    "from outcomes.log.read import read_log; log = read_log(path); assert log.counts['visits']['in'] == rows"
)
TIMED = """
import resource, sys, time
path, rows = sys.argv[1], int(sys.argv[2])
import pandas, outcomes.log.read
began = time.perf_counter()
{work}
seconds = time.perf_counter() - began
print(seconds, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6)
"""


def write_log(path: Path, rows: int) -> None:
    """Visits of an invented log, the demo group's again and again with codes of their own."""
    from outcomes.demo.simulate import simulate_log
    from outcomes.demo.worlds import world

    tables, _ = simulate_log(world("plain"), 2000, 1)
    visits = tables["visits"]
    first = True
    for copy in range(-(-rows // len(visits))):
        part = visits.iloc[: rows - copy * len(visits)].copy()
        for name in ("visit", "client", "course"):
            part[name] = part[name] + f"x{copy}"
        part.to_csv(path, mode="w" if first else "a", header=first, index=False, date_format="%Y-%m-%d")
        first = False


def measure(work: str, path: Path, rows: int) -> tuple[float, float]:
    """Seconds, and gigabytes at most."""
    command = [sys.executable, "-c", TIMED.format(work=work), str(path), str(rows)]
    told = subprocess.run(command, check=True, capture_output=True, text=True).stdout.split()
    return float(told[0]), float(told[1])


def main() -> None:
    """Print the ratio and the memory."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, default=1_000_000)
    rows = parser.parse_args().rows
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "visits.csv"
        write_log(path, rows)
        pairs = [(measure(CHECK, path, rows), measure(PLAIN, path, rows)) for _ in range(PAIRS)]
        size = path.stat().st_size / 1e6
    ratios = sorted(ours[0] / theirs[0] for ours, theirs in pairs)
    print(
        f"{rows:,} visits ({size:.0f} MB): {statistics.median(ratios):.2f} times read_csv "
        f"({ratios[0]:.2f} to {ratios[-1]:.2f}); {pairs[0][0][0]:.1f} s, {max(o[1] for o, _ in pairs):.2f} GB"
    )


if __name__ == "__main__":
    main()
