"""The recorder at the chair: taps in a real browser, from the first to the log that they make."""

from __future__ import annotations

import csv
import io
import re

import pytest

from outcomes.answers.wording import CAUTIONS
from outcomes.cli.main import main
from outcomes.log.read import read_log
from tests.browser.grey import grey_contrasts
from tests.browser.pages import SIZES
from tests.browser.recording import CLOCKS, Tablet

pytestmark = pytest.mark.browser


@pytest.mark.parametrize(("size", "scheme", "other"), [("phone", "dark", 320), ("tablet", "light", 1280)])
def test_no_fault_on_any_screen(opened, recorder, size, scheme, other):
    """No error, no request, nothing beyond the edge, no barrier (axe), no target below 44 pixels.

    In a phone's and a tablet's window, and laid out anew in a very narrow one and on a desk.
    """
    width, height = SIZES[size]
    page = opened(recorder, width, height, scale=1, before=CLOCKS, color_scheme=scheme)
    tablet = Tablet(page.page)
    faults = {}

    def look_at(screen):
        faults[screen] = [*page.faults(), *tablet.small_targets()]
        faults[f"{screen} at {other}"] = [*page.overflow(other, height).elements, *tablet.small_targets()]
        page.overflow(width, height)

    page.page.wait_for_selector("#new-visit")
    look_at("start")
    tablet.begin()
    tablet.page.click("#visit-fold")
    tablet.page.click("#plan-1-fold")
    look_at("plan")
    tablet.plan()
    tablet.start()
    tablet.page.click("#add-zone")
    tablet.plan(2, zone="roots")
    tablet.start(2)
    tablet.passes(11)
    tablet.look("5", zone=1)
    tablet.passes(40)
    tablet.page.wait_for_selector("#bar .alarm.limit")
    tablet.page.click("#correct-1")
    tablet.page.click("#looks-2-all")
    look_at("running, with alarms")
    # an alarm is a row, not a screen: its words beside both of its buttons
    assert len(heights := tablet.heights("#bar .alarm")) == 2
    assert max(heights) < 75
    tablet.rinse(1)
    tablet.page.click("#result-1-fold")
    look_at("rinsed")
    tablet.result(1)
    tablet.rinse(2)
    tablet.result(2)
    tablet.page.wait_for_selector("#finish")
    tablet.page.click("#finish-fold")
    look_at("ending")
    tablet.finish()
    tablet.page.click("#to-wash")
    tablet.page.click("#wash-fold")
    look_at("wash")
    tablet.page.click("#home")
    tablet.page.click("#to-export")
    tablet.page.click("#export")
    tablet.page.click("#wipe")
    look_at("leave")
    assert {screen: found for screen, found in faults.items() if found} == {}


def test_text_stays_legible_in_grey(opened, recorder):
    page = opened(recorder, *SIZES["tablet"], before=CLOCKS)
    tablet = Tablet(page.page)
    tablet.begin()
    tablet.plan()
    tablet.start()
    tablet.passes(46)
    tablet.page.wait_for_selector("#bar .alarm.limit")
    found = grey_contrasts(page)
    assert len(found) > 30
    # what is there to be heard alone is a pixel wide
    heard = page.page.locator(".heard").all_inner_texts()
    assert [(text, ratio) for text, ratio in found if ratio < 4.5 and text not in heard] == []
    # with a device's own few colours: borders tell what rings and what is chosen
    tablet.page.click("#plan-1-again")
    tablet.page.emulate_media(forced_colors="active")
    chosen = "input[name='plan-1-heat']:checked + span"
    others = "input[name='plan-1-heat']:not(:checked) + span"
    for strong, weak in (("#bar .limit", "#bar .notice, #sound"), (chosen, others)):
        assert tablet.border(strong) >= tablet.border(weak) + 1


