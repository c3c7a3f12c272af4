"""What a log knows of one client."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from outcomes.errors import InputError
from outcomes.models.client import past_of_client
from outcomes.models.told import told_visits
from outcomes.predictive.looking import looks_ahead
from outcomes.predictive.plans import Plans


def _clients(log, least):
    counts = log.visits["client"].astype(str).value_counts()
    return sorted(counts[counts >= least].index)


def test_visits_are_those_that_the_audit_follows(team):
    """The same readings as `told_visits` lays out, visit by visit."""
    model, lift = team.model, team.model.predictive_
    told = told_visits(model.readings_, lift.design, lift.stylists, lift.products)
    rows = model.told_rows_
    client = _clients(team.log, 3)[0]
    past = past_of_client(lift, team.log, client, 5.0, 9.0)
    at = np.flatnonzero(rows["client"].astype(str) == client)
    assert len(past.visits) == len(at) >= 3
    for visit, i in zip(past.visits, at, strict=True):
        of = slice(told.first_reading[i], told.first_reading[i] + told.n_readings[i])
        assert visit.minutes.tolist() == told.minutes[of].tolist()
        assert visit.is_look.tolist() == told.is_look[of].tolist()
        assert visit.lower == pytest.approx(told.lower[of])
        assert visit.upper == pytest.approx(told.upper[of])
        assert (visit.start, visit.rinse) == (told.start[i], told.rinse[i])
        assert visit.stylist == lift.stylists[told.stylist[i]]


def test_a_client_nobody_knows(team):
    known = _clients(team.log, 1)[0]
    with pytest.raises(InputError, match=f"client: found '{known}x', whom this log doesn't know; .*{known}"):
        past_of_client(team.model.predictive_, team.log, f"{known}x", 5.0, 9.0)


def test_what_was_known_of_the_hair_stays(team):
    client = _clients(team.log, 2)[0]
    past = past_of_client(team.model.predictive_, team.log, client, 5.0, 9.0)
    visits = team.log.visits[team.log.visits["client"].astype(str) == client].sort_values("date")
    assert past.given["texture"] == visits["texture"].iloc[-1]
    assert past.given["product"] == visits["product"].iloc[-1]


@pytest.mark.slow
def test_a_known_past_tells_more_of_the_next_first_look(team):
    """Log scores of the first look at a client's last visit, its earlier visits being known or not: one look
    ahead, so when it was rinsed doesn't matter."""
    lift, log = team.model.predictive_, team.log
    looks = log.checks.sort_values("minutes").drop_duplicates(["visit", "zone"])
    gained = []
    for client in _clients(log, 2):
        rows = log.visits[log.visits["client"].astype(str) == client].sort_values(["date", "visit"])
        last = rows.iloc[-1]
        look = looks[(looks["visit"] == last["visit"]) & (looks["zone"] == last["zone"])]
        if not len(look):
            continue
        earlier = log.visits["visit"] != last["visit"]
        before = dataclasses.replace(log, visits=log.visits[earlier].reset_index(drop=True))
        start, goal = float(last["start_level"]), float(last["goal_level"])
        past = past_of_client(lift, before, client, start, goal)
        plan = Plans(
            np.array([start]), np.array([goal]), (str(last["hair"]),),
            np.array([float(last["peroxide_pct"])]),
            (str(last["heat"]),), np.array([180.0]), (str(last["stylist"]),),
        )  # fmt: skip
        minutes = look["minutes"].to_numpy(dtype=float)
        cell = round(2 * (float(look["level"].iloc[0]) - 1.0))
        known, new = (
            looks_ahead(lift, plan, minutes, 1024, 1, worth=0.05, past=one).levels[0, cell]
            for one in (past, None)
        )
        gained.append(np.log(max(known, 1e-4)) - np.log(max(new, 1e-4)))
        if len(gained) == 100:
            break
    assert len(gained) == 100
    # two standard errors of the mean of 100
    assert np.mean(gained) > 2.0 * np.std(gained) / 10.0
