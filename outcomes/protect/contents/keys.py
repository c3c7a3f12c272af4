"""What the keys of JSON and TOML say of their values: which of them are headings, and of what."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from outcomes.protect.contents.key_words import column_in_key
from outcomes.protect.private.codes import CODE_COLUMNS, heading_of

__all__ = ["Pairs", "heading_of_keys", "headings_of_rows", "headings_of_values", "table_headings"]

Pair = tuple[str, Any]


# {"client_ids": [12, 15]}: numbers in such a list are codes, those of {"clients": [12, 15]} may be counts
_NUMBERED = ("_ids", "_codes", "_numbers", "_nos")


class Pairs(list[Pair]):
    """A JSON object as it was written: a key that stands there twice keeps both values."""


# {"stylists": {"codes": ["A"]}}, {"by": "stylist", "name": "A"}: what these hold is what the other key says
_LISTS = frozenset(
    ("code", "codes", "id", "ids", "name", "names", "label", "labels", "value", "values", "index", "category",
     "categories", "member", "members", "unit", "units")
)  # fmt: skip


def heading_of_keys(pairs: Sequence[Pair], under: str) -> str:
    """The heading under which the keys of an object stand: in {"stylist": {"A": 0.1}} they are codes.

    Parameters
    ----------
    pairs : sequence of (str, object)
        An object.
    under : str
        The key of the object itself; one in the plural, or with the name of a column among its words, is a
        heading for names, and for numbers that don't look like counts.

    Returns
    -------
    str
        Empty where it's none.
    """
    if heading_of(under):
        return "" if _is_column(pairs) else under
    column = _single(under) or column_in_key(under)
    return "" if not column or _may_count(pairs, column) else column


def headings_of_values(pairs: Sequence[Pair], under: str) -> list[str]:
    """The heading under which each value of an object stands.

    Parameters
    ----------
    pairs : sequence of (str, object)
        An object.
    under : str
        The key of the object itself.

    Returns
    -------
    list of str
        Empty where a value stands under none.
    """
    if under and heading_of(under) and (_is_column(pairs) or _is_part_of_column(pairs, under)):
        return [under] * len(pairs)
    if _single(under) and _is_column(pairs) and all(isinstance(value, str) for _, value in pairs):
        return [_single(under)] * len(pairs)
    above = under if heading_of(under) else _single(under)
    named = [value for _, value in pairs if isinstance(value, str) and heading_of(value) in CODE_COLUMNS]
    above = above or (named[0] if len(named) == 1 else "")
    return [above if above and _is_list(key, value) else _own(key, value) for key, value in pairs]


def table_headings(pairs: Sequence[Pair]) -> list[str] | None:
    """Headings of a table that is written as {"columns": [...], "data": [[...], ...]}.

    The rows may be called rows as well.

    Parameters
    ----------
    pairs : sequence of (str, object)
        An object.

    Returns
    -------
    list of str or None
        None where it's no such table; a heading that says nothing of its column is empty.
    """
    told = dict(pairs)
    heads, rows = told.get("columns"), told.get("data", told.get("rows"))
    if not isinstance(heads, list) or not isinstance(rows, list):
        return None
    if not all(isinstance(row, list) and len(row) == len(heads) for row in rows):
        return None
    return [head if isinstance(head, str) and heading_of(head) else "" for head in heads]


def headings_of_rows(rows: Sequence[Any]) -> list[str] | None:
    """Headings of a table that is written as a list of rows, the first of which holds them.

    Parameters
    ----------
    rows : sequence of object

    Returns
    -------
    list of str or None
        As `table_headings`.
    """
    heads = rows[0] if len(rows) > 1 else None
    if type(heads) is not list or not all(isinstance(head, str) for head in heads):
        return None
    told = [head if heading_of(head) else "" for head in heads]
    is_table = any(told) and all(type(row) is list and len(row) == len(heads) for row in rows)
    return told if is_table else None


def _is_column(pairs: Sequence[Pair]) -> bool:
    """Whether keys count up, so that the object is a column of a table."""
    return all(key == str(i) for i, (key, _) in enumerate(pairs))


def _is_part_of_column(pairs: Sequence[Pair], under: str) -> bool:
    """Whether keys are numbers of rows: under dates and phone numbers, of which no such number is one."""
    return heading_of(under) not in CODE_COLUMNS and all(key.isdigit() for key, _ in pairs)


def _may_count(pairs: Sequence[Pair], column: str) -> bool:
    """Whether keys may be numbers that are no codes: {"visits": {"1": 30}} counts clients with one visit."""
    keys = [key for key, _ in pairs]
    if not any(key.isdecimal() for key in keys):
        return False
    if not all(type(value) is int for _, value in pairs):
        return all(key == str(i) for i, key in enumerate(keys))  # an array, written as an object
    counts_up = any(all(key == str(i) for i, key in enumerate(keys, first)) for first in (0, 1))
    return heading_of(column) == "visit" or counts_up


def _is_list(key: str, value: Any) -> bool:
    texts = value if isinstance(value, list) and not isinstance(value, Pairs) else [value]
    return key.casefold() in _LISTS and all(type(one) in (str, int) for one in texts)


def _single(key: str) -> str:
    """A heading from its plural; empty where it's none."""
    single = key.removesuffix("s")
    return single if single != key and heading_of(single) else ""


def _own(key: str, value: Any) -> str:
    """The heading that a key is for its value: "clients" for texts and objects, not where it counts them."""
    if heading_of(key):
        return key
    if isinstance(value, dict | Pairs):
        return key if _single(key) or column_in_key(key) else ""
    if not _single(key):
        return ""
    texts = value if isinstance(value, list) else [value]
    if isinstance(value, list) and (heading_of(_single(key)) == "date" or key.casefold().endswith(_NUMBERED)):
        return _single(key)
    return _single(key) if all(isinstance(one, str) for one in texts) else ""
