"""What the recorder keeps: a killed browser, two windows, a full or a denied storage lose nothing unseen."""

from __future__ import annotations

import os
import signal
from contextlib import contextmanager, suppress
from pathlib import Path

import pytest

from tests.browser.pages import SIZES
from tests.browser.recording import Tablet

pytestmark = pytest.mark.browser

FULL = """() => {
    window.put = IDBObjectStore.prototype.put;
    IDBObjectStore.prototype.put = () => { throw new DOMException("full", "QuotaExceededError"); };
}"""
ROOM = "() => { IDBObjectStore.prototype.put = window.put; }"


@contextmanager
def on_disk(browser, launching, folder, path):
    """The page in a browser whose user data stay in a folder."""
    from playwright.sync_api import Error

    context = browser.browser_type.launch_persistent_context(folder, **launching)
    try:
        page = context.new_page()
        page.goto(path.as_uri())
        page.wait_for_selector("#new-visit")
        yield Tablet(page)
    finally:
        # a browser that was killed can't be closed any more, which the driver may notice now or later
        with suppress(Error):
            context.close()


def main_process(folder) -> int:
    """The browser that this test started: the one process with its user data that isn't a part of another."""
    found = []
    for entry in Path("/proc").iterdir():
        try:
            command = (entry / "cmdline").read_bytes().split(b"\0") if entry.name.isdigit() else []
        except OSError:
            continue  # ended meanwhile
        if f"--user-data-dir={folder}".encode() in command and not any(
            word.startswith(b"--type=") for word in command
        ):
            found.append(int(entry.name))
    (process,) = found
    return process


# Linux's list of processes finds the browser that this test started; that a closed window or a jumping clock
# loses nothing is tested everywhere
@pytest.mark.skipif(not Path("/proc/self/cmdline").exists(), reason="processes are found by /proc")
def test_a_browser_killed_in_the_middle_of_a_visit_loses_no_tap(browser, launching, recorder, tmp_path):
    with on_disk(browser, launching, tmp_path / "data", recorder) as tablet:
        tablet.begin("C77")
        tablet.plan()
        tablet.start()
        # without clocks that a test turns: a look is taken from the first minute on
        tablet.page.click("#correct-1")
        tablet.page.fill("#minutes-now-1", "12")
        tablet.page.click("#minutes-now-1-take")
        tablet.page.wait_for_function("() => document.querySelector('.clock').textContent.includes('12:')")
        tablet.page.click("#add-zone")
        tablet.plan(2, zone="roots", peroxide="4,5")
        tablet.look("6")
        os.kill(main_process(tmp_path / "data"), signal.SIGKILL)
    with on_disk(browser, launching, tmp_path / "data", recorder) as tablet:
        tablet.page.click("button[id^='open-']")
        assert tablet.page.inner_text("h1").startswith("C77")
        (look,) = tablet.seen()
        level, minutes = float(look.split()[0]), float(look.split()[2])
        # this machine's own clock ran on meanwhile
        assert level == 6
        assert 12 <= minutes <= 14
        assert int(minutes) <= int(tablet.clock().split(":")[0]) <= 16
        assert tablet.page.input_value("#plan-2-peroxide_pct") == "4,5"
        assert tablet.page.is_checked("input[name='plan-2-zone'][value='roots']")
        tablet.rinse()
        assert minutes <= float(tablet.page.input_value("#result-1-minutes")) <= 16


def test_two_windows_do_not_overwrite_each_other(tablet):
    tablet.begin()
    tablet.plan()
    tablet.start()
    tablet.passes(10)
    other = tablet.another()
    other.page.click("button[id^='open-']")
    tablet.look("5")
    tablet.passes(10)
    other.passes(10)
    other.look("6.5")  # this window knows nothing of the other's look yet
    assert [one.split()[0] for one in other.seen()] == ["5", "6.5"]
    # a tap on what this window still shows, although the other one has rinsed
    tablet.page.evaluate("() => { window.seven = document.querySelector('#look-1-7') }")
    other.rinse()
    tablet.page.evaluate("() => window.seven.click()")
    tablet.page.wait_for_selector("#bar .message")
    assert "no clock runs" in tablet.page.inner_text("#bar .message").lower()
    tablet.page.wait_for_selector("#result-1-minutes", timeout=10_000)  # what the other did is shown here
    assert [one.split()[0] for one in tablet.seen()] == ["5", "6.5"]


