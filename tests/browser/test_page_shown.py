"""What the offline page shows is what the command line says: every text with a number in it.

Most questions are put to the views as their controls put them, which is fast; some are entered by hand.
"""

from __future__ import annotations

import re

import pytest

from outcomes.answers.condition import course_condition
from outcomes.answers.costs import course_costs
from outcomes.answers.question import ask
from outcomes.answers.refresh import refresh
from outcomes.answers.root_shade import root_shade
from outcomes.answers.sessions import answer_all, sessions
from tests.browser.expected import READ, told_refresh, told_root_shade, told_sessions
from tests.browser.pages import SIZES
from tests.show.page_cases import (
    figure_cases,
    invented_model,
    page_choices,
    refresh_cases,
    root_cases,
    telling_page,
)

pytestmark = pytest.mark.browser

# whatever is put off to the next picture is done by the one after it
SETTLED = "() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))"
SHOW = f"([title, cases]) => {{ const read = {READ}; return cases.map(one => read(showAnswer(title, one))) }}"
FIGURES = ("minutes_per_visit", "price", "hours", "weeks_between")
BESIDES = (*FIGURES, "condition", "floor")
NUMBER = re.compile(r"\d[\d,]*(?:\.\d+)?")
AT_ONCE = 60
UNSAID = ("Visits up to", "Not asked", "Time, cost")  # rows without a number of an answer


@pytest.fixture(scope="module")
def salon(tmp_path_factory):
    folder = tmp_path_factory.mktemp("shown")
    model = invented_model(folder / "m.json")
    path = folder / "page.html"
    path.write_text(telling_page(model), encoding="utf-8")
    return model, path


@pytest.fixture
def page(opened, salon):
    """The page in a window of a desk, everything unfolded."""
    window = opened(salon[1], *SIZES["desktop"], scale=1)
    for folded in window.page.locator("summary:visible").all():
        folded.click()
    yield window.page
    assert (window.console_errors, window.page_errors, window.requests) == ([], [], [])


def texts(told):
    """All texts of a view, each with its place."""
    rows = [*told["facts"], *told["tables"], *(row for row in told["basis"] if row[0] not in UNSAID)]
    named = {f"{place} {row[0]}, {i}": cell for place, row in enumerate(rows) for i, cell in enumerate(row)}
    for name in ("drawn", "line", "cover"):
        named |= {f"{name} {i}": text for i, text in enumerate(told[name])}
    named |= {name: told[name] for name in ("sentence", "caption")}
    return {name: re.sub(r"\s+", " ", text).strip() for name, text in named.items()}


def unequal(ours, theirs):
    """Texts that differ, both of them; missing ones as well."""
    ours, theirs = texts(ours), texts(theirs)
    return [
        (name, ours.get(name), theirs.get(name))
        for name in ours | theirs
        if ours.get(name) != theirs.get(name)
    ]


def compared(pairs):
    """Every shown text as Python has it; how many numbers that were."""
    numbers = 0
    for case, ours, theirs in pairs:
        assert unequal(ours, theirs) == [], case
        numbers += sum(len(NUMBER.findall(text)) for text in texts(theirs).values())
    return numbers


def python_tells(model, case, answer):
    costs = course_costs(model, answer, **{name: case.get(name) for name in FIGURES})
    has_condition = case.get("condition") is not None
    condition = course_condition(model, answer, case["condition"], case["floor"]) if has_condition else None
    return told_sessions(answer, costs, condition)


def plan_of(case):
    return {name: value for name, value in case.items() if name not in BESIDES}


def enter(page, name, value):
    field = page.get_by_role("spinbutton", name=re.compile(rf"^{name}( |$)")).locator("visible=true").first
    field.fill(f"{value:g}")
    field.press("Enter")


def choose(page, name, word):
    group = page.get_by_role("group", name=name, exact=True).locator("visible=true").first
    group.get_by_role("radio", name=re.compile(rf"^{re.escape(word)}( |$)")).check()


def told(page):
    page.evaluate(SETTLED)
    return page.locator(".told:visible").evaluate(READ)


PLAN = {"start": 3.0, "goal": 8.5, "hair": "coloured", "peroxide": 4.5, "heat": "medium", "minutes": 40.0}
BEFORE = {"start": 2.0, "achieved": 3.5, "minutes": 30.0, "peroxide": 7.5, "heat": "low", "stop": "condition"}


def enter_plan(page, plan, longest="Longest processing time"):
    choose(page, "Developer", "other")
    enter(page, "Developer, other strength", plan["peroxide"])
    choose(page, "Heat", plan["heat"])
    enter(page, longest, plan["minutes"])


def test_a_plan_entered_by_hand(page, salon):
    """Each control ends where it belongs in the question; figures, condition and an earlier session too."""
    model, _ = salon
    enter(page, "Start level", PLAN["start"])
    enter(page, "Goal level", PLAN["goal"])
    choose(page, "Hair", PLAN["hair"])
    enter_plan(page, PLAN)
    page.get_by_label("Stylist", exact=True).select_option(label=model.lift.stylists[1])
    choose(page, "Strand condition now", "3")
    entered = {"minutes_per_visit": 135.0, "weeks_between": 7.0, "price": 95.0}
    names = ("Chair time of a visit", "Weeks between visits", "Price")
    for name, value in zip(names, entered.values(), strict=True):
        enter(page, name, value)
    choose(page, "The price is for", "an hour")
    plan = PLAN | {"stylist": model.lift.stylists[1]}
    case = plan | entered | {"hours": 1.0, "condition": 3, "floor": None}
    assert unequal(python_tells(model, case, sessions(model, **plan)), told(page)) == []
    page.get_by_role("button", name="Add an earlier session").click()
    entry = page.get_by_role("group", name="Earlier session 1")
    enter(entry, "Level before", BEFORE["start"])
    enter(entry, "Level reached", BEFORE["achieved"])
    enter_plan(entry, BEFORE, "Processing time")
    choose(entry, "Rinsed because", "hair condition")
    known = sessions(model, **plan, past=[BEFORE])
    assert unequal(python_tells(model, case, known), told(page)) == []


