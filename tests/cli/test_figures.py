"""Chair time, price, calendar and condition beside a question at the command line."""

import json
import subprocess
import sys

import pytest

from outcomes.cli.main import main
from outcomes.predictive.saved import save_model

ASKED = ["--start", "3", "--goal", "9.5", "--hair", "natural", "--peroxide", "6", "--heat", "low"]
ASKED += ["--minutes", "45"]
FIGURES = ["--price", "95", "--weeks-between", "8", "--condition", "4", "--floor", "3"]


@pytest.fixture(scope="module")
def model(costed, tmp_path_factory) -> str:
    path = tmp_path_factory.mktemp("costed") / "salon.model.json"
    save_model(costed, path)
    return str(path)


@pytest.fixture(scope="module")
def bare(predictive, tmp_path_factory) -> str:
    path = tmp_path_factory.mktemp("bare") / "salon.model.json"
    save_model(predictive, path)
    return str(path)


def _json(capsys, *arguments):
    assert main(["sessions", *arguments, "--json"]) == 0
    return json.loads(capsys.readouterr().out)


def test_json_has_what_was_asked_and_what_the_log_tells(model, capsys):
    found = _json(capsys, model, *ASKED, *FIGURES)
    assert list(found)[-4:] == ["chair_time", "cost", "calendar", "condition"]
    for name in ("chair_time", "cost", "calendar", "condition"):
        assert {"median", "low", "high", "coverage", "entered", "rests_on"} <= set(found[name])
    assert found["cost"]["median"] == 95.0 * found["median"]
    assert found["calendar"]["median"] == 8.0 * (found["median"] - 1)
    assert found["calendar"]["entered"] == ["weeks_between"]
    assert found["chair_time"]["entered"] == []


def test_without_figures_the_log_s_alone(model, bare, capsys):
    told = set(_json(capsys, model, *ASKED)) - set(_json(capsys, bare, *ASKED))
    assert told == {"chair_time", "calendar"}


def test_the_answer_itself_stays_as_it_is(model, bare, capsys):
    with_figures, without = _json(capsys, model, *ASKED, *FIGURES), _json(capsys, bare, *ASKED)
    assert {name: with_figures[name] for name in without} == without


def test_text_has_them_above_what_was_asked(model, capsys):
    assert main(["sessions", model, *ASKED, *FIGURES]) == 0
    lines = capsys.readouterr().out.splitlines()
    starts = [
        "  level read",
        "  strand condition after",
        "  stops first",
        "  chair time",
        "  cost",
        "  calendar",
    ]
    places = [next(i for i, line in enumerate(lines) if line.startswith(start)) for start in starts]
    assert places == sorted(places)
    assert places[-1] < next(i for i, line in enumerate(lines) if line.startswith("  asked"))
    assert "  cost          about 190 in the currency of your price; 80 % band 95 to 285;" in lines
    assert max(map(len, lines)) <= 80
    assert sum(line.startswith("  ! ") for line in lines) == 5


def test_condition_is_told_by_one_model_alone(model, capsys):
    average = "points in a first session"
    assert main(["sessions", model, *ASKED]) == 0
    assert average in capsys.readouterr().out
    assert main(["sessions", model, *ASKED, "--condition", "4"]) == 0
    text = capsys.readouterr().out
    assert average not in text
    assert text.count("the chances of sessions leave the floor out") == 1


def test_the_sessions_followed_are_named_beside_the_chance_within_them(model, capsys):
    for limit in ("1", "3"):
        asked = [*ASKED, "--condition", "4", "--limit", limit]
        assert _json(capsys, model, *asked)["condition"]["stops_within_sessions"] == int(limit)
        assert main(["sessions", model, *asked]) == 0
        said = " ".join(capsys.readouterr().out.split())
        assert f"before the goal is read, within {limit} session{'s' if limit == '3' else ''}:" in said


