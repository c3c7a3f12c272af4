"""The page that answers at the chair, in a real browser: whole, quiet, usable by touch, keys and ears."""

from __future__ import annotations

import re
import subprocess
from dataclasses import replace
from itertools import pairwise

import pytest

from outcomes.answers.wording import CAUTIONS
from outcomes.predictive.saved import SalonModel
from outcomes.show.page.write import write_page
from tests.browser.grey import grey_contrasts
from tests.browser.pages import A4, SIZES
from tests.predictive.fades import invented_fade

pytestmark = pytest.mark.browser

WIDTHS = {"narrow": (320, 568), **SIZES}
VIEWS = ("Sessions", "Root shade", "Refresh")
TOUCH = 44  # pixels: WCAG 2.2 asks for 24, makers of tablets for 44
MOST_BYTES = 1_500_000
SETTLED = 900  # milliseconds after which the live region has spoken

# what a finger can hit, in sight, smaller than it should be
SMALL = """least => [...document.querySelectorAll('button, select, summary, input')]
    .filter(one => one.checkVisibility({visibilityProperty: true}))
    .map(one => [one, one.getBoundingClientRect()])
    .filter(([, box]) => Math.min(box.width, box.height) < least)
    .map(([one, box]) => `${one.outerHTML.slice(0, 80)}: ${box.width} x ${box.height}`)"""
# words of a choice that lie over those beside them, and buttons whose words don't fit
OVERLAID = """() => {
    const seen = what => [...document.querySelectorAll(what)].filter(one => one.checkVisibility());
    const boxes = seen('.words label').map(one => one.getBoundingClientRect());
    const over = boxes.filter((a, i) => boxes.some((b, j) => i < j && a.left < b.right - 1
        && b.left < a.right - 1 && a.top < b.bottom - 1 && b.top < a.bottom - 1));
    const cut = seen('button, .words span').filter(one => one.scrollWidth > one.clientWidth + 1);
    return [...over.map(box => `over: ${box.x}, ${box.y}`), ...cut.map(one => `cut: ${one.textContent}`)];
}"""
# is anything of the focused element to be seen, or does something lie over it
COVERED = """() => {
    const one = document.activeElement, box = (one.closest('label') ?? one).getBoundingClientRect();
    const seen = [[0.5, 0.5], [0.1, 0.2], [0.9, 0.8]].some(([x, y]) => {
        const at = document.elementFromPoint(box.x + x * box.width, box.y + y * box.height);
        return at && (one.contains(at) || one.closest('label')?.contains(at));
    });
    return seen ? '' : one.outerHTML.slice(0, 90);
}"""


@pytest.fixture(scope="module")
def salon(costed):
    """A model of an invented log, its codes unlike any word of the page, one of them with markup in it."""
    coded = replace(costed, stylists=("QX71", "QX72</script><b>", "QX73"))
    counts = dict(coded.support.categories)
    counts["stylist"] = dict(zip(coded.stylists, counts["stylist"].values(), strict=True))
    coded = replace(coded, support=replace(coded.support, categories=counts))
    return SalonModel(coded, {measure: invented_fade(measure) for measure in ("level", "tone_left")}, {})


@pytest.fixture(scope="module")
def page_file(salon, tmp_path_factory):
    path = tmp_path_factory.mktemp("page") / "page.html"
    assert write_page(salon, path) == path.stat().st_size < MOST_BYTES
    return path


@pytest.fixture
def at_chair(opened, page_file):
    """The page in a window of a desk, and its browser page."""
    window = opened(page_file, *SIZES["desktop"], scale=1)
    return window, window.page


def tab(page, name):
    page.get_by_role("tab", name=name).click()


def sentence(page):
    page.evaluate("() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))")
    return page.locator(".sentence:visible").inner_text()


def faults(window):
    """All but the drawings of views that aren't shown, which have no size."""
    in_sight = window.page.locator("svg:visible").count()
    found = window.faults()
    unseen = [one for one in found if one.startswith("nothing to see")]
    others = [one for one in found if one not in unseen]
    seen = sum(figure.is_seen for figure in window.figures())
    return others if seen == in_sight else others + unseen


