"""How well a log covers a plan: inside, edge or outside, with the reasons in words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

__all__ = ["ENOUGH", "FEW", "Support"]

ENOUGH, FEW = 20, 5  # visits of a category for "inside" and for "edge"
COMMON = 0.99  # share of courses that the sessions needed must lie within

# column of the log: (what it is called, unit)
_CALLED: Mapping[str, tuple[str, str]] = {
    "start_level": ("a start at level", ""),
    "goal_level": ("a goal of level", ""),
    "gain": ("a gain of", " levels"),
    "peroxide_pct": ("developer of", " %"),
    "minutes": ("a time of", " minutes"),
    "root_level": ("a root shade of level", ""),
    "washes": ("a count of", " washes"),
}


@dataclass(frozen=True)
class Support:
    """What a log's visits cover.

    Attributes
    ----------
    numbers : mapping of str to (low, p1, p99, high)
        Ends and 1st and 99th percentiles of start_level, goal_level, gain, peroxide_pct and minutes.
    categories : mapping of str to mapping of str to int
        Visits of each category of hair, heat and stylist.
    sessions : mapping of int to int
        Courses by the number of their sessions.
    """

    numbers: Mapping[str, tuple[float, float, float, float]]
    categories: Mapping[str, Mapping[str, int]]
    sessions: Mapping[int, int]

    def assess(
        self,
        numbers: Mapping[str, float],
        categories: Mapping[str, str],
        sessions_needed: int | None = None,
        *,
        usual: bool = False,
    ) -> tuple[str, tuple[str, ...]]:
        """Judge a plan.

        Parameters
        ----------
        numbers, categories : mapping
            The plan's, under the names of this log's columns; names unknown here aren't judged.
        sessions_needed : int, optional
            Median number of sessions, where it's about sessions.
        usual : bool
            Whether the ranges are what is usual in the trade, not a log's; said so.

        Returns
        -------
        word : str
            "inside": every number within the 1st to 99th percentile, every category in at least 20 visits,
            the sessions needed within those of 99 % of courses. "edge": within the log's range, at least 5
            visits. "outside": anything else.
        notes : tuple of str
            One sentence for everything that isn't inside.
        """
        found = [
            self._number(column, value, usual) for column, value in numbers.items() if column in self.numbers
        ]
        found += [
            self._category(column, word) for column, word in categories.items() if column in self.categories
        ]
        if sessions_needed is not None:
            found.append(self._sessions(sessions_needed, usual))
        worst = max([rank for rank, _ in found], default=0)
        return ("inside", "edge", "outside")[worst], tuple(note for rank, note in found if rank)

    def _number(self, column: str, value: float, usual: bool) -> tuple[int, str]:
        low, first, last, high = self.numbers[column]
        name, unit = _CALLED.get(column, (column, ""))
        said = f"{name} {value:g}{unit if value != 1 else unit.removesuffix('s')}"
        if first <= value <= last:
            return 0, ""
        if usual:
            inside = low <= value <= high
            rare = "rare" if inside else "not usual"
            return 2 - inside, f"{said} is {rare} (usual: {low:g} to {high:g})"
        if low <= value <= high:
            side = "highest" if value > last else "lowest"
            return 1, f"{said} is among the {side} logged (the log goes from {low:g} to {high:g})"
        return 2, f"{said} was never logged (the log goes from {low:g} to {high:g})"

    def _category(self, column: str, word: str) -> tuple[int, str]:
        visits = self.categories[column].get(word, 0)
        if visits >= ENOUGH:
            return 0, ""
        count = "no logged visit has" if not visits else f"only {visits} logged visit{'s' * (visits > 1)} had"
        return (1 if visits >= FEW else 2), f"{count} {column.replace('_', ' ')} {word.replace('_', '-')}"

    def _sessions(self, needed: int, usual: bool) -> tuple[int, str]:
        courses = sum(self.sessions.values())
        longest = max(self.sessions, default=0)
        within = sum(count for number, count in self.sessions.items() if number < needed)
        if usual and needed > longest:
            return 2, f"it would take more sessions than are usual ({longest})"
        if not courses or needed > longest:
            return 2, f"it would take more sessions than any logged course had ({longest})"
        if within / courses >= COMMON:
            return 1, f"fewer than 1 in 100 logged courses had {needed} sessions or more"
        return 0, ""
