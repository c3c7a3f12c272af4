"""What is typed into the recorder last, or half: the page follows it, and alarms don't."""

from __future__ import annotations

import pytest

from outcomes.log.read import read_log

pytestmark = pytest.mark.browser


def test_a_visit_whose_minutes_are_typed_last_can_be_finished(tablet):
    tablet.begin()
    tablet.plan()
    tablet.start()
    tablet.passes(30)
    tablet.rinse()
    tablet.page.fill("#result-1-minutes", "")
    tablet.result()
    assert tablet.page.locator("#finish").count() == 0
    tablet.page.locator("#result-1-minutes").press_sequentially("31,5")
    tablet.page.wait_for_selector("#finish")
    # the screen was drawn anew under whoever types
    assert tablet.page.input_value("#result-1-minutes") == "31,5"
    assert tablet.page.evaluate("document.activeElement.id") == "result-1-minutes"
    tablet.page.press("#result-1-minutes", "Home")
    tablet.page.locator("#result-1-minutes").press_sequentially("9")
    tablet.page.wait_for_function("() => !document.querySelector('#finish')")  # 931,5 is none
    tablet.page.press("#result-1-minutes", "Backspace")  # the caret stayed where it was
    assert tablet.page.input_value("#result-1-minutes") == "31,5"
    # what is marked stays marked, to be typed over
    tablet.page.fill("#result-1-minutes", "")
    tablet.page.wait_for_function("() => !document.querySelector('#finish')")
    tablet.page.evaluate("""() => {
        const box = document.querySelector("#result-1-minutes");
        box.value = "31,5";
        box.select();
        box.dispatchEvent(new Event("input"));
    }""")
    tablet.page.wait_for_selector("#finish")
    tablet.page.keyboard.insert_text("32")
    assert tablet.page.input_value("#result-1-minutes") == "32"
    tablet.finish()


def test_a_longest_time_that_is_half_typed_rings_nothing(tablet):
    tablet.begin()
    tablet.plan()
    tablet.start()
    tablet.passes(7)
    tablet.page.click("#plan-1-again")
    for half in ("", "4"):
        tablet.page.fill("#plan-1-planned_minutes", half)
        tablet.passes(0.1)
        tablet.page.wait_for_function("face => document.querySelector('.clock').textContent.includes(face)",
                                      arg="7:06" if half == "" else "7:12")  # fmt: skip
        assert "Time limit 45 min" in tablet.page.inner_text(".next")
        assert tablet.alarms() == []
    tablet.page.fill("#plan-1-peroxide_pct", "")
    tablet.page.fill("#plan-1-planned_minutes", "50")
    tablet.page.click("#mute")  # another part is drawn anew, and the box is left
    tablet.page.wait_for_function(
        "() => document.querySelector('.next').textContent.includes('Time limit 50 min')"
    )
    assert "6 %" in tablet.page.inner_text("#zone-1 small")
    tablet.page.fill("#plan-1-peroxide_pct", "4,5")
    tablet.page.click("#mute")
    tablet.page.wait_for_selector("#zone-1 small:has-text('4.5 %')")


def test_a_figure_counts_when_nobody_types_on(tablet):
    tablet.begin()
    tablet.plan()
    tablet.start()
    tablet.passes(31)
    tablet.page.click("#plan-1-again")
    tablet.page.fill("#plan-1-planned_minutes", "30")
    tablet.page.wait_for_selector("#bar .alarm.limit", timeout=15_000)  # the box still has the focus
    assert tablet.page.evaluate("document.activeElement.id") == "plan-1-planned_minutes"


def test_a_clock_that_starts_without_the_tests_says_what_comes_first(tablet):
    tablet.begin(patch_test="no", strand_test="no")
    line = tablet.page.locator("#first-1")
    line.filter(has_text="Patch test and strand test come first.").wait_for()
    assert line.is_visible()
    assert line.get_attribute("role") == "status"
    tablet.pick("visit", patch_test="yes")
    line.filter(has_text="The strand test comes first.").wait_for()
    tablet.pick("visit", strand_test="yes")
    tablet.page.wait_for_function("() => document.querySelector('#first-1').textContent === ''")


def test_looks_that_were_tapped_are_counted_and_not_typed(tablet, tmp_path):
    tablet.begin()
    tablet.plan()
    tablet.start()
    for minutes, level in ((10, "5"), (10, "6")):
        tablet.passes(minutes)
        tablet.look(level)
    tablet.rinse()
    tablet.page.click("#result-1-fold")
    assert tablet.page.locator("#result-1-looks").count() == 0
    tablet.result(achieved="6")
    told = "Looks before the one that ended it: 2; none of those above ended it."
    assert told in tablet.page.inner_text("[data-zone='1']")
    words = tablet.page.locator("label:has(input[name='result-1-stop'])").all_inner_texts()
    assert words == ["goal reached", "time was up", "hair condition", "other"]
    tablet.finish()
    tablet.exported(tmp_path / "log")
    assert read_log(tmp_path / "log").visits["looks"].tolist() == [2]


def test_looks_that_nobody_tapped_can_be_typed(tablet):
    tablet.begin()
    tablet.plan()
    tablet.start()
    tablet.passes(20)
    tablet.rinse()
    tablet.page.click("#result-1-fold")
    assert tablet.page.is_visible("#result-1-looks")
