"""What goes to standard output, whatever characters it can show."""

from __future__ import annotations

import json
import sys
from typing import Any

__all__ = ["as_json", "bar_character", "show_anything"]


def as_json(value: Any) -> str:
    """One line of JSON; letters that the output can't show are escaped, which JSON allows.

    Parameters
    ----------
    value : object
        JSON values.

    Returns
    -------
    str
    """
    text = json.dumps(value, ensure_ascii=False)
    return text if _shows(text) else json.dumps(value)


def bar_character() -> str:
    """A block where the output can show one."""
    return "█" if _shows("█") else "#"


def show_anything() -> None:
    """Let both outputs put a question mark for a character that they can't show, rather than fail."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")


def _shows(text: str) -> bool:
    try:
        text.encode(sys.stdout.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True