def set_number(page, label, text):
    field = page.get_by_role("spinbutton", name=label, exact=True)
    field.fill(text)
    field.press("Enter")


@pytest.mark.parametrize("size", WIDTHS)
def test_no_fault_in_any_view(opened, page_file, size):
    """No console error, no request, nothing beyond the edge, no barrier (axe, contrast included), no control
    that a finger misses."""
    window = opened(page_file, *WIDTHS[size], scale=1)
    for name in VIEWS:
        tab(window.page, name)
        for folded in window.page.locator("summary:visible").all():
            folded.click()
        if name == "Sessions":
            window.page.get_by_role("button", name="Add an earlier session").click()
        assert faults(window) == [], name
        assert window.page.evaluate(SMALL, TOUCH) == [], name


@pytest.mark.parametrize("width", [320, 390, 1280])
def test_letters_twice_as_large_fit(opened, page_file, width):
    """Nothing is cut off or lies over another thing, and only upwards and downwards is there more to see."""
    window = opened(page_file, width, 844, scale=1)
    window.page.evaluate("document.documentElement.style.fontSize = '200%'")
    for name in VIEWS:
        window.page.get_by_role("tab", name=name).evaluate("one => one.click()")
        assert window.overflow() == (0, []), name
        assert window.page.evaluate(OVERLAID) == [], name


def test_controls_side_by_side_line_up(opened, page_file):
    page = opened(page_file, 768, 844, scale=1).page
    boxes = "all => all.map(one => one.getBoundingClientRect())"
    patch, strand = page.locator(".tests legend").evaluate_all(boxes)
    assert (patch["top"], patch["height"]) == (strand["top"], strand["height"])
    last, columns = (
        page.locator(f".pair .stepper:visible{of}").evaluate_all(boxes) for of in (" [aria-label$=more]", "")
    )
    assert all(one["right"] <= its["right"] + 0.5 for one, its in zip(last, columns, strict=True))
    # nothing said leaves no gap
    edges = page.locator(".controls:visible > :not(.why):not(details)").evaluate_all(boxes)
    gaps = {round(below["top"] - above["bottom"]) for above, below in pairwise(edges)}
    assert len(gaps) == 1


def test_dark_keeps_every_contrast(opened, page_file):
    window = opened(page_file, *SIZES["phone"], scale=1)
    window.page.emulate_media(color_scheme="dark")
    assert window.page.evaluate("getComputedStyle(document.body).backgroundColor") != "rgb(255, 255, 255)"
    for name in VIEWS:
        tab(window.page, name)
        assert window.barriers() == [], name


def test_text_stays_legible_in_grey(at_chair):
    window, page = at_chair
    for name in VIEWS:
        tab(page, name)
        found = grey_contrasts(window)
        assert len(found) > 30
        # of text below 18 points: WCAG 2.2, success criterion 1.4.3
        assert [(text, ratio) for text, ratio in found if ratio < 4.5] == []


def test_tabs_are_moved_through_by_keys(at_chair):
    _, page = at_chair
    page.get_by_role("tab", name="Sessions").focus()
    for key, name in (("ArrowRight", "Root shade"), ("ArrowRight", "Refresh"), ("ArrowRight", "Sessions"),
                      ("ArrowLeft", "Refresh"), ("Home", "Sessions"), ("End", "Refresh")):  # fmt: skip
        page.keyboard.press(key)
        now = page.get_by_role("tab", name=name)
        assert now.get_attribute("aria-selected") == "true"
        assert page.evaluate("document.activeElement.textContent") == name
        panel = page.locator(f"#{now.get_attribute('aria-controls')}")
        assert panel.is_visible()
        assert panel.get_attribute("aria-labelledby") == now.get_attribute("id")
    assert page.get_by_role("tabpanel").count() == 1
    # where colours are the system's own, the one that is shown has a bar and the others none
    page.emulate_media(forced_colors="active")
    tab_edges = "tabs => tabs.map(one => getComputedStyle(one).borderBottomColor)"
    first, second, shown = page.locator("[role=tab]").evaluate_all(tab_edges)
    paper = page.evaluate("getComputedStyle(document.body).backgroundColor")
    assert first == second == paper != shown