def test_a_visit_of_two_zones_becomes_a_log(tablet, tmp_path):
    tablet.begin()
    tablet.page.click("#add-zone")
    tablet.plan(1, longest="50")
    tablet.plan(2, zone="roots", hair="coloured", start_level="5", peroxide="9")
    tablet.start(1)
    tablet.passes(6)
    tablet.start(2)
    tablet.passes(6.5)
    tablet.look("5", 1)
    tablet.look("6.5", 2)
    tablet.passes(10)
    tablet.look("8", 2)
    tablet.rinse(2)
    tablet.passes(10)
    tablet.look("6.5", 1)
    tablet.passes(1)
    tablet.look("7.5", 1)
    tablet.page.click("#back-1")
    tablet.page.wait_for_function(
        "() => document.querySelectorAll('[data-zone=\"1\"] .seen li').length === 2"
    )
    tablet.passes(16)
    tablet.rinse(1)
    tablet.result(2, stop="target", achieved="8")
    tablet.result(1, stop="time", achieved="7")
    tablet.page.click("#result-1-fold")
    tablet.pick("result-1", condition_after="4", warmth="pale_yellow", evenness="3")
    tablet.pick("finish", root_level="6", root_tone="ash", toner_tone="pearl")
    assert tablet.page.input_value("#finish-chair_minutes") == "50"
    tablet.passes(25)  # toner and drying
    tablet.page.wait_for_function("() => document.getElementById('finish-chair_minutes').value === '75'")
    tablet.finish()
    # another visit is offered the codes of this one, as they were spelt
    tablet.page.click("#new-visit")
    tablet.page.wait_for_selector("#visit-client")
    for name, codes in (("client", ["C014"]), ("stylist", ["S1"])):
        offered = tablet.page.locator(f"#visit-{name}-known option").all()
        assert [one.get_attribute("value") for one in offered] == codes
    assert tablet.page.get_attribute("#visit-client", "autocapitalize") == "none"
    tablet.page.click("#forget")
    tablet.page.wait_for_selector("#to-wash")
    tablet.page.click("#to-wash")
    tablet.page.click("[id^='wash-of-']")
    tablet.pick("wash", zone="roots", level="6.5", shampoo="pigmented")
    tablet.page.fill("#wash-washes", "8")
    tablet.page.click("#save-wash")
    tablet.page.wait_for_selector(".reading")
    tablet.page.click("#home")
    files = tablet.exported(tmp_path / "log")
    assert list(files) == ["checks.csv", "visits.csv", "washes.csv"]

    log = read_log(tmp_path / "log")
    assert {table: (count["in"], count["set_aside"]) for table, count in log.counts.items()} == {
        **{"visits": (2, 0), "checks": (4, 0), "washes": (1, 0)}
    }
    assert main(["check", str(tmp_path / "log")]) == 0
    rows = log.visits.set_index("zone")
    for zone, expected in {
        "lengths": {"minutes": 49.5, "looks": 2, "stop": "time", "peroxide_pct": 6, "warmth": "pale_yellow"},
        "roots": {"minutes": 16.5, "looks": 1, "stop": "target", "peroxide_pct": 9, "hair": "coloured"},
    }.items():
        for name, value in expected.items():
            assert rows.loc[zone, name] == value, (zone, name)
    assert set(rows["root_tone"]) == {"ash"}
    looks = log.checks.groupby("zone")[["minutes", "level"]].agg(list)
    assert looks.loc["lengths", "level"] == [5, 6.5]
    assert looks.loc["lengths", "minutes"] == [12.5, 32.5]
    assert looks.loc["roots", "minutes"] == [6.5, 16.5]
    assert rows["client"].unique().tolist() == ["C014"]
    assert re.fullmatch(r"[B-Z]{5}-\d{8}-1", rows["visit"].iloc[0])


def test_no_clock_starts_before_both_tests_were_asked_for(tablet):
    tablet.page.click("#new-visit")
    tablet.page.fill("#visit-client", "C1")
    tablet.page.fill("#visit-stylist", "S1")
    tablet.plan()
    checked = "input[name^='visit-'][name$='_test']:checked"
    assert tablet.page.locator(checked).count() == 0
    tablet.page.click("#start-1")
    tablet.page.wait_for_function("() => document.activeElement.id === 'visit-patch_test'")
    assert tablet.page.locator("#rinse-1").count() == 0
    tablet.pick("visit", patch_test="no", strand_test="no")
    tablet.start()


