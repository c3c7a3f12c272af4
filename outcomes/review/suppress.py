"""Whose numbers aren't shown: those of few clients, and others that a total would give away with them."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from outcomes.errors import InputError

__all__ = ["FEWEST_CLIENTS", "suppressed"]

FEWEST_CLIENTS = 5


def suppressed(
    clients: Mapping[str, Collection[str]], least: int = FEWEST_CLIENTS, already: Collection[str] = ()
) -> frozenset[str]:
    """Stylists whose numbers aren't shown.

    Those of fewer clients than `least`. A total less all others would tell what a single one hid: so where
    one is hidden, or those hidden have fewer clients together than that, the next by clients is hidden too.

    Parameters
    ----------
    clients : mapping of str to collection of str
        Different clients of each stylist. One who came to two of those hidden counts once: it's the people
        behind a number that few of may not be.
    least : int
        5 or more.
    already : collection of str
        Not shown for another reason.

    Returns
    -------
    frozenset of str

    Raises
    ------
    InputError
        Fewer than 5 asked for.
    """
    if least < FEWEST_CLIENTS:
        raise InputError(
            f"--min-clients {least}: {FEWEST_CLIENTS} or more are expected; numbers of fewer could be told "
            "to be one client's"
        )
    there = {code: set(own) for code, own in clients.items() if own}
    hidden = {code for code, own in there.items() if len(own) < least or code in already}
    by_clients = sorted(there, key=lambda code: (len(there[code]), code))
    while hidden and hidden != set(there):
        behind = set().union(*(there[code] for code in hidden))
        if len(hidden) > 1 and len(behind) >= least:
            break
        hidden.add(next(code for code in by_clients if code not in hidden))
    return frozenset(hidden)
