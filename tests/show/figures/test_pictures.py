"""Figures say what their answer says: texts, marks and lengths are compared with the answer's numbers."""

import re
from xml.etree import ElementTree

import matplotlib as mpl
import numpy as np
import pandas as pd
import pytest
from IPython.core.formatters import DisplayFormatter
from matplotlib.colors import to_rgb
from matplotlib.patches import Circle, Rectangle
from matplotlib.text import Text

from outcomes import lift_curve, sessions
from outcomes.answers.wording import percent
from outcomes.show.figures import picture
from outcomes.show.figures.effects import effects_picture
from outcomes.show.figures.lift_curve import lift_curve_picture
from outcomes.show.figures.sessions import sessions_picture

PLAN = (3, 9.5, "natural", 6, "low", 45)
READINGS = pd.DataFrame(
    {
        "minutes": [10.0, 20.0, 60.0],
        "gained": [2.0, 3.0, 5.0],
        "kind": ["look", "result", "look"],
        "n": [4, 2, 7],
    }
)


@pytest.fixture(scope="module")
def answer(predictive):
    return sessions(predictive, *PLAN)


@pytest.fixture(scope="module")
def pictures(predictive, answer):
    curve = lift_curve(predictive, *PLAN)
    return {
        "sessions": sessions_picture(answer),
        "outside": sessions_picture(sessions(predictive, *PLAN[:-1], 120)),
        "curve": lift_curve_picture(curve, READINGS),
        "curve outside": lift_curve_picture(lift_curve(predictive, *PLAN[:-1], 120)),
        "effects": effects_picture(predictive.effects),
    }


def _texts(figure):
    """Texts that are drawn: without the tick labels of axes that are switched off or out of their range."""
    found = list(figure.texts)
    for axes in figure.axes:
        if axes.axison:
            found += axes.findobj(Text)
        else:
            found += [*axes.texts, axes.title, axes._left_title]
    return [text for text in found if text.get_text().strip() and text.get_visible()]


def test_ten_clients_are_counted_out(pictures, answer):
    axes = pictures["sessions"].figure.axes[0]
    assert len([patch for patch in axes.patches if isinstance(patch, Circle)]) == 10
    numbers = [text.get_text() for text in axes.texts]
    assert len(numbers) == 10
    for k in (1, 2, 3):
        assert abs(numbers.count(str(k)) - 10 * answer.sessions[k - 1]) < 1


def test_bars_are_as_long_as_the_chances(pictures, answer):
    axes = pictures["sessions"].figure.axes[1]
    bars = sorted((p for p in axes.patches if isinstance(p, Rectangle)), key=lambda p: p.get_y())
    lengths = [bar.get_width() for bar in bars]
    assert sum(lengths) == pytest.approx(1.0, abs=1e-9)
    assert lengths[:3] == pytest.approx(answer.sessions[:3])
    said = [text.get_text() for text in axes.texts]
    assert said[: len(lengths)] == [percent(length) for length in lengths]


def test_outside_shows_reasons_and_no_chance(pictures):
    shown = " ".join(text.get_text() for text in _texts(pictures["outside"].figure))
    assert "was never logged" in shown
    assert pictures["outside"].figure.axes == []
    assert not re.search(r"\d %(?! developer)", shown + pictures["outside"].alt)


def test_the_curve_is_the_answer_and_readings_lie_behind(pictures, predictive):
    axes = pictures["curve"].figure.axes[0]
    curve = lift_curve(predictive, *PLAN)
    drawn = max(axes.lines, key=lambda line: len(line.get_xdata()))
    np.testing.assert_allclose(drawn.get_ydata(), curve.median)
    marks = max((c for c in axes.collections if len(c.get_offsets())), key=lambda c: len(c.get_offsets()))
    # start 3 and what was gained; the reading at 60 minutes is beyond the plan
    assert sorted(np.asarray(marks.get_offsets())[:, 1]) == [5.0, 6.0]
    assert "Marks: 6 readings" in pictures["curve"].alt
    assert "Patch test and strand test first." in pictures["curve"].alt
    legend = [text.get_text() for text in axes.get_legend().get_texts()]
    assert legend == ["look, hair wet", "result, rinsed"]