@pytest.mark.parametrize("typed", ["12,5", "13", "14 %", "50 vol"])
def test_peroxide_above_12_percent_starts_nothing(tablet, typed):
    tablet.begin()
    tablet.plan(peroxide=typed)
    tablet.page.click("#start-1")
    tablet.page.wait_for_function("() => document.activeElement.id === 'plan-1-peroxide_pct'")
    assert "1.5 to 12 % (20 volume is 6 %)" in tablet.page.inner_text("#plan-1-peroxide_pct-fault")
    assert tablet.page.locator("#rinse-1").count() == 0


def test_cautions_stand_in_sight_while_planning_and_while_running(tablet):
    tablet.begin()
    for _ in range(2):
        assert tablet.page.locator(".cautions li").all_inner_texts() == list(CAUTIONS)
        assert all(one.is_visible() for one in tablet.page.locator(".cautions li").all())
        if not tablet.page.locator("#rinse-1").count():
            tablet.plan()
            tablet.start()


def test_alarms_are_seen_heard_and_go_on_until_somebody_says_so(tablet):
    tablet.begin()
    tablet.plan(longest="25")
    tablet.start()
    tones = "window.tones.length"
    tablet.passes(10)
    tablet.page.wait_for_selector("#bar .alarm.look")
    assert tablet.alarms() == ["C014, lengths: look due"]
    assert tablet.page.inner_text("#alarm-words") == "C014, lengths: look due"
    assert tablet.page.title().startswith("C014, lengths: look due")
    tablet.page.wait_for_function(f"() => {tones} === 2")
    tablet.passes(0.05)
    tablet.page.wait_for_function(f"() => {tones} === 4")  # and again, every 3 seconds
    tablet.page.click("#home")
    assert tablet.alarms() == ["C014, lengths: look due"]
    tablet.page.click("#bar [id^='heard-']")
    tablet.page.wait_for_function("() => !document.querySelector('#bar .alarm')")
    assert tablet.page.inner_text("#alarm-words") == ""
    tablet.page.click("#mute")
    tablet.page.wait_for_function("() => document.querySelector('#mute').textContent === 'Sound on'")
    tablet.passes(15)
    tablet.page.wait_for_selector("#bar .alarm.limit")
    assert tablet.alarms() == ["C014, lengths: time limit reached"]
    assert tablet.page.evaluate(tones) == 4
    tablet.page.click("#bar [id^='show-']")  # to its zone, below the bar
    tablet.page.wait_for_function("() => document.activeElement.id === 'zone-1'")
    assert tablet.hidden_by_bar() == []
    assert tablet.page.locator("#sound #mute").count() == 0
    tablet.page.click("#bar #mute")
    tablet.page.wait_for_function(f"() => {tones} === 8")
    # a mute ends where nothing runs any more
    tablet.page.click("#sound #mute")
    tablet.page.wait_for_selector("#bar .muted")
    tablet.rinse()
    tablet.page.click("#back-1")
    tablet.page.wait_for_selector("#sound #mute:has-text('Mute')")


def test_the_keyboard_goes_upwards_below_the_bar(tablet):
    tablet.begin()
    tablet.plan(longest="25")
    tablet.start()
    tablet.passes(26)
    tablet.page.wait_for_selector("#bar .alarm.limit")
    tablet.page.locator("button:visible, input:visible").last.focus()
    behind = set()
    for _ in range(20):
        tablet.page.keyboard.press("Shift+Tab")
        behind |= set(tablet.hidden_by_bar())
    assert behind == set()