def test_one_start_is_one_application_whoever_taps_again(tablet):
    """A finger that slips, and a second window that hasn't seen the first one's tap yet."""
    tablet.begin()
    tablet.page.click("#add-zone")
    tablet.plan()
    tablet.plan(2, zone="roots")
    other = tablet.another()
    other.page.click("button[id^='open-']")
    other.page.wait_for_selector("#start-2")
    other.page.evaluate("window.out(true)")  # out of sight it doesn't look for the other's taps
    tablet.page.evaluate("""() => {
        const start = document.querySelector("#start-1");
        start.click();
        setTimeout(() => start.click(), 20);
    }""")
    tablet.page.wait_for_selector("#rinse-1")
    tablet.start(2)
    tablet.page.wait_for_timeout(100)
    assert tablet.page.locator("#bar .message").count() == 0
    tablet.passes(4)
    other.passes(4)
    other.page.click("#start-2")
    other.page.wait_for_selector("#rinse-2")
    assert "clock runs already; its minutes stay as they are" in other.page.inner_text("#bar .message")
    assert other.clock(2) == "4:00"
    for one in (tablet, other):
        assert "Applied 2 times" not in one.page.inner_text("#view")


def test_a_full_storage_is_told_at_once_with_what_was_not_kept(tablet):
    tablet.begin()
    tablet.plan()
    tablet.start()
    tablet.passes(12)
    tablet.page.evaluate(FULL)
    tablet.page.click("#look-1-5")
    # that the time isn't kept may be told before it, and gives way
    tablet.page.wait_for_selector("#bar .message:has-text('looks like')")
    told = tablet.page.inner_text("#bar .message")
    assert told.startswith("Not saved: lengths: looks like 5 at 12 minutes. This device's storage is full")
    assert "storage is full" in tablet.page.inner_text("#alarm-words")
    assert tablet.seen() == []
    tablet.page.evaluate(ROOM)
    tablet.look("5")
    assert tablet.page.locator("#bar .message").count() == 1  # stays until somebody has read it
    tablet.page.click("#bar .message button")
    tablet.page.wait_for_function("() => !document.querySelector('#bar .message')")


def test_a_storage_that_the_browser_denies_is_told_instead_of_a_first_screen(opened, recorder):
    denied = "IDBFactory.prototype.open = () => { throw new DOMException('denied', 'SecurityError'); };"
    page = opened(recorder, *SIZES["phone"], scale=1, before=denied)
    page.page.wait_for_selector("#view [role='alert']")
    assert "nothing can be recorded here (SecurityError)" in page.page.inner_text("#view")
    assert page.page.locator("#new-visit").count() == 0
    assert page.faults() == []


def test_a_storage_that_never_answers_is_told_with_what_to_do(opened, recorder):
    silent = """IDBFactory.prototype.open = () => new EventTarget();
    const wait = window.setTimeout;
    window.setTimeout = (work, ms, ...more) => wait(work, ms === 8000 ? 50 : ms, ...more);"""
    page = opened(recorder, *SIZES["phone"], scale=1, before=silent)
    page.page.wait_for_selector("#view [role='alert']")
    told = page.page.inner_text("#view")
    assert "storage doesn't answer" in told
    assert "Close all other windows of this page, then load it again." in told
    assert page.page.is_visible("#again")
    assert page.faults() == []


def test_what_is_typed_fast_is_all_kept(tablet):
    """Taps and letters that come before the last one is on the disk."""
    tablet.page.click("#new-visit")
    tablet.page.wait_for_selector("#visit-client")
    tablet.page.evaluate("""() => {
        const typed = {"visit-client": "C9", "visit-stylist": "S7", "plan-1-planned_minutes": "40"};
        for (const [id, text] of Object.entries(typed)) {
            document.getElementById("visit-patch_test").click();
            const box = document.getElementById(id);
            box.focus();
            box.value = text;
            box.dispatchEvent(new Event("input"));
            document.querySelector("input[name='plan-1-heat'][value='low']").click();
        }
    }""")
    tablet.page.wait_for_selector("h1:has-text('C9')")
    for _ in range(2):
        assert tablet.page.input_value("#visit-client") == "C9"
        assert tablet.page.input_value("#visit-stylist") == "S7"
        assert tablet.page.input_value("#plan-1-planned_minutes") == "40"
        assert tablet.page.is_checked("input[name='plan-1-heat'][value='low']")
        tablet.reload()
        tablet.page.click("button[id^='open-']")
