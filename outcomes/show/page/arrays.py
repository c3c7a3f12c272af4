"""Arrays as one text that a page carries: little-endian numbers in base64, found again by name."""

from __future__ import annotations

import base64
from typing import Any

import numpy as np
import numpy.typing as npt

__all__ = ["PackedArrays"]

_STEPS = 65535  # between the smallest and the largest value of an array kept in 16 bits


class PackedArrays:
    """Arrays put end to end, found again by name.

    Attributes
    ----------
    index : dict of str to dict
        Of each array `at` (its first byte), `shape`, and `kind`: "f4" for 32-bit numbers, "u2" for whole
        numbers of 16 bits that stand for evenly spaced values from `low` on, `step` apart. Where `digits` are
        given, 32-bit numbers are the nearest to decimal ones of so many digits, and become those again.
    """

    def __init__(self) -> None:
        self.index: dict[str, dict[str, Any]] = {}
        self._parts: list[bytes] = []
        self._size = 0

    def add(
        self, name: str, values: npt.NDArray[np.float64], *, coarse: bool = False, digits: int | None = None
    ) -> None:
        """One more array.

        Parameters
        ----------
        name : str
        values : ndarray
        coarse : bool
            Whether 16 bits a value are enough.
        digits : int, optional
            Of the values; 7 at most.
        """
        entry: dict[str, Any] = {"at": self._size, "shape": list(values.shape)}
        if coarse and values.size:
            low, high = float(values.min()), float(values.max())
            step = (high - low) / _STEPS or 1.0
            kept = np.rint((values - low) / step).astype("<u2").tobytes()
            kept += bytes(-len(kept) % 4)  # the next one begins where a 32-bit number may
            entry |= {"kind": "u2", "low": low, "step": step}
        else:
            kept = np.ascontiguousarray(values, dtype="<f4").tobytes()
            entry |= {"kind": "f4", **({} if digits is None else {"digits": digits})}
        self.index[name] = entry
        self._parts.append(kept)
        self._size += len(kept)

    @property
    def text(self) -> str:
        """All of them."""
        return base64.b64encode(b"".join(self._parts)).decode("ascii")
