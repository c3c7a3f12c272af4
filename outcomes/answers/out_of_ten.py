"""Chances as ten clients, for pictures that are counted rather than read."""

from __future__ import annotations

from collections.abc import Sequence
from math import floor

from outcomes.errors import InputError

__all__ = ["out_of_ten"]


def out_of_ten(chances: Sequence[float]) -> tuple[int, ...]:
    """Whole numbers that add up to 10, each within 1 of ten times its chance.

    The first is said beside the picture ("done today: about 3 in 10"), so it's the nearest. Among the rest
    everybody gets the whole tenths, and the largest parts of a tenth get what is left.

    Parameters
    ----------
    chances : sequence of float
        Add up to 1.

    Returns
    -------
    tuple of int

    Raises
    ------
    InputError
        Chances that don't add up to 1.

    Examples
    --------
    >>> out_of_ten((0.24, 0.66, 0.10))
    (2, 7, 1)
    """
    if abs(sum(chances) - 1.0) > 1e-6 or min(chances) < -1e-9:
        raise InputError(f"chances {list(chances)}: add up to {sum(chances):g}; expected 1; give all of them")
    # rounded first, so that 0.3 is three tenths and no hair less
    tenths = [round(10 * chance, 9) for chance in chances]
    found = [round(tenths[0]), *(floor(tenth) for tenth in tenths[1:])]
    by_remainder = sorted(range(1, len(tenths)), key=lambda i: found[i] - tenths[i])
    for i in by_remainder[: 10 - sum(found)]:
        found[i] += 1
    return tuple(found)
