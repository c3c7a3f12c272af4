from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from outcomes.models import describe


@pytest.fixture
def visits():
    return pd.DataFrame(
        {
            "client": ["a", "a", "b", "c"],
            "stylist": ["S1", "S1", "S2", "S1"],
            "hair": ["natural", "lightened", "natural", "natural"],
            "heat": ["low", "low", "none", "low"],
            "texture": ["fine", "fine", None, "coarse"],
            "zone": ["lengths"] * 4,
            "wrap": [None] * 4,
            "mix_ratio": [2.0, np.nan, 1.5, 2.0],
            "start_level": [3.0, 6.0, 4.0, 5.0],
            "goal_level": [8.0, 8.0, 9.0, 9.0],
            "peroxide_pct": [6.0, 6.0, 9.0, 6.0],
            "minutes": [40.0, 30.0, 50.0, 45.0],
            "course": [0, 0, 1, 2],
            "session": [1, 2, 1, 1],
            "date": pd.to_datetime(["2024-03-14", "2024-05-02", "2024-06-30", "2024-01-09"]),
        }
    )


def test_basis(visits):
    basis = describe.basis_of(visits)
    assert (basis.visits, basis.clients, basis.stylists, basis.calibrated) == (4, 3, 2, False)
    assert basis.until == "2024-06"
    assert describe.basis_of(visits.iloc[:0]).until == ""


def test_support_counts_visits_and_sessions(visits):
    support = describe.support_of(visits)
    assert support.categories["heat"] == {"none": 1, "low": 3, "medium": 0, "high": 0}
    assert support.categories["stylist"] == {"S1": 3, "S2": 1}
    assert support.sessions == {1: 2, 2: 1}
    assert support.numbers["gain"][0] == 2.0
    assert support.numbers["gain"][3] == 5.0
    assert support.numbers["minutes"] == pytest.approx(
        (30.0, 30.3, 49.85, 50.0)
    )  # linear between order statistics


def test_case_mix_is_by_hair_and_keeps_what_is_not_given(visits):
    mix = describe.case_mix(visits)
    assert dict(mix["natural"]["texture"]) == pytest.approx({"fine": 1 / 3, "coarse": 1 / 3, None: 1 / 3})
    assert mix["lightened"] == {
        "texture": (("fine", 1.0),),
        "zone": (("lengths", 1.0),),
        "mix_ratio": ((None, 1.0),),
    }
    assert mix["coloured"]["mix_ratio"] == ((1.5, 0.25), (2.0, 0.5), (None, 0.25))  # nobody's: all visits


def test_many_different_numbers_become_a_few(visits):
    many = pd.concat([visits] * 50, ignore_index=True).assign(
        mix_ratio=np.linspace(1, 3, 200), hair="natural"
    )
    shares = describe.case_mix(many)["natural"]["mix_ratio"]
    assert len(shares) == 8
    assert sum(share for _, share in shares) == pytest.approx(1.0)
    assert sum(value * share for value, share in shares) == pytest.approx(2.0, abs=1e-3)


def test_later_hair_needs_enough_sessions(visits):
    assert describe.later_hair(visits)["natural"] == {"lightened": 1.0}
    many = pd.concat([visits.iloc[:2].assign(course=i) for i in range(40)], ignore_index=True)
    many.loc[many["course"] < 10, "hair"] = "natural"
    assert describe.later_hair(many)["natural"] == {"natural": 0.25, "lightened": 0.75}


def test_look_gaps_by_stylist(visits):
    typical = pd.DataFrame(
        {
            "stylist": [None, None, "S1"],
            "minutes": [5.1, 10.0, 10.0],
            "share": [0.25, 0.75, 1.0],
            "n": [40, 40, 20],
        }
    )
    gaps = describe.look_gap_shares(typical, ("S1", "S2"))
    assert gaps.minutes.tolist() == [5.0, 10.0]
    assert gaps.share.tolist() == [0.25, 0.75]
    assert gaps.by_stylist.tolist() == [[0.0, 1.0], [0.25, 0.75]]


def test_no_looks_at_all():
    gaps = describe.look_gap_shares(pd.DataFrame({"stylist": [], "minutes": [], "share": []}), ("S1", "S2"))
    assert gaps.minutes.shape == (0,)
    assert gaps.by_stylist.shape == (2, 0)


def test_visits_of_codes(visits):
    assert describe.code_visits(visits, "stylist", ("S2", "S1", "S9")).tolist() == [1, 3, 0]


def test_how_stylists_work():
    """S1 left a fifth of the visits without written looks to the clock; half of theirs have none."""
    visits = pd.DataFrame({"visit": ["V0", "V1", "V2", "V3", "V4"], "zone": "all", "stop": "time"})
    visits = visits.assign(stylist=["S1"] * 4 + ["S2"], minutes=45.0, goal_level=9.0)
    checks = pd.DataFrame({"visit": ["V0", "V1", "V4"], "zone": "all", "minutes": 20.0, "level": 6.0})
    log = SimpleNamespace(visits=visits, checks=checks)
    practice = describe.practice_of(log, ("S1", "S2", "S3"), {"S2": True}, {"S1": 0.2})
    assert practice.reread.tolist() == [0.0, 1.0, 0.0]
    assert practice.unseen.tolist() == [0.1, 0.0, 0.0]
    plain = describe.practice_of(log, ("S1", "S2"), {"S1": False}, {})
    assert plain.reread.shape == plain.unseen.shape == (0,)
