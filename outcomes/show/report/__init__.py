"""The quarterly review of a team for people: one page to read or print, and tidy tables beside it."""

from outcomes.show.report.team_folder import write_team
from outcomes.show.report.team_page import team_page

__all__ = ["team_page", "write_team"]
