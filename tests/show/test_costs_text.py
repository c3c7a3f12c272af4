from outcomes.answers.costs import CostsAnswer, Total
from outcomes.show.costs_text import costs_lines as kept_lines

LOG = "80 first and 40 later visits with chair minutes in the log"


def costs_lines(answer):
    """Lines as they are printed: hours and their minutes are kept together until a line is broken."""
    return [line.replace("\N{NO-BREAK SPACE}", " ") for line in kept_lines(answer)]


def totals(outside=False, **ends):
    """Chair time, price and calendar with these (low, median, high)."""
    units = {"chair_time": "minutes", "cost": "currency of the price", "calendar": "weeks"}
    coverage = 0.95 if outside else 0.8
    found = tuple(
        (name, Total(units[name], median, low, high, coverage, ("price",) if name == "cost" else (), LOG))
        for name, (low, median, high) in ends.items()
    )
    return CostsAnswer(found, 6, outside)


def test_middle_band_and_what_it_rests_on():
    lines = costs_lines(totals(chair_time=(160, 305, 410), cost=(95, 190, 285), calendar=(0, 6, 13)))
    assert lines == [
        f"  chair time    about 5 h until the goal is read; 80 % band 2 h 45 min to 7 h; rests on {LOG}",
        f"  cost          about 190 in the currency of your price; 80 % band 95 to 285; rests on {LOG}",
        "  calendar      about 6 weeks from today's session to the last; 80 % band 0 to 13 weeks; rests on "
        f"{LOG}",
    ]


def test_beyond_the_sessions_followed():
    lines = costs_lines(totals(chair_time=(600, None, None), calendar=(None, None, None)))
    assert lines[0].startswith("  chair time    beyond 6 sessions; 80 % band 10 h or more; ")
    assert lines[1].startswith("  calendar      beyond 6 sessions; 80 % band beyond 6 sessions; ")


def test_a_band_without_width_is_one_amount():
    assert (
        "about 95 in the currency of your price; 80 % band 95;" in costs_lines(totals(cost=(95, 95, 95)))[0]
    )


def test_outside_the_log_no_middle_is_named():
    line = costs_lines(totals(outside=True, chair_time=(120, None, 900)))[0]
    assert line == f"  chair time    wide band 2 h to 15 h until the goal is read; rests on {LOG}"


def test_money_by_the_hour_is_rounded_and_by_the_visit_is_not():
    by_visit = totals(cost=(92.5, 185.0, 277.5))
    assert "about 185 in the currency of your price; 80 % band 92.50 to 277.50" in costs_lines(by_visit)[0]
    hourly = Total("currency of the price", 312.7, 157.5, 411.0, 0.8, ("price", "hours"), LOG)
    line = costs_lines(CostsAnswer((("cost", hourly),), 6, False))[0]
    assert "about 315 in the currency of your price; 80 % band 160 to 410" in line


def test_hours_and_minutes_stay_on_one_line():
    line = kept_lines(totals(chair_time=(120, 165, 330)))[0]
    assert "2\N{NO-BREAK SPACE}h\N{NO-BREAK SPACE}45\N{NO-BREAK SPACE}min until" in line


def test_who_is_most_likely_done_today_waits_for_nothing():
    assert costs_lines(totals(calendar=(0, 0, 7)))[0].startswith(
        "  calendar      0 weeks from today's session"
    )
