"""All kinds together in one text: nothing twice, nothing lost, however long the text."""

from __future__ import annotations

import pytest

from outcomes.protect.private.search import Search


def told(log, text, under="", **more):
    search = Search(log, ())
    return [(text[h.start : h.end], h.kind, h.note) for h in search.hits(text, under, **more)]


def test_every_kind_in_the_order_of_the_text(log):
    text = "On 2024-03-14 C001 (jane@salon.example, 0151 234 5678) came; next 15/03/2024."
    assert told(log, text) == [
        ("2024-03-14", "date", "a visit day of the log"),
        ("C001", "code", ""),
        ("jane@salon.example", "e-mail", ""),
        ("0151 234 5678", "phone", ""),
        ("15/03/2024", "date", ""),
    ]


@pytest.mark.parametrize(
    "text", ["2024-03-14 0151 234 5678", "0151 234 5678 2024-03-14", "14.03.2024 0151 234 5678"]
)
def test_a_date_beside_a_phone_number(log, text):
    assert sorted(kind for _, kind, _ in told(log, text)) == ["date", "phone"]


def test_a_day_without_a_year_says_so(log):
    assert told(log, "on 14 March") == [("14 March", "date", "no year; a visit day of the log")]
    assert told(log, "on 15 March") == [("15 March", "date", "no year")]


def test_two_digits_are_a_year_where_the_log_has_visits(log):
    """Visits are in 2023 and 2024."""
    assert [text for text, _, _ in told(log, "14/03/24 15/03/25 14/03/22 14/03/21 14/03/99")] == [
        "14/03/24", "15/03/25", "14/03/22"]  # fmt: skip


def test_a_code_keeps_what_lies_within_it():
    from outcomes.protect.private.codes import LogCodes, make_code

    log = LogCodes("salon", (make_code("V 2024-03-14 0151 234 5678", ("visit",)),), frozenset())
    assert told(log, "x V 2024-03-14 0151 234 5678 x") == [("V 2024-03-14 0151 234 5678", "code", "")]


def test_a_name_of_a_file_may_hold_a_day_without_marks(log):
    assert told(log, "visits_20240315.csv", name=True) == [("20240315", "date", "")]
    assert told(log, "visits_20240315.csv") == []


def test_what_only_a_heading_tells(log):
    assert told(log, "12", "client") == [("12", "code", "")]
    assert told(log, "12.0", "Client ID") == [("12.0", "code", "")]
    assert told(log, "0.12", "client") == []
    assert told(log, "12", "visits") == []
    assert told(log, "a", "stylist") == [("a", "code", "")]
    assert told(log, "45365", "date") == [("45365", "date", "a visit day of the log")]
    assert told(log, "45365", "minutes") == []
    assert told(log, "5551234", "Phone") == [("5551234", "phone", "")]
    assert told(log, "C001", "client", again=True) == []


@pytest.mark.parametrize(
    "heading",
    ["contact", "Contact no.", "Phone", "Client phone", "Tel. (home)", "mobile", "Telefon", "Handy-Nr."],
)
def test_headings_of_phone_numbers(log, heading):
    for number in ("555-1234", "1701234567", "0170.1234567", "017 01 23 45 67"):
        assert told(log, number, heading) == [(number, "phone", "")]
    assert told(log, "45", heading) == []
    assert told(log, "jane", heading) == []


def test_headings_that_matter(log):
    search = Search(log, ())
    assert [h for h in ("client", "stylist", "product", "course", "date", "tel",
    "minutes") if search.wants(h)] == [
        "client", "stylist", "date", "tel"]  # fmt: skip


@pytest.mark.parametrize("filler", ["ab cd\n", "x" * 100 + " ", "ab,cd,"])
def test_a_long_text_is_looked_through_whole(log, filler):
    """Something every 50,000 characters, over several of the stretches that are looked at together."""
    part = filler * (50_000 // len(filler))
    found = told(log, "".join(f"{part} Mrs K 12 2023-11-02 j@x.de 0151 234 5678 " for _ in range(60)))
    assert [kind for _, kind, _ in found] == ["code", "date", "e-mail", "phone"] * 60


def test_what_lies_across_two_stretches_is_told_once(log):
    for shift in (-40, -30, -20, -8, 0):
        text = "x " * ((2**20 + shift) // 2) + "Mrs K 12 +49 151 23456789 2023-11-02 " + "y " * 1000
        assert [kind for _, kind, _ in told(log, text)] == ["code", "phone", "date"]
