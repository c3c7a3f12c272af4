"""The audit as files: every table as CSV, every figure as PNG and SVG."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from outcomes.errors import InputError
from outcomes.log.atomic import replacing
from outcomes.log.harmless import write_rows

__all__ = ["write_audit"]


def write_audit(
    audit: Mapping[str, Any], folder: Path, fade: Mapping[str, Mapping[str, Any]] | None = None
) -> list[str]:
    """Write tables and figures; the folder is made where it's absent.

    Parameters
    ----------
    audit : mapping
        From `Audit.to_dict`.
    folder : Path
    fade : mapping of measure to mapping, optional
        From `BandAudit.to_dict`; files named after the measure.

    Returns
    -------
    list of str
        Names of the files.

    Raises
    ------
    InputError
        The folder can't be made or written to.
    """
    from outcomes.calibration.audit import Audit, BandAudit
    from outcomes.show.figures import coverage_picture, pit_picture, reliability_picture

    audits: dict[str, BandAudit] = {"": Audit.from_dict(audit)}
    audits |= {f"fade_{measure}_": BandAudit.from_dict(one) for measure, one in (fade or {}).items()}
    names = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for start, found in audits.items():
            for name in found.tables:
                with replacing(folder / f"{start}{name}.csv") as temporary:
                    write_rows(getattr(found, name), temporary)
                names.append(f"{start}{name}.csv")
    except OSError as cause:
        raise InputError(
            f"--to {folder}: can't be written to ({cause.strerror}); name another folder"
        ) from cause
    pictures = {}
    for start, found in audits.items():
        pictures[f"{start}coverage"] = coverage_picture(found)
        if isinstance(found, Audit):
            pictures[f"{start}reliability"] = reliability_picture(found)
        pictures[f"{start}pit"] = pit_picture(found)
    for name, picture in pictures.items():
        picture.save(folder, name)
        names += [f"{name}.png", f"{name}.svg"]
    return names
