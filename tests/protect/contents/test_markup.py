"""Pages and pictures of lines: what a person reads in them, and what only programs do."""

from __future__ import annotations

import pytest


def test_text_with_its_line(finds):
    page = "<html>\n<body>\n<p>Some <b>words on\n  C001</b> &amp; on</p></body></html>"
    assert finds(page, "x.html") == [("line 4, character 3", "client code", "C001")]


@pytest.mark.parametrize(
    ("page", "found"),
    [("<p>&#67;001</p>", "C001"), ('<img alt="C001">', "C001"), ("<!-- C001 -->", "C001"),
     ("<title>C001</title>", "C001"), ('<a href="mailto:jane@salon.de">x</a>', "jane@salon.de"),
     ('<a href="visits%20C001.csv">x</a>', "C001"), ('<p id="client-C001">x</p>', "C001"),
     ('<p data-client="12">x</p>', "12"), ("<p data-rows='{\"client\": 12}'>x</p>", "12"),
     ("<script>const rows = [{\"client\": 12}];</script>", "12"), ("<script>show({client: 12})</script>",
     "12"),
     ("<p><b>K-</b><i>9</i></p>", "K-9"), ("<p>C<!-- x -->0<span>01</span></p>", "C001"),
     ("<span>2024</span>-<span>03</span>-<span>14</span>", "2024-03-14"),
     ("<p>jane@<wbr>salon.<b>de</b></p>", "jane@salon.de"), ("<p>client <b>12</b> came</p>", "12"),
     ("<p>12 May <i>2024</i></p>", "12 May 2024"), ("<p>C001<sup>1</sup></p>", "C001"),
     ("<table><tr><th>Client <b>ID</b></th></tr><tr><td><b>1</b>2</td></tr></table>", "12"),
     ("<pre>   client    m\n<b>0      12  3.0</b>\n</pre>", "12"),
     ('<script>draw([["client", "m"], [12, 3]]);</script>', "12"),
     ("<script>draw([['m', 'client'], [3, 12], [null, 104],]);</script>", "12"),
     ("<script>var a = [['client', 'on'],\n[12, new Date(2024, 2, 1)]];</script>", "12"),
     ('<script type="application/json">[["client","m"],["12",3]]</script>', "12"),
     ('<script type="application/json">{"days": ["2024-03-14"]}</script>', "2024-03-14"),
     ("<style>/* by Anna-Lena */</style>", "Anna-Lena"), ("<style>.C001 {}</style>", "C001"),
     ("<script>// C001", "C001"), ("<time datetime=2024-03-14>x</time>", "2024-03-14"),
     ('<p onclick="go(\'C001\')">x</p>', "C001"), ("<c001>x</c001>", "c001"),
     ("<![CDATA[C001]]>", "C001"), ("<p>x</p C001", "C001"), ("<p><b>C001", "C001")],
)  # fmt: skip
def test_every_corner_of_a_page(finds, page, found):
    assert {text for _, _, text in finds(f"<html>{page}", "x.html")} == {found}


@pytest.mark.parametrize(
    "page",
    ['<p id="s1" class="p1 l7">x</p>', '<p id="L7">x</p>',
     "<style>#s1 { color: #c001 } h1 { top: 0 }</style>",
     '<path d="M0 1 L7 2 S1 2 3 4"/>', '<polygon points="0151 234 5678"/>',
     '<g transform="rotate(0151 234 5678)"/>',
     '<use href="#S1" xlink:href="#P1"/>',
     "<script>let s1 = l7 + P1;</script>", '<svg viewBox="0151 234 5678 1">',
     '<svg xmlns="http://www.w3.org/2000/svg" version="1.1"/>', "<b>12</b>", "<h1>7</h1>",
     '<div style="fill: #a12; stroke: #c001"></div>', "<p>2024-03-01</p>"],
)  # fmt: skip
def test_names_and_numbers_that_only_programs_read(finds, page):
    assert finds(f"<html>{page}</html>", "x.html") == []


@pytest.mark.parametrize(
    "script",
    ["[['client', f(1)], [12, 3]]", "[['a', 'm'], [12, 3]]", "[['client', 'm'], [3, 12]]", "[['client',"],
)
def test_rows_of_scripts_that_hold_no_column_of_codes(finds, script):
    assert finds(f"<html><script>draw({script});</script></html>", "x.html") == []


def test_the_place_of_a_row_in_a_script(finds):
    page = "<html>\n<script>\nvar x = 1;\ndraw([['client', 'm'],\n[12, 3]]);</script></html>"
    assert finds(page, "x.html") == [("line 4, data: [1][0]", "client code", "12")]


@pytest.mark.parametrize(
    "page",
    ["<p>K-</p><p>9</p>", "<li>C0</li><li>01</li>", "<td>K-</td><td>9</td>", "<p>client</p><p>12</p>",
     "<text>L</text><text>7</text>", "<p>   client    m\n0      12  3.0</p>",
     "<pre>x</pre><p>   client    m\n0      12  3.0</p>"],
)  # fmt: skip
def test_paragraphs_and_cells_are_read_apart(finds, page):
    assert finds(f"<html>{page}</html>", "x.html") == []


def test_places_in_a_text_of_several_elements(finds):
    page = "<html>\n<p>by <b>C001</b>, <i>Mrs</i>\n<b>K</b> 12, <a\nhref=x>S1</a></p></html>"
    assert finds(page, "x.html") == [
        ("line 2, character 10", "client code", "C001"),
        ("line 2, character 23", "client code", "Mrs\nK 12"),
        ("line 4, character 8", "stylist code", "S1"),
    ]


def test_cells_of_tables_stand_under_their_headings(finds):
    page = (
        "<table><thead><tr><th></th><th>Stylist</th><th>n</th></tr></thead>\n"
        "<tr><th>0</th><td>A</td><td>12</td></tr>\n<tr><th>1</th><td>B</td><td>7</td></tr></table>"
        "<table><tr><td>A</td><td>x</td></tr></table>"
    )
    assert finds(page, "x.html") == [("line 2, character 19", "stylist code", "A")]


def test_pictures_in_a_page_are_counted(look):
    told = look('<html><img src="data:image/png;base64,iVBORw0KGgoAAAANSUhEUgAAAAEAAAAB"></html>', "x.html")
    assert told.is_clean
    assert dict(told.unseen) == {"x.html": {"pictures": 1, "encoded": 0}}


def test_pages_within_a_page_are_read(finds):
    """PHN2Zz48dGV4dD5DMDAxPC90ZXh0Pjwvc3ZnPg== is <svg><text>C001</text></svg> in base64."""
    page = '<html>\n<img src="data:image/svg+xml;base64,PHN2Zz48dGV4dD5DMDAxPC90ZXh0Pjwvc3ZnPg=="></html>'
    assert finds(page, "x.html") == [("line 2, encoded data, line 1, character 12", "client code", "C001")]


def test_a_picture_of_lines_by_its_content(finds):
    drawn = '<?xml version="1.0"?>\n<svg><metadata>S1, C001</metadata><text x="1" y="2">C001</text></svg>'
    assert [(place, text) for place, _, text in finds(drawn, "picture.txt")] == [
        ("line 2, character 16", "S1"), ("line 2, character 20", "C001"), ("line 2, character 53",
        "C001")]  # fmt: skip
