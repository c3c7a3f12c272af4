"""Courses, session by session: all clients' first courses at once, then their second ones, and so on."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from outcomes.demo.chair import Session, Settings, condition_after, work_session
from outcomes.demo.choices import Opening, draw_openings, draw_settings, switch_stylists
from outcomes.demo.people import quarter_of
from outcomes.demo.worlds import FloatArray, World

__all__ = ["work_courses"]

IntArray = NDArray[np.int64]

MAX_COURSES = 3
MAX_SESSIONS = 8
QUARTER = 91  # days
SHORTEST_GAP = 24  # days between two sessions; a gamma of mean 20 is added


def work_courses(
    world: World,
    clients: pd.DataFrame,
    stylists: pd.DataFrame,
    products: pd.DataFrame,
    rng: np.random.Generator,
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Work the courses of all clients until the log closes.

    Parameters
    ----------
    world : World
    clients, stylists, products : DataFrame
        From `draw_clients`, `draw_stylists`, `draw_products`.
    rng : numpy Generator

    Returns
    -------
    rows : DataFrame
        One row a section worked; positions of client, stylist; course and visit numbers; the rest as in the
        log or in `SimulatedTruth.rows`.
    looks : DataFrame
        row (position in rows), minutes, level, ended.

    Raises
    ------
    InputError
        As `World.progress`.
    """
    frames: list[pd.DataFrame] = []
    looks: list[pd.DataFrame] = []
    who, begin = np.arange(len(clients)), clients["first_day"].to_numpy()
    n_courses = n_rows = 0
    for _ in range(MAX_COURSES):
        last = begin.copy()
        twins = np.flatnonzero(rng.random(len(who)) < world.two_zone_share)
        pair = np.concatenate([np.arange(len(who)), twins])
        opening = _apart(draw_openings(world, len(pair), rng), twins)
        for frame, session in _sessions(world, opening, pair, who, begin, clients, stylists, products, rng):
            last[frame["pair"]] = np.maximum(last[frame["pair"]], frame["day"])
            frame["course"] += n_courses
            looks.append(
                pd.DataFrame(
                    {
                        "row": session.look_section + n_rows,
                        "minutes": session.look_minutes,
                        "level": session.look_level,
                        "ended": session.look_ended,
                    }
                )
            )
            # a course and the one beside it share their visits
            frame["visit"] = (frame["pair"] + n_courses) * MAX_SESSIONS + frame["session"] - 1
            frames.append(frame)
            n_rows += len(frame)
        n_courses += len(pair)
        pause = np.floor(60 + rng.gamma(2.0, 30.0, size=len(who))).astype(np.int64)
        again = (rng.random(len(who)) < world.return_share) & (last + pause < world.days)
        who, begin = who[again], (last + pause)[again]
        if not len(who):
            break
    return pd.concat(frames, ignore_index=True), pd.concat(looks, ignore_index=True)


def _apart(opening: Opening, twins: IntArray) -> Opening:
    """The same courses, with the second one of a pair in another zone than the first."""
    zone = opening.zone.copy()
    zone[twins[zone[twins] == "all"]] = "lengths"
    zone[len(zone) - len(twins) :] = np.where(zone[twins] == "roots", "lengths", "roots")
    return Opening(
        opening.hair, zone, opening.colour_history, opening.true_start, opening.start_level,
        opening.goal_level, opening.condition,
    )  # fmt: skip


