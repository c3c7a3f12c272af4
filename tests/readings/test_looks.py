"""Looks: which one stopped a visit, the usual time between them, and those that nobody wrote down."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd
import pytest

from outcomes.log.read import VisitLog
from outcomes.readings.looks import (
    doubt_looks,
    implied_looks,
    look_gaps,
    place_looks,
    repeated_results,
    typical_gaps,
    usual_gaps,
)

Make = Callable[..., VisitLog]

TARGET = {"stop": "target", "achieved_level": 9.0, "minutes": 50.0}


def looked(visit: str, *minutes: float, level: float = 7.0) -> list[dict[str, object]]:
    return [{"visit": visit, "minutes": at, "level": level} for at in minutes]


def test_looks_are_placed_in_order_and_those_of_other_visits_passed_over(make_log: Make) -> None:
    log = make_log([TARGET, {}], [*looked("V1", 20, 10), *looked("V0", 30), *looked("elsewhere", 5)])
    placed = place_looks(log)
    assert placed["visit"].tolist() == [0, 1, 1]
    assert placed["minutes"].tolist() == [30, 10, 20]
    assert not placed["ended"].any()


def test_only_the_last_look_at_the_rinse_of_a_target_visit_ended_it(make_log: Make) -> None:
    log = make_log(
        [TARGET, TARGET, {"minutes": 50.0}, TARGET],
        [
            *looked("V0", 49.5, 50, level=9.0),
            *looked("V1", 49, level=9.0),
            *looked("V2", 50, level=9.0),
            *looked("V3", 50.5, level=9.5),
        ],
    )
    assert place_looks(log)["ended"].tolist() == [False, True, False, False, True]


def test_a_look_below_the_goal_stopped_nothing_even_at_the_minute_of_the_rinse(make_log: Make) -> None:
    """Minutes written to the quarter of an hour put a look that read 8.5 at the rinse at 9."""
    log = make_log(
        [TARGET, TARGET, TARGET],
        [
            *looked("V0", 30, 50, level=8.5),
            *looked("V1", 50, level=8.5),
            *looked("V1", 50, level=9.0),
            *looked("V2", 50, level=9.5),
            *looked("V2", 50, level=8.5),
        ],
    )
    assert place_looks(log)["ended"].tolist() == [False, False, False, True, True, False]


def test_gaps_lie_between_looks_and_end_at_a_rinse_for_the_goal(make_log: Make) -> None:
    log = make_log(
        [TARGET, {"minutes": 47.0}, TARGET, TARGET],
        [*looked("V0", 20, 32), *looked("V1", 20, 30, 40), *looked("V2", 38, 50), *looked("V3", 50)],
    )
    gaps = look_gaps(log)
    # V1 was rinsed for time: 40 to 47 is cut off. V3 has one look only, and the start isn't one.
    assert gaps["visit"].tolist() == [0, 0, 1, 1, 1, 2]
    assert gaps["minutes"].tolist() == [12, 18, 10, 10, 7, 12]
    assert gaps["cut_off"].tolist() == [False, False, False, False, True, False]


def of_one(minutes: list[float], cut_off: list[bool] | bool = False) -> pd.DataFrame:
    return pd.DataFrame({"stylist": "S1", "minutes": minutes, "cut_off": cut_off})


def test_few_different_gaps_stand_for_themselves() -> None:
    typical = typical_gaps(of_one([5.0, 10.0, 10.0, 15.0]))
    assert typical["stylist"].isna().all()
    assert typical["minutes"].tolist() == [5, 10, 15]
    assert typical["share"].tolist() == [0.25, 0.5, 0.25]


def test_many_gaps_are_cut_into_fifths_with_equal_gaps_together() -> None:
    typical = typical_gaps(of_one([1.0, 2, 3, 4, 10, 10, 10, 10, 19, 20]))
    # Middle ranks .5 to 3.5, 6 for the four tens, 8.5 and 9.5: parts 0, 0, 1, 1, 3 and 4, 4 of five.
    assert typical["minutes"].tolist() == pytest.approx([1.5, 3.5, 10.0, 19.5])
    assert typical["share"].tolist() == pytest.approx([0.2, 0.2, 0.4, 0.2])
    assert typical_gaps(of_one([1.0, 2, 3, 4, 10, 10, 10, 10, 19, 20]), None)["minutes"].tolist() == [
        *(1, 2, 3, 4, 10, 19, 20)
    ]


def test_cut_off_gaps_count_as_the_product_limit_estimate_has_them() -> None:
    """Weeks in remission of 21 patients (Freireich et al. 1963, Blood 21, 699-716, as in Gehan 1965,
    Biometrika 52, 203-223): the estimate is 0.857 after 6 weeks, 0.807, 0.753, 0.690, 0.627, 0.538, 0.448."""
    ended, cut = [6, 6, 6, 7, 10, 13, 16, 22, 23], [6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35]
    # each patient three times: with fewer than twenty ends nothing is estimated
    gaps = of_one([float(week) for week in 3 * (ended + cut)], 3 * ([False] * len(ended) + [True] * len(cut)))
    typical = typical_gaps(gaps, None)
    typical = typical[typical["stylist"].isna()]
    assert typical["minutes"].tolist() == [6, 7, 10, 13, 16, 22, 23, 35]
    left = 1.0 - typical["share"].cumsum()
    assert left.tolist()[:-1] == pytest.approx([0.857, 0.807, 0.753, 0.690, 0.627, 0.538, 0.448], abs=5e-4)
    assert typical["share"].sum() == pytest.approx(1.0)
    assert (typical["n"] == 3 * len(ended)).all()
    few = typical_gaps(of_one([5.0, 10.0] + [30.0] * 10, [False, False] + [True] * 10), None)
    assert few["minutes"].tolist() == [5, 10]


def test_gaps_that_are_all_cut_off_tell_no_usual_one(make_log: Make) -> None:
    log = make_log([{"minutes": 47.0}], looked("V0", 20))
    assert look_gaps(log)["cut_off"].tolist() == [True]
    assert len(typical_gaps(look_gaps(log))) == 0
    assert usual_gaps(log)[1] == "assumed"


def test_long_gaps_are_as_frequent_as_they_are_taken() -> None:
    """Gaps of 5 or 25 minutes, half each, under a rinse that cuts four in five of the long ones off."""
    rng = np.random.default_rng(3)
    gap, room = rng.choice([5.0, 25.0], 4000), rng.uniform(6.0, 30.0, 4000)
    gaps = of_one(np.minimum(gap, room).tolist(), (gap > room).tolist())
    seen = gaps.loc[~gaps["cut_off"], "minutes"]
    assert (seen == 25.0).mean() < 0.2
    typical = typical_gaps(gaps, None)
    share = typical.loc[typical["stylist"].isna() & (typical["minutes"] >= 25.0), "share"].sum()
    assert share == pytest.approx(0.5, abs=0.03)


def test_a_stylist_with_twenty_gaps_has_their_own() -> None:
    stylists = ["S1"] * 20 + ["S2"] * 19 + ["S2"] * 5
    gaps = pd.DataFrame({"stylist": stylists, "minutes": [6.0] * 20 + [12.0] * 24})
    gaps["cut_off"] = [False] * 39 + [True] * 5
    typical = typical_gaps(gaps)
    assert typical["stylist"].tolist() == [None, None, "S1"]
    assert typical["minutes"].tolist() == [6, 12, 6]
    # the five that were cut off at 12 are as long at least as those that ended there
    assert typical["share"].tolist() == pytest.approx([20 / 44, 24 / 44, 1.0])


def plainly(log: VisitLog) -> pd.DataFrame:
    """Looks by the plain rule: one usual gap before a rinse at the goal."""
    return implied_looks(log, stops="target")


def test_declared_interval_gives_one_time_by_the_plain_rule(make_log: Make) -> None:
    implied = plainly(make_log([{**TARGET, "look_every": 10.0}]))
    assert implied[["visit", "minutes", "weight", "empty", "basis"]].to_numpy().tolist() == [
        [0, 40.0, 1.0, False, "declared"]
    ]


def test_declared_intervals_scatter(make_log: Make) -> None:
    implied = implied_looks(make_log([{**TARGET, "look_every": 10.0}, {**TARGET, "look_every": 5.0}]))
    for visit, gap in ((0, 10.0), (1, 5.0)):
        own = implied[implied["visit"] == visit]
        last = own.drop_duplicates("way", keep="last")
        assert last["weight"].sum() == pytest.approx(1.0)
        assert not own["empty"].any()
        # 50 minutes leave room for two looks, whatever the way
        assert (own.groupby("way").size() == 2).all()
        mean = float((last["weight"] * last["minutes"]).sum())
        # a gap that scatters by a fifth is as often longer as shorter, and longest ones are longer by more
        assert mean == pytest.approx(50.0 - gap * 1.02, abs=0.06 * gap)
        assert last["minutes"].max() - last["minutes"].min() > 0.3 * gap
        before = own.drop_duplicates("way", keep="first")
        mean = float((before["weight"] * before["minutes"]).sum())
        assert mean == pytest.approx(50.0 - 2 * gap * 1.02, abs=0.12 * gap)


@pytest.mark.parametrize(
    "changed",
    [
        {"looks": 0.0},  # rinsed at the first look
        {"look_every": 50.0},  # an interval as long as the visit: no earlier look
    ],
)
def test_visits_without_an_implied_look(make_log: Make, changed: dict[str, object]) -> None:
    assert len(plainly(make_log([{**TARGET, "look_every": 10.0, **changed}]))) == 0


@pytest.mark.parametrize(("stop", "minutes"), [("time", 45), ("condition", 42), ("other", 40)])
def test_visits_stopped_otherwise_imply_their_last_look(make_log: Make, stop: str, minutes: int) -> None:
    log = make_log([{**TARGET, "look_every": 10.0, "stop": stop, "minutes": float(minutes)}])
    found = implied_looks(log)
    last = found.drop_duplicates("way", keep="last")
    assert last["weight"].sum() == pytest.approx(1.0)
    # at some moment of the gap that the rinse cut short
    assert ((last["minutes"] < minutes) & (last["minutes"] > minutes - 16)).all()
    assert len(implied_looks(log, stops="target")) == 0


def test_recorded_looks_leave_nothing_to_imply(make_log: Make) -> None:
    earlier = make_log([{**TARGET, "looks": 2.0, "look_every": 10.0}], looked("V0", 30))
    assert len(implied_looks(earlier)) == 0
    ending = make_log([{**TARGET, "look_every": 10.0}], looked("V0", 50, level=9.0))
    assert len(implied_looks(ending)) == 0


def test_ending_look_alone_but_others_counted_implies_one(make_log: Make) -> None:
    log = make_log([{**TARGET, "looks": 2.0, "look_every": 10.0}], looked("V0", 50, level=9.0))
    assert plainly(log)["minutes"].tolist() == [40.0]


def with_gaps(make_log: Make, *unseen: dict[str, object]) -> VisitLog:
    """Gaps seen: 5, 10, 10 and 15 minutes in two visits rinsed a minute later; then visits without looks."""
    checks = [*looked("V0", 10, 20, 30), *looked("V1", 20, 25, 40)]
    return make_log([{"minutes": 31.0}, {"minutes": 41.0}, *unseen], checks)


def test_times_are_averaged_over_the_gaps_seen(make_log: Make) -> None:
    implied = plainly(with_gaps(make_log, TARGET))
    assert implied["visit"].tolist() == [2, 2, 2]
    assert implied["minutes"].tolist() == [35, 40, 45]
    assert implied["weight"].tolist() == [0.25, 0.5, 0.25]
    assert set(implied["basis"]) == {"seen"}


def test_gaps_as_long_as_the_visit_mean_no_earlier_look(make_log: Make) -> None:
    implied = plainly(with_gaps(make_log, {**TARGET, "minutes": 10.0}))
    assert implied["empty"].tolist() == [False, True]
    assert implied["minutes"].tolist() == [5.0, 10.0]
    assert implied["weight"].tolist() == [0.25, 0.75]
    assert len(plainly(with_gaps(make_log, {**TARGET, "minutes": 5.0}))) == 0


def test_a_counted_look_rules_out_gaps_that_leave_it_no_room(make_log: Make) -> None:
    implied = plainly(with_gaps(make_log, {**TARGET, "minutes": 12.0, "looks": 1.0}))
    assert implied["empty"].tolist() == [False, False]
    assert implied["minutes"].tolist() == [2.0, 7.0]
    assert implied["weight"].tolist() == pytest.approx([2 / 3, 1 / 3])


@pytest.mark.parametrize(("looks", "taken"), [(1.0, {1}), (2.0, {2}), (7.0, {2}), (float("nan"), {1, 2})])
def test_ways_have_as_many_looks_as_were_counted(make_log: Make, looks: float, taken: set[int]) -> None:
    found = implied_looks(make_log([{**TARGET, "minutes": 21.0, "look_every": 10.0, "looks": looks}]))
    assert set(found.groupby("way").size()) == taken
    last = found.drop_duplicates("way", keep="last")
    assert last["weight"].sum() == pytest.approx(1.0)


def test_a_stylists_own_gaps_count_for_their_visits(make_log: Make) -> None:
    visits = [{"stylist": "S2", "minutes": 130.0}, {"minutes": 42.0}]
    checks = [*looked("V0", *range(6, 132, 6)), *looked("V1", 20, 40)]
    log = make_log([*visits, {**TARGET, "stylist": "S2"}, TARGET], checks)
    implied = plainly(log)
    assert implied.loc[implied["visit"] == 2, "minutes"].tolist() == [44.0]
    assert implied.loc[implied["visit"] == 3, "weight"].tolist() == pytest.approx([1 / 21, 20 / 21])


def test_intervals_declared_in_other_visits_serve_where_none_are_seen(make_log: Make) -> None:
    log = make_log([{**TARGET, "look_every": 8.0}, {**TARGET, "look_every": 12.0}, TARGET])
    implied = plainly(log)
    assert implied["basis"].tolist() == ["declared", "declared", "seen", "seen"]
    assert implied.loc[implied["visit"] == 2, "minutes"].tolist() == [38.0, 42.0]


def test_a_log_that_tells_nothing_gets_usual_intervals(make_log: Make) -> None:
    implied = plainly(make_log([TARGET]))
    assert implied["minutes"].tolist() == [35, 40, 45]
    assert implied["weight"].tolist() == [0.25, 0.5, 0.25]
    assert set(implied["basis"]) == {"assumed"}


def test_repeated_results_are_counted_by_stylist(make_log: Make) -> None:
    visits = [TARGET, TARGET, {**TARGET, "stylist": "S2"}, TARGET]
    checks = [*looked("V0", 50, level=9.0), *looked("V1", 50, level=9.5), *looked("V2", 50, level=9.0)]
    counted = repeated_results(make_log(visits, checks))
    assert counted.to_numpy().tolist() == [["S1", 2, 1], ["S2", 1, 1]]


def test_gaps_seen_scatter_by_themselves(make_log: Make) -> None:
    """Twenty looks ten minutes apart leave little doubt; the same as a habit that is declared leaves much."""
    checks = [*looked("V0", *range(10, 120, 10)), *looked("V1", *range(10, 120, 10))]
    seen = make_log([{"minutes": 120.0}, {"minutes": 120.0}, TARGET], checks)
    declared = make_log([{**TARGET, "look_every": 10.0}])
    spreads = []
    for log in (seen, declared):
        last = implied_looks(log).drop_duplicates("way", keep="last")
        middle = float(last["weight"] @ last["minutes"])
        spreads.append(float(np.sqrt(last["weight"] @ (last["minutes"] - middle) ** 2)))
    # the rinse at 50 minutes is five gaps of 10 on: a scatter of 0.6 and 2 minutes a gap
    assert spreads[0] < 0.7
    assert 1.2 < spreads[1] < 2.0


def test_doubt_takes_its_share_of_visits_that_ran_to_their_time(make_log: Make) -> None:
    timed = {**TARGET, "look_every": 10.0, "stop": "time"}
    log = make_log(
        [
            timed,
            {**timed, "stylist": "S2"},
            {**TARGET, "look_every": 10.0},
            {**timed, "looks": 2.0},
            {**timed, "stop": "condition"},
        ]
    )
    before = implied_looks(log)
    after = doubt_looks(before, log.visits, {"S1": 0.3})
    # another stylist's; stopped at its goal; whose looks were counted; stopped for what somebody saw
    for visit in (1, 2, 3, 4):
        pd.testing.assert_frame_equal(
            after[after["visit"] == visit].reset_index(drop=True),
            before[before["visit"] == visit].reset_index(drop=True),
        )
    own, was = after[after["visit"] == 0], before[before["visit"] == 0]
    blind = own[~own["way"].isin(was["way"])]
    assert blind[["minutes", "weight", "empty"]].to_numpy().tolist() == [[50.0, 0.3, True]]
    kept = own[own["way"].isin(was["way"])]
    np.testing.assert_allclose(kept["weight"], 0.7 * was["weight"])
    np.testing.assert_array_equal(kept["minutes"], was["minutes"])


def test_doubt_that_is_certain_leaves_nothing_implied(make_log: Make) -> None:
    log = make_log([{**TARGET, "look_every": 10.0, "stop": "time"}, {**TARGET, "look_every": 10.0}])
    after = doubt_looks(implied_looks(log), log.visits, {"S1": 1.0})
    assert set(after.loc[~after["empty"], "visit"]) == {1}
