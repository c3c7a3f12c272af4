"""The data dictionary and the table schema say what the schema says."""

from __future__ import annotations

import pytest

from outcomes.log.dictionary import data_dictionary, table_schema
from outcomes.log.schema import REASONS, TABLES, columns


def test_dictionary_has_a_row_for_every_column_and_reason():
    lines = data_dictionary().splitlines()
    for table in TABLES:
        for c in columns(table):
            assert any(line.startswith(f"| {c.name} | {c.expected} |") for line in lines), c.name
    for code in REASONS:
        assert sum(line.startswith(f"| {code} | ") for line in lines) == 1


def test_dictionary_tables_are_rectangular():
    for part in data_dictionary().split("\n\n"):
        widths = {line.count(" | ") for line in part.splitlines() if line.startswith("|")}
        assert len(widths) <= 1, part


@pytest.mark.parametrize("table", TABLES)
def test_schema_fields_in_canonical_order(table):
    assert [field["name"] for field in table_schema(table)["fields"]] == [c.name for c in columns(table)]


def test_schema_of_a_few_columns():
    fields = {field["name"]: field for field in table_schema("visits")["fields"]}
    assert fields["peroxide_pct"]["constraints"] == {"required": True, "minimum": 1.5, "maximum": 12}
    assert fields["stop"]["constraints"]["enum"] == ["target", "time", "condition", "other"]
    assert fields["start_level"]["constraints"]["enum"][:2] == [1, 1.5]
    assert fields["looks"]["type"] == "integer"
    assert table_schema("visits")["primaryKey"] == ["visit", "zone"]
    assert table_schema("checks")["foreignKeys"][0]["reference"]["resource"] == "visits"
