import numpy as np
import pytest

from outcomes.calibration.folds import Folds, split_clients
from outcomes.demo.simulate import simulate_log
from outcomes.demo.worlds import world
from outcomes.models.arrange import fit_arranged
from outcomes.models.lift import LiftModel
from tests.models.logs import as_log

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def folds():
    log = as_log(simulate_log(world("plain"), 300, 3)[0])
    return Folds.of(LiftModel(shapes=("power",)).fit(log))


def test_folds_are_alike_in_clients_and_visits():
    visits = np.random.default_rng(1).geometric(0.4, 503)
    fold = split_clients(visits, 5, 1)
    assert np.bincount(fold).max() - np.bincount(fold).min() <= 1
    total = np.bincount(fold, visits)
    assert total.max() - total.min() <= visits.max()
    assert (split_clients(visits, 5, 1) == fold).all()
    assert (split_clients(visits, 5, 2) != fold).any()


def test_every_reading_is_in_its_client_s_fold(folds):
    readings = folds.model.readings_
    labels = np.array(readings.group_labels["client"])
    of_client = dict(zip(sorted(labels), folds.fold, strict=True))
    expected = [of_client[client] for client in readings.visits["client"].to_numpy()[readings.visit]]
    assert (folds.of_reading == expected).all()


def test_a_fold_s_fit_does_not_know_its_clients(folds):
    fit = folds.fit_without(0, "power")
    labels = np.array(folds.model.readings_.group_labels["client"])
    assert set(fit.group_effects["client"].index) == set(labels[folds.fold != 0])
    whole = set(folds.model.fit_.group_effects["client"].index)
    assert whole == set(labels)


def test_a_fold_s_fit_expects_its_clients_as_one_climbed_to_its_end_does(folds):
    quick = [folds.fit_without(number, "power") for number in range(folds.count)]
    ended = [
        fit_arranged(
            folds.arranged.part(folds.of_reading != number),
            "power",
            use_prior=True,
            start=folds.model.fit_,
            tolerance=1e-3,
        )
        for number in range(folds.count)
    ]
    first = folds.told.first_visit
    one, two = (folds.held_out(fits).follow(1024, 1, visits=1).log_chance[first] for fits in (quick, ended))
    assert not np.array_equal(one, two)
    # a tenth of the spread between clients, and of the sum's own standard error
    assert (one - two).std() < 0.1 * two.std()
    assert abs((one - two).sum()) < 0.1 * np.sqrt(len(two)) * two.std()
    # the errors are the whole log's, by the square root of a quarter more
    whole = folds.model.fit_.joint
    for fit in quick:
        assert fit.joint.outer_names == whole.outer_names
        assert fit.joint.outer_covariance == pytest.approx(1.25 * whole.outer_covariance, rel=1e-6)


def test_each_client_is_expected_by_its_own_fold_s_fit(folds):
    fits = [folds.fit_without(number, "power") for number in range(2)]
    held = folds.held_out(fits)
    both = held.follow(512, 1, visits=1).log_chance
    swapped = folds.held_out(fits[::-1]).follow(512, 1, visits=1).log_chance
    first = folds.told.first_visit
    assert (both[first[folds.fold > 1]] == 0).all()  # nobody has told anything of them
    known = first[folds.fold <= 1]
    assert (both[known] != 0).all()
    assert not np.allclose(both[known], swapped[known], atol=1e-3)
    # a fit that has seen the clients expects them better, on the whole
    assert swapped[known].sum() > both[known].sum()


def test_a_mixture_of_folds_has_draws_of_both(folds):
    held = folds.held_out([folds.fit_without(0, "power")])
    other = held.predictives[0]
    changed = {**other.draws, "shape": np.full_like(other.draws["shape"], 3.0)}
    import dataclasses

    second = dataclasses.replace(held, predictives=(dataclasses.replace(other, draws=changed),))
    mixed = held.mixed(second, 0.25).predictives[0]
    assert (mixed.draws["shape"] == 3.0).mean() == pytest.approx(0.25, abs=0.01)
