"""Wash readings of visits that were exported and wiped: each export is a log that is taken by itself."""

from __future__ import annotations

import pytest

from outcomes.cli.main import main
from outcomes.log.read import read_log

pytestmark = pytest.mark.browser

# in the place of what the page has laid out: places of an older one, without that of rows
VERSION_1 = """() => new Promise(resolve => {
    indexedDB.deleteDatabase("visit recorder");
    const asked = indexedDB.open("visit recorder", 1);
    asked.onupgradeneeded = () => {
        for (const [place, keyPath] of [["visits", "code"], ["washes", "key"], ["device", "name"]]) {
            asked.result.createObjectStore(place, { keyPath });
        }
        const device = { name: "device", letters: "BCDFG", day: "2026-03-13", count: 4, last: {}, wash: {} };
        asked.transaction.objectStore("device").add({ ...device, muted: false });
    };
    asked.onsuccess = () => { asked.result.close(); resolve(); };
})"""


def wiped(tablet):
    tablet.page.click("#wipe")
    told = tablet.page.inner_text("section[aria-labelledby='wipe-head']")
    tablet.page.click("#wipe-yes")
    tablet.page.wait_for_selector("#new-visit")
    return told


def read_wash(tablet, washes, visit=None):
    tablet.page.click("#to-wash")
    if visit is None:
        tablet.page.click("[id^='wash-of-']")
    else:
        tablet.page.fill("#wash-visit", visit)
    tablet.pick("wash", zone="lengths", tone_left="50")
    tablet.page.fill("#wash-washes", washes)
    before = tablet.page.locator(".reading").count()
    tablet.page.click("#save-wash")
    tablet.page.locator(".reading").nth(before).wait_for()
    tablet.page.click("#home")


def export_screen(tablet):
    return tablet.page.inner_text("section[aria-labelledby='export-head']")


def test_readings_after_a_wipe_go_out_with_the_rows_they_need(tablet, tmp_path):
    for client in ("C1", "C2"):
        tablet.whole_visit(client)
    first = tablet.exported(tmp_path / "first")
    assert "The visits' own rows and looks stay, for wash readings to come" in wiped(tablet)
    tablet.reload()
    assert tablet.page.locator("button[id^='open-']").count() == 0
    read_wash(tablet, "6")  # of the visit that is offered, by its client and day
    second = tablet.exported(tmp_path / "second")
    told = "Rows and looks of 1 visit exported before go out once more beside its reading"
    assert told in export_screen(tablet)
    header, row = second["visits.csv"].splitlines()
    assert [header, row] == [
        first["visits.csv"].splitlines()[0],
        *set(first["visits.csv"].splitlines()) & {row},
    ]
    assert second["checks.csv"].splitlines()[1].startswith(row.split(",")[0])

    assert main(["check", str(tmp_path / "second")]) == 0
    log = read_log(tmp_path / "second")
    assert {table: (count["in"], count["used"]) for table, count in log.counts.items()} == {
        **{"visits": (1, 1), "checks": (1, 1), "washes": (1, 1)}
    }
    # the visit had looks, which isn't to be told as if nobody had looked
    assert "no_checks" not in set(log.warnings["code"])
    # the same row again changes nothing: neither the other visit nor any look is lost
    assert (
        main(["merge", *(str(tmp_path / one) for one in ("first", "second")), "--to", str(tmp_path / "all")])
        == 0
    )
    merged = read_log(tmp_path / "all")
    assert {table: count["used"] for table, count in merged.counts.items()} == {
        **{"visits": 2, "checks": 2, "washes": 1}
    }
    assert merged.visits["client"].tolist() == ["C1", "C2"]

    # rows outlast a wipe of the reading, and a second one goes out as well
    wiped(tablet)
    read_wash(tablet, "12")
    tablet.exported(tmp_path / "third")
    assert main(["check", str(tmp_path / "third")]) == 0
    assert main(["merge", str(tmp_path / "third"), "--to", str(tmp_path / "all")]) == 0
    assert sorted(read_log(tmp_path / "all").washes["washes"]) == [6, 12]


def test_a_second_button_deletes_the_rows_as_well(tablet, tmp_path):
    tablet.whole_visit()
    tablet.exported(tmp_path / "first")
    wiped(tablet)
    read_wash(tablet, "6")
    tablet.page.click("#to-export")
    assert tablet.page.is_disabled("#wipe-rows")  # a reading that needs them hasn't gone out yet
    tablet.page.click("#home")
    tablet.exported(tmp_path / "second")
    tablet.page.click("#wipe-rows")
    tablet.page.click("#wipe-rows-no")
    tablet.page.click("#wipe-rows")
    tablet.page.click("#wipe-rows-yes")
    tablet.page.wait_for_function("() => !document.querySelector('[id^=wipe-rows]')")
    wiped(tablet)
    tablet.reload()
    tablet.page.click("#to-wash")
    assert tablet.page.locator("[id^='wash-of-']").count() == 0


def test_readings_of_visits_unknown_here_are_sent_to_a_merge(tablet, tmp_path):
    """What the export screen says of them is what the commands do."""
    tablet.whole_visit()
    tablet.exported(tmp_path / "log")
    wiped(tablet)
    tablet.page.click("#to-export")
    tablet.page.click("#wipe-rows")
    tablet.page.click("#wipe-rows-yes")
    tablet.page.wait_for_function("() => !document.querySelector('[id^=wipe-rows]')")
    tablet.page.click("#home")
    code = read_log(tmp_path / "log").visits["visit"].iloc[0]
    read_wash(tablet, "6", code)
    tablet.exported(tmp_path / "later")
    told = export_screen(tablet)
    assert "1 wash reading of a visit that isn't on this device" in told
    assert "outcomes merge LOG EXPORT --to MERGED" in told
    assert main(["check", str(tmp_path / "later")]) != 0
    folders = [str(tmp_path / one) for one in ("log", "later")]
    assert main(["merge", *folders, "--to", str(tmp_path / "merged")]) == 0
    assert read_log(tmp_path / "merged").counts["washes"]["used"] == 1


def test_what_an_older_page_kept_is_taken_over(tablet):
    tablet.page.evaluate(VERSION_1)
    tablet.page.reload()
    tablet.page.wait_for_selector("#new-visit")
    assert "BCDFG" in tablet.page.inner_text("#view")
    tablet.page.click("#new-visit")
    tablet.page.wait_for_selector("h1 small")
    assert tablet.page.inner_text("h1 small") == "BCDFG-20260314-5"
    tablet.page.click("#home")
    tablet.page.click("#to-export")
    assert "1 unfinished visit" in export_screen(tablet)
