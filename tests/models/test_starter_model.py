"""Before and soon after the first visit: wide, narrowing, labelled; what the trade does lies inside."""

import numpy as np
import pytest

from outcomes.answers.sessions import sessions
from outcomes.cli.main import main
from outcomes.demo.simulate import simulate_log
from outcomes.demo.worlds import world
from outcomes.models.lift import LiftModel
from outcomes.models.starter import starter_table, usual_range
from outcomes.models.starter_model import NOTE, STARTER_VISITS, starter_predictive
from outcomes.predictive.rates import rate_tables
from outcomes.predictive.saved import load_model
from tests.models.logs import as_log

SIZES = (0, 5, 30)


def grown(size, seed):
    tables = simulate_log(world("plain"), 60, seed)[0]
    return LiftModel().fit(as_log(tables | {"visits": tables["visits"].iloc[:size]})).predictive_


def log_rates(predictive):
    """log R of natural hair at level 3, 6 %, medium heat, in a new client's visit."""
    tables = rate_tables(predictive, (6.0,))
    draws, rng = predictive.draws, np.random.default_rng(1)
    fixed = tables.base + tables.heat[2] + tables.peroxide[6.0] + tables.start[4] + tables.hair[0]
    spread = np.sqrt(sum(draws[f"sd_{name}"] ** 2 for name in ("client", "visit", "stylist")))
    return fixed[:-1, None] + spread[:, None] * rng.standard_normal((len(spread), 200))


def width(predictive):
    low, high = np.quantile(log_rates(predictive), [0.1, 0.9])
    return high - low


def test_bands_narrow_as_visits_come():
    widths = {size: np.mean([width(grown(size, seed)) for seed in range(4)]) for size in SIZES}
    assert widths[0] > 1.3 * widths[5]
    assert widths[5] > widths[30]
    # the spread of clients, visits and stylists alone: 1.28 * 2 * hypot(0.20, 0.14, 0.10)
    assert widths[30] > 0.9 * 2 * 1.2816 * np.sqrt(0.2**2 + 0.14**2 + 0.1**2)


@pytest.mark.parametrize("size", SIZES)
def test_small_logs_are_labelled(size):
    predictive = grown(size, 1)
    assert predictive.basis.starter
    assert predictive.basis.visits == size
    assert NOTE in predictive.notes
    answer = sessions(predictive, 3, 9, "natural", 6, "medium", 45)
    assert answer.support == "edge"
    assert "usual in the trade" in answer.sentence
    assert answer.to_dict()["basis"]["starter"] is True


def test_a_log_of_its_own_is_not():
    tables = simulate_log(world("plain"), STARTER_VISITS + 10, 1)[0]
    predictive = LiftModel(shapes=("power",)).fit(as_log(tables)).predictive_
    assert not predictive.basis.starter
    assert "starter" not in predictive.basis.to_dict()


def test_what_the_trade_says_lies_inside():
    """Natural 2 to 3, 20 volume, foils, medium heat can reach 9 to 10: common practice, no source."""
    low, high = np.exp(np.quantile(log_rates(starter_predictive(400, 1)), [0.1, 0.9]))
    assert low < 6.5 < high
    assert 1.5 < low < 4
    assert high < 15


def test_a_pale_result_is_as_often_one_session_as_a_couple():
    """Natural 2 to 3 can reach 9 to 10 at once, white often takes a couple: common practice, no source."""
    chances = sessions(starter_predictive(400, 1), 2.5, 9, "natural", 6, "medium", 45).sessions
    assert 0.2 < chances[0] < 0.8
    assert chances[0] + chances[1] > 0.5
    assert chances[1] > 0.15


def test_draws_are_those_of_the_table():
    predictive, table = starter_predictive(4000, 3), starter_table()
    names = list(predictive.design.names)
    peroxide = predictive.draws["coefficients"][:, names.index("peroxide")]
    assert peroxide.mean() == pytest.approx(table.loc["coefficient:peroxide", "mean"], abs=0.03)
    assert peroxide.std() == pytest.approx(table.loc["coefficient:peroxide", "sd"], rel=0.05)
    logs = np.log(predictive.draws["sd_client"])
    assert logs.mean() == pytest.approx(table.loc["log_group_sd:client", "mean"], abs=0.05)
    assert logs.std() == pytest.approx(table.loc["log_group_sd:client", "sd"], rel=0.05)
    assert predictive.draws["saturating"].mean() == 0.5


def test_a_plan_beyond_what_is_usual_is_outside():
    answer = sessions(starter_predictive(400, 1), 1, 9, "natural", 12, "none", 100)
    assert answer.support == "outside"
    assert answer.median is None
    assert not any(letter.isdigit() for letter in answer.sentence)
    assert usual_range("minutes") == (15.0, 55.0)


def test_a_model_from_no_log_at_all(tmp_path, capsys):
    target = tmp_path / "starter.model.json"
    assert main(["fit", "--starter", "--to", str(target)]) == 0
    assert "common practice, no source" in capsys.readouterr().out
    assert load_model(target).lift.basis.starter
    words = {"start": "3", "goal": "9", "hair": "natural", "peroxide": "6", "heat": "medium", "minutes": "45"}
    plan = [part for name, value in words.items() for part in (f"--{name}", value)]
    assert main(["sessions", str(target), *plan]) == 0
    assert "starter values of the trade" in capsys.readouterr().out


@pytest.mark.parametrize("words", [["fit", "--to", "m.json"], ["fit", "log", "--starter", "--to", "m.json"]])
def test_either_a_log_or_none(words, capsys):
    assert main(words) == 2
    assert "either LOG or --starter" in capsys.readouterr().err
