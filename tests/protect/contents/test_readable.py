"""Which files can be looked into, and that no other is called clean."""

from __future__ import annotations

import gzip
import json
import os
import zipfile

import pytest

from outcomes.errors import InputError
from outcomes.protect.contents import readable
from outcomes.protect.contents.readable import files_of
from outcomes.protect.disclosure import look_through

PDF, PNG = b"%PDF-1.7\nC001", b"\x89PNG\r\n\x1a\n" + b"\x00" * 20
CANNOT = [
    (PNG, "x.png", "a picture"), (PNG, "x.csv", "a picture"), (b"\xff\xd8\xff\xe0", "x.jpg", "a picture"),
    (b"GIF89a", "x.gif", "a picture"), (b"words", "x.png", "a picture"), (PDF, "x.pdf", "PDF"), (PDF,
    "x.txt", "PDF"),
    (gzip.compress(b"C001", mtime=0), "x.svgz", "packed"), (b"\x00\x01\x02", "x.bin", "not a text file"),
    ("C001".encode("utf-16-le"), "x.txt", "not a text file"), (b"\x80\x04\x95C001\x00", "x.pkl",
    "not a text file"),
    (b"\x01\x02C\xff", "x", "not a text file"), (b"\xff\xfeC", "x.txt", "damaged utf-16"), (b"PK\x03\x04",
    "x.xlsx", "packed"),
]  # fmt: skip


@pytest.mark.parametrize(("content", "name", "why"), CANNOT)
def test_what_cannot_be_looked_into_is_never_clean(look, content, name, why):
    told = look(content, name)
    assert why in told.refused[name]
    assert "\n" not in told.refused[name]
    assert told.files == ()
    assert not told.is_clean


def test_a_packed_folder_is_refused(tmp_path, look):
    with zipfile.ZipFile(tmp_path / "made.zip", "w") as parts:
        parts.writestr("a.txt", "C001")
    assert "unpack it" in look((tmp_path / "made.zip").read_bytes(), "x.zip").refused["x.zip"]


def test_too_large_a_file_is_refused(look, monkeypatch):
    monkeypatch.setattr(readable, "MAX_BYTES", 10)
    assert "can be looked into; split it" in look("words " * 10).refused["report.txt"]


@pytest.mark.parametrize(
    "name", ["x", "x.md", "x.log", "x.tex", "README", ".hidden", "x.yaml", "x.py", "x.css", "x.html"]
)
def test_any_text_can_be_looked_into(finds, name):
    assert [text for _, _, text in finds("/* by\n  C001 */", name)] == ["C001"]


def test_an_empty_file_is_clean(look):
    assert look("").is_clean


def test_places_in_a_text(finds):
    text = "one\r\ntwo C001\rthree\n  C001 C001\n"
    assert [place for place, _, _ in finds(text)] == [
        "line 2, character 5", "line 4, character 3", "line 4, character 8"]  # fmt: skip


def test_places_in_json(finds):
    value = {"summary": {"dates": ["2024-03-01", "x", "y", "2024-03-14"]}, "C001": [{"a": "caf\u00e9 S1"}]}
    assert finds(json.dumps(value), "x.json") == [
        ("C001 (the key)", "client code", "C001"),
        ("summary.dates[3]", "date", "2024-03-14"),
        ("C001[0].a", "stylist code", "S1"),
    ]
    assert finds('{"a": "\\u0043\\u0030\\u0030\\u0031"}', "x.json") == [("a", "client code", "C001")]


def test_json_by_the_line_and_json_cut_short(finds):
    assert finds('{"client": 12}\n\n{"client": 13, "a": "C001"}\n', "x.jsonl") == [
        ("line 1: client", "client code", "12"), ("line 3: a", "client code", "C001")]  # fmt: skip
    assert finds('{"a": "b",\n "client": "12", "c": "\\u0043001', "x.json") == [
        ("line 2, character 13", "client code", "12"), ("line 2, character 24", "client code",
        "C001")]  # fmt: skip


def test_toml_keys_comments_and_days(finds):
    text = '# by C001\n[run]\nclient = 12\nday = 2024-03-14\nnext = 2024-03-01\nname = "\\u0043001"\n'
    assert finds(text, "x.toml") == [
        ("line 1, character 6", "client code", "C001"),
        ("line 3, character 10", "client code", "12"),
        ("line 4, character 7", "date", "2024-03-14"),
        ("line 6, character 9", "client code", "C001"),
    ]


def test_encoded_data_in_json_is_counted_or_read(look):
    """QzAwMSBhbmQgd29yZHM= is "C001 and words" in base64."""
    told = look(json.dumps({"a": "data:text/plain;base64,QzAwMSBhbmQgd29yZHM=", "b": "q+/8" * 100}), "x.json")
    assert [(find.place, find.text) for find in told.finds] == [
        ("a, encoded data, line 1, character 1", "C001")
    ]
    assert told.unseen["x.json"] == {"pictures": 0, "encoded": 1}


def test_the_name_of_a_file_leaves_with_it(finds):
    assert finds("words", "C001 2024-03-14.txt") == [
        ("its name", "client code", "C001"), ("its name", "date", "2024-03-14")]  # fmt: skip
    assert finds("words", "t_2024_03_14.txt") == [("its name", "date", "2024_03_14")]
    assert finds("words", "visits_20240315.csv") == [("its name", "date", "20240315")]


def test_a_folder_is_every_file_in_it(tmp_path, log):
    (tmp_path / "team" / "C001").mkdir(parents=True)
    (tmp_path / "team" / ".old").mkdir()
    for name in ("C001/a.txt", ".old/.b", "c.txt"):
        (tmp_path / "team" / name).write_text("S1")
    files = files_of(tmp_path / "team")
    assert [file.own_name for file in files] == ["team/.old/.b", "team/C001/a.txt", "team/c.txt"]
    told = look_through(files, log)
    assert sorted((find.place, find.text) for find in told.finds) == [
        ("its name", "C001"), *[("line 1, character 1", "S1")] * 3]  # fmt: skip


def test_links_to_folders_are_not_followed_in_silence(tmp_path):
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    os.symlink(tmp_path / "b", tmp_path / "a" / "link")
    with pytest.raises(InputError, match="a link to another folder"):
        files_of(tmp_path / "a")


def test_a_link_that_leads_nowhere_is_never_clean(tmp_path, log):
    (tmp_path / "a").mkdir()
    os.symlink(tmp_path / "nowhere", tmp_path / "a" / "link.txt")
    told = look_through(files_of(tmp_path / "a"), log)
    assert len(told.refused) == 1


# the very thing that is tested doesn't exist for that user; anybody else's run tests it
@pytest.mark.skipif(os.geteuid() == 0, reason="the superuser may read everything")
def test_no_permission_is_never_clean(tmp_path, log):
    (tmp_path / "a.txt").write_text("x")
    (tmp_path / "a.txt").chmod(0)
    assert "ask its owner" in next(iter(look_through(files_of(tmp_path / "a.txt"), log).refused.values()))


def test_nothing_there():
    with pytest.raises(InputError, match="found no file or folder; look at the path"):
        files_of("nowhere/at/all.txt")


def test_dates_as_seconds_since_1970_in_json(finds):
    value = {
        "date": {"0": 1710374400000, "1": 1709251200000},
        "n": 1710374400000,
        "rows": [{"date": 1710374400}],
    }
    assert [(place, what) for place, what, _ in finds(json.dumps(value), "x.json")] == [
        ('date["0"]', "date"), ("rows[0].date", "date")]  # fmt: skip
