"""The map that is proposed: what is sure, what is asked, and that it reads the log."""

from __future__ import annotations

import openpyxl
import pytest

from outcomes.errors import InputError
from outcomes.log.mapfile import read_map
from outcomes.log.proposal import propose_map
from outcomes.log.read import read_log

OWN = """Our book;;;;;;;;;;;;;;
Guest;Colourist;Day;Hair;Level;Goal;Dev vol;Heat;Proc. time;20 min;Lvl after;Why rinsed;after 10 washes;Note
17;Mo;14.3.2026;Blondiert;3;9,5;20v;low;45 min;5;7/8;time;75;nice
18;Mo;15.3.2026;natural;L4;8;20;none;0:50;6;8;target;50;
"""


@pytest.fixture
def own(tmp_path):
    (tmp_path / "book.csv").write_text(OWN, encoding="utf-8")
    return tmp_path / "book.csv"


def lines(proposal):
    return {(one.table, one.heading): one.means for one in proposal.lines}


def test_what_is_sure_stands_there_and_the_rest_is_asked(own):
    proposal = propose_map(own)
    assert lines(proposal) == {
        ("", "visit_codes"): "client and date",
        ("visits", "Guest"): "client",
        ("visits", "Colourist"): "stylist",
        ("visits", "Day"): "date",
        ("visits", "Hair"): "hair",
        ("visits", "Level"): "?",
        ("visits", "Goal"): "goal_level",
        ("visits", "Dev vol"): "peroxide_pct in volume",
        ("visits", "Heat"): "heat",
        ("visits", "Proc. time"): "minutes",
        ("visits", "20 min"): "level at 20 minutes",
        ("visits", "Lvl after"): "achieved_level",
        ("visits", "Why rinsed"): "stop",
        ("visits", "after 10 washes"): "tone_left after 10 washes",
        ("visits", "Note"): "",
        ("words.hair", "blondiert"): "?",
    }
    assert [one.heading for one in proposal.asked] == ["Level"]
    assert proposal.lacking == (("visits", "start_level"),)
    reasons = {one.heading: one.reason for one in proposal.lines}
    assert reasons["Level"].startswith("may be start_level, goal_level, heat, achieved_level or root_level")


def test_the_answered_map_reads_the_log(own, tmp_path):
    text = propose_map(own).text()
    place = tmp_path / "map.toml"
    place.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match='"Level" of visits is still a question'):
        read_map(place)
    answered = text.replace('"Level" = "?"', '"Level" = "start_level"')
    place.write_text(answered.replace('# "blondiert" = "?"', '"blondiert" = "lightened"'), encoding="utf-8")
    log = read_log(own, map_file=place)
    assert log.counts["visits"] == {"in": 2, "used": 2, "set_aside": 0}
    assert log.visits["hair"].tolist() == ["lightened", "natural"]
    assert log.visits["peroxide_pct"].tolist() == [6.0, 6.0]
    assert log.checks["level"].tolist() == [5.0, 6.0]
    assert log.washes["tone_left"].tolist() == [75.0, 50.0]
    # the map says everything that was found before: nothing is left to propose
    assert not propose_map(own, read_map(place)).asked


def test_a_canonical_log_asks_nothing(folder, visit):
    path = folder(visits=[visit()], checks="visit,minutes,level\nV1,20,5\n")
    proposal = propose_map(path)
    assert proposal.asked == ()
    assert proposal.lacking == ()
    assert {one.reason for one in proposal.lines} == {"the log's own name"}


def test_dates_that_may_be_two_are_asked_about(folder, visit):
    proposal = propose_map(folder(visits=[visit(date="03/04/2026")]))
    assert [(one.heading, one.means) for one in proposal.asked] == [("dates", "?")]
    assert "2026-04-03 (day first) or 2026-03-04 (month first)" in proposal.asked[0].reason
    settled = propose_map(folder(visits=[visit(date="03/04/2026"), visit(visit="V2", date="13/04/2026")]))
    assert settled.asked == ()


