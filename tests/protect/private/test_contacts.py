"""E-mail addresses and phone numbers, and the many numbers that are neither."""

from __future__ import annotations

import pytest

from outcomes.protect.private.contacts import emails_in, is_phone_cell, phones_in

PHONES = [
    # with the code of a country
    "+49 151 23456789", "+44 (0)151 234 5678", "+15551234567", "+1.555.123.4567", "+1-555-123-4567",
    "(+44) 151 234 5678", "+352 27 12 34 56 78", "0049 151 23456789", "00491512345678",
    # with a leading 0
    "0151 234 5678", "01512345678", "0151/2345678", "0151-2345678", "(0151) 234 5678", "(01) 2345-678",
    "07700 900123", "030 123456", "0221 / 123 45 67", "01 23 45 67 89",
    "0170.1234567", "017 01 23 45 67",
    # in groups
    "555-123-4567", "(555) 123-4567", "555.123.4567", "555 123 4567", "1-555-123-4567", "123-456-789",
]  # fmt: skip
CUED = {
    "tel 5551234": "5551234", "Tel.: 12 34 56 78": "12 34 56 78", "phone: 912 345 678": "912 345 678",
    "call 555-1234": "555-1234", "tel:+491512345678": "+491512345678",
}  # fmt: skip
NO_PHONES = [
    "0.6193617169135458", "3.14159265", "+1.23456789", "+0.123456789", "1e-05", "0.0151 234 5678",
    "51.5074, -0.1278", "51.507412 -0.127813", "1.0 2.0 3.0 4.0 5.0", "0.5-0.75 1.25", "x+12345678",
    "1,155,000", "1 155 000", "123 456 789", "1710410400", "12345678901234", "0123456789", "007",
    "[0, 1, 2, 3, 4, 5, 6, 7]", "0 1 2 3 4 5 6 7 8", "10 20 30 40 50 60 70", "01 02 03 04 05",
    "05 10 15 20 25", "0151,234,5678", "01/02 03/04 05/06",
    "192.168.100.200", "1.2.3", "2.31.0.1", "10.1080/00031305.2014.976273", "978-0-306-40615-7", "0317-8471",
    "1223/2009", "2023-2024", "1000-2000", "0900-1700", "08:30-09:45", "pp. 109-123", "12(345) 678-1234",
    "f81d4fae-7dec-11d0-a765-00a0c91e6bf6", "01234567-1234-1234-1234-123456789012",
    "d8258e3d85949b60c8119602d1ff63678ba8286de1f1840", "a1b2c3d4e5f60718293a4b5c", "call 45 minutes",
    "2024-03-01", "0000.1234567", "0170.12345", "0170.123456789", "017 01 23 45",
]  # fmt: skip


def phones(text, **more):
    return [text[start:end] for start, end in sorted(set(phones_in(text, **more)))]


@pytest.mark.parametrize("text", PHONES)
def test_a_phone_number_however_written(text):
    assert phones(text) == [text]
    assert phones(f"C1,{text},x") == [text]
    assert phones(f"ask ({text}) or {text}.") == [text, text]


@pytest.mark.parametrize(("text", "number"), CUED.items())
def test_a_number_behind_a_word_that_tells(text, number):
    assert phones(text) == [number]
    assert phones(f"x; {text}.") == [number]


@pytest.mark.parametrize("text", NO_PHONES)
def test_what_is_no_phone_number(text):
    assert phones(text) == []
    assert phones(f"x = {text};") == []


def test_a_phone_number_beside_other_numbers():
    assert phones("room 12 0151 234 5678 45 min") == ["0151 234 5678"]
    assert phones("0151 2345678 / 0170 1234567") == ["0151 2345678", "0170 1234567"]


def test_a_long_list_of_numbers_is_no_number_and_takes_no_time():
    assert phones(" ".join(str(i % 97) for i in range(200_000))) == []


@pytest.mark.parametrize(
    ("cell", "is_phone"),
    [("5551234", True), ("+49 151 234", True), ("555-1234", True), ("1701234567", True),
     ("0170.1234567", True), ("12.5", False), ("491512345678", True), ("12", False), ("12 C001", False),
     ("1234567890123456", False)],
)  # fmt: skip
def test_cells_under_a_heading_for_phone_numbers(cell, is_phone):
    assert is_phone_cell(cell) is is_phone


@pytest.mark.parametrize(
    ("text", "address"),
    [("jane@salon.example", "jane@salon.example"), ("<jane.doe+x@mail.salon.de>", "jane.doe+x@mail.salon.de"),
     ("mailto:jane%40salon.de", "jane%40salon.de"), ("jane (at) salon.de", "jane (at) salon.de"),
     ("jane [at] salon [dot] de", "jane [at] salon [dot] de"), ("see j@x.co, or", "j@x.co"),
     ("https://u:pw@host.com/x", "pw@host.com"), ("a=jane@b.com&c", "jane@b.com"),
     ("Jörg@müller.de", "Jörg@müller.de"), ("o'brien@x.ie", "o'brien@x.ie"), ("'jane@x.ie'", "jane@x.ie"),
     ('{"a":"jane@x.ie"}', "jane@x.ie"), ("JANE@SALON.COM", "JANE@SALON.COM"),
     ("jane@example.com", "jane@example.com")],
)  # fmt: skip
def test_e_mail_addresses(text, address):
    assert [text[start:end] for start, end in emails_in(text)] == [address]


@pytest.mark.parametrize(
    "text",
    ["@dataclass", "icon@2x.png", "d3@7.8.5", "jane@salon", "a @ b.c", "x@y", "look (at) this", "O@nO.GYQpO",
     "lodash@4.17.21/lodash.min.js", "A @ B", "@", "%40"],
)  # fmt: skip
def test_what_is_no_e_mail_address(text):
    assert list(emails_in(text)) == []


def test_a_very_long_word_before_the_sign_takes_no_time():
    assert [end for _, end in emails_in("x" * 1_000_000 + "@y.de " + "@" * 10_000)] == [1_000_005]
