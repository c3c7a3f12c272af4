"""The page of a team's quarter, read as a browser and a screen reader would read it."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from outcomes.answers.wording import CAUTIONS
from outcomes.review.team_review import Finding
from outcomes.show.report import team_page
from tests.show.made_reviews import (
    COLUMNS,
    PARTS,
    empty_review,
    made_review,
    stand_ins,
    stylist_rows,
)
from tests.show.read_page import Page

CODES = [f"S{i}" for i in range(1, 9)]
HIDDEN = ("S2", "S7")


@pytest.fixture(scope="module")
def pictures():
    return stand_ins()


@pytest.fixture(scope="module")
def html(pictures):
    return team_page(made_review(CODES, HIDDEN, 3, salon="A"), pictures)


@pytest.fixture(scope="module")
def page(html):
    return Page(html)


def text_of(review):
    return Page(team_page(review, {})).one("body").text


def test_findings_stand_first_with_their_numbers_large(page):
    assert page.one("h1").text == "Third quarter of 2026"
    assert page.all("h2")[0].text == "What to talk about"
    found = [one for one in page.all("p") if one.attrs.get("class") == "number"]
    assert [one.text for one in found] == ["0.6 sessions more than quoted", "12 % faster lift"]
    assert [one.all("strong")[0].text for one in found] == ["0.6", "12 %"]
    sentences = page.one("ol").text
    assert (
        "S3: courses took 0.6 sessions more than quoted, on average (90 % band 0.3 to 0.9; 21 courses)."
        in sentences
    )
    assert "chosen among 61 comparisons by the rule of Benjamini and Hochberg" in page.one("main").text
    assert "about one in ten is chance" in page.one("main").text


def test_the_head_says_when_where_and_how_many(page):
    assert page.one("header").text == (
        "Team review Third quarter of 2026 Salon A 412 visits 287 clients 8 stylists"
    )
    assert page.all("title")[0].text == "Team review, third quarter of 2026, A"
    assert page.one("html").attrs == {"lang": "en"}
    assert "Salon" not in Page(team_page(made_review(CODES), {})).one("header").text


@pytest.mark.parametrize(
    ("kind", "value", "number", "unit"),
    [
        ("rate", 0.92, "8 %", "slower lift"),
        ("fade", 1.3, "30 %", "faster fade"),
        ("change", 1.08, "8 %", "faster lift than the quarter before"),
        ("goal", 0.643, "64 %", "of visits reached their goal"),
        ("promise", -0.44, "0.4", "sessions fewer than quoted"),
        ("condition", 0.256, "0.26", "points of condition lost more"),
    ],
)
def test_numbers_of_findings_are_told_by_their_kind(kind, value, number, unit):
    one = Finding(kind, "S4", "The sentence.", value, value - 0.1, value + 0.1, 40, 0.001)
    read = Page(team_page(made_review(CODES, findings=(one,)), {}))
    found = read.one("ol").all("p")
    assert [part.text for part in found] == [f"{number} {unit}", "S4. The sentence."]


def test_where_nothing_stands_out_that_is_said_plainly():
    text = text_of(made_review(CODES, findings=(), compared=61))
    assert "What to talk about Nothing stands out beyond chance. That is the usual result" in text
    assert "At most five are ever named, chosen among 61 comparisons" in text


def test_headings_come_in_order_and_once_at_the_top(page):
    levels = [int(one.tag[1]) for one in page.elements if re.fullmatch(r"h\d", one.tag)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert max(np.diff(levels)) <= 1
    assert len(page.all("main")) == len(page.all("header")) == 1
    assert all(one.text for one in page.elements if re.fullmatch(r"h\d", one.tag))


def test_tables_tell_what_their_cells_belong_to(page):
    assert len(page.all("table")) >= 10
    for table in page.all("table"):
        assert [child.tag for child in table.children][:3] == ["caption", "thead", "tbody"]
        assert table.all("caption")[0].text
        head, *rows = table.all("tr")
        assert all(one.tag == "th" and one.attrs["scope"] == "col" and one.text for one in head.children)
        for row in rows:
            assert [one.tag for one in row.children] == ["th", *["td"] * (len(head.children) - 1)]
            assert row.children[0].attrs["scope"] == "row"
    captions = [one.text for one in page.all("caption")]
    assert len(set(captions)) == len(captions)


def test_numbers_of_a_stylist_are_those_of_the_review():
    rows = stylist_rows(CODES, HIDDEN, 3)
    values = {
        "visits": 1204, "clients": 61, "rate_raw": 1.237, "rate": 1.084, "rate_low": 0.97, "rate_high": 1.191,
        "goal_observed": 34, "goal_expected": 31.44, "goal_n": 52, "goal_share": 0.618,
        "goal_share_low": 0.505, "goal_share_high": 0.723, "promise_quoted": 2.04, "promise_needed": 2.45,
        "promise_within": 9,
        "promise_n": 14, "loss_observed": 0.417, "loss_expected": 0.4, "loss_n": 50, "fade": 0.9,
        "fade_low": 0.8, "fade_high": 1.013, "change": 0.95, "change_low": 0.9, "change_high": 1.004,
        "best_third": 0.31, "lowest_third": 0.004, "looks": 0.476, "rounded_to": 5, "no_stop": 0.001,
        "no_quote": 0.0, "no_condition": 1.0,
    }  # fmt: skip
    rows.loc[rows["stylist"] == "S1", list(values)] = list(map(float, values.values()))
    read = Page(team_page(made_review(CODES, HIDDEN, 3, stylists=rows), {}))
    told = {
        "Visits and clients": ["1,204", "61"],
        "Lift rate": ["1.24", "1.08 0.97 to 1.19", "0.95 0.90 to 1.00"],
        "Chances to be": ["31 %", "<1 %"],
        "Visits that reached": ["34", "31.4", "52", "62 % 50 to 72 %"],
        "Sessions quoted": ["2.0", "2.5", "9", "14"],
        "Condition lost": ["0.42", "0.40", "50"],
        "Fade rate by level of the root shade": ["0.90 0.80 to 1.01"],
        "Shares of visits, as": ["48 %", "to 5", "<1 %", "0 %", "100 %"],
    }
    assert {caption: read.table(caption)["S1"] for caption in told} == told
    assert read.table("Visits that reached")["Team"] == ["266", "261.4", "412", ""]


def test_numbers_of_the_team_are_those_of_the_review(page):
    assert page.table("By sessions quoted")["3"] == ["3.4", "14", "23", "12"]
    assert page.table("By sessions quoted")["4"] == ["–", "0", "0", "3"]
    assert page.table("Sessions until the goal")["2025 Q4"] == ["2.60 1.70 to 2.80", "2.60", "377"]
    assert page.table("Habits of work")["developer strength, %"] == ["5.1 S1", "7.9 S8"]
    assert page.table("What goes with")["10 minutes longer"] == ["1.24 0.99 to 1.55", "2,134"]
    assert page.table("Shares of visits, as")["Team"] == ["58 %", "to 5", "4 %", "31 %", "10 %"]
    assert page.table("Sessions quoted")["Team"] == ["2.1", "2.4", "71", "98"]


def test_suppressed_stylists_are_listed_and_nothing_of_them_is_told():
    rows = stylist_rows(CODES, HIDDEN, 3)
    told_by_mistake = rows["suppressed"]
    rows.loc[told_by_mistake, list(COLUMNS[2:])] = 87654.0
    read = Page(team_page(made_review(CODES, HIDDEN, 3, stylists=rows, findings=()), {}))
    text = read.one("body").text
    assert "87,654" not in text
    assert "87654" not in text
    assert read.table("Visits and clients")["S7"] == ["not shown", "not shown"]
    assert [text.count(code) for code in HIDDEN] == [1, 1]
    assert "Fewer than 5 clients: not shown." in text
    assert "the next fewest is hidden too, so that a total doesn't give the first away" in text


def test_the_fewest_clients_that_are_shown_are_the_review_s():
    assert "Fewer than 12 clients: not shown." in text_of(made_review(CODES, HIDDEN, min_clients=12))


def test_figures_have_a_guide_and_text_alternatives(page):
    figures = page.all("figure")
    assert len(figures) == len(PARTS)
    for figure, part in zip(figures, ("rates", "chart", "goal", "promises", "trend"), strict=True):
        guide = figure.all("figcaption")[0].text
        assert guide.endswith(".")
        assert ". " not in guide
        (svg,) = figure.all("svg")
        assert svg.attrs["role"] == "img"
        named = svg.attrs["aria-labelledby"].split()
        alternatives = {one.attrs["id"]: one.text for one in svg.children if one.attrs.get("id") in named}
        assert list(alternatives.values()) == [f"Figure of {part}", f"In words: {part}, 1 to 3."]


def test_names_in_the_page_are_met_once(page):
    names = [one.attrs["id"] for one in page.elements if "id" in one.attrs]
    assert len(set(names)) == len(names)
    pointed = [
        value[1:]
        for one in page.elements
        for key, value in one.attrs.items()
        if key.endswith("href") and value
    ]
    clips = re.findall(r"url\(#([^)]+)\)", " ".join(str(one.attrs) for one in page.elements))
    assert set(pointed) | set(clips) <= set(names)
    assert len(pointed) > 50


def test_a_picture_that_is_not_there_leaves_no_gap(pictures):
    some = {key: pictures[key] for key in ("trend", "rates")}
    assert len(Page(team_page(made_review(CODES), some)).all("figure")) == 2
    assert not Page(team_page(made_review(CODES), {})).all("figure")


def test_nothing_runs_and_nothing_is_fetched(page, html):
    assert not {"script", "link", "img", "iframe", "object", "form", "base"} & {
        one.tag for one in page.elements
    }
    policy = [one.attrs["content"] for one in page.all("meta") if "http-equiv" in one.attrs]
    assert policy == ["default-src 'none'; style-src 'unsafe-inline'; img-src data:"]
    for one in page.elements:
        for key, value in one.attrs.items():
            assert not key.startswith("on")
            assert key not in ("src", "srcset", "data", "action", "background")
            if key.endswith("href"):
                assert value.startswith("#")
    beside_names = re.sub(r' xmlns(:\w+)?="[^"]*"', "", html)
    assert "http:" not in beside_names
    assert "https:" not in beside_names
    assert "@import" not in html
    assert not re.findall(r"url\((?!#)", html)


def test_the_caution_stands_by_the_habits_and_once(page):
    (aside,) = page.all("aside")
    assert any(one.tag == "section" and "Habits of work" in one.text[:20] for one in aside.parents)
    assert "Nothing in it is a reason to work stronger, hotter or longer." in aside.text
    assert [one.text for one in aside.all("li")] == list(CAUTIONS)
    assert all(page.one("body").text.count(words) == 1 for words in CAUTIONS)
    assert "what goes together in the log, not what causes what" in page.one("main").text


def test_how_not_to_use_it_is_said(page):
    last = page.all("section")[-1]
    assert last.all("h2")[0].text == "How not to use this"
    assert len(last.all("p")) == 1
    for word in (
        "pay",
        "discipline",
        "rank",
        "few visits",
        "isn't recorded",
        "honest",
        "verdict on a person",
    ):
        assert word in last.text


@pytest.mark.parametrize(
    ("habit", "now", "narrower", "said"),
    [
        ("looks", 0.58, 0.118, "Write each look down. Looks are written for 58 % of visits now. The change "
         "would narrow the bands of lift rates by 12 %"),
        ("minutes", 10.0, 0.02, "Write minutes as they are, not rounded. They're rounded to 10 now. The "
         "change would narrow the bands of lift rates by 2 %"),
        ("rows", 0.9, 0.051, "Mend rows that are set aside. 90 % of rows are used now. The change would "
         "narrow the bands of lift rates by 5 %"),
        ("looks", 0.97, 0.0199, "No change in how visits are written would narrow bands by 2 % or more."),
        ("looks", 0.97, np.nan, "can't be worked out for this quarter"),
    ],
)  # fmt: skip
def test_one_habit_of_writing_is_named_where_it_is_worth_it(habit, now, narrower, said):
    frame = pd.DataFrame({"habit": [habit, "other"], "now": [now, 1.0], "narrower": [narrower, narrower / 2]})
    text = text_of(made_review(CODES, narrowing=frame))
    assert said in text
    assert ("narrow the bands of lift rates by" in said) == ("narrow the bands of lift rates by" in text)


def test_rows_used_and_set_aside_add_up():
    rows = {"visits_in": 2159, "visits_set_aside": 25, "no_stop": 12}
    said = (
        "Of 2,159 rows of visits in the whole log, 2,134 were used and 25 set aside, 12 of them for want of"
    )
    assert said in text_of(made_review(CODES, rows=rows))
    assert "used and none set aside." in text_of(made_review(CODES, rows={**rows, "visits_set_aside": 0}))


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        (
            {},
            "Of 80 % bands, 81 % held in this quarter (77 to 85 %; 655 readings of 240 clients). That is as",
        ),
        ({"holds": 0.71, "high": 0.77, "low": 0.64}, "That is less often than they should"),
        ({"holds": 0.9, "high": 0.94, "low": 0.86}, "That is more often than they should"),
        (
            {"of": "model", "readings": None},
            "81 % held when the model was checked (77 to 85 %; 240 clients).",
        ),
        ({"holds": None, "note": "fewer than 40 readings"}, "couldn't be checked: fewer than 40 readings."),
    ],
)
def test_whether_bands_held_is_said(changes, said):
    review = made_review(CODES)
    assert said in text_of(replace(review, calibration={**review.calibration, **changes}))


def test_what_was_allowed_for_and_what_was_not_is_listed(page):
    listed = [one.text for one in page.all("li")]
    assert {"texture", "zone", "wrap of the head", "who helped with the visit"} <= set(listed)
    assert "Fade rests on 143 readings after washes." in listed


@pytest.mark.parametrize("codes", [CODES, ["S1"], []])
def test_a_review_of_nothing_is_a_page(codes):
    review = empty_review(codes)
    read = Page(team_page(review, {}))
    assert not re.search(r"\b(nan|NaN|None|NaT|inf|Undefined)\b", read.one("body").text)
    assert (
        "No settled course of this quarter has a number of sessions that was quoted." in read.one("main").text
    )
    assert "Nothing stands out" not in read.one("main").text
    assert "among 0 comparisons" not in read.one("main").text


def test_one_stylist_has_no_team_to_compare_with():
    text = text_of(made_review(["S1"], findings=(), compared=0))
    assert "One stylist worked in this quarter, so there is no team to compare with." in text
    compared = text_of(made_review(["S1"], findings=(), compared=3))
    assert "Of what could be compared, nothing stands out beyond chance" in compared


def test_one_stylist_left_to_show_has_no_team_either():
    text = text_of(made_review(["S1", "S2", "S3"], ("S1", "S2"), findings=(), compared=0))
    assert "The numbers of one stylist only may be shown" in text


def test_all_suppressed_is_said_and_nothing_told():
    codes = ["S1", "S2"]
    rows = stylist_rows(codes, ("S1", "S2"))
    read = Page(team_page(empty_review(codes, stylists=rows), {}))
    assert "No stylist's numbers may be shown in this quarter" in read.one("main").text
    assert read.table("Visits and clients") == {code: ["not shown", "not shown"] for code in codes}
    assert len(read.all("table")) == 1


def _luminance(colour):
    """Relative luminance as WCAG 2.2 defines it."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_written_colours_have_contrast():
    """4.5 to 1 is WCAG 2.2's success criterion 1.4.3, on white and on the pale ground of a caution."""
    import outcomes.show.report as report

    css = (Path(report.__path__[0]) / "team.css").read_text(encoding="utf-8")
    colours = dict(re.findall(r"--(\w+): (#[0-9a-f]{6});", css))
    assert colours["accent"] == "#a65913"
    used = set(re.findall(r"(?<![-\w])color: var\(--(\w+)\)", css))
    assert {"ink", "quiet", "accent", "blue"} == used
    for ground in (1.0, _luminance(colours["pale"])):
        assert all((ground + 0.05) / (_luminance(colours[name]) + 0.05) >= 4.5 for name in used)
