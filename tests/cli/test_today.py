"""`outcomes today`, and a known client in it and in `outcomes sessions`."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

from outcomes.answers.wording import CAUTIONS
from outcomes.cli.main import main
from outcomes.log.write import write_log
from outcomes.predictive.saved import save_model

HEAVY = ("pandas", "scipy", "statsmodels", "sklearn", "matplotlib", "seaborn", "jinja2", "rich", "pyarrow")
PLAN = ["--start", "6.5", "--goal", "9.5", "--hair", "natural", "--peroxide", "6", "--heat", "low"]
PLAN += ["--minutes", "45"]
PAST = "start=3,achieved=6.5,minutes=45,peroxide=6,heat=low,stop=time"


@pytest.fixture(scope="module")
def model(predictive, tmp_path_factory) -> str:
    path = tmp_path_factory.mktemp("model") / "salon.model.json"
    save_model(predictive, path)
    return str(path)


@pytest.fixture(scope="module")
def salon(team, tmp_path_factory):
    """A log, the model of it, and a client of three visits or more."""
    folder = tmp_path_factory.mktemp("salon")
    write_log(team.log, folder / "log")
    save_model(team.model.predictive_, folder / "m.json")
    counts = team.log.visits["client"].astype(str).value_counts()
    return str(folder / "m.json"), str(folder / "log"), sorted(counts[counts >= 3].index)[0]


def _told(capsys, *arguments):
    assert main(list(arguments)) == 0
    return capsys.readouterr().out


def _refused(capsys, *arguments):
    assert main(list(arguments)) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert printed.err.count("\n") == 1
    return printed.err


@pytest.mark.parametrize("command", ["today", "sessions"])
def test_a_past_is_told_without_a_heavy_import(model, command):
    code = (
        "import sys; from outcomes.cli.main import main; code = main(sys.argv[1:]); "
        f"sys.exit(code or bool(set(sys.modules) & set({HEAVY!r})))"
    )
    command = [sys.executable, "-c", code, command, model, *PLAN, "--past", PAST]
    assert subprocess.run(command, capture_output=True, check=False).returncode == 0


def test_looks_with_chances_and_cautions(capsys, model):
    text = _told(capsys, "today", model, *PLAN, "--every", "15")
    rows = [line.split()[0] for line in text.splitlines() if line.strip()[:2].isdigit() and "%" in line]
    assert rows == ["15", "30", "45"]
    flat = " ".join(text.split())
    assert all(caution in flat for caution in CAUTIONS)
    answer = json.loads(_told(capsys, "today", model, *PLAN, "--every", "15", "--json"))
    assert [look["minutes"] for look in answer["looks"]] == [15.0, 30.0, 45.0]
    assert flat.startswith(answer["sentence"])


def test_sessions_still_to_come(capsys, model):
    new = json.loads(_told(capsys, "sessions", model, *PLAN, "--json"))
    slow = PAST.replace("achieved=6.5", "achieved=5.5")
    known = json.loads(_told(capsys, "sessions", model, *PLAN, "--past", slow, "--json"))
    assert "client" not in new
    assert known["client"]["ratio"] < 1.0
    assert known["sessions"]["1"] < new["sessions"]["1"]
    assert known["inputs"]["past"][0]["achieved"] == 5.5
    text = _told(capsys, "sessions", model, *PLAN, "--past", slow)
    assert "more session" in text.splitlines()[0]
    assert f"{known['client']['ratio']:.2f} times as fast" in " ".join(text.split())


def test_a_client_of_a_log(capsys, salon):
    model, log, client = salon
    found = json.loads(_told(capsys, "sessions", model, *PLAN, "--client", client, "--log", log, "--json"))
    assert found["client"]["visits"] == len(found["inputs"]["past"]) >= 3
    assert found["client"]["low"] < found["client"]["ratio"] < found["client"]["high"]
    text = _told(capsys, "sessions", model, *PLAN, "--client", client, "--log", log)
    assert "as at the last visit: " in text
    assert client not in text
    looks = json.loads(_told(capsys, "today", model, *PLAN, "--client", client, "--log", log, "--json"))
    assert looks["inputs"]["past"] == found["inputs"]["past"]


@pytest.mark.parametrize(
    ("extra", "wrong"),
    [
        (["--past", "start=3"], "past session 1: achieved, minutes, peroxide, heat, stop: not given"),
        (["--client", "C1"], "--client: found no --log beside it"),
        (["--log", "x"], "--log: found no --client beside it"),
        (["--client", "C1", "--log", "x", "--past", PAST], "--client: found --past beside it"),
        (["--map", "x.toml"], "--map x.toml: found no log"),
        (["--client", "C1", "--log", "nowhere"], "nowhere"),
    ],
)
@pytest.mark.parametrize("command", ["today", "sessions"])
def test_options_that_do_not_go_together(capsys, model, command, extra, wrong):
    assert wrong in _refused(capsys, command, model, *PLAN, *extra)


def test_a_client_nobody_knows(capsys, salon):
    model, log, client = salon
    said = _refused(capsys, "today", model, *PLAN, "--client", f"{client}0", "--log", log)
    assert "expected one of its 415 codes; did you mean C" in said


def test_plans_side_by_side(capsys, model):
    options = ["--compare", "heat=none", "--compare", "minutes=170"]
    text = _told(capsys, "sessions", model, *PLAN, *options)
    assert "  C  low heat, 170 minutes: outside what the log covers" in text
    assert "A takes fewer sessions than B for" in text
    assert "C for" not in text
    flat = " ".join(text.split())
    assert "is no advice" in flat
    assert all(caution in flat for caution in CAUTIONS)
    answer = json.loads(_told(capsys, "sessions", model, *PLAN, *options, "--json"))
    assert [one["support"] for one in answer["options"]] == ["inside", "inside", "outside"]
    assert [(pair["first"], pair["second"]) for pair in answer["pairs"]] == [
        ("low heat, 45 minutes", "no heat, 45 minutes")
    ]


def test_outside_has_no_number_to_say(capsys, model):
    text = _told(capsys, "today", model, *PLAN[:-1], "170")
    assert not any(letter.isdigit() for letter in text.split("\n\n")[0])
    assert "worth" not in text
