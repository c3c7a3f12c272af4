"""Figures of a quarter: marks and words are compared with the review's numbers."""

import dataclasses

import numpy as np
import pandas as pd
import pytest
from matplotlib.colors import to_hex
from matplotlib.patches import Rectangle

from outcomes.show.figures import team_pictures
from outcomes.show.figures.control_chart import chart_picture
from outcomes.show.figures.funnel import funnel_picture
from outcomes.show.figures.picture import ACCENT
from outcomes.show.figures.promises import promises_picture
from outcomes.show.figures.rates import rates_picture
from outcomes.show.figures.trend import trend_picture
from tests.show.figures.reviews import TARGET, codes_of, made_review

HIDDEN = (1, 4)


@pytest.fixture(scope="module")
def review():
    return made_review(codes_of(8), 8, HIDDEN)


def _points(axes):
    """All marks, sorted."""
    every = [np.asarray(marks.get_offsets()) for marks in axes.collections if len(marks.get_offsets())]
    every = [points for points in every if points.any()]  # lines of a collection have an offset of 0
    return np.array(sorted(map(tuple, np.vstack(every))))


def _marked(axes, label):
    (marks,) = [marks for marks in axes.collections if marks.get_label() == label]
    return np.asarray(marks.get_offsets())


def _line(axes, y):
    return next(line for line in axes.lines if np.array_equal(line.get_ydata(), y))


def _shown(review):
    return review.stylists[~review.stylists["suppressed"]]


def _with(review, **frames):
    return dataclasses.replace(review, **frames)


def test_all_figures_in_their_order(review):
    assert list(team_pictures(review)) == ["goal", "rates", "chart", "promises", "trend"]


def test_shares_stand_where_the_review_has_them(review):
    axes = funnel_picture(review).figure.axes[0]
    rows = _shown(review)
    expected = sorted(zip(rows["goal_n"], 100 * rows["goal_share"], strict=True))
    assert _points(axes) == pytest.approx(np.array(expected))


def test_limits_are_the_review_s(review):
    axes = funnel_picture(review).figure.axes[0]
    for name in ("low_95", "high_95", "low_998", "high_998", "target"):
        line = _line(axes, 100 * review.funnel[name])
        assert list(line.get_xdata()) == list(review.funnel["n"])
        assert line.get_drawstyle() == "default"  # no steps
    assert _line(axes, 100 * review.funnel["low_95"]).is_dashed()
    assert not _line(axes, 100 * review.funnel["low_998"]).is_dashed()


def test_who_lies_outside_is_marked_named_and_told():
    review = made_review(codes_of(4), 3)
    # limits of 60 visits: 0.49 to 0.74 at 95 %, 0.42 to 0.80 at 99.8 %
    review.stylists["goal_n"] = 60.0
    review.stylists["goal_share"] = [0.62, 0.47, 0.85, 0.40]
    picture = funnel_picture(review)
    axes = picture.figure.axes[0]
    assert _marked(axes, "within 95 %").tolist() == [[60, 62]]
    assert _marked(axes, "outside 95 %").tolist() == [[60, 47]]
    assert _marked(axes, "outside 99.8 %").tolist() == [[60, 85], [60, 40]]
    assert {"S01", "S02", "S03", "S04"} <= {text.get_text() for text in axes.texts}
    assert "Outside 99.8 %: S03 85 % of 60 visits; S04 40 % of 60 visits." in picture.alt
    assert "Outside 95 %: S02 47 % of 60 visits. Within 95 %: S01 62 % of 60 visits." in picture.alt
    assert f"expected, {100 * TARGET:.0f} %" in picture.alt


def test_a_name_without_room_is_told_in_words():
    review = made_review(codes_of(30), 30)
    review.stylists["goal_n"] = 100.0 + np.arange(30) / 10
    review.stylists["goal_share"] = TARGET
    picture = funnel_picture(review)
    axes = picture.figure.axes[0]
    named = {text.get_text() for text in axes.texts} & set(codes_of(30))
    told = picture.alt.partition("Without a name in the figure: ")[2].partition(".")[0].split(", ")
    assert set(told) == set(codes_of(30)) - named
    assert len(told) > 15
    shown = " ".join(text.get_text().replace("\n", " ") for text in picture.figure.texts)
    assert f"{len(told)} marks without a name" in shown


