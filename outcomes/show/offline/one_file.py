"""One HTML file out of a page's own files: markup, style and scripts, with nothing left to fetch.

Scripts are ECMAScript modules, each in a file of its own, which Node's test runner loads as they are. A
browser loads no modules from a disk, so they become one script here: in the order in which they import each
other, their `import` and `export` words taken off. That takes a plain way of writing, which is checked:
imports of names from a file nearby; exports in front of what they export; no name twice.
"""

from __future__ import annotations

import base64
import hashlib
import json
import re
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from pathlib import PurePosixPath
from string import Template
from typing import Any

__all__ = ["embedded", "joined_script", "one_file"]

_IMPORT = re.compile(r'^import \{([^{}]*)\} from "(\./|\.\./)([\w./-]+\.js)";\n', re.MULTILINE)
_EXPORT = re.compile(r"^export (?=(?:async )?function|const|let|class)", re.MULTILINE)
_LEFT = re.compile(r"^\s*(?:import|export)\b.*$", re.MULTILINE)
_NAME = re.compile(r"^(?:async )?(?:function\*?|const|let|class) (\w+)", re.MULTILINE)
_ROOT = "outcomes.show"


def joined_script(main: str) -> str:
    """All modules that one needs, as one script.

    Parameters
    ----------
    main : str
        Below this package's folder of what is shown, as "recorder/main.js".

    Returns
    -------
    str

    Raises
    ------
    AssertionError
        A module written in another way than this file takes; that is a mistake of this package.
    """
    order: list[str] = []
    _visit(main, order, ())
    names: dict[str, str] = {}
    parts = []
    for path in order:
        text = _EXPORT.sub("", _IMPORT.sub("", _text(path)))
        left = _LEFT.search(text)
        assert left is None, f"{path}: {left.group()!r} can't be joined"
        for name in _NAME.findall(text):
            assert name not in names, f"{path}: {name} is a name of {names[name]} as well"
            names[name] = path
        parts.append(text.strip())
    return '(() => {\n"use strict";\n' + "\n\n".join(parts) + "\n})();\n"


def _visit(path: str, order: list[str], above: tuple[str, ...]) -> None:
    assert path not in above, f"{path} imports itself by way of {' and '.join(above)}"
    if path in order:
        return
    for _, up, name in _IMPORT.findall(_text(path)):
        folder = PurePosixPath(path).parent
        _visit(str((folder.parent if up == "../" else folder) / name), order, (*above, path))
    order.append(path)


@cache
def _text(path: str) -> str:
    found = files(_ROOT)
    for part in PurePosixPath(path).parts:
        found = found.joinpath(part)
    return found.read_text(encoding="utf-8")


def embedded(value: Any) -> str:
    """JSON that may stand inside a script element, whatever texts are in it.

    Parameters
    ----------
    value : object
        JSON values.

    Returns
    -------
    str
    """
    text = json.dumps(value, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")


def one_file(folder: str, data: Mapping[str, Any] | None = None, **texts: str) -> str:
    """A page: its `page.html` with its style, its script and its data put in.

    Parameters
    ----------
    folder : str
        Below this package's folder of what is shown; holds page.html, page.css and main.js.
    data : mapping of str to object, optional
        JSON values by the id of the element that keeps them, `<script type="application/json" id="...">`.
    **texts : str
        HTML that stands in page.html as $name, besides $style, $script, $data and $policy.

    Returns
    -------
    str
        Its security policy lets it run this script alone and ask for nothing.
    """
    script = joined_script(f"{folder}/main.js")
    assert "</script" not in script.lower()
    style = _text("offline/base.css") + _text(f"{folder}/page.css")
    kept = "\n".join(
        f'<script type="application/json" id="{name}">{embedded(value)}</script>'
        for name, value in (data or {}).items()
    )
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    policy = (
        f"default-src 'none'; script-src 'sha256-{digest}'; style-src 'unsafe-inline'; img-src data:; "
        "base-uri 'none'; form-action 'none'"
    )
    return Template(_text(f"{folder}/page.html")).substitute(
        texts, style=style, data=kept, script=script, policy=policy
    )