def test_a_root_shade_entered_by_hand(page, salon):
    page.get_by_role("tab", name="Root shade").click()
    case = {"natural": 4.0, "lengths": 8.0, "washes": 12.0, "limit": 6.5, "tone": "copper", "shampoo": None}
    enter(page, "Natural level", case["natural"])
    enter(page, "Level of the lengths", case["lengths"])
    enter(page, "Washes until the next visit", case["washes"])
    enter(page, "Lightest that still blends", case["limit"])
    choose(page, "Tone of the root shade", case["tone"])
    case["shampoo"] = page_choices(salon[0])["roots"]["shampoos"][0]
    choose(page, "Shampoo", case["shampoo"].replace("_", "-"))
    assert unequal(told_root_shade(root_shade(salon[0], **case)), told(page)) == []


@pytest.mark.parametrize("zone", ["roots", "lengths"])
def test_a_refresh_entered_by_hand(page, salon, zone):
    page.get_by_role("tab", name="Refresh").click()
    choices = page_choices(salon[0])["roots" if zone == "roots" else "toner"]
    tone, shampoo = choices["tones"][-1], choices["shampoos"][-1]
    choose(page, "Where", zone)
    enter(page, "Washes a week", 2.5)
    choose(page, "Shampoo", shampoo.replace("_", "-"))
    if zone == "roots":
        fade, given = 1.5, {"root_level": 5.5, "root_tone": tone}
        enter(page, "Level of the root shade", 5.5)
        choose(page, "Its tone", tone)
    else:
        fade, given = 35.0, {"toner_tone": tone}
        choose(page, "Tone of the toner", tone)
    enter(page, "Faded by", fade)
    answer = refresh(salon[0], zone, fade, 2.5, shampoo=shampoo, **given)
    assert unequal(told_refresh(answer), told(page)) == []


def test_sessions(page, salon):
    model, _ = salon
    cases = [one for one in figure_cases(model, 2 * AT_ONCE, seed=21) if not one.get("past")]
    questions = [ask(model.lift, **plan_of(case)) for case in cases]
    # as many at once as are answered with all the courses of a single one
    starts = range(0, len(questions), AT_ONCE)
    answers = [one for first in starts for one in answer_all(model.lift, questions[first : first + AT_ONCE])]
    shown = page.evaluate(SHOW, ["Sessions", cases])
    ours = [python_tells(model, case, answer) for case, answer in zip(cases, answers, strict=True)]
    numbers = compared(zip(cases, ours, shown, strict=True))
    assert {answer.support for answer in answers} == {"inside", "edge", "outside"}
    names = {name for one in shown for name, _ in one["facts"]}
    assert {"Chair time", "Cost", "Calendar", "Condition", "Chances", "Wide band"} <= names
    print(f"\nsessions: {len(cases)} cases, {numbers} numbers")


def test_sessions_of_known_clients(page, salon):
    """Also the rate of this client's hair, beside that of others."""
    model, _ = salon
    cases = [one for one in figure_cases(model, 32, seed=5) if one.get("past")]
    shown = page.evaluate(SHOW, ["Sessions", cases])
    ours = [python_tells(model, case, sessions(model, **plan_of(case))) for case in cases]
    numbers = compared(zip(cases, ours, shown, strict=True))
    said = " ".join(cell for one in shown for row in one["facts"] for cell in row)
    assert all(words in said for words in ("the same course goes on", "a new course begins", "times as fast"))
    print(f"\nknown clients: {len(cases)} cases, {numbers} numbers")


def test_root_shades(page, salon):
    model, _ = salon
    cases = root_cases(model, 65, seed=3)
    cases += [case | {"washes": 200.0} for case in cases[:2]]  # further than any hair was followed
    shown = page.evaluate(SHOW, ["Root shade", cases])
    ours = [told_root_shade(root_shade(model, **case)) for case in cases]
    numbers = compared(zip(cases, ours, shown, strict=True))
    assert {bool(one["drawn"]) for one in shown} == {bool(one["tables"]) for one in shown} == {False, True}
    print(f"\nroot shades: {len(cases)} cases, {numbers} numbers")


def test_refreshes(page, salon):
    model, _ = salon
    cases = refresh_cases(model, 65, seed=12)
    shown = page.evaluate(SHOW, ["Refresh", cases])
    ours = []
    for case in cases:
        zone, fade, often = (case[name] for name in ("zone", "fade", "washes_per_week"))
        more = {k: v for k, v in case.items() if k not in ("zone", "fade", "washes_per_week")}
        ours.append(told_refresh(refresh(model, zone, fade, often, **more)))
    numbers = compared(zip(cases, ours, shown, strict=True))
    assert {"Washes", "Weeks", "Never"} == {name for one in shown for name, _ in one["facts"]}
    assert any(one["line"] for one in shown)
    print(f"\nrefreshes: {len(cases)} cases, {numbers} numbers")