def test_wider_limits_are_told(review):
    assert "wider" not in funnel_picture(review).alt
    wide = _with(review, team={"overdispersion": {"ratio": 2.0, "between": 0.06}})
    assert "wider as stylists differ beyond chance" in funnel_picture(wide).alt


def test_rates_stand_in_order_with_bands_and_raw_values(review):
    picture = rates_picture(review)
    axes = picture.figure.axes[0]
    rows = _shown(review).sort_values("rate", ascending=False)
    bands = axes.collections[0].get_segments()
    assert [list(band[:, 0]) for band in bands] == pytest.approx(rows[["rate_low", "rate_high"]].to_numpy())
    shrunken, raw = (
        _marked(axes, name) for name in ("drawn towards the team", "by the quarter's own visits")
    )
    assert shrunken == pytest.approx(np.column_stack([rows["rate"], np.arange(6)]))
    assert raw[:, 0] == pytest.approx(rows["rate_raw"].to_numpy())
    assert axes.get_xscale() == "log"
    assert any(list(line.get_xdata()) == [1.0, 1.0] for line in axes.lines)
    numbers = [
        f"{row.rate:.2f} ({row.rate_low:.2f} to {row.rate_high:.2f})" for row in rows.itertuples(index=False)
    ]
    texts = [text.get_text() for text in axes.texts]
    assert texts == [text for pair in zip(rows["stylist"], numbers, strict=True) for text in pair]
    for code, said, own in zip(rows["stylist"], numbers, rows["rate_raw"], strict=True):
        assert f"{code} {said}, own visits {own:.2f}" in picture.alt


def test_neighbours_can_not_be_told_apart():
    for number in (1, 2):
        picture = rates_picture(made_review(codes_of(number), 5))
        shown = " ".join(text.get_text() for text in picture.figure.texts)
        note = "Neighbours in this order can rarely be told apart."
        assert (note in shown) == (note in picture.alt) == (number > 1)


def test_a_raw_value_far_off_is_an_arrow(review):
    raw = review.stylists["rate_raw"].copy()
    raw[[0, 2, 3]] = [9.0, 0.0, np.nan]
    picture = rates_picture(_with(review, stylists=review.stylists.assign(rate_raw=raw)))
    axes = picture.figure.axes[0]
    low, high = axes.get_xlim()
    assert high < 2
    assert len(_marked(axes, "by the quarter's own visits")) == 3
    left, right = (np.asarray(marks.get_offsets())[:, 0] for marks in axes.collections[-2:])
    assert (left.tolist(), right.tolist()) == ([low], [high])
    assert "own visits 9.00" in picture.alt
    assert "own visits nan" not in picture.alt
    assert "An arrow" in picture.figure.texts[-1].get_text()


def test_charts_are_the_review_s(review):
    picture = chart_picture(review)
    rows = _shown(review)
    assert [axes.get_title(loc="left") for axes in picture.figure.axes] == list(rows["stylist"])
    for axes, code in zip(picture.figure.axes, rows["stylist"], strict=True):
        own = review.chart[review.chart["stylist"] == code]
        assert list(_line(axes, own["mean"]).get_xdata()) == list(own["visit"])
        limit = own["limit"].iloc[0]
        levels = [line.get_ydata()[0] for line in axes.lines if len(line.get_xdata()) == 2]
        assert levels == pytest.approx([0.0, -limit, limit])
        beyond = own[own["signal"]]
        (marks,) = axes.collections
        assert np.asarray(marks.get_offsets()) == pytest.approx(beyond[["visit", "mean"]].to_numpy())
        assert to_hex(marks.get_facecolor()[0]) == ACCENT
    limits = {(axes.get_xlim(), axes.get_ylim()) for axes in picture.figure.axes}
    assert len(limits) == 1