def test_outside_nothing_has_a_middle(model, capsys):
    found = _json(capsys, model, *ASKED[:-1], "120", *FIGURES)
    assert found["support"] == "outside"
    assert [found[name]["median"] for name in ("chair_time", "cost", "calendar", "condition")] == [None] * 4
    assert found["condition"]["stops_first"] is None
    assert main(["sessions", model, *ASKED[:-1], "120", *FIGURES]) == 0
    text = capsys.readouterr().out
    assert text.count("wide band") == 5
    assert "about" not in text.split("  asked")[0]


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--price", "free"], "outcomes: --price: found 'free'; expected a number"),
        (["--price=0.001"], "outcomes: --price: found 0.001; expected 0.01 to 10,000,000"),
        (["--hours", "1"], "hours: found no price beside it"),
        (
            ["--minutes-per-visit", "2000"],
            "outcomes: --minutes-per-visit: found 2000; expected 10 to 720 minutes",
        ),
        (["--weeks-between", "0"], "outcomes: --weeks-between: found 0"),
        (["--condition", "7"], "condition: found 7; expected 2 to 5"),
        (["--condition", "2", "--floor", "4"], "floor: found 4, and condition 2 is below it already"),
        (["--floor", "2"], "floor: found no condition beside it"),
    ],
)
def test_a_bad_figure_is_one_line(model, capsys, options, said):
    assert main(["sessions", model, *ASKED, *options]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert printed.err.count("\n") == 1
    assert said in printed.err


def test_a_plan_beside_it_is_named_by_its_own_option(model, capsys):
    assert main(["sessions", model, *ASKED, "--compare", "peroxide=13"]) == 2
    assert capsys.readouterr().err.startswith("outcomes: --compare: peroxide: found 13 %; expected at most")
    assert main(["sessions", model, *ASKED, "--compare", "13 %"]) == 2
    assert capsys.readouterr().err.startswith("outcomes: --compare: found '13 %'; expected peroxide")


def test_a_model_without_condition_says_so(bare, capsys):
    assert main(["sessions", bare, *ASKED, "--condition", "4"]) == 2
    assert "fit such a log anew, or leave --condition out" in capsys.readouterr().err


def test_a_file_of_plans_takes_no_figures(model, capsys):
    assert main(["sessions", model, "--cases", "plans.csv", "--weeks-between", "8"]) == 2
    assert "--cases: found --weeks-between beside it" in capsys.readouterr().err


def test_plans_side_by_side_each_have_their_figures(model, capsys):
    """What each takes is what it takes alone."""
    figures = ["--price", "95", "--condition", "4"]
    assert main(["sessions", model, *ASKED, "--compare", "heat=medium", *figures, "--json"]) == 0
    first, second = json.loads(capsys.readouterr().out)["options"]
    assert main(["sessions", model, *ASKED, *figures, "--json"]) == 0
    alone = json.loads(capsys.readouterr().out)
    for name in ("chair_time", "cost", "calendar", "condition"):
        assert first[name] == alone[name]
    assert second["cost"] != first["cost"] or second["condition"] != first["condition"]
    assert main(["sessions", model, *ASKED, "--compare", "heat=medium", *figures]) == 0
    assert capsys.readouterr().out.count("rests on your price of 95 a visit") == 2


def test_a_client_who_goes_on_is_told_of_later_visits(model, capsys):
    past = "start=3,achieved=6.5,minutes=45,peroxide=6,heat=low,stop=time"
    found = _json(capsys, model, "--start", "6.5", *ASKED[2:], "--past", past)
    assert found["chair_time"]["median"] == 145.0 * found["median"]


def test_no_heavy_import(model):
    code = (
        "import sys; from outcomes.cli.main import main; main(sys.argv[1:]); "
        "sys.exit(bool(set(sys.modules) & {'pandas', 'scipy', 'statsmodels', 'matplotlib'}))"
    )
    command = [sys.executable, "-c", code, "sessions", model, *ASKED, *FIGURES]
    assert subprocess.run(command, capture_output=True, check=False).returncode == 0
