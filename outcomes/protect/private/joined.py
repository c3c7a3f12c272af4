"""A text in parts that a reader sees as one: what stands in each, and what only all of them show."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from outcomes.protect.private.search import Hit, Search, settled

__all__ = ["hits_of_joined"]


def hits_of_joined(search: Search, text: str, starts: Sequence[int]) -> list[Hit]:
    """What stands in a text whose parts belong to several elements of a page.

    Parameters
    ----------
    search : Search
    text : str
        As `plain` gives it.
    starts : sequence of int
        Where its parts begin, the first at 0.

    Returns
    -------
    list of Hit
        What stands in one part counts as well where the next part would run into it, as the number of a
        footnote does.
    """
    found = list(search.hits(text))
    for start, end in pairwise([*starts, len(text)]):
        found += [
            hit._replace(start=start + hit.start, end=start + hit.end) for hit in search.hits(text[start:end])
        ]
    return settled(found)
