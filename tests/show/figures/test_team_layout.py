"""Figures of a quarter can be read on a telephone: no text on another, cut off, or too small."""

from contextlib import contextmanager
from itertools import combinations

import numpy as np
import pandas as pd
import pytest
from matplotlib.text import Text

from outcomes.show.figures import team_pictures
from outcomes.show.figures.funnel import funnel_picture
from outcomes.show.figures.promises import promises_picture
from outcomes.show.figures.rates import rates_picture
from outcomes.show.figures.trend import trend_picture
from tests.show.figures.reviews import HOSTILE, codes_of, made_review

DPI = (100, 160)
TOUCH = 0.5  # pixels by which rendered boxes may round into one another
PHONE = 350  # CSS pixels
LEAST = 8.5

TEAMS = {
    "one": (codes_of(1), ()),
    "two": (codes_of(2), ()),
    "eight": (codes_of(8), ()),
    "eight, two hidden": (codes_of(8), (1, 4)),
    "thirty": (codes_of(30), ()),
    "thirty, three hidden": (codes_of(30), (0, 12, 29)),
    "long codes": ([f"{name}, of the second salon" for name in codes_of(12)], ()),
    "hostile": (HOSTILE, ()),
    "hostile, hidden": (HOSTILE, (0, 3)),
}


@contextmanager
def _recorded(monkeypatch):
    """Every text that is drawn, once."""
    drawn = []
    draw = Text.draw

    def recording(self, renderer, *args, **kwargs):
        if self.get_visible() and self.get_text().strip() and self not in drawn:
            drawn.append(self)
        return draw(self, renderer, *args, **kwargs)

    with monkeypatch.context() as patched:
        patched.setattr(Text, "draw", recording)
        yield drawn


def check(figure, monkeypatch):
    """Look at all texts as drawn at two resolutions."""
    usual = figure.dpi
    for dpi in DPI:
        figure.set_dpi(dpi)
        with _recorded(monkeypatch) as texts:
            figure.canvas.draw()
        boxes = [(text.get_text(), Text.get_window_extent(text)) for text in texts]
        for (one, first), (other, second) in combinations(boxes, 2):
            wide = min(first.x1, second.x1) - max(first.x0, second.x0)
            high = min(first.y1, second.y1) - max(first.y0, second.y0)
            assert wide <= TOUCH or high <= TOUCH, f"{one!r} lies over {other!r} at {dpi} dpi"
        for name, box in boxes:
            assert box.x0 >= 0, name
            assert box.y0 >= 0, name
            assert box.x1 <= figure.bbox.width, name
            assert box.y1 <= figure.bbox.height, name
        for text in texts:
            pixels = text.get_fontsize() * PHONE / (72 * figure.get_figwidth())
            assert pixels >= LEAST, text.get_text()
    figure.set_dpi(usual)
    return [name for name, _ in boxes]


@pytest.mark.parametrize("team", TEAMS)
@pytest.mark.parametrize("seed", [1, 2])
@pytest.mark.filterwarnings("error")  # of letters that the font lacks too
def test_figures_of_any_team_are_clear(team, seed, monkeypatch):
    codes, hidden = TEAMS[team]
    pictures = team_pictures(made_review(codes, seed, hidden))
    assert list(pictures) == ["goal", "rates", "chart", "promises", "trend"]
    for picture in pictures.values():
        texts = check(picture.figure, monkeypatch)
        assert picture.title in [text.replace("\n", " ") for text in texts]
        assert "\n" not in picture.alt


@pytest.mark.parametrize("team", ["thirty", "hostile"])
def test_figures_fit_on_a_page(team):
    # A4 less margins of 15 mm
    for picture in team_pictures(made_review(*TEAMS[team][:1], 3)).values():
        wide, high = picture.figure.get_size_inches()
        assert wide <= 180 / 25.4
        assert high <= 267 / 25.4


@pytest.mark.parametrize("share", [0.0, 0.02, 0.5, 0.98, 1.0])
@pytest.mark.parametrize("visits", [1, 12, 2000])
def test_names_of_limits_have_room_wherever_they_lie(share, visits, monkeypatch):
    review = made_review(codes_of(3), 1)
    n = np.unique(np.geomspace(1, 2 * visits + 5, 60).astype(int))
    half = 0.5 / np.sqrt(n)
    review.stylists["goal_n"] = [1.0, visits / 2 + 0.5, visits]
    review.stylists["goal_share"] = [share, share, 1.0 - share]
    funnel = pd.DataFrame({"n": n, "target": share, "low_95": share - half, "high_95": share + half})
    funnel = funnel.assign(low_998=share - 2 * half, high_998=share + 2 * half)
    columns = ["low_95", "high_95", "low_998", "high_998"]
    funnel[columns] = funnel[columns].clip(0.0, 1.0)
    object.__setattr__(review, "funnel", funnel)
    names = check(funnel_picture(review).figure, monkeypatch)
    assert names.count("95 %") == 2
    assert names.count("99.8 %") == 2
    assert names.count("expected") == 1


@pytest.mark.parametrize("width", [0.001, 0.05, 1.0, 3.0])
def test_any_bands_of_rates_are_clear(width, monkeypatch):
    review = made_review(codes_of(5), 1)
    rate = review.stylists["rate"]
    review.stylists["rate_low"], review.stylists["rate_high"] = rate * np.exp(-width), rate * np.exp(width)
    check(rates_picture(review).figure, monkeypatch)


@pytest.mark.parametrize("last", [1, 5, 12])
@pytest.mark.parametrize("factor", [0.3, 1.0, 2.5])
def test_any_promises_are_clear(last, factor, monkeypatch):
    quoted = np.arange(1.0, last + 1)
    promises = pd.DataFrame(
        {
            "quoted": quoted, "needed": np.maximum(quoted * factor, 1.0), "n": 900, "within": 900,
            "unsettled": 100,
        }
    )  # fmt: skip
    names = check(promises_picture(made_review(["S1"], 1, promises=promises)).figure, monkeypatch)
    assert names.count("900") == last
    assert names.count(f"{np.maximum(quoted * factor, 1.0)[-1]:.1f}") >= 1


@pytest.mark.parametrize("quarters", [1, 2, 9, 12, 13, 40, 90])
@pytest.mark.parametrize("visits", [0, 7, 12345])
def test_any_trend_is_clear(quarters, visits, monkeypatch):
    names = [str(pd.Period("2020Q4", freq="Q") + i) for i in range(quarters)]
    median = 1.0 + np.arange(quarters) % 3
    trend = pd.DataFrame(
        {
            "quarter": names, "median": median, "low": median - 0.5, "high": median + 1.5, "expected": median,
            "visits": visits,
        }
    )  # fmt: skip
    check(trend_picture(made_review(["S1"], 1, trend=trend)).figure, monkeypatch)