def test_a_plan_is_entered_by_keys_alone(at_chair):
    """Tab goes from control to control, arrows change them; the focus is never out of sight."""
    _, page = at_chair
    page.get_by_role("tab", name="Sessions").focus()
    reached = []
    for _ in range(12):
        page.keyboard.press("Tab")
        name = page.evaluate(
            "(document.activeElement.closest('fieldset')?.querySelector('legend')"
            " ?? document.activeElement.labels?.[0] ?? document.activeElement).textContent.trim()"
        )
        reached.append(name)
        if name == "Start level":
            page.keyboard.press("ArrowDown")
            assert page.evaluate("document.activeElement.value") == "3.5"
        if name == "Heat":
            page.keyboard.press("ArrowRight")
            assert page.get_by_role("radio", name="low").is_checked()
    assert reached[0:1] == ["Patch test done?"]
    for name in ("Strand test done?", "Start level", "Goal level", "Hair", "Developer", "Heat"):
        assert name in reached
    assert "Earlier sessions of this client" in reached


@pytest.mark.parametrize("size", ["narrow", "phone"])
def test_the_answer_stays_in_sight_and_covers_no_focus(opened, page_file, size):
    window = opened(page_file, *WIDTHS[size], scale=1)
    page, height = window.page, WIDTHS[size][1]
    for name in VIEWS:
        tab(page, name)
        for folded in page.locator("summary:visible").all():
            folded.click()
        page.evaluate("scrollTo(0, 0)")
        page.get_by_role("tab", name=name).focus()
        for _ in range(14):
            page.keyboard.press("Tab")
            if page.evaluate("document.activeElement === document.body"):
                break
            assert page.evaluate(COVERED) == "", name
            if page.evaluate("Boolean(document.activeElement.closest('.ask'))"):
                box = page.locator(".sentence:visible").bounding_box()
                assert box["y"] >= 0
                assert box["y"] + box["height"] <= height


def test_a_change_is_read_out_once_it_has_come_to_rest(at_chair):
    _, page = at_chair
    heard = page.locator("[aria-live=polite].heard")
    assert heard.inner_text() == ""
    for _ in range(3):
        page.get_by_role("button", name="Goal level: less").click()
    now = sentence(page)
    assert heard.inner_text() == ""
    page.wait_for_timeout(SETTLED)
    assert heard.inner_text() == now


def test_tests_are_asked_for_and_not_assumed(at_chair):
    _, page = at_chair
    for name in VIEWS:
        tab(page, name)
        patch, strand = (page.get_by_role("group", name=f"{one} test done?") for one in ("Patch", "Strand"))
        assert not any(
            one.get_by_role("radio").nth(i).is_checked() for one in (patch, strand) for i in (0, 1)
        )
        reminder = page.locator(".reminder:visible")
        assert reminder.inner_text() == "Patch test and strand test: not answered. Both come first."
    patch.get_by_role("radio", name="yes").check()
    strand.get_by_role("radio", name="not yet").check()
    sentence(page)
    assert reminder.inner_text() == "Strand test: not yet. It comes first."
    # what was answered holds in every view, until the next client
    tab(page, "Sessions")
    strand.get_by_role("radio", name="yes").check()
    sentence(page)
    assert page.locator(".reminder:visible").count() == 0
    page.get_by_role("button", name="New client").click()
    assert "not answered" in page.locator(".reminder:visible").inner_text()


def test_cautions_are_in_sight_in_every_view(at_chair):
    _, page = at_chair
    for name in VIEWS:
        tab(page, name)
        shown = page.get_by_role("complementary", name="Cautions")
        assert shown.count() == 1
        assert shown.get_by_role("listitem").all_inner_texts() == list(CAUTIONS)
        assert page.evaluate("!document.querySelector('aside:not([hidden])').closest('details')")


