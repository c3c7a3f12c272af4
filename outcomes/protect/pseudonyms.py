"""Codes that stand for codes: the same under one key, without a way back or across to another key."""

from __future__ import annotations

import hmac
import os
import secrets
import stat
from pathlib import Path

import numpy as np
import pandas as pd

from outcomes.errors import InputError
from outcomes.log.visit_order import within_date

__all__ = ["LETTERS", "keyed_hash", "load_key", "new_key", "pseudonyms", "save_key", "visit_numbers"]

LETTERS = {"visit": "v", "client": "c", "stylist": "s", "salon": "a", "product": "p", "course": "k"}
"""What a pseudonym of a column begins with: a letter, or spreadsheets would make numbers of some."""

KEY_BYTES = 32
HEX_DIGITS = 12  # 48 bits: of 100,000 codes two agree once in some 56,000 logs, which is then refused

# A visit's number: one client's visits in order, and no more of when than their dates say. Between two months
# (or quarters, or years: whatever dates become) lie 1 to 128 (a power of 2, by the key), and each client
# begins somewhere else.
_FIRST_YEAR = 2000
_BEGINNINGS = 800_000
_MOST_OF_PERIOD = 99


def keyed_hash(key: bytes, message: bytes) -> bytes:
    """HMAC-SHA-256 of a message.

    Parameters
    ----------
    key, message : bytes

    Returns
    -------
    bytes
        32 of them.

    References
    ----------
    Krawczyk, H., Bellare, M. & Canetti, R. (1997). HMAC: keyed-hashing for message authentication. RFC 2104.
    """
    return hmac.digest(key, message, "sha256")


def new_key() -> bytes:
    """32 random bytes from the operating system."""
    return secrets.token_bytes(KEY_BYTES)


def save_key(path: str | os.PathLike[str], key: bytes) -> None:
    """Write a key into a new file that its owner alone may read.

    Parameters
    ----------
    path : path
        Nothing is there yet.
    key : bytes

    Raises
    ------
    InputError
        Something is there, or nothing may be written there.
    """
    try:
        handle = os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600)
    except OSError as cause:
        raise InputError(
            f"{path}: the key can't be written there ({cause.strerror}); "
            "name a new file in a folder that exists"
        ) from None
    with os.fdopen(handle, "w", encoding="ascii") as file:
        file.write(key.hex() + "\n")


def load_key(path: str | os.PathLike[str]) -> bytes:
    """Read a key that `save_key` wrote.

    Parameters
    ----------
    path : path

    Returns
    -------
    bytes

    Raises
    ------
    InputError
        Not a key, one that others may read, or a file that can't be read. The message shows nothing of it.
    """
    place = Path(path)
    try:
        mode = place.stat().st_mode
        text = place.read_bytes() if stat.S_ISREG(mode) and place.stat().st_size < 4096 else b""
    except OSError as cause:
        raise InputError(
            f"{path}: the key can't be read ({cause.strerror}); name a key file of your own, or a new one"
        ) from None
    if os.name == "posix" and stat.S_IMODE(mode) & 0o077:
        raise InputError(
            f"{path}: others than its owner may use this key file; make it private first: chmod 600 {path}"
        )
    try:
        key = bytes.fromhex(text.decode("ascii").strip())
    except ValueError:
        key = b""
    if len(key) < KEY_BYTES:
        raise InputError(
            f"{path}: found no key in it; expected {2 * KEY_BYTES} hexadecimal digits or more, as "
            "`outcomes anonymise` writes them; name the file of your key, or a new one"
        )
    return key


def pseudonyms(codes: pd.Series[str], key: bytes, column: str) -> pd.Series[str]:
    """A pseudonym for each code of a column: a letter and 12 hexadecimal digits.

    Parameters
    ----------
    codes : Series of str (n,)
        As read; NaN stays.
    key : bytes
    column : str
        One of `LETTERS`. One code in two columns gets two pseudonyms that have nothing in common.

    Returns
    -------
    Series of object (n,)

    Raises
    ------
    InputError
        Two codes got the same pseudonym: another key is needed.
    """
    number, found = pd.factorize(codes.astype(object))
    given = [LETTERS[column] + _digits(key, f"{column}\0{code}") for code in found]
    if len(set(given)) < len(given):
        raise InputError(
            f"{column}: two of its {len(given):,} codes got the same pseudonym, which would make one of two; "
            "name a new key file"
        )
    # factorize puts -1 where there is no code, which takes the last
    named = np.array([*given, np.nan], dtype=object)
    return pd.Series(named[number], index=codes.index, dtype=object)


def visit_numbers(visits: pd.DataFrame, key: bytes, period: str = "month") -> pd.Series[str]:
    """What the pseudonym of a visit begins with, so that one client's visits stand in order.

    8 digits: the first six grow from period to period of a client, by steps and from a beginning that only
    the key knows; the last two count the client's visits within the period. They depend on nothing else, so
    that logs of whole periods number a visit alike; and they say no more of when it was than the period.

    Parameters
    ----------
    visits : DataFrame (n rows)
        `visit`, `client`, `date`; within a day in order of their codes.
    key : bytes
    period : {"month", "quarter", "year"}
        What dates become the first day of.

    Returns
    -------
    Series of str (n,)
    """
    months = {"month": 1, "quarter": 3, "year": 12}[period]
    month = (visits["date"].dt.year - _FIRST_YEAR) * 12 + visits["date"].dt.month - 1
    # earlier logs than that share their first period
    frame = pd.DataFrame(
        {"visit": visits["visit"], "client": visits["client"], "period": (month // months).clip(lower=0)}
    )
    order = np.lexsort((within_date(visits), visits["date"].to_numpy()))
    once = frame.iloc[order].drop_duplicates("visit")
    counted = (once.groupby(["client", "period"]).cumcount() + 1).clip(upper=_MOST_OF_PERIOD)
    client, names = pd.factorize(once["client"].astype(object))
    at = once["period"].to_numpy(dtype=np.int64)
    grown = _grown(names, int(at.max()) + 1, key)[client, at] if len(once) else at
    number = pd.Series(100 * grown + counted.to_numpy(dtype=np.int64), index=once["visit"])
    return visits["visit"].map(number.map("{:08d}".format)).astype(object)


def _grown(clients: pd.Index[str], periods: int, key: bytes) -> np.ndarray:
    """Number of every period of every client, (clients, periods)."""
    dozens = -(-periods // 12)
    words = [f"visit order\0{dozen}\0{client}" for client in clients for dozen in range(-1, dozens)]
    bytes_ = np.frombuffer(
        b"".join(keyed_hash(key, word.encode("utf-8", "surrogatepass")) for word in words), dtype=np.uint8
    ).reshape(len(clients), dozens + 1, 32)
    begin = bytes_[:, 0, :8].copy().view("<u8")[:, 0] % _BEGINNINGS
    steps = 1 << (bytes_[:, 1:, :12].reshape(len(clients), -1).astype(np.int64) & 7)
    return np.asarray(begin.astype(np.int64)[:, None] + np.cumsum(steps, axis=1))


def _digits(key: bytes, text: str) -> str:
    return keyed_hash(key, text.encode("utf-8", "surrogatepass")).hex()[:HEX_DIGITS]
