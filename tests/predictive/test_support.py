import pytest

from outcomes.predictive.support import Support

SUPPORT = Support(
    {"minutes": (5.0, 10.0, 60.0, 90.0)},
    {"heat": {"none": 400, "low": 20, "medium": 19, "high": 5, "other": 4}},
    {1: 900, 2: 95, 3: 4, 4: 1},  # within 2 sessions: 99.5 %
)


@pytest.mark.parametrize(
    ("minutes", "word"),
    [
        (10, "inside"),
        (60, "inside"),
        (9.5, "edge"),
        (90, "edge"),
        (5, "edge"),
        (4, "outside"),
        (91, "outside"),
    ],
)
def test_numbers(minutes, word):
    assert SUPPORT.assess({"minutes": minutes}, {}, 1)[0] == word


@pytest.mark.parametrize(
    ("heat", "word"),
    [("low", "inside"), ("medium", "edge"), ("high", "edge"), ("other", "outside"), ("unheard", "outside")],
)
def test_categories(heat, word):
    assert SUPPORT.assess({}, {"heat": heat}, 1)[0] == word


@pytest.mark.parametrize(
    ("needed", "word"), [(1, "inside"), (2, "inside"), (3, "edge"), (4, "edge"), (5, "outside")]
)
def test_sessions(needed, word):
    assert SUPPORT.assess({}, {}, needed)[0] == word


def test_the_worst_decides_and_every_reason_is_given():
    word, notes = SUPPORT.assess({"minutes": 75}, {"heat": "other"}, 5)
    assert word == "outside"
    assert len(notes) == 3
    assert "75 minutes" in notes[0]
    assert "only 4 logged visits had heat other" in notes[1]


def test_inside_needs_no_reason():
    assert SUPPORT.assess({"minutes": 30}, {"heat": "none"}, 2) == ("inside", ())


def test_without_courses_every_plan_is_outside():
    assert Support({}, {}, {}).assess({}, {}, 1)[0] == "outside"


def test_ranges_that_are_the_trades_are_not_called_a_logs():
    starter = Support({"minutes": (15.0, 20.0, 50.0, 55.0)}, {}, {1: 1, 2: 1})
    word, notes = starter.assess({"minutes": 100}, {}, 1, usual=True)
    assert word == "outside"
    assert notes == ("a time of 100 minutes is not usual (usual: 15 to 55)",)
    word, notes = starter.assess({"minutes": 52}, {}, 3, usual=True)
    assert word == "outside"
    assert notes == (
        "a time of 52 minutes is rare (usual: 15 to 55)",
        "it would take more sessions than are usual (2)",
    )
