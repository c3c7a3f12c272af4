"""What each visit may show: dates and zones for a whole log at once, the rest as clients suffice."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from outcomes.errors import InputError
from outcomes.protect.generalise import MOST_LEFT_OUT, cut_dates, generalise
from outcomes.readings.courses import assign_courses
from tests.protect.small_logs import KNOWN, small_log, table


def plain(n=40, clients=20, **changes):
    """n sound visits, all alike."""
    values = {
        "visit": np.array([f"V{i}" for i in range(n)], dtype=object),
        "client": np.array([f"C{i % clients}" for i in range(n)], dtype=object),
        "stylist": np.full(n, "S1", dtype=object),
        "salon": np.full(n, "L1", dtype=object),
        "date": np.full(n, np.datetime64("2024-02-10", "ns")),
        "zone": np.full(n, "lengths", dtype=object),
        "hair": np.full(n, "natural", dtype=object),
        "start_level": np.full(n, 4.0),
        "goal_level": np.full(n, 8.0),
        "achieved_level": np.full(n, 8.0),
        "stop": np.full(n, "target", dtype=object),
    }
    return table("visits", **(values | changes))


def done(visits, least=5, period="year"):
    looked = np.ones(len(visits), dtype=bool)
    course = assign_courses(visits)["course"].to_numpy(dtype=np.int64)
    return generalise(visits, looked, course, least, period)


def smallest(visits, found):
    shown = found.shown[found.kept].assign(client=visits["client"][found.kept])
    return shown.groupby(KNOWN, dropna=False)["client"].nunique().min()


def test_first_days():
    day = pd.to_datetime(pd.Series(["2024-05-20", "2024-12-31", "2024-01-01"]))
    for period, expected in (
        ("month", ["2024-05-01", "2024-12-01", "2024-01-01"]),
        ("quarter", ["2024-04-01", "2024-10-01", "2024-01-01"]),
        ("year", ["2024-01-01"] * 3),
    ):
        found = cut_dates(day, period)
        assert found.dt.strftime("%Y-%m-%d").tolist() == expected
        assert found.dtype == day.dtype


def test_a_log_in_which_all_are_alike_keeps_everything():
    visits = plain()
    found = done(visits, period="month")
    assert found.kept.all()
    assert (found.moved == 0).all()
    pd.testing.assert_frame_equal(
        found.shown.drop(columns="date"),
        visits[KNOWN].drop(columns="date"),
        check_dtype=False,
    )
    assert set(found.shown["date"]) == {pd.Timestamp("2024-02-01")}


@pytest.mark.parametrize(
    ("days", "least", "instead"),
    [
        (["2024-01-10", "2024-03-10"], 11, "give --period quarter, share a longer time"),
        (["2024-01-10", "2024-07-10"], 11, "give --period year, share a longer time"),
        (["2024-01-10", "2025-01-10"], 11, "could be reached; share a longer time"),
        (["2024-01-10", "2025-01-10"], 10, None),
    ],
)
def test_dates_stay_at_the_month_or_it_is_said_what_would_do(days, least, instead):
    """20 clients, ten in each of two months: eleven share no month."""
    day = np.array(days, dtype="datetime64[ns]")[np.arange(20) % 2]
    visits = plain(20, 20, date=day)
    if instead is None:
        assert set(done(visits, least, "month").shown["date"].dt.strftime("%Y-%m")) == {"2024-01", "2025-01"}
        return
    with pytest.raises(InputError) as told:
        done(visits, least, "month")
    assert "share even hair, zone and month; 10 could be reached; " in str(told.value)
    assert instead in str(told.value)


def test_a_goal_far_from_the_others_is_shown_as_another():
    """Two clients of twenty want a level more; all levels of the row stay true to its start."""
    goal = np.full(20, 8.0)
    goal[3:5] = 9.0
    visits = plain(20, 20, goal_level=goal)
    found = done(visits)
    assert found.kept.all()
    assert smallest(visits, found) >= 5
    assert set(found.shown["goal_level"]) <= {8.0, 9.0}
    assert (found.moved == 0).all()


def test_levels_of_a_row_move_together():
    visits = plain(20, 20, start_level=np.repeat([3.0, 4.0, 5.0, 6.0], 5))
    found = done(visits, least=8)
    assert smallest(visits, found) >= 8
    moved = found.moved
    assert (visits["start_level"] + moved == found.shown["start_level"]).all()
    assert (moved != 0).any()


def test_zones_lose_their_names_only_where_that_saves_more_rows_than_it_costs():
    """One visit in twenty is at the ends, which is too few: it's left out, and no zone loses its name."""
    zone = np.full(40, "lengths", dtype=object)
    zone[0] = "ends"
    few = done(plain(40, 40, zone=zone))
    assert (~few.kept).sum() == 1
    assert set(few.shown["zone"][few.kept]) == {"lengths"}
    # three of forty are more than may be left out
    zone[:3] = "ends"
    zone[3:9] = "all"
    more = done(plain(40, 40, zone=zone))
    assert more.kept.all()
    assert more.shown["zone"].tolist() == ["all"] * 9 + ["lengths"] * 31


