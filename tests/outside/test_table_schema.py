"""The exported table schema and canonical files, judged by the frictionless library (5.18 or newer).

Table Schema: https://specs.frictionlessdata.io/table-schema/ . Canonical files come from `write_log`.
"""

from __future__ import annotations

import copy

import pytest
from frictionless import Package, Schema

from outcomes.log.dictionary import package_descriptor, table_schema
from outcomes.log.read import read_log
from outcomes.log.schema import TABLES
from outcomes.log.write import write_log

VISITS = (
    "visit,client,stylist,date,zone,hair,texture,start_level,goal_level,peroxide_pct,heat,minutes,achieved_level,"
    "stop,applications,patch_test,course_end\n"
    "V1,C1,S1,2024-03-14,,natural,fine,4,8,20 vol,low,0:45,7½,time,1,x,given up\n"
    "V1,C1,S1,2024-03-14,ends,natural,,4,8,40 vol,low,45,8,target,,,\n"
    "V2,=C2,S1,20240315,all,bleached,,7/8,10,6,none,60,10,target,3,no,\n"
)  # fmt: skip
CHECKS = "visit,zone,minutes,level,read_on\nV1,,20,6,wet\nV2,all,15,8.5,\n"
WASHES = (
    "visit,zone,washes,level,tone_left,L,a,b,shampoo\nV1,roots,3,6,,,,,plain\nV1,,4,,75,61.5,1.2,-3.25,\n"
)


@pytest.fixture
def canonical(tmp_path):
    source = tmp_path / "source"
    source.mkdir()
    for table, text in zip(TABLES, (VISITS, CHECKS, WASHES), strict=True):
        (source / f"{table}.csv").write_text(text, encoding="utf-8")
    log = read_log(source)
    assert log.faults.empty
    write_log(log, tmp_path / "canonical")
    return tmp_path / "canonical"


def errors(descriptor, place):
    return Package.from_descriptor(descriptor, basepath=str(place)).validate().flatten(["type", "fieldName"])


@pytest.mark.parametrize("table", TABLES)
def test_each_schema_is_a_valid_table_schema(table):
    report = Schema.validate_descriptor(copy.deepcopy(table_schema(table)))
    assert report.valid, report.flatten(["message"])


def test_package_is_valid_without_data():
    report = Package.validate_descriptor(package_descriptor())
    assert report.valid, report.flatten(["message"])


def test_canonical_files_hold_against_it(canonical):
    assert errors(package_descriptor(), canonical) == []


@pytest.mark.parametrize(
    ("file", "old", "new", "kind"),
    [
        ("visits", ",lengths,natural,fine,4,8,", ",lengths,natural,fine,4.2,8,", "constraint-error"),
        ("visits", ",target,", ",bored,", "constraint-error"),
        ("visits", "V1,C1,S1,,2024-03-14,ends", "V1,C1,S1,,2024-03-14,lengths", "primary-key"),
        ("visits", "2024-03-15", "15/03/2024", "type-error"),
        ("checks", "V2,all", "V9,all", "foreign-key"),
        ("washes", "V1,roots", "V9,roots", "foreign-key"),
    ],
)
def test_it_finds_what_was_spoilt(canonical, file, old, new, kind):
    path = canonical / f"{file}.csv"
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")
    assert kind in {error[0] for error in errors(package_descriptor(), canonical)}
