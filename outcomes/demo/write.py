"""The demo data: a whole log of an invented salon group, and a small faulty one beside it, as CSV files.

    python -m outcomes.demo.write data_demo

writes them anew. With the version of numpy named in the README that is written beside them, the files come
out the same byte for byte.
"""

from __future__ import annotations

import sys
from importlib.resources import files
from pathlib import Path

import numpy as np
import pandas as pd

from outcomes.demo.simulate import SimulatedTruth, simulate_log
from outcomes.demo.slips import CHECK_SLIPS, COLLISION, VISIT_SLIPS, WASH_SLIPS, Slip, as_text, with_slips
from outcomes.demo.untidy import odd_habits, untidied
from outcomes.demo.worlds import World, world

__all__ = [
    "FAULTY_SEED",
    "GROUP_SEED",
    "NUMPY_VERSION",
    "demo_world",
    "faulty_log",
    "salon_group",
    "write_demo",
]

GROUP_SEED = 20230103
GROUP_ROWS = 2500
FAULTY_SEED = 60
FAULTY_ROWS = 60
NUMPY_VERSION = "2.4.6"  # the one with which the files in data_demo were made


def demo_world() -> World:
    """The plain world, with visits of two zones and visits broken off now and then."""
    return world("plain", name="demo", n_stylists=14, two_zone_share=0.1, other_share=0.01)


def salon_group() -> tuple[dict[str, pd.DataFrame], list[Slip], SimulatedTruth]:
    """The log of the group as text, the faulty cells and rows in it, and the truth behind it.

    Returns
    -------
    tables : dict
        "visits", "checks", "washes": frames of strings.
    slips : list of Slip
    truth : SimulatedTruth
    """
    tables, truth = simulate_log(demo_world(), GROUP_ROWS, GROUP_SEED)
    rng = np.random.Generator(np.random.PCG64(GROUP_SEED + 1))
    intervals = dict(zip(truth.stylists["stylist"], truth.stylists["interval"], strict=True))
    tables = untidied(tables, intervals, rng)
    kinds = (*VISIT_SLIPS, *CHECK_SLIPS, *WASH_SLIPS)
    texts, slips = with_slips({name: as_text(table) for name, table in tables.items()}, kinds, rng)
    return texts, slips, truth


def faulty_log() -> tuple[dict[str, pd.DataFrame], list[Slip]]:
    """A small log with most kinds of fault, and with odd habits that deserve a warning.

    Stylists S01 and S03 write no looks down, S02 calls every visit that ended for time a target, S03 writes
    45 minutes always; one look jumps by four levels, one later session starts two levels below the last
    result.

    Returns
    -------
    tables : dict
        Frames of strings.
    slips : list of Slip
    """
    small = world("plain", name="faulty", n_stylists=3, n_salons=1, wash_share=0.25, days=180)
    tables, _ = simulate_log(small, FAULTY_ROWS, FAULTY_SEED)
    rng = np.random.Generator(np.random.PCG64(FAULTY_SEED + 1))
    tables, spared = odd_habits(tables)
    kinds = (*VISIT_SLIPS, COLLISION, *CHECK_SLIPS, *WASH_SLIPS)
    return with_slips({name: as_text(table) for name, table in tables.items()}, kinds, rng, spared)


def write_demo(folder: str | Path) -> Path:
    """Write the demo data: README.md, salon_group/ and faulty/, each with visits, checks and washes.

    Parameters
    ----------
    folder : str or Path
        Made where it's absent; files of these names in it are replaced.

    Returns
    -------
    Path
        The folder.
    """
    folder = Path(folder)
    group, group_slips, _ = salon_group()
    faulty, faulty_slips = faulty_log()
    for name, tables in (("salon_group", group), ("faulty", faulty)):
        (folder / name).mkdir(parents=True, exist_ok=True)
        for table, frame in tables.items():
            # bytes, so that line ends are the same on every system
            (folder / name / f"{table}.csv").write_bytes(
                frame.to_csv(index=False, lineterminator="\n").encode()
            )
    readme = files("outcomes.demo").joinpath("data_readme.md").read_text(encoding="utf-8")
    numbers: dict[str, object] = {
        "numpy": NUMPY_VERSION,
        "group_seed": GROUP_SEED,
        "faulty_seed": FAULTY_SEED,
        "visits": len(group["visits"]),
        "checks": len(group["checks"]),
        "washes": len(group["washes"]),
        "faulty_visits": len(faulty["visits"]),
        "group_slips": _listed(group_slips),
        "faulty_slips": _listed(faulty_slips),
    }
    (folder / "README.md").write_bytes(readme.format(**numbers).encode())
    return folder


def _listed(slips: list[Slip]) -> str:
    """Slips as rows of a Markdown table."""
    return "\n".join(
        f"| {slip.table}.csv | {slip.row} | {slip.column} | {slip.found or '(empty)'} | {slip.wrong} |"
        for slip in slips
    )


if __name__ == "__main__":
    print(write_demo(sys.argv[1] if len(sys.argv) > 1 else "data_demo"))
