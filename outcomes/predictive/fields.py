"""Reading JSON values by type, so that a damaged model file is answered with the name of the field."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any, TypeVar

import numpy as np
import numpy.typing as npt

from outcomes.errors import ModelFileError

__all__ = ["Fields", "as_array", "as_count", "as_counts", "as_mapping", "as_number", "of_kind"]

T = TypeVar("T")


class Fields:
    """The fields of one JSON object, read by type; a field that isn't as it should be is named.

    Parameters
    ----------
    stored : object
        What JSON gave back.
    name : str
        Of the object, as complaints have it.

    Raises
    ------
    ModelFileError
        `stored` isn't an object; from every reader: a field that is missing or of another type.
    """

    def __init__(self, stored: Any, name: str) -> None:
        if not isinstance(stored, dict):
            raise ModelFileError(f"field {name}: found {type(stored).__name__}; expected an object")
        self._stored, self._name = stored, name

    def read(self, key: str, reader: Callable[[Any], T]) -> T:
        """One field through its reader, whose complaint names the field.

        Parameters
        ----------
        key : str
        reader : callable
            Turns what was found into what is wanted.

        Returns
        -------
        object

        Raises
        ------
        ModelFileError
        """
        if key not in self._stored:
            raise ModelFileError(f"field {self._name}.{key} is missing")
        try:
            return reader(self._stored[key])
        except (TypeError, ValueError, KeyError, AttributeError, OverflowError) as cause:
            raise ModelFileError(f"field {self._name}.{key}: {cause}") from cause

    def has(self, key: str) -> bool:
        """Whether the field is there.

        Parameters
        ----------
        key : str

        Returns
        -------
        bool
        """
        return key in self._stored

    def fields(self, key: str) -> Fields:
        """An object of fields.

        Parameters
        ----------
        key : str

        Returns
        -------
        Fields

        Raises
        ------
        ModelFileError
        """
        return self.read(key, lambda found: Fields(found, f"{self._name}.{key}"))

    def mapping(self, key: str) -> Mapping[str, Any]:
        """An object as it is.

        Parameters
        ----------
        key : str

        Returns
        -------
        mapping

        Raises
        ------
        ModelFileError
        """
        return self.read(key, as_mapping)

    def array(self, key: str, dimensions: int) -> npt.NDArray[np.float64]:
        """Numbers in so many dimensions.

        Parameters
        ----------
        key : str
        dimensions : int

        Returns
        -------
        ndarray

        Raises
        ------
        ModelFileError
        """
        return self.read(key, lambda found: as_array(found, dimensions))

    def number(self, key: str) -> float:
        """A finite number.

        Parameters
        ----------
        key : str

        Returns
        -------
        float

        Raises
        ------
        ModelFileError
        """
        return self.read(key, as_number)

    def number_or_none(self, key: str) -> float | None:
        """A finite number, or null.

        Parameters
        ----------
        key : str

        Returns
        -------
        float or None

        Raises
        ------
        ModelFileError
        """
        return self.read(key, lambda found: None if found is None else as_number(found))

    def count(self, key: str) -> int:
        """A whole number, 0 or more.

        Parameters
        ----------
        key : str

        Returns
        -------
        int

        Raises
        ------
        ModelFileError
        """
        return self.read(key, as_count)

    def flag(self, key: str) -> bool:
        """True or false.

        Parameters
        ----------
        key : str

        Returns
        -------
        bool

        Raises
        ------
        ModelFileError
        """
        return self.read(key, lambda found: of_kind(found, bool))

    def word(self, key: str) -> str:
        """A text.

        Parameters
        ----------
        key : str

        Returns
        -------
        str

        Raises
        ------
        ModelFileError
        """
        return self.read(key, lambda found: of_kind(found, str))

    def words(self, key: str) -> tuple[str, ...]:
        """A list of texts.

        Parameters
        ----------
        key : str

        Returns
        -------
        tuple of str

        Raises
        ------
        ModelFileError
        """
        return self.read(key, lambda found: tuple(of_kind(word, str) for word in of_kind(found, list)))


def of_kind(found: Any, kind: type[T]) -> T:
    """A value that must be of one type.

    Parameters
    ----------
    found : object
    kind : type

    Returns
    -------
    object

    Raises
    ------
    TypeError
        It is of another.
    """
    if not isinstance(found, kind):
        raise TypeError(f"found {type(found).__name__}; expected {kind.__name__}")
    return found


def as_mapping(found: Any) -> Mapping[str, Any]:
    """A value that must be an object.

    Parameters
    ----------
    found : object

    Returns
    -------
    mapping

    Raises
    ------
    TypeError
        It is none.
    """
    return of_kind(found, dict)


def as_number(found: Any) -> float:
    """A value that must be a finite number.

    Parameters
    ----------
    found : object

    Returns
    -------
    float

    Raises
    ------
    TypeError
        It is none.
    """
    if isinstance(found, bool) or not isinstance(found, (int, float)) or not math.isfinite(found):
        raise TypeError(f"found {found!r}; expected a finite number")
    return float(found)


def as_count(found: Any) -> int:
    """A value that must be a whole number, 0 or more.

    Parameters
    ----------
    found : object

    Returns
    -------
    int

    Raises
    ------
    TypeError, ValueError
        It is none.
    """
    number = as_number(found)
    if number < 0 or number != int(number):
        raise ValueError(f"found {found!r}; expected a count")
    return int(number)


def as_counts(found: Any) -> dict[str, int]:
    """An object of counts.

    Parameters
    ----------
    found : object

    Returns
    -------
    dict of str to int

    Raises
    ------
    TypeError, ValueError
        It is none.
    """
    return {key: as_count(value) for key, value in as_mapping(found).items()}


def as_array(found: Any, dimensions: int) -> npt.NDArray[np.float64]:
    """A value that must hold numbers in so many dimensions.

    Parameters
    ----------
    found : object
    dimensions : int

    Returns
    -------
    ndarray

    Raises
    ------
    TypeError
        It doesn't.
    """
    values = np.asarray(of_kind(found, list))
    if not values.size:
        # An empty second axis is written as rows of nothing.
        values = np.zeros(
            values.shape if values.ndim == dimensions else (len(found),) + (0,) * (dimensions - 1)
        )
    if values.dtype.kind not in "if" or values.ndim != dimensions:
        raise TypeError(f"expected numbers in {dimensions} dimension{'s' * (dimensions > 1)}")
    return values.astype(np.float64)
