"""Nothing is drawn over anything else, whatever the answer: boxes as rendered, over a spread of plans."""

from dataclasses import replace
from itertools import combinations

import pandas as pd
import pytest
from matplotlib.patches import Circle, Rectangle
from matplotlib.text import Text

from outcomes import lift_curve, sessions
from outcomes.show.figures.effects import effects_picture
from outcomes.show.figures.lift_curve import lift_curve_picture
from outcomes.show.figures.sessions import sessions_picture

DPI = (100, 160)  # of the canvas and of a saved PNG
TOUCH = 0.5  # pixels by which rendered boxes may round into one another

PLANS = {
    "usual": ((3, 9.5, "natural", 6, "low", 45), {}),
    "one session, certain": ((7, 7.5, "lightened", 12, "medium", 45), {}),
    "one session, likely": ((7, 8.5, "lightened", 6, "low", 30), {}),
    "too many sessions": ((2, 9, "coloured", 3, "none", 12), {"limit": 12}),
    "many sessions, edge": ((2, 9, "coloured", 3, "none", 20), {"limit": 12}),
    "many sessions, inside": ((2, 9, "coloured", 4, "none", 20), {"limit": 12}),
    "beyond the limit": ((2, 9, "coloured", 3, "none", 12), {"limit": 1}),
    "edge": ((8.5, 9.5, "coloured", 12, "high", 70), {}),
    "edge, long": ((2, 9.5, "coloured", 12, "high", 70), {"limit": 12}),
    "outside": ((1, 10, "coloured", 1.5, "high", 120), {"limit": 12}),
    "new stylist": ((3, 9.5, "natural", 6, "low", 45), {"stylist": "new", "limit": 12}),
    "a stylist": ((3.5, 9.5, "lightened", 7.5, "medium", 52.5), {"stylist": "S2"}),
}

# Chances set by hand: every length of a bar, the band anywhere.
CHANCES = {
    "all in one": ((1.0, 0.0, 0.0, 0.0), 1, 1),
    "0.88": ((0.88, 0.12, 0.0, 0.0), 1, 2),
    "0.996": ((0.996, 0.004, 0.0, 0.0), 1, 1),
    "0.93 in the second": ((0.01, 0.93, 0.06, 0.0), 2, 2),
    "none within the limit": ((0.0, 0.0, 0.0, 1.0), None, None),
    "from the first to beyond": ((0.25, 0.25, 0.25, 0.25), 1, None),
    "twelve alike": ((*(12 * (0.07,)), 0.16), 2, None),
    "the last of twelve": ((*(11 * (0.001,)), 0.98, 0.009), 12, 12),
}
LONG_NOTES = (
    "a start at level 1 was never logged (the log goes from 1.5 to 9)",
    "no logged visit has stylist " + "wholly-unknown-stylist-from-another-branch-of-the-salon-group-2",
    "hair lightened is worked out as coloured, the nearest that was logged",
    "the fit of this log did not converge, so its numbers can't be relied on",
) * 3


def _drawn_texts(figure):
    found = list(figure.texts)
    for axes in figure.axes:
        if axes.axison:
            found += [text for text in axes.findobj(Text) if text not in found]
        else:
            found += [axes._left_title]  # numbers in circles stand on purpose on something
    return [text for text in found if text.get_visible() and text.get_text().strip()]


def _boxes(figure):
    """(what it is, its box in pixels) of every text, bar, circle and bracket."""
    boxes = [(text.get_text(), text.get_window_extent()) for text in _drawn_texts(figure)]
    for axes in figure.axes:
        boxes += [
            (f"{type(patch).__name__} {i}", patch.get_window_extent())
            for i, patch in enumerate(axes.patches)
            if isinstance(patch, Circle | Rectangle)
        ]
        boxes += [("bracket", line.get_window_extent()) for line in axes.lines if line.get_gid() == "band"]
    return [(name, box) for name, box in boxes if box.width > 0]


def _check(figure):
    usual = figure.dpi
    for dpi in DPI:
        figure.set_dpi(dpi)
        figure.canvas.draw()
        boxes = _boxes(figure)
        for (one, first), (other, second) in combinations(boxes, 2):
            wide = min(first.x1, second.x1) - max(first.x0, second.x0)
            high = min(first.y1, second.y1) - max(first.y0, second.y0)
            assert wide <= TOUCH or high <= TOUCH, f"{one!r} lies over {other!r} at {dpi} dpi"
        for name, box in boxes:
            assert box.x0 >= 0, name
            assert box.y0 >= 0, name
            assert box.x1 <= figure.bbox.width, name
            assert box.y1 <= figure.bbox.height, name
    figure.set_dpi(usual)
    return boxes


@pytest.mark.parametrize("name", PLANS)
def test_a_sessions_picture_of_any_plan_is_clear(predictive, name):
    plan, options = PLANS[name]
    answer = sessions(predictive, *plan, **options)
    names = [what for what, _ in _check(sessions_picture(answer).figure)]
    assert ("bracket" in names) == (answer.support != "outside")
    assert sum(what.startswith("Circle") for what in names) == 10 * (answer.support != "outside")