@pytest.mark.parametrize("typed", ["12.5", "12,1", "20", "40", "50 vol"])
def test_developer_above_twelve_can_not_be_entered(at_chair, typed):
    _, page = at_chair
    page.get_by_role("radio", name="other").first.check()
    before = sentence(page)
    set_number(page, "Developer, other strength %", typed)
    assert page.get_by_role("spinbutton", name="Developer, other strength").input_value() == "6"
    assert (
        "Above 12 % (40 volume) nothing is used on hair" in page.locator(".why:visible").all_inner_texts()[-1]
    )
    assert sentence(page) == before
    for _ in range(20):
        page.get_by_role("spinbutton", name="Developer, other strength").press("ArrowUp")
    assert page.get_by_role("spinbutton", name="Developer, other strength").input_value() == "12"
    assert page.get_by_role("button", name="Developer, other strength: more").is_disabled()


def test_what_is_typed_counts_before_the_field_is_left(at_chair):
    """Its sentence, its sheet, where arrows and buttons go on; what can't be is complained of later."""
    _, page = at_chair
    first, said = sentence(page), []
    goal = page.get_by_role("spinbutton", name="Goal level")
    goal.press("Control+A")
    for key in "8,5":
        goal.press(key)
        said.append(sentence(page))
    assert said[0] == said[1] != first
    assert said[2] not in (first, said[0])
    assert goal.input_value() == "8,5"
    goal.press("ArrowUp")
    assert (goal.input_value(), sentence(page)) == ("9", first)
    goal.fill("8")
    assert "Level 4 to 8, natural hair" in sheet(page)
    assert goal.input_value() == "8"
    before = sentence(page)
    goal.fill("25")
    complaint = page.get_by_text("25 can't be: 4.5 to 10. It stays at 8.")
    assert (complaint.count(), sentence(page)) == (0, before)
    page.get_by_role("button", name="Goal level: more").click()
    assert complaint.is_visible()
    assert goal.input_value() == "8"
    # volume in the field of per cent, and a number on the way to one that can't be
    page.get_by_role("radio", name="other").first.check()
    strength = page.get_by_role("spinbutton", name="Developer, other strength")
    for typed, taken in (("10 vol", "3"), ("20", "3"), ("12 oz", "3")):
        strength.press("Control+A")
        page.keyboard.type(typed)
        strength.press("Tab")
        assert strength.input_value() == taken, typed


def test_the_goal_stays_above_the_start(at_chair):
    _, page = at_chair
    set_number(page, "Start level", "9.5")
    assert page.get_by_role("spinbutton", name="Goal level").input_value() == "10"
    set_number(page, "Goal level", "9")
    assert page.get_by_role("spinbutton", name="Goal level").input_value() == "10"
    assert "9 can't be: 10 to 10." in page.locator(".controls:visible").inner_text()
    set_number(page, "Start level", "3.2")
    assert page.get_by_role("spinbutton", name="Start level").input_value() == "9.5"


def test_a_decimal_comma_is_a_decimal_point(opened, page_file):
    window = opened(page_file, *SIZES["tablet"], scale=1, locale="de-DE")
    page, said = window.page, []
    for text in ("8,5", "8.5"):
        page.get_by_role("button", name="New client").click()
        set_number(page, "Goal level", text)
        assert page.get_by_role("spinbutton", name="Goal level").input_value() == "8.5"
        sentence(page)
        said.append(page.locator("[role=tabpanel]:visible").inner_text())
    assert said[0] == said[1]
    # shown as the command line shows it, whatever the tablet's language is
    assert not re.search(r"\d,\d(?!\d\d)", said[0])
    assert re.search(r"\d\.5", said[0])
    assert window.console_errors + window.page_errors == []


def test_outside_the_log_no_number_is_told(at_chair):
    _, page = at_chair
    set_number(page, "Longest processing time min", "120")
    assert sentence(page).startswith("This plan is outside what the log covers")
    said = page.locator(".say:visible")
    assert not re.search(r"\d", said.inner_text())
    assert said.locator("svg").count() == 0
    assert "quiet" in said.get_attribute("class")
    told = page.locator(".told:visible").inner_text()
    assert "a time of 120 minutes was never logged" in told
    assert "Wide band" in told
    assert not re.search(r"Chances|Today|Level after", told)
    assert "expectation" not in sheet(page)
    assert page.locator("#handout dt, #handout svg, #handout td").count() == 0


