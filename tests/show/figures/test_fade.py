"""Figures about fade: what they say in words is what the answer holds, and nothing is too small to read."""

import matplotlib.text
import numpy as np
import pytest
from pandas import DataFrame

from outcomes.answers.fade_curve import fade_curves
from outcomes.answers.refresh import refresh
from outcomes.answers.root_shade import root_shade
from outcomes.answers.shades import fade
from outcomes.show.figures import fade_curve_picture, ratios_picture, refresh_picture, root_shade_picture
from tests.predictive.fades import invented_fade


@pytest.fixture(scope="module")
def by_level():
    return invented_fade(sd_estimate=0.03)


def _sizes(picture):
    texts = picture.figure.findobj(matplotlib.text.Text)
    return [text.get_fontsize() for text in texts if text.get_text().strip()]


def test_ratios(by_level, tmp_path):
    answer = fade(by_level, "root_tone")
    picture = ratios_picture(answer)
    ratio = answer.rows[1].ratio
    assert f"ash {ratio.value:.2f} ({ratio.low:.2f} to {ratio.high:.2f})" in picture.alt
    assert "Root tone, against neutral" in picture.alt
    assert min(_sizes(picture)) >= 9
    names = [path.name for path in picture.save(tmp_path, "ratios")]
    assert names == ["ratios.png", "ratios.svg"]
    assert picture.title in (tmp_path / "ratios.svg").read_text()


def test_root_shades(by_level):
    answer = root_shade(by_level, 3, 9.5, 18, 7.5, tone="ash")
    picture = root_shade_picture(answer)
    assert answer.sentence in picture.alt
    assert picture.alt.count("blends ") >= len(answer.candidates)
    assert "were never read after washes" in picture.alt
    assert "Patch test and strand test first." in picture.alt
    assert min(_sizes(picture)) >= 9
    # rows of all levels, the lightest on top
    axes = picture.figure.axes[0]
    rows = [text.get_text() for text in axes.texts if text.get_text().endswith(" ash")]
    assert rows == [f"{one.root_level:g} ash" for one in answer.candidates[::-1]]


def test_of_many_candidates_one_tone_stands_for_a_level(by_level):
    answer = root_shade(by_level, 3, 9.5, 18, 7.5)
    assert len(answer.candidates) > 18
    picture = root_shade_picture(answer)
    assert "For each level the tone that blends most often." in picture.alt
    chosen = f"{answer.choice.root_level:g} {answer.choice.root_tone}:"
    assert chosen in picture.alt


def test_shades_outside_the_log_have_no_number(by_level):
    picture = root_shade_picture(root_shade(by_level, 1, 6, 10, 2.5, tone="neutral"))
    assert "1 neutral: outside the log" in picture.alt
    assert "blends 1" not in picture.alt


def test_curves_with_the_readings_behind_them(by_level):
    curves = fade_curves(by_level, "root_tone")
    readings = DataFrame(
        {
            "shade": ["ash", "ash", "copper"],
            "washes": [5.0, 10.0, 900.0],
            "written": [0.5, 1.0, 2.0],
            "n": [3, 4, 9],
        }
    )
    picture = fade_curve_picture(curves, readings)
    # what lies beyond the axes isn't shown, nor counted
    assert "Marks: 7 readings" in picture.alt
    assert [axes.get_title(loc="left") for axes in picture.figure.axes] == ["neutral", "ash", "copper"]
    ash = curves.curves[1]
    end = f"{curves.washes[-1]:.0f} washes {ash.median[-1]:.1f} ({ash.low[-1]:.1f} to {ash.high[-1]:.1f})"
    assert end in picture.alt
    assert min(_sizes(picture)) >= 9
    # the middle is that of the answer at as many washes
    row = fade(by_level, "root_tone", 55).rows[1]
    assert ash.median[-1] == pytest.approx(row.fade.median, rel=0.01)
    toner = fade_curve_picture(fade_curves(invented_fade("tone_left"), "toner_tone"))
    assert toner.figure.axes[0].get_ylabel() == "tone left, %"
    assert "Marks" not in toner.alt


def test_refresh(by_level):
    answer = refresh(by_level, "roots", 1, 3, root_level=6, root_tone="ash", shampoo="plain")
    picture = refresh_picture(answer)
    assert answer.sentence in picture.alt
    assert "Clients whose hair has faded by 1 level: " in picture.alt
    assert "Dotted" not in picture.alt
    assert "Patch test and strand test first." in picture.alt
    assert min(_sizes(picture)) >= 9
    # the share that the line shows is that of the answer's quantiles
    washes, shares = zip(*answer.reached, strict=True)
    for end, share in ((answer.washes.low, 0.1), (answer.washes.median, 0.5), (answer.washes.high, 0.9)):
        assert np.interp(end, washes, shares) == pytest.approx(share, abs=0.02)
    # past the log's 60 washes it's said
    assert "Dotted: past the 60 washes" in refresh_picture(refresh(by_level, "roots", 3, 3)).alt
    never = refresh(invented_fade(family="saturating", theta=0.5), "roots", 1, 3)
    assert "More often than not it never" in refresh_picture(never).alt


def test_of_many_levels_those_read_most_are_drawn(by_level):
    curves = fade_curves(by_level, "root_level")
    assert len(curves.curves) == 12
    picture = fade_curve_picture(curves)
    assert len(picture.figure.axes) == 8
    assert "The 8 that were read most, of 12." in picture.alt
