from dataclasses import replace

from outcomes.answers.condition import ConditionAnswer, ConditionBand
from outcomes.show.condition_text import condition_lines

ANSWER = ConditionAnswer(
    before=4,
    floor=2,
    sessions=(
        ConditionBand(4, 3, 4, 0.99, 0.001),
        ConditionBand(3, 2, 4, 0.97, 0.02),
        ConditionBand(3, 3, 3, 0.85, 0.3),
    ),
    end=ConditionBand(3, 2, 4, 0.97, 0.02),
    stops_first=0.12,
    coverage=0.8,
    entered=("condition",),
    rests_on="120 visits",
    notes=("what is left out", "one thing", "another"),
)


def test_after_each_session_and_what_stops_a_course():
    assert condition_lines(ANSWER, (0.2, 0.5, 0.25, 0.05)) == [
        "  strand condition after each session, 5 strong to 1 breaking",
        "    before      4",
        "    1           4     3 to 4      below 2: fewer than 1 in 100",
        "    2           3     2 to 4      below 2: about 1 in 50",
        "    3           3     3           below 2: about 3 in 10",
        "",
        "  stops first   strand condition falls below 2 before the goal is read, within 3 sessions: about "
        "1 in 10; rests on 120 visits",
        "  sessions      what is left out",
        "  assumed       one thing; another",
    ]


def test_sessions_to_which_hardly_anybody_comes_are_left_out():
    lines = condition_lines(ANSWER, (0.5, 0.498, 0.002, 0.0))
    assert [line[:8] for line in lines if line.startswith("    ")] == ["    befo", "    1   ", "    2   "]


def test_outside_the_log_a_wide_band_alone():
    wide = replace(ANSWER, end=ConditionBand(None, 1, 5, None, None), stops_first=None)
    text = "\n".join(condition_lines(wide, (0.2, 0.5, 0.25, 0.05)))
    assert "at the end  wide band 1 to 5" in text
    assert " in 10" not in text
    assert "stops first" not in text
    assert "left out" not in text  # there are no chances from which anything is
