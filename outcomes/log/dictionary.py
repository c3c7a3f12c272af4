"""The schema in two other forms: Frictionless Table Schema, and the data dictionary for people."""

from __future__ import annotations

from typing import Any

from outcomes.log.schema import REASONS, TABLES, Column, columns

__all__ = ["data_dictionary", "package_descriptor", "table_schema"]

_TITLES = {
    "visits": "one row per visit and zone",
    "checks": "looks during processing (optional, strongly advised)",
    "washes": "readings after the visit (optional; one of level, tone_left, or L, a and b)",
}


def table_schema(table: str) -> dict[str, Any]:
    """Frictionless Table Schema of one table's canonical form.

    Parameters
    ----------
    table : str
        `visits`, `checks` or `washes`.

    Returns
    -------
    dict
        `fields` with type, description and constraints; `primaryKey` of visits; `missingValues`.
    """
    schema: dict[str, Any] = {"fields": [_field(column) for column in columns(table)], "missingValues": [""]}
    if table == "visits":
        schema["primaryKey"] = ["visit", "zone"]
    else:
        # a wash reading at the roots belongs to its visit whatever zone was lightened
        keys = ["visit", "zone"] if table == "checks" else ["visit"]
        schema["foreignKeys"] = [{"fields": keys, "reference": {"resource": "visits", "fields": keys}}]
    return schema


def _field(column: Column) -> dict[str, Any]:
    kinds = {"text": "string", "word": "string", "date": "date", "number": "number"}
    kind = "integer" if column.step == 1 else kinds[column.kind]
    bounds = {"minimum": column.low, "maximum": column.high}
    constraints: dict[str, Any] = {"required": True} if column.needed else {}
    constraints |= {name: _plain(value) for name, value in bounds.items() if value is not None}
    if column.choices:
        constraints["enum"] = [_plain(value) for value in column.choices]
    field: dict[str, Any] = {"name": column.name, "type": kind, "description": column.meaning}
    if column.unit:
        field["unit"] = column.unit
    return field | ({"constraints": constraints} if constraints else {})


def _plain(value: str | float) -> str | float:
    return int(value) if isinstance(value, float) and value.is_integer() else value


def package_descriptor() -> dict[str, Any]:
    """Frictionless package: the three tables as canonical CSV files, each with its Table Schema.

    Returns
    -------
    dict
        `name`, `title` and `resources`, one a table: path, title, encoding, schema.
    """
    resources = [
        {
            "name": table,
            "path": f"{table}.csv",
            "title": _TITLES[table],
            "encoding": "utf-8",
            "schema": table_schema(table),
        }
        for table in TABLES
    ]
    return {"name": "visit-log", "title": "A salon's visit log", "resources": resources}


def data_dictionary() -> str:
    """Markdown tables of every column and of every reason for a fault or a warning.

    Returns
    -------
    str
        Four headings, a table below each: visits, checks, washes, reasons.
    """
    lines: list[str] = []
    for table in TABLES:
        lines += [
            f"### {table}: {_TITLES[table]}",
            "",
            "| column | values | needed | meaning | also headed |",
        ]
        lines += ["| --- | --- | --- | --- | --- |"]
        for c in columns(table):
            other = ", ".join((*c.headings, *c.unit_headings))
            lines.append(f"| {c.name} | {c.expected} | {'yes' if c.needed else ''} | {c.meaning} | {other} |")
        lines.append("")
    lines += ["### Reasons", "", "| code | kind | meaning | what to do |", "| --- | --- | --- | --- |"]
    lines += [f"| {r.code} | {r.kind} | {r.meaning} | {r.advice} |" for r in REASONS.values()]
    return "\n".join(lines) + "\n"