def test_outside_at_the_roots_and_the_lengths(at_chair):
    _, page = at_chair
    tab(page, "Root shade")
    set_number(page, "Washes until the next visit", "150")
    assert sentence(page).startswith("No root shade can be named")
    assert page.locator(".say:visible svg").count() == 0
    assert "expectation" not in sheet(page)
    tab(page, "Refresh")
    set_number(page, "Level of the root shade", "9")
    assert sentence(page).startswith("Outside the log")
    assert page.locator(".say:visible svg").count() == 0
    assert "expectation" not in sheet(page)


def test_what_is_drawn_is_said(at_chair):
    """Ten figures, each with its sign; the words below count them."""
    _, page = at_chair
    sentence(page)
    signs = page.locator(".ten:visible text").all_text_contents()
    assert len(signs) == 10
    caption = page.locator("figcaption:visible").inner_text()
    counted = [int(number) for number in re.findall(r"(\d+) (?:is |are )?(?:done )?in", caption)]
    assert sum(counted) == 10
    assert counted == [signs.count(sign) for sign in dict.fromkeys(signs)]


def test_a_stylist_changes_the_answer_and_is_named_to_nobody_else(at_chair, tmp_path):
    _, page = at_chair
    before = page.locator(".told:visible").inner_text()
    page.get_by_text("Stylist, condition, time and price").click()
    chosen = page.get_by_label("Stylist", exact=True)
    assert chosen.locator("option").all_text_contents() == [
        *("any of the team", "QX71", "QX72</script><b>", "QX73", "new to the team")
    ]
    chosen.select_option(label="QX73")
    sentence(page)
    assert page.locator(".told:visible").inner_text() != before
    for name in VIEWS:
        tab(page, name)
        assert "QX7" not in printed_text(page, tmp_path)


def test_earlier_sessions_change_the_answer(at_chair):
    """A client who lifted slowly is told to lift slowly; taken out again, nothing is known of them."""
    _, page = at_chair
    before = sentence(page)
    page.get_by_text("Earlier sessions of this client").click()
    page.get_by_role("button", name="Add an earlier session").click()
    entry = page.get_by_role("group", name="Earlier session 1")
    assert sentence(page) == before
    set_number(page, "Level before", "3,5")
    set_number(page, "Level reached", "4")
    told = page.locator(".told:visible")
    # why it was rinsed says much, so it isn't taken for granted
    assert "lifts" not in (sentence(page), told.inner_text())[1]
    assert not entry.get_by_role("radio", name="time was up").is_checked()
    assert "Counts once why it was rinsed is entered." in entry.inner_text()
    entry.get_by_role("radio", name="time was up").check()
    sentence(page)
    assert "Counts once" not in entry.inner_text()
    assert "with such sessions behind them" in told.inner_text()
    ratio = re.search(r"lifts (\d\.\d\d) times as fast", told.inner_text())
    assert float(ratio[1]) < 1
    # darker than it began can't be entered
    set_number(page, "Level reached", "3")
    assert page.get_by_role("spinbutton", name="Level reached").input_value() == "4"
    entry.get_by_role("button", name="Remove this session").click()
    assert sentence(page) == before
    assert "lifts" not in told.inner_text()


def printed_text(page, folder):
    page.pdf(path=folder / "sheet.pdf", format="A4", prefer_css_page_size=True)
    done = subprocess.run(
        ["pdftotext", "-layout", folder / "sheet.pdf", "-"], capture_output=True, text=True, check=True
    )
    return done.stdout


def sheet(page):
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    return page.locator("#handout").text_content()


def test_the_client_gets_one_sheet(at_chair):
    window, page = at_chair
    page.get_by_text("Stylist, condition, time and price").click()
    page.get_by_label("Stylist", exact=True).select_option("QX71")
    for name in VIEWS:
        tab(page, name)
        said = sentence(page)
        text = sheet(page)
        assert said in text
        assert all(caution in text for caution in CAUTIONS)
        assert "Still to be done before anything else: patch test and strand test." in text
        assert re.search(r"\d{1,2} [A-Z][a-z]+ \d{4}", text)
        assert not re.search("QX7|stylist", text)
        assert window.printed() == [A4]
        page.emulate_media(media="print")
        assert page.locator("#handout figure svg").is_visible()
        assert not page.locator("main").is_visible()
        page.emulate_media(media="null")


