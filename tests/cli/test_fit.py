"""`outcomes fit` is thin: reading and fitting are tested elsewhere and stood in for here."""

import sys
from dataclasses import replace
from types import ModuleType, SimpleNamespace

import pytest

from outcomes.cli.main import main
from outcomes.errors import FitError, InputError
from outcomes.predictive.saved import SalonModel, load_model
from tests.show.figures.test_calibration import invented


@pytest.fixture
def stood_in(monkeypatch, predictive):
    """A log and its fit; set `stood_in.error` to have the fit fail."""
    state = SimpleNamespace(error=None, seen=None, found=None)

    def read_log(path, **reading):
        if path == "nothing":
            raise InputError("nothing: found no visits; name a folder that holds visits.csv")
        counts = {
            "visits": {"in": 1610, "used": 1600, "set_aside": 10},
            "checks": {"in": 9, "used": 9, "set_aside": 0},
        }
        return SimpleNamespace(source=path, counts=counts)

    def fit_salon(log, *, doing):
        state.seen = log
        if state.error is not None:
            raise state.error
        lift = predictive if state.found is None else replace(predictive, audit=state.found.to_dict())
        return SalonModel(lift, {}, {"delta_e": "nobody measures colour"})

    for name, content in (
        ("outcomes.calibration.salon", {"fit_salon": fit_salon}),
        ("outcomes.log.read", {"read_log": read_log}),
    ):
        module = ModuleType(name)
        vars(module).update(content)
        monkeypatch.setitem(sys.modules, name, module)
    return state


def test_saves_what_it_fitted_and_says_what_it_used(stood_in, capsys, tmp_path, predictive):
    target = tmp_path / "salon.model.json"
    assert main(["fit", "salon", "--to", str(target)]) == 0
    printed = capsys.readouterr()
    assert load_model(target).lift.basis == predictive.basis
    assert stood_in.seen.source == "salon"
    assert "1,600 visits, 530 clients, 3 stylists; power shape 0.62 (0.59 to 0.65)" in printed.out
    assert "rows set aside: 10 of visits; to see why:\n    outcomes check salon\n" in printed.out
    assert "note: implied looks: 120" in printed.out
    assert main(["fit", "salon", "--dates", "day-first", "--to", str(target)]) == 0
    assert "\n    outcomes check salon --dates day-first\n" in capsys.readouterr().out
    assert "fade by colour difference is left out: nobody measures colour" in printed.out
    assert printed.err == ""


def test_what_is_off_is_said_where_it_says_see_below(stood_in, capsys, tmp_path):
    stood_in.found = invented()
    assert main(["fit", "salon", "--to", str(tmp_path / "salon.model.json")]) == 0
    said = " ".join(capsys.readouterr().out.split())
    at = said.index("One group is off: see below.")
    assert "! stylist S02, first readings (40 clients): hair read lighter than expected" in said[at:]


def test_a_failed_fit_writes_nothing(stood_in, capsys, tmp_path):
    stood_in.error = FitError("lift: found no visit with a result; look at what was set aside")
    assert main(["fit", "salon", "--to", str(tmp_path / "m.json")]) == 2
    assert capsys.readouterr().err.count("\n") == 1
    assert list(tmp_path.iterdir()) == []


def test_an_unusable_log_writes_nothing(stood_in, capsys, tmp_path):
    assert main(["fit", "nothing", "--to", str(tmp_path / "m.json")]) == 2
    assert "found no visits" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("target", [".", "none/m.json"])
def test_a_place_that_cannot_be_written_is_said_before_the_fit(stood_in, capsys, tmp_path, target):
    assert main(["fit", "salon", "--to", str(tmp_path / target)]) == 2
    assert "name a file in a folder that exists" in capsys.readouterr().err
    assert stood_in.seen is None


def test_the_log_is_never_replaced(stood_in, capsys, tmp_path):
    folder = tmp_path / "salon"
    folder.mkdir()
    for log, target in ((folder, folder / "visits.csv"), (folder / "visits.csv", folder / "visits.csv")):
        (folder / "visits.csv").write_text("a year of visits")
        assert main(["fit", str(log), "--to", str(target)]) == 2
        assert "would replace the log itself" in capsys.readouterr().err
        assert (folder / "visits.csv").read_text() == "a year of visits"


@pytest.mark.parametrize("name", ["washes.csv", "other.xlsx", "notes.txt"])
def test_no_other_file_is_replaced(stood_in, capsys, tmp_path, name):
    """Nor a table beside the visits file that was named."""
    (tmp_path / name).write_text("somebody's work")
    assert main(["fit", str(tmp_path / "visits.csv"), "--to", str(tmp_path / name)]) == 2
    assert "name a new file" in capsys.readouterr().err
    assert stood_in.seen is None
    assert (tmp_path / name).read_text() == "somebody's work"


def test_an_older_model_is_replaced(stood_in, capsys, tmp_path):
    target = tmp_path / "m.json"
    for _ in range(2):
        assert main(["fit", "salon", "--to", str(target)]) == 0
    target.write_text("")
    assert main(["fit", "salon", "--to", str(target)]) == 0
    assert target.stat().st_size > 1000
