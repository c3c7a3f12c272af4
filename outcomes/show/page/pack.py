"""A model as the page carries it: JSON values, arrays as text."""

from __future__ import annotations

from typing import Any

from outcomes.predictive.saved import SalonModel

__all__ = ["page_model"]


def page_model(model: SalonModel) -> dict[str, Any]:
    """What the page's scripts open.

    Parameters
    ----------
    model : SalonModel

    Returns
    -------
    dict
        JSON values.
    """
    raise NotImplementedError
