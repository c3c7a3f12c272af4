from types import SimpleNamespace

import pandas as pd

from outcomes.readings.alike import readings_alike

VISITS = pd.DataFrame(
    {
        "visit": ["a", "b", "c", "d"],
        "zone": "lengths",
        "hair": ["natural", "natural", "coloured", "natural"],
        "heat": "low",
        "peroxide_pct": [6.0, 6.2, 6.0, 9.0],
        "start_level": [3.0, 4.0, 4.0, 4.0],
        "goal_level": [7.0, 9.0, 9.0, 9.0],
        "minutes": [32.0, 33.0, 30.0, 30.0],
        "stop": ["target", "time", "time", "time"],
        "achieved_level": [7.0, 8.0, 8.0, 8.0],
    }
)
CHECKS = pd.DataFrame(
    {
        "visit": ["a", "a", "b", "c"],
        "zone": "lengths",
        "minutes": [12.5, 20.0, 14.0, 10.0],
        "level": [4.5, 6.0, 5.5, 5.0],
    }
)


def test_counts_what_was_gained_in_visits_alike():
    found = readings_alike(SimpleNamespace(visits=VISITS, checks=CHECKS), "natural", 6.0, "low")
    expected = pd.DataFrame(
        {
            "minutes": [15.0, 20.0, 30.0, 35.0],
            "gained": [1.5, 3.0, 4.0, 4.0],
            "kind": ["look", "look", "result", "result"],
            "n": [2, 1, 1, 1],
        }
    )
    pd.testing.assert_frame_equal(found, expected)


def test_nothing_alike_is_an_empty_frame():
    found = readings_alike(SimpleNamespace(visits=VISITS, checks=CHECKS), "lightened", 6.0, "low")
    assert list(found.columns) == ["minutes", "gained", "kind", "n"]
    assert len(found) == 0