def test_visits_of_several_zones_keep_them_and_so_does_what_belongs_to_their_course():
    """Client C0 comes twice: first roots and ends at one visit, then the ends alone."""
    visits = plain(
        23,
        20,
        visit=np.array(["V0", "V0", "V1", *(f"W{i}" for i in range(20))], dtype=object),
        client=np.array(["C0", "C0", "C0", *(f"D{i}" for i in range(20))], dtype=object),
        zone=np.array(["roots", "ends", "ends", *["ends"] * 4, *["all"] * 10, *["roots"] * 6], dtype=object),
        course=np.array(["K0", "K0", "K0", *[np.nan] * 20], dtype=object),
        start_level=np.array([4.0, 4.0, 6.0, *[4.0] * 20]),
    )
    found = done(visits, least=5)
    assert found.shown["zone"][:3].tolist() == ["roots", "ends", "ends"]
    assert smallest(visits, found) >= 5


@pytest.mark.parametrize("column", ["salon", "texture", "product"])
def test_what_one_row_would_tell_of_others_leaves_in_all_rows_or_in_none(column):
    word = "fine" if column == "texture" else "X1"
    same, often = np.full(40, word, dtype=object), np.array([word, "coarse"] * 20, dtype=object)
    lacking, seldom = same.copy(), same.copy()
    lacking[7] = np.nan  # nobody shares it
    seldom[[3, 4, 5]] = "coarse"
    for values in (same, often):
        assert (done(plain(40, 40, **{column: values})).shown[column] == values).all()
    for values in (lacking, seldom):
        assert done(plain(40, 40, **{column: values})).shown[column].isna().all()


def test_a_product_does_not_leave_at_the_cost_of_levels():
    """Of eight clients with each goal four got either product: by fives goals would be lost."""
    goal = np.repeat([6.0, 7.0, 8.0, 9.0, 9.5], 8)
    visits = plain(40, 40, goal_level=goal, product=np.array(["P1", "P2"] * 20, dtype=object))
    found = done(visits)
    assert found.shown["product"].isna().all()
    assert (found.shown["goal_level"] == goal).all()
    # four are enough: then both leave
    both = done(visits, least=4)
    assert (both.shown["product"] == visits["product"]).all()
    assert (both.shown["goal_level"] == goal).all()


@pytest.mark.parametrize(("naturals", "stays"), [(7, False), (8, True)])
def test_a_colour_history_that_few_could_tell_is_given_up_in_all_rows(naturals, stays):
    """No natural hair has any. Of eight clients with each other goal four have one layer, four several.

    So the naturals alone could tell it: 7 of 39 rows that have it, or 8 of 40.
    """
    n = naturals + 32
    hair = np.array(["natural"] * naturals + ["coloured"] * 32, dtype=object)
    goal = np.array([8.0] * naturals + [5.0] * 8 + [6.0] * 8 + [7.0] * 8 + [8.0] * 8)
    history = np.array(["none"] * naturals + ["one", "several"] * 16, dtype=object)
    found = done(plain(n, n, hair=hair, goal_level=goal, colour_history=history))
    assert found.kept.all()
    assert found.shown["colour_history"].notna().sum() == (naturals if stays else 0)


@pytest.mark.parametrize("seed", range(6))
def test_a_course_tells_its_colour_history_in_all_rows_or_in_none(seed):
    log = small_log(400, 150, seed)
    course = assign_courses(log.visits)["course"]
    # as one hair has one history, and where the log doesn't give it, another row of its course may
    history = pd.Series(np.array(["none", "one", "several"], dtype=object)[course % 3])
    history[np.random.default_rng(seed).random(len(history)) < 0.05] = np.nan
    visits = log.visits.assign(colour_history=history)
    found = done(visits, least=3)
    shown = found.shown["colour_history"].notna()[found.kept]
    assert shown.groupby(course[found.kept]).nunique().max() == 1
    assert shown.mean() > 0.2
    assert smallest(visits, found) >= 3


def test_at_most_one_row_in_twenty_is_left_out():
    hair = np.full(40, "natural", dtype=object)
    hair[:2] = "coloured"
    found = done(plain(40, 40, hair=hair))
    assert found.kept.tolist() == [False] * 2 + [True] * 38
    hair[2] = "coloured"
    with pytest.raises(InputError) as told:
        done(plain(40, 40, hair=hair))
    said = str(told.value)
    assert said.startswith("--min-clients 5: in more than 5 % of the rows fewer clients than that share even")
    assert "; 3 could be reached; share a longer time, or several salons together" in said
    assert "\n" not in said


def test_a_client_alone_is_refused():
    with pytest.raises(InputError, match=r"min-clients 2: .*; not even 2 could be reached"):
        done(plain(10, 1), least=2)


@pytest.mark.parametrize("seed", range(12))
def test_enough_clients_share_whatever_is_shown(seed):
    log = small_log(260, 120, seed)
    found = done(log.visits, least=3)
    assert smallest(log.visits, found) >= 3
    assert (~found.kept).mean() <= MOST_LEFT_OUT
    shown = found.shown[found.kept]
    assert shown["start_level"].between(1, 10).all()
    assert shown["goal_level"].between(1.5, 10).all()
    assert (shown["goal_level"] > shown["start_level"]).all()
    assert (shown[["start_level", "goal_level"]] * 2 % 1 == 0).all().all()
    # a course is nowhere of two zones
    course = assign_courses(log.visits)["course"]
    assert found.shown["zone"].groupby(course).nunique().max() == 1


def test_the_order_of_the_rows_does_not_matter_for_what_holds():
    log = small_log(260, 120, 2)
    mixed = log.visits.sample(frac=1.0, random_state=3).reset_index(drop=True)
    assert smallest(mixed, done(mixed, least=4)) >= 4
