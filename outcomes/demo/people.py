"""Who works and who comes: stylists with their habits, lighteners, clients."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from outcomes.demo.worlds import FloatArray, World

__all__ = ["client_effects", "draw_clients", "draw_products", "draw_stylists", "pick", "quarter_of"]


def pick(
    rng: np.random.Generator, words: tuple[str, ...], shares: tuple[float, ...], n: int
) -> NDArray[np.object_]:
    """Words drawn by their shares.

    Parameters
    ----------
    rng : numpy Generator
    words : tuple of str
    shares : tuple of float
        One for each word; they add up to 1.
    n : int

    Returns
    -------
    ndarray of str (n,)
    """
    return np.array(words, dtype=object)[rng.choice(len(words), size=n, p=shares)]


def draw_stylists(world: World, n_rows: int, rng: np.random.Generator) -> pd.DataFrame:
    """Stylists of a group, one row each.

    Parameters
    ----------
    world : World
    n_rows : int
        Rows of the log that they will share.
    rng : numpy Generator

    Returns
    -------
    DataFrame
        stylist, salon, share (of the visits), effect (on log R), interval (usual minutes between looks),
        limit (usual longest time, minutes), heat_habit (leaning to heat, sd 0.5), strength_habit (leaning to
        strong developer, sd 0.4), optimism (sd 0.6, sessions), copies (whether a target result is the look),
        writes_final_look, eye (levels read too light); where `World.sd_quarter` isn't 0, quarter_0,
        quarter_1 ... (further effects on log R in the quarters of the calendar that the log touches).
    """
    n = world.n_stylists or max(1, round(n_rows / world.visits_per_stylist))
    salons = min(world.n_salons, n)
    share = rng.gamma(6.0, size=n)
    stylists = pd.DataFrame(
        {
            "stylist": [f"S{i + 1:02d}" for i in range(n)],
            "salon": [f"L{i % salons + 1}" for i in range(n)],
            "share": share / share.sum(),
            "effect": world.sd_stylist * rng.standard_normal(n),
            "interval": np.round(rng.uniform(*world.look_interval, size=n)),
            "limit": rng.uniform(*world.limit_habit, size=n),
            "heat_habit": 0.5 * rng.standard_normal(n),
            "strength_habit": 0.4 * rng.standard_normal(n),
            "optimism": 0.6 * rng.standard_normal(n),
            "copies": rng.permutation(n) < round(world.copied_share * n),
            "writes_final_look": rng.permutation(n) < round(world.final_look_share * n),
            "eye": np.where(np.arange(n) == np.argmax(share), world.light_eye, 0.0),
        }
    )
    if world.sd_quarter == 0.0:
        return stylists
    quarters = int(quarter_of(world, np.array([world.days]))[0]) + 1
    # by a stream of its own, so that everything else is as it is without
    moved = world.sd_quarter * rng.spawn(1)[0].standard_normal((n, quarters))
    return stylists.assign(**{f"quarter_{k}": moved[:, k] for k in range(quarters)})


def quarter_of(world: World, day: ArrayLike) -> NDArray[np.int64]:
    """Which quarter of the calendar a day is in, the log's first being 0.

    Parameters
    ----------
    world : World
    day : array_like of int (n,)
        Since the log's first.

    Returns
    -------
    ndarray of int (n,)
    """
    first = np.datetime64(world.first_day, "D")
    months = (first + np.asarray(day).astype("timedelta64[D]")).astype("datetime64[M]").astype(np.int64)
    return np.asarray(months // 3 - first.astype("datetime64[M]").astype(np.int64) // 3, dtype=np.int64)


def draw_products(world: World, rng: np.random.Generator) -> pd.DataFrame:
    """Lighteners, one row each.

    Parameters
    ----------
    world : World
    rng : numpy Generator

    Returns
    -------
    DataFrame
        product, share (of the visits), effect (on log R).
    """
    n = world.n_products
    share = np.linspace(2.0, 1.0, n)
    return pd.DataFrame(
        {
            "product": [f"P{i + 1}" for i in range(n)],
            "share": share / share.sum(),
            "effect": world.sd_product * rng.standard_normal(n),
        }
    )


def client_effects(world: World, n: int, rng: np.random.Generator) -> FloatArray:
    """Effects of clients on log R: normal, or t with 4 degrees of freedom (whose sd is sqrt 2) scaled.

    Parameters
    ----------
    world : World
    n : int
    rng : numpy Generator

    Returns
    -------
    ndarray (n,)
    """
    if world.client_tail == "t4":
        return np.asarray(world.sd_client * rng.standard_t(4.0, size=n) / np.sqrt(2.0))
    return np.asarray(world.sd_client * rng.standard_normal(n))


def draw_clients(world: World, n: int, stylists: pd.DataFrame, rng: np.random.Generator) -> pd.DataFrame:
    """Clients, one row each, none of whose traits has to do with their own effect.

    Parameters
    ----------
    world : World
    n : int
    stylists : DataFrame
        From `draw_stylists`.
    rng : numpy Generator

    Returns
    -------
    DataFrame
        client, effect (on log R), texture, usual (position of the usual stylist), shampoo, fade_effect (on
        the log of the fade rate, sd 0.25), first_day (days since the log's first, uniform).
    """
    return pd.DataFrame(
        {
            "client": [f"C{i + 1:04d}" for i in range(n)],
            "effect": client_effects(world, n, rng),
            "texture": pick(rng, ("fine", "medium", "coarse"), (0.3, 0.45, 0.25), n),
            "usual": rng.choice(len(stylists), size=n, p=stylists["share"].to_numpy()),
            "shampoo": pick(rng, ("plain", "sulphate_free", "pigmented"), (0.4, 0.35, 0.25), n),
            "fade_effect": 0.25 * rng.standard_normal(n),
            "first_day": rng.integers(0, world.days, size=n),
        }
    )
