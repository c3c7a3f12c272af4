"""Checking a large log, as a ratio in one run: python tests/benchmarks/check_speed.py [--rows 1000000]

Reading and checking a file of invented visits against `pandas.read_csv` of it (aim: at most 4 times), each
in a process of its own, pairs interleaved; and the most memory that checking holds (aim: at most 2 GB). Four
files: simulated without a fault; the demo log with its faults over and over, each time with clients of its
own; the same in other spellings; and the demo log over and over with the same clients, who then have some 400
visits on each of their days, so that eight rows in ten get a warning.
"""

from __future__ import annotations

import argparse
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

import pandas as pd

PAIRS = 3
TOP = Path(__file__).parents[2]
PLAIN = "import pandas; pandas.read_csv(path, sep=sep, encoding=encoding)"
CHECK = (
    "from outcomes.log.read import read_log; log = read_log(path); assert log.counts['visits']['in'] == rows"
)
TIMED = """
import resource, sys, time
path, rows, sep, encoding = sys.argv[1], int(sys.argv[2]), sys.argv[3], sys.argv[4]
import pandas, outcomes.log.read
began = time.process_time()
{work}
seconds = time.process_time() - began
print(seconds, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6)
"""


def simulated(path: Path, rows: int) -> tuple[str, str]:
    """Visits of an invented log, again and again with codes of their own."""
    from outcomes.demo.simulate import simulate_log
    from outcomes.demo.worlds import world

    visits = simulate_log(world("plain"), 2000, 1)[0]["visits"].astype({"date": str})
    return _over_and_over(visits, ("visit", "client", "course"), path, rows)


def demo(path: Path, rows: int) -> tuple[str, str]:
    """The demo log as it is, its faulty rows among them."""
    return _over_and_over(_demo(), ("visit", "client", "course"), path, rows)


def same_clients(path: Path, rows: int) -> tuple[str, str]:
    """The demo log, of which visits alone get codes of their own."""
    return _over_and_over(_demo(), ("visit",), path, rows)


def untidy(path: Path, rows: int) -> tuple[str, str]:
    """The demo log as others write: semicolons, cp1252, "6 %", "45 min", 14.3.2026, headings with spaces."""
    visits = _demo()
    visits["peroxide_pct"] += " %"
    visits["minutes"] += " min"
    visits["date"] = visits["date"].str.replace(r"(\d+)-(\d+)-(\d+)", r"\3.\2.\1", regex=True)
    visits["stylist"] += "\u00e9"
    visits.columns = [name.replace("_", " ").title() for name in visits.columns]
    own = ("Visit", "Client", "Course")
    return _over_and_over(visits, own, path, rows, sep=";", encoding="cp1252")


def _demo() -> pd.DataFrame:
    return pd.read_csv(TOP / "data_demo" / "salon_group" / "visits.csv", dtype=str, keep_default_na=False)


def _over_and_over(
    visits: pd.DataFrame, own: tuple[str, ...], path: Path, rows: int, sep: str = ",", encoding: str = "utf-8"
) -> tuple[str, str]:
    for copy in range(-(-rows // len(visits))):
        part = visits.iloc[: rows - copy * len(visits)].copy()
        for name in own:
            part[name] = part[name].where(part[name] == "", part[name] + f"x{copy}")
        with path.open("a" if copy else "w", encoding=encoding, newline="") as file:
            part.to_csv(file, header=not copy, index=False, sep=sep)
    return sep, encoding


def measure(work: str, path: Path, rows: int, form: tuple[str, str]) -> tuple[float, float]:
    """Seconds of a processor, and gigabytes at most."""
    command = [sys.executable, "-c", TIMED.format(work=work), str(path), str(rows), *form]
    told = subprocess.run(command, check=True, capture_output=True, text=True).stdout.split()
    return float(told[0]), float(told[1])


def main() -> None:
    """Print the ratio and the memory of each file."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, default=1_000_000)
    rows = parser.parse_args().rows
    for make in (simulated, demo, untidy, same_clients):
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "visits.csv"
            form = make(path, rows)
            pairs = [
                (measure(CHECK, path, rows, form), measure(PLAIN, path, rows, form)) for _ in range(PAIRS)
            ]
            size = path.stat().st_size / 1e6
        ratios = sorted(ours[0] / theirs[0] for ours, theirs in pairs)
        print(
            f"{make.__name__}, {rows:,} visits ({size:.0f} MB): {statistics.median(ratios):.2f} times "
            f"read_csv ({ratios[0]:.2f} to {ratios[-1]:.2f}); {pairs[0][0][0]:.1f} s, "
            f"{max(ours[1] for ours, _ in pairs):.2f} GB"
        )


if __name__ == "__main__":
    main()
