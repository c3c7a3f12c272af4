"""The page of a team's quarter in a real browser: whole, quiet, and legible at every width and on paper."""

from __future__ import annotations

import pytest

from outcomes.show.figures.team import team_pictures
from outcomes.show.report import write_team
from tests.browser.grey import grey_contrasts
from tests.browser.pages import SIZES
from tests.show.made_reviews import made_review

pytestmark = pytest.mark.browser

TEAMS = (1, 30)
A4_MM = (210.0, 297.0)


@pytest.fixture(scope="module", params=TEAMS, ids=lambda n: f"{n} stylists")
def page_file(request, tmp_path_factory):
    """The page of a made review, and how many figures it has."""
    review = made_review([f"S{i + 1}" for i in range(request.param)])
    pictures = team_pictures(review)
    folder = tmp_path_factory.mktemp("review")
    write_team(review, pictures, folder)
    return folder / "team_review.html", len(pictures)


@pytest.mark.parametrize("size", SIZES)
def test_no_fault_at_any_width(opened, page_file, size):
    """No console error, no request, no figure without a size, nothing beyond the edge, no barrier (axe)."""
    path, _ = page_file
    assert opened(path, *SIZES[size]).faults() == []


def test_every_figure_is_seen_and_has_its_words(opened, page_file):
    path, count = page_file
    page = opened(path, *SIZES["desktop"])
    figures = page.figures()
    assert len(figures) == count >= 3
    assert all(figure.is_seen and figure.width > 100 and figure.height > 100 for figure in figures)


def test_text_stays_legible_in_grey(opened, page_file):
    path, _ = page_file
    found = grey_contrasts(opened(path, *SIZES["desktop"]))
    assert len(found) > 50
    # of text below 18 points: WCAG 2.2, success criterion 1.4.3
    assert [(text, ratio) for text, ratio in found if ratio < 4.5] == []


def test_sheets_are_a4(opened, page_file):
    path, _ = page_file
    sheets = opened(path, *SIZES["desktop"]).printed()
    assert 3 <= len(sheets) <= 20
    for sheet in sheets:
        assert tuple(sheet) == pytest.approx(A4_MM, abs=1.0)