def test_the_sheet_is_one_page_at_its_longest(at_chair):
    """Many sessions, chair time, cost, calendar and both tests open."""
    window, page = at_chair
    for label, text in (("Start level", "2"), ("Goal level", "9.5"), ("Longest processing time min", "15")):
        set_number(page, label, text)
    page.get_by_text("Stylist, condition, time and price").click()
    set_number(page, "Price in your currency", "125750,50")
    price = page.get_by_role("spinbutton", name="Price in your currency")
    assert price.input_value() == "125750.5"
    assert price.evaluate("one => one.scrollWidth <= one.clientWidth")
    page.get_by_role("radio", name="4", exact=True).check()
    sentence(page)
    text = sheet(page)
    assert all(word in text for word in ("Chair time", "Cost", "Calendar"))
    assert page.locator("#handout tbody tr").count() >= 4
    assert window.printed() == [A4]


def test_chair_time_price_and_condition_are_told(at_chair):
    _, page = at_chair
    page.get_by_text("Stylist, condition, time and price").click()
    told = page.locator(".told:visible")
    assert "Cost" not in told.inner_text()
    set_number(page, "Price in your currency", "100")
    page.get_by_role("radio", name="an hour").check()
    chair = page.get_by_role("spinbutton", name="Chair time of a visit")
    set_number(page, "Chair time of a visit min", "44")
    assert chair.input_value() == ""
    assert page.get_by_text("44 can't be: 45 to 720.").is_visible()
    set_number(page, "Chair time of a visit min", "50")
    set_number(page, "Longest processing time min", "60")
    assert chair.input_value() == "60"
    set_number(page, "Longest processing time min", "45")
    set_number(page, "Chair time of a visit min", "150")
    page.get_by_role("radio", name="4", exact=True).check()
    sentence(page)
    for words in ("Cost", "in the currency of your price", "Strand condition, 5 strong to 1 breaking"):
        assert words in told.inner_text()
    page.get_by_role("radio", name="1 breaking").check()
    assert sentence(page) == "With strand condition 1, breaking, no sessions are forecast."


def test_nothing_is_kept(at_chair):
    _, page = at_chair
    set_number(page, "Start level", "3")
    assert page.evaluate("[localStorage.length, sessionStorage.length, document.cookie]") == [0, 0, ""]
    page.get_by_role("button", name="New client").click()
    assert page.get_by_role("spinbutton", name="Start level").input_value() == "4"
    assert page.evaluate("document.activeElement.textContent") == "Sessions"


