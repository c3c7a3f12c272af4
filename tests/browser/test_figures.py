"""Figures that commands write stand by themselves: a browser shows them, and they ask for nothing else."""

from __future__ import annotations

import re

import pytest

from outcomes.cli.main import main
from outcomes.predictive.saved import SalonModel, save_model
from tests.cli.test_fade import COMMANDS
from tests.predictive.fades import invented_fade

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def drawing(predictive, tmp_path_factory):
    """The SVG file of `outcomes root-shade`."""
    folder = tmp_path_factory.mktemp("figures")
    save_model(SalonModel(predictive, {"level": invented_fade("level")}, {}), folder / "m.json")
    words = ["root-shade", str(folder / "m.json"), *COMMANDS["root-shade"], "--figures", str(folder)]
    assert main(words) == 0
    return folder / "root_shade.svg"


def test_a_drawing_is_shown_at_its_size_and_asks_for_nothing(opened, drawing):
    stated = re.search(r'width="([\d.]+)pt" height="([\d.]+)pt"', drawing.read_text(encoding="utf-8"))
    page = opened(drawing, 1600, 1200)
    (figure,) = page.figures()
    # 72 points or 96 pixels an inch; a browser lays out in steps of 1/64 pixel
    size = [float(side) * 96 / 72 for side in stated.groups()]
    assert (figure.width, figure.height) == pytest.approx(size, abs=1 / 64)
    assert figure.is_seen
    assert (page.console_errors, page.page_errors, page.requests) == ([], [], [])


def test_a_drawing_that_asks_for_a_picture_is_found(opened, drawing, tmp_path):
    asking = '<image href="http://example.invalid/x.png" width="9" height="9"/></svg>'
    path = tmp_path / "asking.svg"
    path.write_text(drawing.read_text(encoding="utf-8").replace("</svg>", asking), encoding="utf-8")
    assert opened(path).requests == ["http://example.invalid/x.png"]