def test_charts_say_signals_and_how_often_they_are_false():
    chart = pd.DataFrame(
        {"stylist": "S01", "visit": range(1, 6), "mean": [0.1, 1.2, 1.3, 0.5, 1.1], "limit": 0.99}
    ).assign(signal=lambda rows: rows["mean"].abs() > rows["limit"])
    other = chart.assign(stylist="S02", mean=-chart["mean"], signal=[False, True, False, False, False])
    quiet = chart.assign(stylist="S03", signal=False)
    review = made_review(codes_of(3), 1, chart=pd.concat([chart, other, quiet]), run_length=500.3)
    picture = chart_picture(review)
    for words in (
        "a false signal once in about 500 visits",
        "Limits: 0.99 to either side",
        "S01 lighter, 3 signals from visit 2 to 5 of 5 visits; S02 darker, 1 signal at visit 2 of 5 visits.",
        "No signal: S03 (5 visits).",
    ):
        assert words in picture.alt
    shown = " ".join(text.get_text().replace("\n", " ") for text in picture.figure.texts)
    assert "a false signal once in about 500 visits" in shown


def test_of_very_many_charts_those_with_signals_are_shown():
    codes = codes_of(34)
    chart = pd.DataFrame(
        {"stylist": np.repeat(codes, 2), "visit": 34 * [1, 2], "mean": 0.2, "limit": 0.99, "signal": False}
    )
    chart.loc[chart["stylist"] == "S34", ["mean", "signal"]] = [1.5, True]
    picture = chart_picture(made_review(codes, 1, chart=chart))
    assert [axes.get_title(loc="left") for axes in picture.figure.axes] == [*codes[:29], "S34"]
    assert "The 30 with signals or most visits, of 34." in picture.alt


def test_promises_stand_against_what_was_quoted(review):
    picture = promises_picture(review)
    axes = picture.figure.axes[0]
    assert _points(axes).tolist() == review.promises[["quoted", "needed"]].to_numpy().tolist()
    (diagonal,) = axes.lines
    assert list(diagonal.get_xdata()) == list(diagonal.get_ydata())
    assert diagonal.get_label() == "as quoted"
    texts = [text.get_text() for text in axes.texts]
    for row in (["1", "2", "3", "4"], ["74", "131", "28", "11"], ["82", "67", "79", "45"]):
        assert any(texts[i : i + 4] == row for i in range(len(texts)))
    assert "1 quoted, 1.2 needed, 82 % of 74 courses kept, 3 still open" in picture.alt
    assert "4 quoted, 4.6 needed, 45 % of 11 courses kept, 6 still open" in picture.alt


def test_promises_that_nobody_knows_of_are_left_out(review):
    promises = review.promises.copy()
    promises[["needed", "within", "n", "unsettled"]] = promises[
        ["needed", "within", "n", "unsettled"]
    ].astype(float)
    promises.loc[1, ["needed", "within", "n", "unsettled"]] = np.nan  # of few clients
    promises.loc[2, ["needed", "within", "n"]] = [np.nan, 0, 0]  # none settled
    picture = promises_picture(_with(review, promises=promises))
    assert _points(picture.figure.axes[0])[:, 0].tolist() == [1, 4]
    assert "2 quoted" not in picture.alt
    assert "nan" not in picture.alt


def test_quarters_stand_at_their_time(review):
    picture = trend_picture(review)
    above, below = picture.figure.axes
    trend = review.trend
    at = np.array([(2025 - 1970) * 4 + 1 + i for i in range(6)])
    assert _marked(above, "median") == pytest.approx(np.column_stack([at, trend["median"]]))
    assert _marked(above, "expected of the same visits") == pytest.approx(
        np.column_stack([at + 0.2, trend["expected"]])
    )
    bands = above.collections[0].get_segments()
    assert [list(band[:, 1]) for band in bands] == pytest.approx(trend[["low", "high"]].to_numpy())
    bars = [patch for patch in below.patches if isinstance(patch, Rectangle)]
    assert [bar.get_height() for bar in bars] == list(trend["visits"])
    assert below.get_xlim() == above.get_xlim()
    names = [label.get_text().split() for label in below.get_xticklabels()]
    assert names == [["Q2", "2025"], ["Q3"], ["Q4"], ["Q1", "2026"], ["Q2"], ["Q3"]]
    assert "2025Q4 2.20 (1.90 to 2.60), expected 2.10, 377 visits" in picture.alt


