"""A whole invented visit log: courses worked session by session until the log closes.

Written without sight of the model's code, as an outside check of it. A row of the log is one section of hair
(visit and zone); each is worked as `chair.py` states. A course goes on, with hair "lightened" from its second
session, until a session is a success, its client gives up, or the log ends. The true level carries on from
session to session; the start level as written is the last result (or a new reading). The client's effect is
the same in all sessions; every row has a visit effect of its own.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from outcomes.demo.chair import STOPS
from outcomes.demo.columns import as_table
from outcomes.demo.courses import work_courses
from outcomes.demo.fading import draw_washes
from outcomes.demo.finish import finished
from outcomes.demo.people import draw_clients, draw_products, draw_stylists
from outcomes.demo.worlds import World
from outcomes.errors import InputError

__all__ = ["SimulatedTruth", "simulate_log"]


@dataclass(frozen=True, eq=False)
class SimulatedTruth:
    """What nobody in the salon knows.

    Attributes
    ----------
    world : World
    stylists : DataFrame
        As `people.draw_stylists`, with `visits`, their rows in the log.
    products : DataFrame
        product, share, effect.
    clients : DataFrame
        Those in the log; as `people.draw_clients`.
    rows : DataFrame
        One row for each row of visits, in its order: visit, zone, true_start, true_level (at the rinse),
        log_rate, case_effect (texture, zone, wrap, mix ratio, colour history and applications together),
        product_effect, visit_effect, session (1, 2, ... in its course), success (the goal was read, at a look
        or as the result), gave_up, hair, condition_before.
    """

    world: World
    stylists: pd.DataFrame
    products: pd.DataFrame
    clients: pd.DataFrame
    rows: pd.DataFrame


def simulate_log(world: World, n_visits: int, seed: int) -> tuple[dict[str, pd.DataFrame], SimulatedTruth]:
    """An invented log of exactly n_visits rows, and the truth behind it.

    Parameters
    ----------
    world : World
    n_visits : int
        Rows of visits, 1 or more.
    seed : int
        Seed of a PCG64 generator: the same numbers give the same log (for one version of numpy).

    Returns
    -------
    tables : dict
        "visits", "checks", "washes": canonical columns, in order; text as object, numbers float64, `date`
        datetime64. Visits are in order of date. Checks hold every look that read below the goal; the look
        that ended a `target` visit is left out, since `stop` says it (but see `World.final_look_share`).
    truth : SimulatedTruth

    Raises
    ------
    InputError
        n_visits below 1.
    """
    if n_visits < 1:
        raise InputError(f"n_visits {n_visits}: expected 1 or more; ask for a longer log")
    rng = np.random.Generator(np.random.PCG64(seed))
    stylists = draw_stylists(world, n_visits, rng)
    products = draw_products(world, rng)
    # every client has a visit at least, so this many are always enough; those not needed are left out
    clients = draw_clients(world, n_visits, stylists, rng)
    rows, looks = _first_rows(*work_courses(world, clients, stylists, products, rng), n_visits)
    rows["look_every"] = np.nan
    if not world.looks_recorded:
        known = rng.random(n_visits) < world.look_every_share
        rows["look_every"] = np.where(known, stylists["interval"].to_numpy()[rows["stylist"]], np.nan)
        rows["looks"], looks = np.nan, looks.iloc[:0]
    if world.minutes_step > 1:
        rows["minutes"], looks = _rounded_minutes(world.minutes_step, rows["minutes"].to_numpy(), looks)
    visits = as_table("visits", {**_written(world, rows, clients, stylists), **finished(rows, stylists, rng)})
    writes_final = stylists["writes_final_look"].to_numpy()[rows["stylist"].to_numpy()[looks["row"]]]
    checks = _checks(visits, looks[~looks["ended"].to_numpy() | writes_final], rng)
    washes = draw_washes(world, visits, clients.iloc[rows["client"]], rng)
    kept = [
        "true_start",
        "true_level",
        "log_rate",
        "case_effect",
        "product_effect",
        "visit_effect",
        "session",
    ]
    truth = SimulatedTruth(
        world=world,
        stylists=stylists.assign(visits=np.bincount(rows["stylist"], minlength=len(stylists))),
        products=products,
        clients=clients.iloc[np.unique(rows["client"])].reset_index(drop=True),
        rows=visits[["visit", "zone", "hair", "condition_before"]].join(rows[[*kept, "success", "gave_up"]]),
    )
    return {"visits": visits, "checks": checks, "washes": washes}, truth


def _rounded_minutes(step: int, rinse: np.ndarray, looks: pd.DataFrame) -> tuple[np.ndarray, pd.DataFrame]:
    """Minutes as somebody writes them who looks at the clock coarsely; of looks that coincide, the last."""
    rinse = np.maximum(step, step * np.round(rinse / step))
    written = looks.assign(minutes=np.maximum(step, step * np.round(looks["minutes"] / step)))
    # the look that ended a visit may not be written down at all, so none before it gives way to it
    again = written.duplicated(["row", "minutes", "ended"], keep="last")
    return rinse, written[~again].reset_index(drop=True)


def _first_rows(rows: pd.DataFrame, looks: pd.DataFrame, n: int) -> tuple[pd.DataFrame, pd.DataFrame]:
    """The first n rows by client (whole clients, but for the last), then in order of date."""
    by_client = np.lexsort((rows["course"], rows["day"], rows["client"]))[:n]
    kept = rows.iloc[by_client]
    order = by_client[np.lexsort((kept["zone"], kept["client"], kept["day"]))]
    place = np.full(len(rows), -1)
    place[order] = np.arange(n)
    looks = looks.assign(row=place[looks["row"]])
    looks = looks[looks["row"] >= 0].sort_values(["row", "minutes"], kind="stable")
    return rows.iloc[order].reset_index(drop=True), looks.reset_index(drop=True)


def _written(
    world: World, rows: pd.DataFrame, clients: pd.DataFrame, stylists: pd.DataFrame
) -> dict[str, object]:
    """Columns of visits that the process itself gives, as codes and words."""
    first_seen = rows.drop_duplicates("visit")["visit"].to_numpy()
    visit = pd.Index(first_seen).get_indexer(rows["visit"])
    course = pd.Index(rows.drop_duplicates("course")["course"].to_numpy()).get_indexer(rows["course"])
    is_last = ~rows["course"].duplicated(keep="last").to_numpy()
    end = np.where(rows["success"], "reached", np.where(rows["gave_up"], "given_up", "open"))
    same = [
        "zone", "hair", "texture", "colour_history", "start_level", "goal_level", "condition_before",
        "peroxide_pct", "heat", "wrap", "mix_ratio", "product", "applications", "planned_minutes", "minutes",
        "looks", "look_every", "achieved_level", "condition_after",
    ]  # fmt: skip
    return {
        **{name: rows[name].to_numpy() for name in same},
        "visit": [f"V{i + 1:05d}" for i in visit],
        "course": [f"K{i + 1:05d}" for i in course],
        "client": clients["client"].to_numpy(dtype=object)[rows["client"]],
        "stylist": stylists["stylist"].to_numpy(dtype=object)[rows["stylist"]],
        "salon": stylists["salon"].to_numpy(dtype=object)[rows["stylist"]],
        "date": np.datetime64(world.first_day) + rows["day"].to_numpy().astype("timedelta64[D]"),
        "stop": STOPS[rows["stop"].to_numpy()],
        "course_end": np.where(is_last, end.astype(object), np.nan),
    }


def _checks(visits: pd.DataFrame, looks: pd.DataFrame, rng: np.random.Generator) -> pd.DataFrame:
    """The looks as written, in order of visit and minutes."""
    row = looks["row"].to_numpy()
    return as_table(
        "checks",
        {
            "visit": visits["visit"].to_numpy()[row],
            "zone": visits["zone"].to_numpy()[row],
            "minutes": looks["minutes"].to_numpy(),
            "level": looks["level"].to_numpy(),
            "read_on": np.where(rng.random(len(row)) < 0.8, "product", "wet").astype(object),
        },
    )