def test_a_clock_that_is_set_leaves_minutes_as_they_are(tablet):
    tablet.begin()
    tablet.plan()
    tablet.start()
    tablet.passes(10)
    for jump, word in ((60, "put forward"), (-180, "put back")):
        tablet.passes(jump, "shift")
        tablet.page.wait_for_selector(f"#bar .notice :text('{word}')")
        assert tablet.clock() == "10:00"
    tablet.passes(5)
    tablet.look("5.5")
    assert tablet.seen() == ["5.5 at 15 min"]


def test_what_a_tablet_slept_counts_and_can_be_taken_back(tablet):
    tablet.begin()
    tablet.plan()
    tablet.start()
    tablet.passes(5)
    tablet.page.evaluate("window.out(true)")
    tablet.passes(22, "shift")  # the steady clock stands still in a sleep
    tablet.page.evaluate("window.out(false)")
    tablet.page.wait_for_selector("#bar .notice :text('slept for 22:0')")
    assert tablet.alarms() == ["C014, lengths: look due"]
    tablet.look("6")
    assert tablet.seen() == ["6 at 27 min"]
    tablet.page.click("#notice-otherwise")
    tablet.page.wait_for_function("() => !document.querySelector('#bar .notice')")
    assert tablet.seen() == ["6 at 5 min"]


def test_a_closed_page_goes_on_and_asks_where_its_clock_went_back(tablet):
    tablet.begin()
    tablet.plan()
    tablet.start()
    tablet.passes(12)
    tablet.look("5")
    tablet.passes(8)
    tablet.reload()
    tablet.page.click("button[id^='open-']")
    assert tablet.clock() == "20:00"
    assert "closed for" in tablet.page.inner_text("#bar .notice")
    tablet.passes(-120, "shift")
    tablet.reload()
    tablet.page.click("button[id^='open-']")
    tablet.page.wait_for_selector("#minutes-now-1")
    assert tablet.page.locator(".clock, .look").count() == 0
    box, fault = (tablet.page.locator(f"#minutes-now-1{end}") for end in ("", "-fault"))
    for text in ("300", "abc", "-5", "1:30", ""):
        box.fill(text)
        tablet.page.click("#minutes-now-1-take")
        assert fault.is_visible()
        found = f"found {text}; expected" if text else "needed:"
        assert fault.inner_text() == f"{found} 0 to 180 minutes, as 25 or 25.5"
    assert box.get_attribute("aria-describedby") == fault.get_attribute("id")
    assert box.get_attribute("aria-invalid") == "true"
    tablet.page.fill("#minutes-now-1", "9")  # before the last look: refused
    tablet.page.click("#minutes-now-1-take")
    tablet.page.wait_for_selector("#bar .message")
    tablet.page.fill("#minutes-now-1", "31,5")
    tablet.page.click("#minutes-now-1-take")
    tablet.page.wait_for_selector(".clock")
    assert tablet.clock() == "31:30"
    assert tablet.seen() == ["5 at 12 min"]


def test_applied_again_minutes_count_from_then(tablet, tmp_path):
    tablet.begin()
    tablet.plan()
    tablet.start()
    tablet.passes(20)
    tablet.look("5")
    tablet.passes(5)
    tablet.page.click("#again-1")
    tablet.page.wait_for_selector(":text('Applied 2 times')")
    tablet.passes(12)
    tablet.look("6.5")
    tablet.passes(8)
    tablet.rinse()
    tablet.result(achieved="6.5")
    tablet.finish()
    tablet.exported(tmp_path / "log")
    log = read_log(tmp_path / "log")
    assert not len(log.faults)
    assert log.visits[["applications", "looks"]].iloc[0].tolist() == [2, 1]
    assert log.visits["minutes"].tolist() == [20]
    assert log.checks["minutes"].tolist() == [12]


