"""A device's clock jumps: no visit takes another's place, and a page closed after it knows its minutes."""

from __future__ import annotations

import pytest

pytestmark = pytest.mark.browser

DAY = 24 * 60
# whether the time that is kept on the disk is that of now
KEPT_NOW = """() => new Promise(resolve => {
    const asked = indexedDB.open("visit recorder");
    asked.onsuccess = () => {
        const db = asked.result;
        const read = db.transaction("device").objectStore("device").get("clock");
        read.onsuccess = () => {
            db.close();
            resolve(Math.abs(read.result.wall - Date.now()) < 1000);
        };
    };
})"""


def wait_until_kept(tablet):
    for _ in range(50):
        if tablet.page.evaluate(KEPT_NOW):
            return
        tablet.page.wait_for_timeout(100)
    pytest.fail("the time isn't kept")


def codes(tablet):
    return tablet.page.locator("button[id^='open-'] small").all_inner_texts()


def test_no_visit_takes_the_place_of_another_when_the_date_jumps(tablet, tmp_path):
    tablet.whole_visit("C1")
    for client, days in (("C2", 1), ("C3", -1)):
        tablet.passes(days * DAY, "shift")
        tablet.begin(client)
        tablet.page.click("#home")
    clients = sorted(tablet.page.locator("button[id^='open-'] strong").all_inner_texts())
    assert clients == ["C1", "C2", "C3"]
    days = [code.split("-", 1)[1] for code in sorted(codes(tablet))]
    assert days == ["20260314-1", "20260314-3", "20260315-2"]
    # nor is a number given out again after a wipe
    tablet.exported(tmp_path / "log")
    tablet.page.click("#wipe")
    tablet.page.click("#wipe-yes")
    tablet.page.wait_for_selector("#new-visit")
    tablet.begin("C4")
    tablet.page.click("#home")
    assert [code.split("-")[2] for code in sorted(codes(tablet))] == ["3", "4", "2"]


def test_a_code_that_is_taken_is_passed_over(tablet):
    """A device whose numbers began anew with each day."""
    tablet.whole_visit("C1")
    tablet.page.evaluate("""() => new Promise(resolve => {
        const asked = indexedDB.open("visit recorder");
        asked.onsuccess = () => {
            const db = asked.result;
            const change = db.transaction("device", "readwrite");
            const place = change.objectStore("device");
            const read = place.get("device");
            read.onsuccess = () => place.put({ ...read.result, day: "2026-03-14", count: 0 });
            change.oncomplete = () => { db.close(); resolve(); };
        };
    })""")
    tablet.begin("C2")
    tablet.page.click("#home")
    assert sorted(code.split("-")[2] for code in codes(tablet)) == ["1", "2"]


@pytest.mark.parametrize(("jump", "word"), [(-10, "put back"), (30, "put forward")])
def test_a_page_closed_after_a_jump_knows_its_minutes(tablet, jump, word):
    tablet.begin()
    tablet.plan()
    tablet.start()
    tablet.passes(20)
    wait_until_kept(tablet)
    tablet.passes(jump, "shift")
    tablet.page.wait_for_selector(f"#bar .notice :text('{word}')")
    wait_until_kept(tablet)
    tablet.reload(12)
    tablet.page.click("button[id^='open-']")
    assert tablet.clock() == "32:00"


def test_a_jump_out_of_sight_is_kept_as_well(tablet):
    tablet.begin()
    tablet.plan()
    tablet.start()
    tablet.passes(20)
    wait_until_kept(tablet)
    tablet.page.evaluate("window.out(true)")
    tablet.passes(-10, "shift")
    wait_until_kept(tablet)
    tablet.reload(12)
    tablet.page.click("button[id^='open-']")
    assert tablet.clock() == "32:00"
