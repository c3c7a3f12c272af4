"""The audit as files: every table as CSV, every figure as PNG and SVG."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from outcomes.errors import InputError

__all__ = ["write_audit"]


def write_audit(audit: Mapping[str, Any], folder: Path) -> list[str]:
    """Write tables and figures; the folder is made where it's absent.

    Parameters
    ----------
    audit : mapping
        From `Audit.to_dict`.
    folder : Path

    Returns
    -------
    list of str
        Names of the files.

    Raises
    ------
    InputError
        The folder can't be made or written to.
    """
    from outcomes.calibration.audit import TABLES, Audit
    from outcomes.show.figures import coverage_picture, pit_picture, reliability_picture

    found = Audit.from_dict(audit)
    names = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name in TABLES:
            getattr(found, name).to_csv(folder / f"{name}.csv", index=False)
            names.append(f"{name}.csv")
    except OSError as cause:
        raise InputError(
            f"--to {folder}: can't be written to ({cause.strerror}); name another folder"
        ) from cause
    for name, draw in (
        ("coverage", coverage_picture),
        ("reliability", reliability_picture),
        ("pit", pit_picture),
    ):
        draw(found).save(folder, name)
        names += [f"{name}.png", f"{name}.svg"]
    return names