def test_unfinished_visits_stay_and_wipe_waits_for_the_export(tablet, tmp_path):
    tablet.whole_visit("=C1;+2")
    tablet.begin("C2")
    tablet.page.click("#home")
    tablet.page.click("#to-export")
    assert tablet.page.is_disabled("#wipe")
    assert "1 unfinished visit (C2) stays here and isn't exported" in tablet.page.inner_text("#view")
    tablet.page.click("#home")
    first = tablet.exported(tmp_path / "log")
    assert first["visits.csv"].splitlines()[1].split(",")[1] == "'=C1;'+2"
    assert read_log(tmp_path / "log").visits["client"].tolist() == ["=C1;+2"]
    tablet.page.click("#home")
    assert tablet.exported(tmp_path / "again") == first
    tablet.page.click("#wipe")
    told = tablet.page.inner_text("section[aria-labelledby='wipe-head']")
    assert "1 exported visit and 0 exported wash readings" in told
    assert "1 unfinished visit will stay" in told
    tablet.page.click("#wipe-yes")
    tablet.page.wait_for_selector("#new-visit")
    tablet.reload()
    assert tablet.page.locator("button[id^='open-'] strong").all_inner_texts() == ["C2"]


def test_a_visit_that_was_exported_and_changed_is_exported_again_before_a_wipe(tablet, tmp_path):
    tablet.whole_visit()
    tablet.exported(tmp_path / "log")
    tablet.page.click("#home")
    tablet.page.click("button[id^='open-']")
    assert "A change opens it again: finish it once more" in tablet.page.inner_text(".ending")
    tablet.result(achieved="7.5")
    tablet.page.wait_for_selector(".ending .reopened")
    assert "Finish the visit once more, and it goes into the next export" in tablet.page.inner_text(
        ".reopened >> nth=0"
    )
    for screen in ("#home", "#to-export"):
        tablet.page.click(screen)
        waits = "A corrected version of C014 waits to be finished; then it goes into the next export."
        assert tablet.page.inner_text(".reopened") == waits
    tablet.page.click("#home")
    tablet.page.click("button[id^='open-']")
    tablet.finish()
    assert tablet.page.locator(".reopened").count() == 0
    tablet.page.click("#to-export")
    assert tablet.page.is_disabled("#wipe")
    tablet.page.click("#home")
    files = tablet.exported(tmp_path / "log")
    assert next(csv.DictReader(io.StringIO(files["visits.csv"])))["achieved_level"] == "7.5"


def test_washes_of_a_visit_that_is_gone_from_here(tablet, tmp_path):
    tablet.page.click("#to-wash")
    for name, text in {"visit": "V00017", "washes": "12"}.items():
        tablet.page.fill(f"#wash-{name}", text)
    tablet.pick("wash", zone="lengths", tone_left="50")
    tablet.reload()  # what is typed is kept on the way
    tablet.page.click("#to-wash")
    assert tablet.page.input_value("#wash-visit") == "V00017"
    tablet.page.click("#save-wash")
    tablet.page.wait_for_selector(".reading")
    tablet.page.click("#home")
    files = tablet.exported(tmp_path / "log")
    assert files["washes.csv"].splitlines()[1] == "V00017,lengths,12,,50,,,,"


def test_numbers_where_a_comma_is_the_decimal_point(opened, recorder, tmp_path):
    page = opened(
        recorder, *SIZES["phone"], scale=1, before=CLOCKS, locale="de-DE", timezone_id="Europe/Berlin"
    )
    tablet = Tablet(page.page)
    tablet.begin()
    tablet.page.click("#plan-1-fold")
    tablet.page.fill("#plan-1-mix_ratio", "1,5")
    tablet.plan(longest="42,5", peroxide="4,5")
    tablet.start()
    tablet.passes(12.5)
    tablet.look("5.5")
    tablet.passes(30.25)
    tablet.rinse()
    tablet.result()
    tablet.finish()
    tablet.exported(tmp_path / "log")
    visit = read_log(tmp_path / "log").visits.iloc[0]
    assert visit[["mix_ratio", "peroxide_pct", "planned_minutes"]].tolist() == [1.5, 4.5, 42.5]
    assert visit["minutes"] == 42.8
    assert page.faults() == []