def _sessions(
    world: World,
    opening: Opening,
    pair: IntArray,
    who: IntArray,
    begin: IntArray,
    clients: pd.DataFrame,
    stylists: pd.DataFrame,
    products: pd.DataFrame,
    rng: np.random.Generator,
) -> Iterator[tuple[pd.DataFrame, Session]]:
    """First sessions of all courses, then the second ones of those that go on, ..."""
    at = np.arange(len(pair))
    level, start, condition = opening.true_start, opening.start_level, opening.condition
    hair, day = opening.hair, _open_day(begin)
    for number in range(1, MAX_SESSIONS + 1):
        at = at[day[pair[at]] < world.days]
        if not len(at):
            return
        client = who[pair[at]]
        usual = clients["usual"].to_numpy()[who]
        stylist = switch_stylists(usual, stylists, rng)[pair[at]]
        goal = opening.goal_level[at]
        chosen = draw_settings(
            goal - start[at], hair[at], condition[at], stylists.iloc[stylist], products, rng
        )
        frame = pd.DataFrame(
            {
                "course": at,
                "pair": pair[at],
                "session": number,
                "client": client,
                "stylist": stylist,
                "day": day[pair[at]],
                "zone": opening.zone[at],
                "hair": hair[at],
                "texture": clients["texture"].to_numpy(dtype=object)[client],
                "colour_history": opening.colour_history[at],
                "start_level": start[at],
                "goal_level": goal,
                "true_start": level[at],
                "condition_before": condition[at],
                **chosen,
            }
        )
        _add_rates(world, frame, clients, stylists, products, rng)
        given = Settings(
            start=level[at],
            goal=goal,
            rate=np.exp(frame["log_rate"].to_numpy()),
            limit=frame["planned_minutes"].to_numpy(),
            interval=stylists["interval"].to_numpy()[stylist],
            peroxide=frame["peroxide_pct"].to_numpy(),
            condition=condition[at],
            copies=stylists["copies"].to_numpy()[stylist],
            eye=stylists["eye"].to_numpy()[stylist],
        )
        session = work_session(world, given, rng)
        after = condition_after(world, given, session, rng)
        # hair in a bad way keeps clients from coming back more often
        slow = -clients["effect"].to_numpy()[client] / max(world.sd_client, 1e-9)
        share = world.give_up * np.where(after <= 2.0, 3.0, 1.0) * np.exp(world.give_up_slow * slow)
        leaves = rng.random(len(at)) < share
        leaves = ~session.success & (leaves | (number == MAX_SESSIONS))
        yield (
            frame.assign(
                minutes=session.minutes,
                stop=session.stop,
                looks=session.looks,
                achieved_level=session.achieved,
                true_level=session.level,
                condition_after=after,
                success=session.success,
                gave_up=leaves,
            ),
            session,
        )
        goes_on = ~session.success & ~leaves
        gap = np.floor(SHORTEST_GAP + rng.gamma(4.0, 5.0, size=len(who))).astype(np.int64)
        day = _open_day(day + gap)
        level, start, condition, hair = level.copy(), start.copy(), condition.copy(), hair.copy()
        level[at], hair[at] = session.level, "lightened"
        start[at] = _next_start(world, session, goal, rng)
        recovers = rng.random(len(at)) < world.condition_recovery
        condition[at] = np.minimum(opening.condition[at], after + recovers)
        at = at[goes_on]


def _open_day(day: IntArray) -> IntArray:
    """Move Sundays and Mondays, when the salons are closed, to the Tuesday; day 0 is a Tuesday."""
    weekday = day % 7
    return day + np.where(weekday == 5, 2, np.where(weekday == 6, 1, 0))


def _next_start(world: World, session: Session, goal: FloatArray, rng: np.random.Generator) -> FloatArray:
    """Start of the next session as written: the last result, or read again.

    A new reading at the goal is written as one step below it: the client wouldn't be worked again otherwise.
    """
    if world.next_start == "copied":
        return session.achieved
    read = world.rounded(session.level + world.tau_result * rng.standard_normal(len(goal)))
    return np.minimum(read, goal - world.step)


def _add_rates(
    world: World,
    frame: pd.DataFrame,
    clients: pd.DataFrame,
    stylists: pd.DataFrame,
    products: pd.DataFrame,
    rng: np.random.Generator,
) -> None:
    """Add log_rate and its parts that a new client's chances are averaged over."""
    frame["case_effect"] = (
        frame["texture"].map(world.texture).to_numpy(dtype=np.float64)
        + frame["zone"].map(world.zone).to_numpy(dtype=np.float64)
        + frame["wrap"].map(world.wrap).to_numpy(dtype=np.float64)
        + frame["colour_history"].map(world.colour_history).to_numpy(dtype=np.float64)
        + world.mix_exponent * np.log(frame["mix_ratio"].to_numpy() / 2.0)
        + world.second_application * (frame["applications"].to_numpy() - 1.0)
    )
    frame["product_effect"] = frame["product"].map(products.set_index("product")["effect"]).to_numpy()
    last = (frame["day"] >= world.days - QUARTER).to_numpy()
    if world.last_product:
        frame.loc[last, "product"] = f"P{len(products) + 1}"
        frame.loc[last, "product_effect"] = world.last_quarter
    frame["visit_effect"] = world.sd_visit * rng.standard_normal(len(frame))
    expected = world.expected_log_rate(
        peroxide=frame["peroxide_pct"].to_numpy(),
        heat=np.asarray(frame["heat"].map(world.heat), dtype=np.float64),
        hair=np.asarray(frame["hair"].map(world.hair), dtype=np.float64),
        later=(frame["session"].to_numpy() > 1).astype(np.float64),
        true_start=frame["true_start"].to_numpy(),
    )
    frame["log_rate"] = (
        expected
        + frame["case_effect"]
        + stylists["effect"].to_numpy()[frame["stylist"]]
        + clients["effect"].to_numpy()[frame["client"]]
        + frame["product_effect"]
        + frame["visit_effect"]
        + (0.0 if world.last_product else world.last_quarter) * last
    )
    if world.sd_quarter:
        moved = stylists.filter(like="quarter_").to_numpy()
        frame["log_rate"] += moved[frame["stylist"].to_numpy(), quarter_of(world, frame["day"].to_numpy())]