def test_the_plans_are_a_spread(predictive):
    answers = [sessions(predictive, *plan, **options) for plan, options in PLANS.values()]
    assert {answer.support for answer in answers} == {"inside", "edge", "outside"}
    assert max(answer.sessions[0] for answer in answers) > 0.99
    assert any(answer.median is not None and answer.median >= 3 for answer in answers)


@pytest.fixture(scope="module")
def usual(predictive):
    return sessions(predictive, *PLANS["usual"][0])


@pytest.mark.parametrize("name", CHANCES)
@pytest.mark.parametrize("support", ["inside", "edge"])
def test_a_sessions_picture_of_any_chances_is_clear(usual, name, support):
    chances, low, high = CHANCES[name]
    answer = replace(
        usual, sessions=chances, limit=len(chances) - 1, band_low=low, band_high=high,
        median=low, support=support, support_notes=LONG_NOTES[:2] if support == "edge" else (),
    )  # fmt: skip
    assert "bracket" in [what for what, _ in _check(sessions_picture(answer).figure)]


@pytest.mark.parametrize("support", ["edge", "outside"])
def test_long_notes_and_codes_have_room(usual, support):
    asked = replace(usual.question, stylist="$" + 90 * "W" + "$")
    picture = sessions_picture(replace(usual, question=asked, support=support, support_notes=LONG_NOTES))
    _check(picture.figure)
    shown = " ".join(text.get_text() for text in picture.figure.texts).replace("\n", " ")
    assert shown.count("the nearest that was logged.") == 3


def test_the_bracket_spans_the_sessions_of_the_band(usual):
    answer = replace(usual, sessions=(0.1, 0.4, 0.3, 0.2), limit=3, band_low=2, band_high=3)
    axes = sessions_picture(answer).figure.axes[1]
    (bracket,) = [line for line in axes.lines if line.get_gid() == "band"]
    rows = bracket.get_ydata()
    assert 0.5 < min(rows) < 1
    assert 2 < max(rows) < 2.5
    assert min(bracket.get_xdata()) > 1  # beyond a chance of 1


READINGS = pd.DataFrame(
    {
        "minutes": [5.0, 10.0, 10.0, 20.0],
        "gained": [1.0, 2.0, 2.5, 3.0],
        "kind": ["look", "result", "look", "result"],
        "n": [4, 2, 200, 1],
    }
)


@pytest.mark.parametrize("name", PLANS)
@pytest.mark.parametrize("readings", [None, READINGS], ids=["alone", "with readings"])
def test_a_lift_curve_of_any_plan_is_clear(predictive, name, readings):
    plan, options = PLANS[name]
    curve = lift_curve(predictive, *plan, stylist=options.get("stylist"))
    _check(lift_curve_picture(curve, readings).figure)


@pytest.mark.parametrize("middle", [9.2, 9.5, 9.8, 10.0])
def test_names_of_lines_that_end_together_are_told_apart(predictive, middle):
    curve = lift_curve(predictive, *PLANS["usual"][0])
    up = curve.median / curve.median[-1] * middle
    figure = lift_curve_picture(replace(curve, median=up, low=up - 0.1, high=up)).figure
    _check(figure)
    names = [text for text in figure.axes[0].texts if text.get_text().startswith(("goal", "middle", "80"))]
    assert len(names) == 3


def _term(name, ratio, against, width=1.05):
    return {
        "term": name, "ratio": ratio, "low": ratio / width, "high": ratio * width,
        "meaning": f"this against {against}",
    }  # fmt: skip


EFFECTS = {
    "many": [
        {"term": "peroxide", "value": 0.42, "low": 0.39, "high": 0.45, "meaning": "exponent"},
        *(_term(f"heat[{word}]", 1.1, "no heat") for word in ("low", "medium", "high")),
        *(_term(f"colour_history[{word}]", 0.9, "none") for word in ("one", "several")),
        _term("later_session", 0.91, "the first"),
        {"term": "applications", "value": -0.001, "low": -0.004, "high": 0.14, "meaning": "exponent"},
    ],
    "wide": [
        _term("colour_history[several]", 1.4, "one layer", 3.0), _term("hair[coloured]", 0.5, "natural", 2.2),
    ],
    "far to the right": [_term("colour_history[several]", 3.5, "one layer", 1.1)],
    "none": [],
}  # fmt: skip


@pytest.mark.parametrize("name", EFFECTS)
def test_effects_are_clear(name):
    _check(effects_picture({"terms": EFFECTS[name], "coverage": 0.95}).figure)


def test_effects_name_what_they_are_read_against():
    missing = _term("texture[not given]", 1.01, "nothing")
    picture = effects_picture({"terms": [*EFFECTS["many"], missing], "coverage": 0.95})
    shown = [text.get_text() for text in _drawn_texts(picture.figure)]
    assert {"Heat, against no heat", "Colour history, against none", "Session, against the first"} <= set(
        shown
    )
    powers = "\n".join(shown)
    assert "developer strength / 6 %: 0.42 (0.39 to 0.45)" in powers
    assert "number of applications: 0.00 (0.00 to 0.14)" in powers
    assert "not given" not in powers + picture.alt
    assert "reference" not in powers
    assert "Heat, against no heat: low 1.10 (1.05 to 1.16)" in picture.alt
    assert "developer strength / 6 %: 0.42" in picture.alt
