"""The blank log workbook: a drop-down for every column with fixed values, and a line about every column."""

from __future__ import annotations

import os
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path
from typing import Any

from outcomes.errors import InputError
from outcomes.log.atomic import replacing
from outcomes.log.schema import EXAMPLE_VISIT, TABLES, Column, columns

__all__ = ["ROWS", "write_blank_workbook"]

ROWS = 10_000  # rows of each sheet, below the headings, that carry drop-downs
HOW_TO = "how to"
LISTS = "lists"
_LIST_TOP = 2  # row of the headings on the sheet `lists`, from 0
_ADVICE = (
    "Write one row per visit and zone on the sheet visits; dark headings are needed, the others help.",
    "Write every look during processing on the sheet checks: minutes since application, and the level.",
    "Write readings after the visit on the sheet washes: washes since, and level, tone left, or L, a and b.",
    "Give each client and stylist a code, not a name. A visit's code is the same on all three sheets.",
    'Developer: 6, 6 % or 20 vol. Time: 45 or 0:45. A level between 7 and 8: 7.5.',
    f"The rows with visit {EXAMPLE_VISIT} are never counted; leave them or delete them.",
    f"The sheet {LISTS} holds the numbers of the drop-downs; leave it as it is.",
    "Then run: outcomes check THIS_FILE.xlsx",
)  # fmt: skip


def write_blank_workbook(path: str | os.PathLike[str]) -> None:
    """Write the blank workbook.

    Parameters
    ----------
    path : path
        A new file ending in .xlsx.

    Raises
    ------
    InputError
        Another ending, a file that is already there (it may hold a log), or a place that can't be written.
    """
    target = Path(path)
    if target.suffix.lower() != ".xlsx":
        raise InputError(f"{target}: a workbook's name ends in .xlsx; write for example {target.stem}.xlsx")
    if target.exists():
        raise InputError(f"{target}: is there already and may hold a log; choose another name")
    data = _workbook()
    with replacing(target) as temporary:
        temporary.write_bytes(data)


def _workbook() -> bytes:
    import xlsxwriter

    buffer = BytesIO()
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    with xlsxwriter.Workbook(buffer, options) as book:
        book.set_properties({"title": "Visit log", "created": datetime(2024, 1, 1, tzinfo=UTC)})
        formats = {
            "needed": book.add_format({"bold": True, "bg_color": "#1F3A4D", "font_color": "#FFFFFF"}),
            "optional": book.add_format({"bold": True, "bg_color": "#DCE6EC"}),
            "example": book.add_format({"italic": True, "font_color": "#767676"}),
            "example date": book.add_format(
                {"italic": True, "font_color": "#767676", "num_format": "yyyy-mm-dd"}
            ),
            "date": book.add_format({"num_format": "yyyy-mm-dd"}),
            "bold": book.add_format({"bold": True}),
        }
        sheets = {table: book.add_worksheet(table) for table in TABLES}
        _write_guide(book.add_worksheet(HOW_TO), formats)
        lists = _write_lists(book.add_worksheet(LISTS), formats)
        for table, sheet in sheets.items():
            _write_table(sheet, table, formats, lists)
        sheets["visits"].activate()
    return buffer.getvalue()


def _write_guide(sheet: Any, formats: dict[str, Any]) -> None:
    """Advice, and a line about every column."""
    for i, advice in enumerate(_ADVICE):
        sheet.write_string(i, 0, advice)
    row = len(_ADVICE) + 1
    for j, heading in enumerate(("sheet", "column", "needed", "what may stand there", "meaning")):
        sheet.write_string(row, j, heading, formats["bold"])
    for table in TABLES:
        for column in columns(table):
            row += 1
            line = (table, column.name, "yes" if column.needed else "", column.expected, column.meaning)
            for j, text in enumerate(line):
                sheet.write_string(row, j, text)
    for j, width in enumerate((10, 18, 8, 44, 70)):
        sheet.set_column(j, j, width)


def _write_lists(sheet: Any, formats: dict[str, Any]) -> dict[tuple[str | float, ...], str]:
    """The lists of numbers, each below the names of its columns; returns where each list stands.

    Numbers stand in cells, not in the rule itself: there, a spreadsheet set to decimal commas would take
    them for text or dates.
    """
    from xlsxwriter.utility import xl_range_abs

    users: dict[tuple[str | float, ...], list[str]] = {}
    for table in TABLES:
        for column in columns(table):
            if column.choices and not column.words:
                users.setdefault(column.choices, []).append(column.name)
    sheet.write_string(0, 0, "The drop-downs take their numbers from these lists; leave them as they are.")
    places = {}
    for j, (choices, names) in enumerate(users.items()):
        heading = ", ".join(dict.fromkeys(names))
        sheet.write_string(_LIST_TOP, j, heading, formats["bold"])
        sheet.set_column(j, j, len(heading) + 2)
        for i, value in enumerate(choices):
            sheet.write_number(_LIST_TOP + 1 + i, j, value)
        places[choices] = f"='{LISTS}'!{xl_range_abs(_LIST_TOP + 1, j, _LIST_TOP + len(choices), j)}"
    return places


def _write_table(
    sheet: Any, table: str, formats: dict[str, Any], lists: dict[tuple[str | float, ...], str]
) -> None:
    sheet.freeze_panes(1, 1)
    for j, column in enumerate(columns(table)):
        sheet.write_string(0, j, column.name, formats["needed" if column.needed else "optional"])
        sheet.write_comment(0, j, f"{column.meaning}: {column.expected}", {"x_scale": 2})
        sheet.set_column(
            j, j, max(10, len(column.name) + 2), formats["date"] if column.kind == "date" else None
        )
        sheet.data_validation(1, j, ROWS, j, _rule(column, lists))
        if not column.example:
            continue
        if column.kind == "date":
            sheet.write_datetime(1, j, datetime.fromisoformat(column.example), formats["example date"])
        elif column.kind == "number":
            sheet.write_number(1, j, float(column.example), formats["example"])
        else:
            sheet.write_string(1, j, column.example, formats["example"])


def _rule(column: Column, lists: dict[tuple[str | float, ...], str]) -> dict[str, Any]:
    """Drop-down where the values are fixed; a hint and no more where `check` reads other spellings too."""
    rule: dict[str, Any] = {"input_title": column.name[:32], "input_message": column.meaning[:255]}
    error = f"expected {column.expected}"[:255]
    if column.words:
        return rule | {"validate": "list", "source": list(column.words), "error_message": error}
    # a level may be written 7½, a strength 20 vol, a time 0:45, a share 75 %: a rule would bar them
    is_free = column.kind != "number" or column.reader != "number" or column.unit != ""
    if column.choices:
        source = lists[column.choices]
        return rule | {
            "validate": "list",
            "source": source,
            "error_message": error,
            "show_error": not is_free,
        }
    if is_free or column.low is None:
        return rule | {"validate": "any"}
    kind = "integer" if column.step == 1 else "decimal"
    rule |= {"validate": kind, "error_type": "warning", "error_message": error}
    if column.high is None:
        return rule | {"criteria": ">=", "value": column.low}
    return rule | {"criteria": "between", "minimum": column.low, "maximum": column.high}
