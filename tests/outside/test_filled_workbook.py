"""The blank workbook filled by other programs and read: the same frames as the log it was filled from.

By openpyxl 3.1 always; by LibreOffice Calc, typed cell by cell as a person would, where the machine has it.
"""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from pathlib import Path

import openpyxl
import pandas as pd
import pytest

from outcomes.log.blank import write_blank_workbook
from outcomes.log.read import read_log
from outcomes.log.schema import TABLES
from outcomes.log.write import write_log

DEMO = Path(__file__).parents[2] / "data_demo" / "salon_group"
VISITS = 60
OFFICE = shutil.which("soffice") or shutil.which("libreoffice")
# Run by the Python that the spreadsheet program brings a bridge for. As if typed: the program itself decides
# what is a number, a date or a text.
TYPING = """
import json, sys, time
import uno
from com.sun.star.beans import PropertyValue
from com.sun.star.connection import NoConnectException

def option(name, value):
    made = PropertyValue()
    made.Name, made.Value = name, value
    return made

pipe, blank, filled, cells = sys.argv[1:]
local = uno.getComponentContext()
bridge = local.ServiceManager.createInstanceWithContext("com.sun.star.bridge.UnoUrlResolver", local)
for _ in range(240):
    try:
        there = bridge.resolve(f"uno:pipe,name={pipe};urp;StarOffice.ComponentContext")
        break
    except NoConnectException:  # the program is still starting: it listens some seconds after it was called
        time.sleep(0.25)
else:
    sys.exit("the spreadsheet program didn't answer within a minute")
desktop = there.ServiceManager.createInstanceWithContext("com.sun.star.frame.Desktop", there)
book = desktop.loadComponentFromURL(uno.systemPathToFileUrl(blank), "_blank", 0, (option("Hidden", True),))
with open(cells, encoding="utf-8") as file:
    for sheet, rows in json.load(file).items():
        page = book.Sheets.getByName(sheet)
        area = page.getCellRangeByPosition(0, 1, len(rows[0]) - 1, len(rows))
        area.setFormulaArray(tuple(map(tuple, rows)))
book.storeToURL(uno.systemPathToFileUrl(filled), (option("FilterName", "Calc MS Excel 2007 XML"),))
book.close(True)
desktop.terminate()
"""


@pytest.fixture(scope="module")
def log(tmp_path_factory):
    """Some visits of the demo log, with looks and wash readings."""
    place = tmp_path_factory.mktemp("some")
    whole = read_log(DEMO)
    for table in TABLES:
        frame = getattr(whole, table)
        some = frame[frame["visit"].isin(whole.visits["visit"][:VISITS])]
        some.to_csv(place / f"{table}.csv", index=False)
    found = read_log(place)
    assert all(found.counts[table]["used"] > 20 for table in TABLES)
    assert found.faults.empty
    return found


def as_before(path, log):
    again = read_log(path)
    assert again.faults.empty
    for table in TABLES:
        frame = getattr(again, table)
        pd.testing.assert_frame_equal(frame, getattr(log, table))


def test_filled_by_a_library(log, tmp_path):
    path = tmp_path / "log.xlsx"
    write_blank_workbook(path)
    book = openpyxl.load_workbook(path)
    for table in TABLES:
        for at, row in enumerate(getattr(log, table).itertuples(index=False), start=3):  # below the example
            for column, cell in enumerate(row, start=1):
                if not pd.isna(cell):
                    value = cell.to_pydatetime() if isinstance(cell, pd.Timestamp) else cell
                    book[table].cell(at, column, value)
    book.save(path)
    as_before(path, log)


# Half a gigabyte to install, for one test: it runs where somebody has the program. What a workbook filled by
# another program reads as is tested everywhere by the library above.
@pytest.mark.skipif(OFFICE is None, reason="no spreadsheet program on this machine")
def test_typed_into_a_spreadsheet_program(log, tmp_path):
    bridge = next(
        (
            python
            for python in (shutil.which("python3", path="/usr/bin"), sys.executable)
            if python and subprocess.run([python, "-c", "import uno"], check=False).returncode == 0
        ),
        None,
    )
    if bridge is None:  # some packages of the program leave it out, and typing needs it
        pytest.skip("no Python here that can talk to the spreadsheet program")
    write_blank_workbook(tmp_path / "blank.xlsx")
    folder = tmp_path / "canonical"
    write_log(log, folder)
    rows = {}
    for table in TABLES:
        texts = pd.read_csv(folder / f"{table}.csv", dtype=str, keep_default_na=False)
        rows[table] = texts.to_numpy().tolist()
    (tmp_path / "cells.json").write_text(json.dumps(rows), encoding="utf-8")
    (tmp_path / "typing.py").write_text(TYPING, encoding="utf-8")
    pipe = f"filled{tmp_path.name}{tmp_path.stat().st_ino}"
    profile = f"-env:UserInstallation={(tmp_path / 'profile').as_uri()}"
    office = subprocess.Popen(
        [OFFICE, profile, "--headless", "--norestore", f"--accept=pipe,name={pipe};urp;"],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        command = [bridge, str(tmp_path / "typing.py"), pipe]
        command += [str(tmp_path / name) for name in ("blank.xlsx", "filled.xlsx", "cells.json")]
        subprocess.run(command, check=True, timeout=120)
        office.wait(timeout=60)
    finally:
        office.kill()
    as_before(tmp_path / "filled.xlsx", log)
