"""Works on the pieces of a problem: by the caller's map, or on the machine's cores."""

from __future__ import annotations

import builtins
import os
from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor
from contextlib import AbstractContextManager, nullcontext
from functools import cache
from typing import Any

from threadpoolctl import ThreadpoolController

from outcomes.engine.joint import MapFunction

_MOST_THREADS = 8
_LARGE = 3000  # rows of a dense matrix from which on threads pay


@cache
def _pool() -> ThreadPoolExecutor:
    return ThreadPoolExecutor(min(_MOST_THREADS, os.cpu_count() or 1), thread_name_prefix="outcomes")


@cache
def _controller() -> ThreadpoolController:
    """Looked up once: finding the libraries takes longer than a small fit's step."""
    return ThreadpoolController()


def _on_cores(work: Any, *arguments: Iterable[Any]) -> Iterable[Any]:
    """Like `map`, in threads: numpy and scipy let go of the interpreter while they compute."""
    every = [list(argument) for argument in arguments]
    if len(every[0]) < 2:
        return builtins.map(work, *every)
    return _pool().map(work, *every)


def calm_algebra(size: int) -> AbstractContextManager[Any]:
    """One thread for linear algebra as long as its dense part is small.

    Threads that a library starts for a matrix of 40 rows made its inverse 1,000 times slower (90 ms for
    0.02 ms) where another process held a core.

    Parameters
    ----------
    size : int
        Rows of the dense part.

    Returns
    -------
    context manager
    """
    return nullcontext() if size > _LARGE else _controller().limit(limits=1, user_api="blas")


def pieces_map(given: MapFunction) -> MapFunction:
    """The caller's own map as it is; the built-in one spread over the cores (the order is kept).

    Parameters
    ----------
    given : callable

    Returns
    -------
    callable
    """
    return _on_cores if given is builtins.map else given
