"""What is typed into the recorder last, or half: the page follows it, and alarms don't."""

from __future__ import annotations

import pytest

from outcomes.show.recorder.write import write_recorder
from tests.browser.pages import SIZES
from tests.browser.recording import CLOCKS, Tablet

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    place = tmp_path_factory.mktemp("recorder") / "recorder.html"
    write_recorder(place)
    return place


@pytest.fixture
def tablet(opened, path):
    page = opened(path, *SIZES["tablet"], scale=1, before=CLOCKS)
    page.page.wait_for_selector("#new-visit")
    return Tablet(page.page)


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
    tablet.finish()
