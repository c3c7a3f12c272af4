"""What became of every row of a merge, noted as it happens."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from outcomes.log.incoming import Incoming, Rows
from outcomes.log.journal import Entry, content_keys, row_texts
from outcomes.log.schema import TABLES

__all__ = ["Counts", "Tally"]

Counts = dict[str, dict[str, int]]
"""By table: in = added + corrected + unchanged + set_aside."""


@dataclass(eq=False)
class Tally:
    """Entries for the journal, and counts by log and table."""

    entries: list[Entry] = field(default_factory=list)
    counts: dict[str, Counts] = field(default_factory=dict)

    def begin(self, log: Incoming) -> Counts:
        """Counts of one more log, what it set aside by itself noted.

        Parameters
        ----------
        log : Incoming

        Returns
        -------
        Counts
            For the caller to add to.
        """
        n = sum(other == log.name or other.startswith(f"{log.name} (") for other in self.counts)
        counts = {
            table: {"in": log.counts[table], "added": 0, "corrected": 0, "unchanged": 0, "set_aside": 0}
            for table in TABLES
        }
        self.counts[log.name if n == 0 else f"{log.name} ({n + 1})"] = counts
        names = ("table", "visit", "zone", "file", "row", "message")
        for table, visit, zone, file, row, message in zip(*(log.aside[name] for name in names), strict=True):
            self.entries.append(
                Entry(
                    "set_aside",
                    str(table),
                    str(visit),
                    str(zone),
                    str(file),
                    int(row),
                    "",
                    reason=str(message),
                )
            )
            counts[str(table)]["set_aside"] += 1
        return counts

    def note(
        self,
        action: str,
        table: str,
        rows: Rows,
        *,
        before: Sequence[str] | np.ndarray | None = None,
        told: bool = True,
        reasons: Sequence[str] | np.ndarray | str = "",
    ) -> None:
        """Entries for some rows.

        Parameters
        ----------
        action : {"added", "corrected", "set_aside"}
        table : str
        rows : Rows
            Those that it happened to.
        before : sequence of str, optional
            What the log said of each.
        told : bool
            Whether the journal tells what they say.
        reasons : sequence of str, or str
            Why, of those set aside.
        """
        texts = row_texts(rows.frame)
        keys = content_keys(texts)
        why = np.broadcast_to(np.asarray(reasons, dtype=object), len(texts))
        past = [""] * len(texts) if before is None else before
        visits, zones = (rows.frame[name].astype(str) for name in ("visit", "zone"))
        for visit, zone, file, row, key, old, text, reason in zip(
            *(visits, zones, rows.files, rows.rows, keys, past, texts, why), strict=True
        ):
            after = str(text) if told else ""
            self.entries.append(
                Entry(action, table, visit, zone, str(file), int(row), str(key), str(old), after, str(reason))
            )