@pytest.mark.parametrize("cells", [("1",), ("8", "75"), ("6/7", "50 %"), ("warm",)])
def test_readings_after_washes_that_may_be_either_are_asked_about(folder, visit, cells):
    """1 is a level, and what a spreadsheet makes of 100 %."""
    rows = [visit(visit=f"V{i}", **{"after 10 washes": cell}) for i, cell in enumerate(cells)]
    assert [one.heading for one in propose_map(folder(visits=rows)).asked] == ["after 10 washes"]


def test_dates_in_doubt_beside_others_that_are_read_are_asked_about_too(folder, visit):
    """Without an answer their rows are set aside, which an empty answer accepts."""
    place = folder(visits=[visit(), visit(visit="V2", date="03/04/2026")])
    proposal = propose_map(place)
    assert [(one.heading, one.means) for one in proposal.asked] == [("dates", "?")]
    assert 'write "day-first" or "month-first", or "" to leave such rows out' in proposal.asked[0].reason
    told = place / "map.toml"
    told.write_text(proposal.text().replace('dates = "?"', 'dates = "day-first"'), encoding="utf-8")
    assert len(read_log(place, map_file=told).visits) == 2
    assert propose_map(place, read_map(told)).asked == ()


def test_sheets_without_a_stylist_are_asked_about(tmp_path, visit):
    made = openpyxl.Workbook()
    made.remove(made.active)
    for name in ("Mo", "Ra"):
        row = {k: v for k, v in visit(visit=f"V {name}").items() if k != "stylist"}
        sheet = made.create_sheet(name)
        sheet.append(list(row))
        sheet.append(list(row.values()))
    made.save(tmp_path / "salon.xlsx")
    proposal = propose_map(tmp_path / "salon.xlsx")
    assert [one.heading for one in proposal.asked] == ["sheet_names"]
    assert lines(proposal)["sheets", "Mo"] == "visits"
    (tmp_path / "map.toml").write_text(proposal.text().replace('"?"', '"stylist"'), encoding="utf-8")
    log = read_log(tmp_path / "salon.xlsx", map_file=tmp_path / "map.toml")
    assert log.visits["stylist"].tolist() == ["Mo", "Ra"]


def test_two_headings_for_one_column_are_both_asked_about(folder, visit):
    row = {k: v for k, v in visit(goal="8", **{"target level": "8"}).items() if k != "goal_level"}
    proposal = propose_map(folder(visits=[row]))
    assert [one.heading for one in proposal.asked] == ["goal", "target level"]
    assert "more than one heading may be goal_level" in proposal.asked[0].reason


def test_headings_of_which_none_is_known_are_taken_as_they_are(tmp_path):
    (tmp_path / "b.csv").write_text("Buch;;\nKundin;Termin;Stufe\nA;1;5\n", encoding="utf-8")
    proposal = propose_map(tmp_path / "b.csv")
    assert {one.heading: one.means for one in proposal.lines if one.table == "visits"} == {
        "Kundin": "", "Termin": "", "Stufe": "",
    }  # fmt: skip
    assert ("visits", "client") in proposal.lacking


@pytest.mark.parametrize(
    "heading", ['the "posh" one', "back\\slash", "Größe €", "tab\tin it", "# no comment"]
)
def test_any_heading_can_stand_in_a_map(tmp_path, visit, heading):
    made = openpyxl.Workbook()
    row = visit(**{heading: "x"})
    made.active.append(list(row))
    made.active.append(list(row.values()))
    made.active.title = "visits"
    made.save(tmp_path / "log.xlsx")
    (tmp_path / "map.toml").write_text(propose_map(tmp_path / "log.xlsx").text(), encoding="utf-8")
    said = read_map(tmp_path / "map.toml")
    assert list(said.declared("visits").values()).count(None) == 1
    assert read_log(tmp_path / "log.xlsx", map_file=said).notes == ()
