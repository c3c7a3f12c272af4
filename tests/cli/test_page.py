"""`outcomes page`: one file that needs no other, and replaces nothing but a page."""

from __future__ import annotations

import json
import re

import pytest

from outcomes.cli.main import main
from outcomes.predictive.saved import SalonModel, save_model
from tests.predictive.fades import invented_fade


@pytest.fixture(scope="module")
def model(predictive, tmp_path_factory):
    path = tmp_path_factory.mktemp("page") / "m.json"
    save_model(SalonModel(predictive, {"level": invented_fade()}, {"tone_left": "no readings"}), path)
    return str(path)


def test_one_file_with_the_model_in_it(model, tmp_path, capsys):
    target = tmp_path / "page.html"
    assert main(["page", model, "--to", str(target)]) == 0
    text = target.read_text(encoding="utf-8")
    assert f"{target}: {len(text.encode()) / 1e6:.1f} MB" in capsys.readouterr().out
    assert len(text.encode()) < 1_500_000
    assert not re.search(r'(?:src|href)=|@import|url\(|\bimport\b.*from "', text)
    kept = json.loads(re.search(r'id="model">(.*?)</script>', text)[1])
    choices = json.loads(kept["about"])["choices"]
    assert choices["stylists"] == ["S1", "S2", "S3"]
    assert choices["leftOut"]["tone_left"] == "no readings"


def test_an_older_page_is_replaced_and_nothing_else(model, tmp_path, capsys):
    page, other = tmp_path / "page.html", tmp_path / "notes.txt"
    for _ in range(2):
        assert main(["page", model, "--to", str(page)]) == 0
    other.write_text("to keep", encoding="utf-8")
    for target in (str(other), model):
        assert main(["page", model, "--to", target]) == 2
        assert "not a page; name a new file" in capsys.readouterr().err
    assert other.read_text(encoding="utf-8") == "to keep"


@pytest.mark.parametrize("words", [["page"], ["page", "none.json", "--to", "p.html"]])
def test_what_cannot_be_written_is_one_line(words, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert main(words) == 2
    assert capsys.readouterr().err.count("\n") == 1
    assert list(tmp_path.iterdir()) == []
