"""Developer strength: chemistry, the trade's rounding, and the legal limit.

2 H2O2 -> 2 H2O + O2: a litre that gives off v litres of oxygen holds 2 v / Vm mol of 34.0147 g. With Vm
22.414 l (0 C, 1 atm) 10, 20, 30, 40 volume are 3.035, 6.070, 9.105, 12.140 % w/v; with Vm 22.711 l (0 C,
1 bar) 2.995, 5.991, 8.986, 11.982 %. The trade writes 3, 6, 9, 12. Limit: Regulation (EC) No 1223/2009, Annex
III, entry 12 (a), as replaced by Regulation (EU) 2019/831: hair products up to 12 % hydrogen peroxide (40
volumes).
"""

from __future__ import annotations

import pandas as pd
import pytest

from outcomes.log.cells import read_cells
from outcomes.log.schema import column

PEROXIDE = column("visits", "peroxide_pct")


def strength(text: str) -> tuple[float, str]:
    read = read_cells(PEROXIDE, pd.Categorical([text]))
    return float(read.data[0]), str(read.codes[0])


@pytest.mark.parametrize(("volume", "percent"), [(10, 3.0), (20, 6.0), (30, 9.0), (40, 12.0)])
def test_trade_rounding_lies_within_the_chemistry(volume, percent):
    assert strength(f"{volume} vol") == (percent, "")
    by_pressure = [2 * volume / molar * 34.0147 / 10 for molar in (22.711, 22.414)]
    assert by_pressure[0] == pytest.approx(percent, abs=0.02)
    assert by_pressure[0] < by_pressure[1] == pytest.approx(percent, rel=0.012)


def test_40_volume_is_12_and_passes_never_12_14():
    assert strength("40 vol") == (12.0, "")


@pytest.mark.parametrize("text", ["12.5", "12.14 %", "41 vol", "12.5 %"])
def test_above_the_limit_is_refused(text):
    assert strength(text)[1] == "peroxide_limit"


@pytest.mark.parametrize("text", ["12", "12 %", "12.0"])
def test_the_limit_itself_passes(text):
    assert strength(text) == (12.0, "")