@pytest.mark.parametrize("damage", ["cut", "changed", "gone"])
def test_a_damaged_model_is_said_to_be(opened, page_file, tmp_path, damage):
    text = page_file.read_text(encoding="utf-8")
    start = text.index('id="model">') + len('id="model">')
    end = text.index("</script>", start)
    changed = {
        "cut": text[start : (start + end) // 2],
        "changed": text[start:end].replace("AAA", "BAA", 1),
        "gone": "",
    }[damage]
    path = tmp_path / "damaged.html"
    path.write_text(text[:start] + changed + text[end:], encoding="utf-8")
    window = opened(path, *SIZES["tablet"], scale=1)
    alert = window.page.get_by_role("alert")
    assert alert.inner_text().startswith("This page can't answer")
    assert "outcomes page" in alert.inner_text()
    assert window.page.get_by_role("tab").count() == 0
    assert faults(window) == []


def test_a_log_without_wash_readings_says_so(opened, predictive, tmp_path):
    path = tmp_path / "page.html"
    write_page(SalonModel(predictive, {}, {"level": "no readings after washes"}), path)
    window = opened(path, *SIZES["phone"], scale=1)
    for name in ("Root shade", "Refresh"):
        tab(window.page, name)
        assert window.page.locator(".sentence:visible").inner_text() != ""
        assert faults(window) == []


def test_the_start_follows_the_last_session_until_it_is_entered(at_chair):
    _, page = at_chair
    page.get_by_text("Earlier sessions of this client").click()
    page.get_by_role("button", name="Add an earlier session").click()
    start = page.get_by_role("spinbutton", name="Start level")
    set_number(page, "Level before", "3")
    set_number(page, "Level reached", "6.5")
    assert start.input_value() == "6.5"
    line = page.get_by_role("status").filter(has_text="as the last session left it")
    assert line.inner_text().startswith("Start level 6.5: as the last session left it.")
    page.get_by_role("radio", name="time was up").check()
    sentence(page)
    told = page.locator(".told:visible")
    assert "1 session before, the same course goes on" in told.inner_text()
    # the hair is asked of the first of them, and the sheet says so
    before = page.get_by_role("group", name="Hair before the first session", exact=True)
    before.get_by_role("radio", name="coloured").check()
    assert "Level 6.5 to 9, coloured hair before the first session" in sheet(page)
    # once somebody entered it, it stays; far from the last result a new course begins, which is said
    set_number(page, "Start level", "4")
    assert line.count() == 0
    set_number(page, "Level reached", "6")
    assert start.input_value() == "4"
    sentence(page)
    far = "level 4 isn't near what the last one reached, level 6, so a new course begins"
    assert far in told.inner_text()
    assert page.get_by_role("group", name="Hair", exact=True).is_visible()
    assert "Level 4 to 9, coloured hair" in sheet(page)
    assert "before the first session" not in page.locator("#handout").text_content()
    # one that began at today's goal had another
    set_number(page, "Level reached", "9.5")
    set_number(page, "Level before", "9")
    assert page.get_by_text("This session began at level 9, at or above today's goal").is_visible()
    assert not sentence(page).startswith("past session")
    assert "before, " not in told.inner_text()
    set_number(page, "Goal level", "10")
    assert page.get_by_text("This session began at level").count() == 0
    sentence(page)
    assert "1 session before, " in told.inner_text()


def test_what_another_number_moves_is_said_and_given_back(at_chair):
    _, page = at_chair
    goal = page.get_by_role("spinbutton", name="Goal level")
    set_number(page, "Start level", "9")
    assert goal.input_value() == "9.5"
    assert page.get_by_role("status").filter(has_text="Moved up from 9: at least 9.5 now.").is_visible()
    set_number(page, "Start level", "4")
    assert goal.input_value() == "9"
    assert page.get_by_text("Moved up").count() == 0
    tab(page, "Root shade")
    set_number(page, "Lightest that still blends level", "7")
    set_number(page, "Level of the lengths", "6.5")
    lightest = page.get_by_role("spinbutton", name="Lightest that still blends")
    assert lightest.input_value() == "6.5"
    assert page.get_by_text("Moved down from 7: at most 6.5 now.").is_visible()
    set_number(page, "Natural level", "6.5")
    assert page.get_by_role("spinbutton", name="Level of the lengths").input_value() == "7"
    set_number(page, "Natural level", "3")
    assert page.get_by_role("spinbutton", name="Level of the lengths").input_value() == "6.5"
    set_number(page, "Level of the lengths", "9")
    assert lightest.input_value() == "7"


def test_the_tests_and_another_view_are_heard(at_chair):
    _, page = at_chair
    heard = page.locator("#heard")
    page.get_by_role("group", name="Patch test done?").get_by_role("radio", name="yes").check()
    page.wait_for_timeout(SETTLED)
    assert heard.inner_text() == f"Strand test: not answered. It comes first. {sentence(page)}"
    page.get_by_role("group", name="Strand test done?").get_by_role("radio", name="yes").check()
    page.wait_for_timeout(SETTLED)
    assert heard.inner_text() == f"Patch test and strand test: done. {sentence(page)}"
    for name in ("Root shade", "Refresh"):
        tab(page, name)
        page.wait_for_timeout(SETTLED)
        assert heard.inner_text() == sentence(page)


def test_past_the_washes_followed_root_shades_have_no_number(at_chair):
    _, page = at_chair
    tab(page, "Root shade")
    set_number(page, "Washes until the next visit", "200")
    assert sentence(page).startswith("No root shade can be named")
    told = page.locator(".told:visible")
    assert told.locator("table").count() == 0
    assert told.locator(".cover b").inner_text() == "outside"
    assert not re.search(r"\d\u00a0?\s?%|\d\.\d \(", told.inner_text())


def test_a_refresh_past_the_log_is_not_said_to_be_well_within_it(at_chair):
    """A threshold that many never reach: the shade may be covered, such washes aren't."""
    _, page = at_chair
    tab(page, "Refresh")
    set_number(page, "Faded by levels", "9")
    assert sentence(page)
    cover = page.locator(".cover:visible")
    assert cover.locator("b").inner_text() == "shade inside"
    assert "well within" not in cover.inner_text()
    assert re.search(r"the log follows hair for \d+ washes at most", cover.inner_text())


def test_shades_say_why_they_have_no_chair_time(at_chair):
    _, page = at_chair
    for name, shade in (("Root shade", "root shade"), ("Refresh", "root shade")):
        tab(page, name)
        assert f"not told: a {shade} goes on within a visit" in page.locator(".told:visible").inner_text()
    page.get_by_role("radio", name="lengths").check()
    sentence(page)
    assert "not told: a toner goes on within a visit" in page.locator(".told:visible").inner_text()


def test_a_view_without_an_answer_prints_why(at_chair, tmp_path):
    window, page = at_chair
    page.get_by_text("Stylist, condition, time and price").click()
    page.get_by_role("radio", name="1 breaking").check()
    said = sentence(page)
    assert said in " ".join(printed_text(page, tmp_path).split())
    assert window.printed() == [A4]


def test_a_tap_on_new_client_can_be_taken_back(at_chair):
    _, page = at_chair
    set_number(page, "Start level", "3")
    page.get_by_role("radio", name="coloured").first.check()
    before = sentence(page)
    undo = page.get_by_role("button", name="Undo")
    assert undo.count() == 0
    page.clock.install()
    page.get_by_role("button", name="New client").click()
    assert page.get_by_role("spinbutton", name="Start level").input_value() == "4"
    undo.click()
    assert page.get_by_role("spinbutton", name="Start level").input_value() == "3"
    assert page.locator(".sentence:visible").inner_text() == before
    assert undo.count() == 0
    # kept for a while alone
    page.get_by_role("button", name="New client").click()
    page.clock.fast_forward(21_000)
    assert undo.count() == 0
    assert page.get_by_role("spinbutton", name="Start level").input_value() == "4"


@pytest.mark.parametrize("place", ["model", "script", "end"])
def test_a_file_cut_off_says_it_is_incomplete(opened, page_file, tmp_path, place):
    """Copied in part: nothing after the cut is there, no script runs."""
    text = page_file.read_text(encoding="utf-8")
    model, script, end = text.index('id="model">'), text.rindex("<script>"), text.rindex("</script>")
    cut = {"model": (model + script) // 2, "script": (script + end) // 2, "end": end}
    path = tmp_path / "cut.html"
    path.write_text(text[: cut[place]], encoding="utf-8")
    window = opened(path, *SIZES["tablet"], scale=1)
    page = window.page
    # it's out of sight until a whole file would have put its views there
    page.evaluate("document.getAnimations().forEach(one => one.finish())")
    alert = page.get_by_role("alert")
    assert alert.inner_text().startswith("This file is incomplete: its end is missing")
    assert alert.is_visible()
    assert page.get_by_role("tab").count() == 0
    assert faults(window) == []
    assert "This file is incomplete" in printed_text(page, tmp_path)


@pytest.mark.parametrize("place", ["color-scheme: light dark", "--touch", "</style>", "<h1>"])
def test_one_cut_off_before_its_words_says_so_as_well(opened, page_file, tmp_path, place):
    """Of such a file there is nothing but its style."""
    text = page_file.read_text(encoding="utf-8")
    path = tmp_path / "cut.html"
    path.write_text(text[: text.index(place)], encoding="utf-8")
    window = opened(path, *SIZES["phone"], scale=1)
    said = window.page.evaluate("getComputedStyle(document.body, '::before').content")
    assert said == '"This file is incomplete: its end is missing. Copy the whole file once more."'


def test_a_whole_file_does_not_say_that_it_is_incomplete(opened, page_file):
    window = opened(page_file, *SIZES["phone"], scale=1)
    assert window.page.evaluate("getComputedStyle(document.body, '::before').content") == "none"
