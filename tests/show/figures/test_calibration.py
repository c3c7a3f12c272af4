"""Figures of the audit: marks and words are compared with the audit's numbers."""

import dataclasses

import numpy as np
import pandas as pd
import pytest
from matplotlib.patches import Rectangle, StepPatch
from matplotlib.text import Text

from outcomes.calibration.audit import BINS, Audit
from outcomes.show.figures import coverage_picture, pit_picture, reliability_picture


def _rows(group, reading, observed, n):
    half = 0.8 / np.sqrt(n)
    low, high = max(observed - half, 0.0), min(observed + half, 1.0)
    return {
        **{"group": group, "reading": reading, "nominal": 0.8, "observed": observed, "n": n},
        **{"low": low, "high": high, "printed": min(observed + 0.1, 1.0)},
    }


def invented(stylists=6):
    rng = np.random.default_rng(3)
    groups = [
        "all",
        "new clients",
        "later sessions, given the earlier ones",
        "start 1 to 3.5",
        "peroxide 12 %",
    ]
    groups += [f"stylist S{number:02d}" for number in range(1, stylists + 1)]
    coverage = [
        _rows(group, reading, float(rng.uniform(0.7, 0.9)), int(rng.integers(20, 400)))
        for group in groups
        for reading in ("first", "later")
    ]
    chances = np.array([0.05, 0.2, 0.4, 0.6, 0.8, 0.95])
    table = pd.DataFrame(
        {"from": 0.0, "to": 1.0, "predicted": chances, "observed": chances**1.1, "low": chances - 0.04,
         "high": np.minimum(chances + 0.05, 1.0), "left_failed": 0.9 * chances, "n": 60}
    )  # fmt: skip
    sessions = pd.concat([table.assign(sessions=k) for k in (1, 2, 3)], ignore_index=True)
    off = {"group": "stylist S02", "reading": "first", "what": "centre", "observed": 0.6, "expected": 0.5}
    return Audit(
        coverage=pd.DataFrame(coverage),
        reach=table,
        sessions=sessions,
        scores=pd.DataFrame(),
        flags=pd.DataFrame([off | {"n": 40, "p": 1e-5}]),
        heights={"first": tuple(np.linspace(0.9, 1.1, BINS)), "later": tuple(np.linspace(1.2, 0.8, BINS))},
        by_chance={"first": tuple((0.8, 1.2 + 0.01 * bar) for bar in range(BINS)), "later": ()},
        recalibration={},
        notes=(),
    )


@pytest.fixture(scope="module")
def audit():
    return invented()


def test_coverage_is_where_the_audit_has_it(audit):
    axes = coverage_picture(audit).figure.axes[0]
    for reading, marks in zip(("first", "later"), axes.collections[1::2], strict=True):
        rows = audit.coverage[audit.coverage["reading"] == reading]
        assert np.asarray(marks.get_offsets())[:, 0] == pytest.approx(rows["observed"].to_numpy())
    lines = axes.collections[0].get_segments()
    first = audit.coverage[audit.coverage["reading"] == "first"]
    assert [segment[0][0] for segment in lines] == pytest.approx(first["low"].to_numpy())
    assert [segment[1][0] for segment in lines] == pytest.approx(first["high"].to_numpy())
    assert any(line.get_xdata()[0] == 0.8 for line in axes.lines)


def test_a_group_that_is_off_is_said_so_by_a_word(audit):
    picture = coverage_picture(audit)
    words = [text.get_text() for text in picture.figure.axes[0].texts]
    assert words.count("off") == 1
    assert words[words.index("off") - 1] == "stylist S02"
    assert "stylist S02 (off)" in picture.alt
    none = coverage_picture(dataclasses.replace(audit, flags=audit.flags.iloc[:0]))
    assert "off" not in [text.get_text() for text in none.figure.axes[0].texts]


def test_chances_are_where_the_audit_has_them(audit):
    picture = reliability_picture(audit)
    minutes, sessions = picture.figure.axes
    points = [np.asarray(marks.get_offsets()) for marks in minutes.collections if len(marks.get_offsets())]
    assert points[-1] == pytest.approx(audit.reach[["predicted", "observed"]].to_numpy())
    legend = [text.get_text() for text in sessions.get_legend().get_texts()]
    assert legend == ["1 session", "2 sessions", "3 sessions"]
    assert "said 40 %, came 36 % (36 to 45)" in picture.alt


def test_heights_and_what_chance_allows(audit):
    picture = pit_picture(audit)
    for key, axes in zip(("first", "later"), picture.figure.axes, strict=True):
        bars = [patch for patch in axes.patches if isinstance(patch, Rectangle)]
        assert [bar.get_height() for bar in bars[:BINS]] == pytest.approx(audit.heights[key])
        assert f"{audit.heights[key][0]:.2f}" in picture.alt
        shaded = next(patch for patch in axes.patches if isinstance(patch, StepPatch))
        heights, _, baseline = shaded.get_data()
        low, high = zip(*(audit.by_chance[key] or [(1.0, 1.0)] * BINS), strict=True)
        assert baseline == pytest.approx(low)
        assert heights == pytest.approx(high)


@pytest.mark.parametrize("draw", [coverage_picture, reliability_picture, pit_picture])
@pytest.mark.parametrize("stylists", [0, 6, 40])
def test_texts_are_readable_and_nothing_is_cut_off(draw, stylists):
    figure = draw(invented(stylists)).figure
    figure.canvas.draw()
    width, height = figure.get_size_inches() * figure.dpi
    for text in figure.findobj(Text):
        if text.get_visible() and text.get_text().strip():
            assert text.get_fontsize() >= 9
            box = text.get_window_extent()
            assert box.x0 > -1, text.get_text()
            assert box.x1 < width + 1, text.get_text()
            assert box.y0 > -1, text.get_text()
            assert box.y1 < height + 1, text.get_text()


@pytest.mark.parametrize("draw", [coverage_picture, reliability_picture, pit_picture])
def test_a_small_log_has_nothing_to_show(audit, draw):
    empty = pd.DataFrame()
    nothing = dataclasses.replace(
        audit, coverage=empty, reach=empty, sessions=empty, flags=empty, heights={"first": (), "later": ()}
    )
    picture = draw(nothing)
    assert picture.figure.axes == []
    assert "too few" in picture.alt.lower() or "none" in picture.alt
