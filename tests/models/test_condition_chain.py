"""What sessions take off condition: known losses found again, clients left out, and logs that tell little."""

import numpy as np
import pandas as pd
import pytest

from outcomes.models.condition_chain import condition_losses
from outcomes.predictive.condition_chain import CLIENTS, ConditionLosses


def invented(n=1500, seed=1, client=0.2, mean=0.3):
    """Courses of up to three sessions; a session takes off 0.3 points, more with strength, with an sd of 0.4.

    A quarter of hair that lost gets a point back until the next session.
    """
    rng = np.random.default_rng(seed)
    rows = []
    for course in range(n // 2):
        own = client * rng.standard_normal()
        opening = state = int(rng.integers(3, 6))
        peroxide, hair = rng.choice([3.0, 6.0, 9.0]), rng.choice(["natural", "coloured"])
        for session in range(1, int(rng.integers(1, 4)) + 1):
            loss = mean + 0.3 * np.log(peroxide / 6) + own + 0.4 * rng.standard_normal()
            after = max(state - max(int(np.floor(loss + 0.5)), 0), 1)
            rows.append(
                {
                    "client": f"C{course}",
                    "stylist": "S1",
                    "course": course,
                    "session": session,
                    "previous": len(rows) - 1 if session > 1 else -1,
                    "later_session": session > 1,
                    "minutes": rng.uniform(20, 50),
                    "peroxide_pct": peroxide,
                    "heat": rng.choice(["none", "low"]),
                    "hair": hair if session == 1 else "lightened",
                    "condition_before": float(state),
                    "condition_after": float(after),
                }
            )
            state = after + int(after < opening and rng.random() < 0.25)
    return pd.DataFrame(rows)


def shares(losses, rows):
    """Stated chances of 1 to 5 of each row, (n, 5)."""
    columns = ["minutes", "peroxide_pct", "heat", "hair", "later_session"]
    weight = CLIENTS[1] / len(losses.coefficients)
    found = [
        np.einsum("c,dcba->ba", weight, losses.after(*row)) for row in rows[columns].itertuples(index=False)
    ]
    return np.array(found)[np.arange(len(rows)), rows["condition_before"].astype(int) - 1]


@pytest.fixture(scope="module")
def learned():
    return condition_losses(invented())


def test_known_losses_are_found_again(learned):
    losses, notes = learned
    middle = losses.coefficients.mean(axis=0)
    assert middle[2] == pytest.approx(0.3, abs=0.08)  # for log(peroxide / 6)
    assert middle[1] == pytest.approx(0.0, abs=0.05)  # minutes do nothing here
    assert losses.sd_session == pytest.approx(0.4, abs=0.06)
    assert losses.sd_client == pytest.approx(0.2, abs=0.1)
    assert losses.recovery[0].tolist() == [0, 0, 1, 0, 0]
    assert losses.recovery[1] == pytest.approx([0, 0, 0.75, 0.25, 0], abs=0.06)
    assert notes == ()


def test_clients_left_out_come_out_as_stated(learned):
    """Of some 1,500 other visits, shares of each condition: three standard errors of what is stated."""
    rows = invented(seed=2)
    stated = shares(learned[0], rows)
    assert stated.sum(axis=1) == pytest.approx(1.0)
    came = np.array([(rows["condition_after"] == c).mean() for c in range(1, 6)])
    error = np.sqrt((stated * (1 - stated)).mean(axis=0) / len(rows))
    assert (abs(came - stated.mean(axis=0)) < 3 * error + 0.005).all()
    for strong in (3.0, 9.0):
        some = (rows["peroxide_pct"] == strong).to_numpy()
        lost = (rows["condition_after"] < rows["condition_before"])[some].mean()
        kept = stated[some, rows["condition_before"][some].astype(int) - 1].mean()
        assert 1 - kept == pytest.approx(lost, abs=0.05)


def test_invented_salons_come_out_as_stated(team):
    """Half of the clients tell, the others come; here losses are yes or no, which the fit doesn't know."""
    visits = team.model.readings_.visits
    number = visits["client"].str.extract(r"(\d+)")[0].astype(int)
    half = visits[(number % 2 == 0).to_numpy()]
    place = pd.Series(np.arange(len(half)), index=half.index)
    half = half.assign(previous=place.reindex(half["previous"]).fillna(-1).to_numpy(dtype=int))
    losses, _ = condition_losses(half)
    told = visits["condition_before"].notna() & visits["condition_after"].notna()
    rows = visits[(number % 2 == 1).to_numpy() & told.to_numpy()]
    stated = shares(losses, rows).mean(axis=0)
    came = np.array([(rows["condition_after"] == c).mean() for c in range(1, 6)])
    assert came == pytest.approx(stated, abs=0.03)


def test_few_visits_tell_nothing_and_say_so():
    losses, notes = condition_losses(invented().iloc[:39])
    assert not losses.is_known
    assert notes[0].startswith("strand condition before and after is logged of 39 visits; it takes 40")
    nothing = invented().assign(condition_after=np.nan)
    assert condition_losses(nothing)[1] == ()
    assert not condition_losses(nothing.drop(columns="condition_after"))[0].is_known


def test_few_pauses_leave_hair_unchanged_and_say_so():
    rows = invented()
    losses, notes = condition_losses(rows[rows["session"] == 1].reset_index(drop=True))
    assert losses.is_known
    assert losses.pauses == 0
    assert losses.recovery.tolist() == ConditionLosses().recovery.tolist()
    assert "fewer than 20 pauses" in notes[0]
    assert losses.sd_client == 0  # every client once: what is theirs is the session's


def test_a_log_in_which_nothing_was_lost_is_held_by_its_prior():
    rows = invented(200)
    rows["condition_after"] = rows["condition_before"]
    losses, _ = condition_losses(rows)
    kept = shares(losses, rows)[np.arange(len(rows)), rows["condition_before"].astype(int) - 1]
    assert 0.95 < kept.mean() < 1.0


def test_a_condition_written_better_says_that_nothing_was_lost():
    rows = invented(400)
    same = (rows["condition_after"] == rows["condition_before"]) & rows["condition_before"].between(2, 4)
    better = rows.assign(condition_after=rows["condition_after"] + same)
    first, second = (condition_losses(of)[0].coefficients for of in (rows, better))
    assert np.allclose(first, second)