def test_a_curve_outside_the_log_draws_none(pictures):
    axes = pictures["curve outside"].figure.axes[0]
    assert not axes.collections
    assert all(len(line.get_xdata()) == 2 for line in axes.lines)


def test_effects_show_ratios_with_their_bands(pictures, predictive):
    axes = pictures["effects"].figure.axes[0]
    # the invented term's meaning is "rate against no heat"
    shown = [text.get_text() for text in axes.texts]
    assert sorted(shown) == ["1.08 (1.04 to 1.13)", "Heat, against no heat", "low"]
    drawn = [line for line in axes.lines if line.get_ydata()[0] == line.get_ydata()[1] == 1]
    assert [list(line.get_xdata()) for line in drawn] == [[1.04, 1.13]]
    assert axes.get_xscale() == "log"
    assert "Heat, against no heat: low 1.08 (1.04 to 1.13)" in pictures["effects"].alt


@pytest.mark.parametrize("name", ["sessions", "outside", "curve", "curve outside", "effects"])
def test_text_is_large_enough_and_within_the_figure(pictures, name):
    figure = pictures[name].figure
    figure.canvas.draw()
    width, height = figure.bbox.width, figure.bbox.height
    for text in _texts(figure):
        assert text.get_fontsize() >= 9, text.get_text()
        box = text.get_window_extent()
        if box.width:
            assert box.x0 >= -1, text.get_text()
            assert box.x1 <= width + 1, text.get_text()
            assert box.y0 >= -1, text.get_text()
            assert box.y1 <= height + 1, text.get_text()


@pytest.mark.parametrize("name", ["sessions", "curve", "effects"])
def test_svg_names_and_describes_itself(pictures, tmp_path, name):
    png, svg = pictures[name].save(tmp_path, "figure")
    assert png.read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"
    root = ElementTree.fromstring(svg.read_text(encoding="utf-8"))
    assert root.get("role") == "img"
    assert root.get("aria-labelledby") == "title desc"
    described = {child.get("id"): child.text for child in root if child.get("id") in ("title", "desc")}
    assert described == {"title": pictures[name].title, "desc": pictures[name].alt}
    assert pictures[name].svg() == pictures[name].svg()


def _luminance(colour):
    """Relative luminance as WCAG 2.2 defines it."""
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in to_rgb(colour)]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def _contrast(one, other):
    low, high = sorted((_luminance(one), _luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_shades_are_told_apart_in_grey():
    shades = [_luminance(c) for c in (picture.DARK, picture.MID, picture.SOFT, picture.PALE)]
    assert (np.diff(np.array(shades) + 0.05) / (np.array(shades[:-1]) + 0.05) > 0.4).all()


def test_numbers_on_dark_shades_have_contrast():
    assert min(_contrast(shade, "white") for shade in (picture.DARK, picture.MID)) >= 4.5
    assert min(_contrast(shade, picture.INK) for shade in (picture.SOFT, picture.PALE)) >= 4.5


@pytest.mark.parametrize("colour", [picture.INK, picture.DARK, picture.QUIET, picture.ACCENT])
def test_written_colours_have_contrast_on_white(colour):
    # 4.5 to 1 is WCAG 2.2's success criterion 1.4.3 for text of this size.
    assert _contrast(colour, "white") >= 4.5


def test_drawing_leaves_the_users_settings_alone(answer):
    with mpl.rc_context({"font.size": 23.0}):
        sessions_picture(answer).svg()
        assert mpl.rcParams["font.size"] == 23.0


def test_a_notebook_keeps_the_text_alternative(pictures):
    """IPython's own formatter takes picture and metadata apart."""
    data, metadata = DisplayFormatter().format(pictures["sessions"])
    assert data["image/png"].startswith(b"\x89PNG")
    assert metadata["image/png"] == {"alt": pictures["sessions"].alt}
