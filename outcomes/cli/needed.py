"""Options that a command can't do without: all that are lacking are named in one line."""

from __future__ import annotations

import argparse

from outcomes.errors import InputError

__all__ = ["check_given"]


def check_given(args: argparse.Namespace, what: str, *names: str) -> None:
    """Complain of options that weren't given.

    Parameters
    ----------
    args : Namespace
    what : str
        That needs them, such as "a refresh".
    *names : str
        As on the command line, without the dashes before them.

    Raises
    ------
    InputError
        Some weren't given.
    """
    if missing := [f"--{name}" for name in names if getattr(args, name.replace("-", "_")) is None]:
        raise InputError(
            f"{', '.join(missing)}: not given; {what} needs {', '.join('--' + name for name in names)}"
        )