def test_a_quarter_that_is_missing_leaves_a_gap(review):
    picture = trend_picture(_with(review, trend=review.trend.drop(index=2)))
    above = picture.figure.axes[0]
    (line,) = above.lines
    assert np.isnan(line.get_ydata()).tolist() == [False, False, True, False, False, False]
    assert len(_marked(above, "median")) == 5
    assert "2025Q4" not in picture.alt


def test_a_band_without_an_upper_end_is_an_arrow(review):
    trend = review.trend.copy()
    trend.loc[5, "high"] = np.inf
    trend.loc[4, ["low", "high", "expected"]] = np.nan
    picture = trend_picture(_with(review, trend=trend))
    above = picture.figure.axes[0]
    (arrows,) = [marks for marks in above.collections if marks.get_gid() == "arrows"]
    assert np.asarray(arrows.get_offsets()).tolist() == [[(2026 - 1970) * 4 + 2, above.get_ylim()[1]]]
    assert "2026Q3 1.80 (1.50 or more), expected 1.75" in picture.alt
    assert "2026Q2 1.80, 450 visits" in picture.alt
    assert "An arrow" in picture.alt
    assert "An arrow" not in trend_picture(review).alt


def test_many_quarters_are_named_by_their_years(review):
    quarters = [str(pd.Period("2018Q3", freq="Q") + i) for i in range(33)]
    trend = pd.DataFrame({"quarter": quarters, "median": 2.0, "low": 1.8, "high": 2.2, "expected": 2.0})
    picture = trend_picture(_with(review, trend=trend.assign(visits=100)))
    names = [label.get_text() for label in picture.figure.axes[1].get_xticklabels()]
    assert names == [str(year) for year in range(2019, 2027)]


@pytest.mark.parametrize("hidden", [(), (0,), HIDDEN])
def test_whoever_is_suppressed_is_nowhere(hidden):
    review = made_review(codes_of(8), 8, hidden)
    # even where the chart had them
    chart = pd.concat([review.chart, made_review(codes_of(8), 8).chart]).drop_duplicates(["stylist", "visit"])
    for name, picture in team_pictures(_with(review, chart=chart)).items():
        texts = [text.get_text() for axes in picture.figure.axes for text in (*axes.texts, axes._left_title)]
        for place in hidden:
            assert f"S{place + 1:02d}" not in texts
            assert f"S{place + 1:02d}" not in picture.alt
        if name in ("goal", "rates", "chart"):
            assert (f"Not shown: {len(hidden)} stylist" in picture.alt) == (len(hidden) > 0)
            assert picture.alt.count("fewer than 5") == (len(hidden) > 0)


def test_parts_of_few_clients_leave_a_stylist_out_of_that_figure_alone(review):
    rows = review.stylists.copy()
    rows.loc[0, ["goal_share", "goal_n"]] = np.nan
    changed = _with(review, stylists=rows)
    assert "S01" not in funnel_picture(changed).alt
    assert "S01" in rates_picture(changed).alt
    assert "3 stylists" in funnel_picture(changed).alt


def test_nothing_to_show(review):
    everyone = made_review(codes_of(3), 1, (0, 1, 2))
    assert list(team_pictures(everyone)) == ["promises", "trend"]
    empty = _with(
        everyone,
        promises=review.promises.iloc[:0],
        trend=review.trend.iloc[:0],
        funnel=review.funnel.iloc[:0],
    )
    assert team_pictures(empty) == {}
    assert funnel_picture(_with(review, funnel=review.funnel.iloc[:0])) is None
    assert chart_picture(_with(review, chart=review.chart.iloc[:0])) is None
    unknown = review.trend.assign(median=np.nan)
    assert trend_picture(_with(review, trend=unknown)) is None
