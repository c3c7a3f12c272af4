"""Names of the months as people write them, in the languages of the salons around.

No name means two months in two of the languages, so that each can be read without knowing the language.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

__all__ = ["MONTHS"]

_TWELVE = (
    "january february march april may june july august september october november december",
    "jan feb mar apr may jun jul aug sep oct nov dec",
    "januar februar märz april mai juni juli august september oktober november dezember",
    "janvier février mars avril mai juin juillet août septembre octobre novembre décembre",
    "enero febrero marzo abril mayo junio julio agosto septiembre octubre noviembre diciembre",
    "gennaio febbraio marzo aprile maggio giugno luglio agosto settembre ottobre novembre dicembre",
    "januari februari maart april mei juni juli augustus september oktober november december",
)
_OTHERS = {
    "sept": 9, "mär": 3, "mrz": 3, "maerz": 3, "jänner": 1, "okt": 10, "dez": 12, "janv": 1, "févr": 2,
    "fevr": 2, "fevrier": 2, "avr": 4, "juil": 7, "aout": 8, "déc": 12, "decembre": 12,
}  # fmt: skip

MONTHS: Mapping[str, int] = MappingProxyType(
    {name: number for names in _TWELVE for number, name in enumerate(names.split(), 1)} | _OTHERS
)
"""In lower case, each name's number from 1 to 12."""
