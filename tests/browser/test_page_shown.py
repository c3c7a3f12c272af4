"""What the offline page shows, entered by its controls and read off it, is what the command line says."""

from __future__ import annotations

import re

import pytest

from outcomes.answers.out_of_ten import out_of_ten
from outcomes.answers.refresh import refresh
from outcomes.answers.root_shade import root_shade
from outcomes.answers.sessions import sessions
from outcomes.answers.wording import chance, held, likely, percent, spanned
from outcomes.show.page.write import write_page
from tests.browser.pages import SIZES
from tests.show.page_cases import invented_model, refresh_cases, root_cases, session_cases

pytestmark = pytest.mark.browser

# whatever is put off to the next picture is done by the one after it
SETTLED = "() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))"
FOLDED_TOGETHER = 0.005  # numbers of sessions rarer than this at the far end share a place


@pytest.fixture(scope="module")
def salon(tmp_path_factory):
    folder = tmp_path_factory.mktemp("shown")
    model = invented_model(folder / "m.json")
    write_page(model, folder / "page.html")
    return model, folder / "page.html"


@pytest.fixture
def page(opened, salon):
    """The page in a window of a desk, everything unfolded."""
    window = opened(salon[1], *SIZES["desktop"], scale=1)
    for folded in window.page.locator("summary:visible").all():
        folded.click()
    yield window.page
    assert (window.console_errors, window.page_errors, window.requests) == ([], [], [])


def enter(page, name, value):
    field = page.get_by_role("spinbutton", name=re.compile(rf"^{name}( |$)")).locator("visible=true").first
    field.fill(f"{value:g}")
    field.press("Enter")


def choose(page, name, word):
    group = page.get_by_role("group", name=name, exact=True).locator("visible=true").first
    group.get_by_role("radio", name=re.compile(rf"^{re.escape(word)}( |$)")).check()


def told(page):
    """The sentence, and all of the view's words with one space between them."""
    page.evaluate(SETTLED)
    words = page.locator(".told:visible").inner_text()
    return page.locator(".sentence:visible").inner_text(), " ".join(words.split())


def asked_sessions(page, case):
    for name, value in (("Start level", case["start"]), ("Goal level", case["goal"])):
        enter(page, name, value)
    choose(page, "Hair", case["hair"])
    choose(page, "Developer", "other")
    enter(page, "Developer, other strength", case["peroxide"])
    choose(page, "Heat", case["heat"])
    enter(page, "Longest processing time", case["minutes"])
    label = {None: "any of the team", "new": "new to the team"}.get(case["stylist"], case["stylist"])
    page.get_by_label("Stylist", exact=True).select_option(label=label)


def chances_in_words(answer):
    chances = list(answer.sessions)
    shown = len(chances) - 1
    while shown > 1 and sum(chances[shown - 1 :]) < FOLDED_TOGETHER:
        shown -= 1
    each = [f"{percent(p)} in {k}" for k, p in enumerate(chances[:shown], start=1)]
    return ", ".join([*each, f"{percent(sum(chances[shown:]))} in {shown + 1} or more"])


def test_sessions(page, salon):
    seen = set()
    for case in session_cases(salon[0], 14, seed=21):
        asked_sessions(page, case)
        answer = sessions(salon[0], **case)
        sentence, words = told(page)
        assert sentence == answer.sentence
        assert all(note in words for note in answer.support_notes)
        seen.add(answer.support)
        band = spanned(answer.band_low, answer.band_high, answer.limit)
        if answer.support == "outside":
            assert band in words
            continue
        holds = chance(held(answer.sessions, answer.band_low, answer.band_high))
        assert f"{band}; it holds for {holds} clients" in words
        assert chances_in_words(answer) in words
        ends = f"{percent(answer.today_low)} to {percent(answer.today_high)}"
        assert f"{percent(answer.today)} reach the goal ({ends})" in words
        for level in answer.levels:
            row = (
                f"{level.session} {level.median:g} {level.low:g} to {level.high:g}, for {chance(level.holds)}"
            )
            assert row in words
            if level.low >= answer.question.goal:
                break
        done_today = page.locator(".ten:visible text").all_text_contents().count("1")
        assert done_today == out_of_ten((answer.today, 1.0 - answer.today))[0]
    assert seen == {"inside", "edge", "outside"}


def test_root_shades(page, salon):
    page.get_by_role("tab", name="Root shade").click()
    for case in root_cases(salon[0], 6, seed=3):
        enter(page, "Natural level", case["natural"])
        enter(page, "Level of the lengths", case["lengths"])
        enter(page, "Washes until the next visit", case["washes"])
        choose(page, "Tone of the root shade", case["tone"] or "any")
        choose(page, "Shampoo", (case["shampoo"] or "as it comes").replace("_", "-"))
        answer = root_shade(salon[0], **(case | {"limit": None}))
        sentence, words = told(page)
        assert sentence == answer.sentence
        if answer.choice is None:
            continue
        one, then = answer.choice, answer.choice.level_then
        row = f"{one.root_level:g} {one.root_tone} {then.median:.1f} ({then.low:.1f} to {then.high:.1f}) "
        assert row + likely(one.blends) in words


def test_refreshes(page, salon):
    page.get_by_role("tab", name="Refresh").click()
    for case in refresh_cases(salon[0], 8, seed=12):
        often = max(0.5, round(2 * case["washes_per_week"]) / 2)
        choose(page, "Where", case["zone"])
        enter(page, "Washes a week", often)
        fade = max(0.5, round(2 * case["fade"]) / 2)
        enter(page, "Faded by", fade)
        given = {}
        if case["zone"] == "roots":
            level = case["root_level"] or 6.0
            given = {"root_level": level, "root_tone": case["root_tone"]}
            enter(page, "Level of the root shade", level)
            choose(page, "Its tone", case["root_tone"] or "any")
        else:
            given = {"toner_tone": case["toner_tone"]}
            choose(page, "Tone of the toner", case["toner_tone"] or "any")
        choose(page, "Shampoo", (case["shampoo"] or "as it comes").replace("_", "-"))
        answer = refresh(salon[0], case["zone"], fade, often, shampoo=case["shampoo"], **given)
        sentence, words = told(page)
        assert sentence == answer.sentence
        if answer.support != "outside" and answer.washes.median is not None:
            low, high = (
                "never" if end is None else f"{end:.0f}" for end in (answer.washes.low, answer.washes.high)
            )
            assert f"{answer.washes.median:.0f} ({low} to {high})" in words
