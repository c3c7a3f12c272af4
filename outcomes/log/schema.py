"""The one table of the visit log: columns, units, ranges, words, headings, and the reasons for a fault.

Reader, checks, blank workbook, table schema and data dictionary all read it: a new column is one entry here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

__all__ = ["EXAMPLE_VISIT", "REASONS", "TABLES", "Column", "Reason", "column", "columns"]

EXAMPLE_VISIT = "EXAMPLE"  # visit code of the workbook's example row, which no reading ever counts
DEFAULT_ZONE = "lengths"
PERCENT_PER_VOLUME = 0.3  # 10 volume = 3 %, the trade's rounding, so that 40 volume is 12 % and allowed
WEAK_VOLUME = 10.0  # the weakest developer that hair is lightened with as a rule
PEROXIDE_LIMIT = 12.0  # %, Regulation (EC) No 1223/2009, Annex III, entry 12
LEVEL_STEP = 0.5
# two visits to the same hair that may belong to one course where no course code says so
COURSE_GAP_WEEKS = 16.0  # weeks between them, at most
COURSE_GOAL_WITHIN = 1.0  # levels between the goals of two sessions, at most
COURSE_START_WITHIN = 1.5  # levels between the first one's result and the second one's start, at most
TABLES = ("visits", "checks", "washes")


@dataclass(frozen=True)
class Column:
    """One column of one table.

    Attributes
    ----------
    kind : str
        `text`, `number`, `date` or `word` (one of `words`).
    reads : str
        How a cell is read: the kind itself, or `level`, `developer`, `minutes`, `ratio`.
    low, high, step : float or None
        Range, ends included, and grid counted from 0, in `unit`.
    spellings : mapping
        Other spellings of a word (lower case, `_` for spaces) and the word that each means.
    headings : tuple of str
        Other headings that name this column.
    unit_headings : mapping
        Headings that also say in which unit bare numbers stand below them.
    example : str
        The cell of the workbook's example row.
    """

    table: str
    name: str
    kind: str
    meaning: str
    example: str = ""
    needed: bool = False
    reads: str = ""
    low: float | None = None
    high: float | None = None
    step: float | None = None
    words: tuple[str, ...] = ()
    spellings: Mapping[str, str] = field(default_factory=dict)
    unit: str = ""
    headings: tuple[str, ...] = ()
    unit_headings: Mapping[str, str] = field(default_factory=dict)

    @property
    def reader(self) -> str:
        """Name of the way in which a cell is read."""
        return self.reads or self.kind

    @property
    def choices(self) -> tuple[str | float, ...]:
        """The fixed values of a drop-down; empty where any number or text in range may stand."""
        if self.words:
            return self.words
        if self.step is None or self.low is None or self.high is None:
            return ()
        count = round((self.high - self.low) / self.step) + 1
        return tuple(self.low + self.step * i for i in range(count)) if count <= 20 else ()

    @property
    def expected(self) -> str:
        """What a cell may hold, in a few words."""
        if self.words:
            return "one of " + ", ".join(self.words)
        if self.kind == "date":
            return "a date written YYYY-MM-DD"
        if self.kind == "text":
            return "a code"
        unit = "" if self.unit == "level" else self.unit
        if self.low is None or self.high is None:
            text = (unit or "a number") + ("" if self.low is None else f", {self.low:g} or more")
        else:
            text = f"{self.low:g} to {self.high:g} {unit}".strip()
        if self.step == 1:
            return f"{text}, a whole number"
        return f"{text} in steps of {self.step:g}" if self.step else text


@dataclass(frozen=True)
class Reason:
    """Why a row is set aside (fault) or pointed out (warning), and what to do about it."""

    code: str
    kind: str
    meaning: str
    advice: str


_ZONES = ("roots", "lengths", "ends", "all")
_ZONE_WORDS = MappingProxyType(
    {"root": "roots", "regrowth": "roots", "length": "lengths", "mids": "lengths", "mid_lengths": "lengths",
     "midlengths": "lengths", "end": "ends", "tips": "ends", "whole": "all", "full_head": "all"}
)  # fmt: skip
_HAIR = MappingProxyType(
    {"virgin": "natural", "uncoloured": "natural", "uncolored": "natural", "colored": "coloured",
     "tinted": "coloured", "dyed": "coloured", "bleached": "lightened", "prelightened": "lightened",
     "pre_lightened": "lightened"}
)  # fmt: skip
_YES_NO = MappingProxyType(
    {"y": "yes", "x": "yes", "true": "yes", "1": "yes", "1.0": "yes", "✓": "yes", "done": "yes",
     "n": "no", "false": "no", "0": "no", "0.0": "no"}
)  # fmt: skip
_ROOT_TONES = ("neutral", "ash", "violet", "gold", "copper", "red", "other")
_TONES = MappingProxyType({"natural": "neutral", "golden": "gold", "purple": "violet", "ashy": "ash"})
_STOPS = MappingProxyType(
    {"goal": "target", "goal_reached": "target", "reached": "target", "time_limit": "time",
     "time_up": "time", "timer": "time", "hair": "condition", "hair_condition": "condition"}
)  # fmt: skip
_VOLUME = MappingProxyType(
    dict.fromkeys(("dev vol", "developer vol", "developer volume", "vol", "volume", "peroxide vol"), "volume")
)


def _visit(name: str, kind: str, meaning: str, example: str = "", **rest: object) -> Column:
    return Column("visits", name, kind, meaning, example, **rest)  # type: ignore[arg-type]


def _level(table: str, name: str, meaning: str, example: str, needed: bool, *headings: str) -> Column:
    return Column(table, name, "number", meaning, example, needed, "level", 1, 10, LEVEL_STEP, unit="level",
                  headings=headings)  # fmt: skip


def _minutes(table: str, name: str, low: float | None, high: float | None, meaning: str, example: str,
             needed: bool, *headings: str) -> Column:  # fmt: skip
    return Column(table, name, "number", meaning, example, needed, "minutes", low, high, unit="minutes",
                  headings=headings)  # fmt: skip


def _zone(table: str, meaning: str) -> Column:
    return Column(table, "zone", "word", meaning, "lengths", words=_ZONES, spellings=_ZONE_WORDS,
                  headings=("area", "section", "part of hair"))  # fmt: skip


_VISIT_HEADINGS = ("visit code", "visit id", "visit no", "visit number", "appointment", "appointment id")

_COLUMNS: tuple[Column, ...] = (
    _visit("visit", "text", "visit code, unique together with zone; those of one date count up",
           EXAMPLE_VISIT, needed=True, headings=_VISIT_HEADINGS),
    _visit("client", "text", "client code (a pseudonym after anonymising)", "C001", needed=True,
           headings=("client code", "client id", "client no", "guest", "customer")),
    _visit("stylist", "text", "stylist code", "S1", needed=True,
           headings=("stylist code", "stylist id", "colourist", "colorist")),
    _visit("salon", "text", "salon code", "A", headings=("salon code", "salon id", "branch")),
    _visit("date", "date", "day of the visit (first day of its month after anonymising)", "2024-03-14",
           needed=True, headings=("visit date", "day", "date of visit")),
    _zone("visits", "part of the hair lightened; lengths when absent"),
    _visit("hair", "word", "what was there before this visit", "natural", needed=True,
           words=("natural", "coloured", "lightened"), spellings=_HAIR,
           headings=("hair before", "hair type", "previous colour", "previous color")),
    _visit("texture", "word", "strand thickness", "medium", words=("fine", "medium", "coarse"),
           spellings={"thin": "fine", "normal": "medium", "thick": "coarse"}, headings=("hair texture",)),
    _level("visits", "start_level", "level read before lightening", "4", True, "start", "start lvl",
           "starting level", "base level", "natural level", "level before", "before"),
    _level("visits", "goal_level", "level aimed at in this course", "8", True, "goal", "goal lvl",
           "target level", "target lvl", "desired level"),
    _visit("product", "text", "code of the lightener", "P1", headings=("lightener", "product code")),
    _visit("peroxide_pct", "number", "developer strength, % hydrogen peroxide (10 volume = 3 %)", "6",
           needed=True, reads="developer", low=1.5, high=PEROXIDE_LIMIT, unit="%",
           headings=("peroxide", "peroxide %", "developer", "dev", "developer %", "developer strength"),
           unit_headings=_VOLUME),
    _visit("mix_ratio", "number", "parts developer to one part lightener", "2", reads="ratio", low=0.5,
           high=4, headings=("mix", "mixing ratio", "ratio")),
    _visit("wrap", "word", "how the section was enclosed", "foil", words=("foil", "open", "film"),
           spellings={"foils": "foil", "open_air": "open", "cling_film": "film", "plastic": "film"},
           headings=("wrapping", "technique")),
    _visit("heat", "word", "added heat", "none", needed=True, words=("none", "low", "medium", "high"),
           spellings={"no": "none", "0": "none", "med": "medium"}, headings=("added heat", "heat level")),
    _minutes("visits", "minutes", 1, 180, "processing time on the section whose level is read, from its "
             "application to its rinse", "40", True, "processing", "processing min", "processing minutes",
             "processing time", "processing time min", "min", "mins", "time min"),
    _minutes("visits", "planned_minutes", 1, 180, "longest time intended when it was applied", "45", False,
             "planned min", "planned time", "time limit"),
    _minutes("visits", "look_every", 1, 60, "usual minutes between two looks, where looks aren't recorded",
             "10", False, "look interval", "check every"),
    _visit("applications", "number", "times lightener was applied to this section; minutes count from the "
           "last", "1", low=1, high=3, step=1),
    _visit("looks", "number", "looks taken before the one that ended the visit; 0 when rinsed at the first; "
           "empty when nobody counted", "3", low=0, high=60, step=1, headings=("looks taken",)),
    _level("visits", "achieved_level", "level read after rinsing", "7.5", True, "achieved", "achieved lvl",
           "result level", "result", "end level", "level after"),
    _visit("stop", "word", "why it was rinsed: goal reached, time limit, hair condition, other", "time",
           needed=True, words=("target", "time", "condition", "other"), spellings=_STOPS,
           headings=("stop reason", "reason for stop", "why rinsed", "rinsed because")),
    _visit("condition_before", "number", "strand condition before, 5 strong to 1 breaking", "5", low=1,
           high=5, step=1),
    _visit("condition_after", "number", "strand condition after, 5 strong to 1 breaking", "4", low=1, high=5,
           step=1),
    _visit("warmth", "word", "warmth left after rinsing", "yellow",
           words=("none", "pale_yellow", "yellow", "orange", "red"), headings=("warmth left",)),
    _visit("evenness", "number", "3 even, 2 some spots, 1 patchy", "3", low=1, high=3, step=1),
    _visit("colour_history", "word", "layers of older dark colour in this hair", "none",
           words=("none", "one", "several"), spellings={"0": "none", "1": "one", "many": "several"},
           headings=("color history",)),
    _visit("course", "text", "code of the course this visit belongs to", "K1", headings=("course code",)),
    _visit("course_end", "word", "how the course ended (on its last visit)", "open",
           words=("reached", "given_up", "open"), headings=("end of course",)),
    _minutes("visits", "chair_minutes", 10, 720, "whole time in the chair", "150", False, "chair time",
             "chair min", "total minutes"),
    _visit("quoted_sessions", "number", "sessions promised at the consultation", "2", low=1, high=12, step=1,
           headings=("sessions quoted", "quoted")),
    *(_visit(f"{name}_test", "word", f"whether a {name} test was done before", "yes", words=("yes", "no"),
             spellings=_YES_NO) for name in ("patch", "strand")),
    _level("visits", "root_level", "level of the root shade applied after lightening", "6", False,
           "root shade level", "root lvl"),
    _visit("root_tone", "word", "reflect of the root shade", "ash", words=_ROOT_TONES, spellings=_TONES,
           headings=("root reflect",)),
    _visit("toner_tone", "word", "reflect of the toner on the lengths", "violet",
           words=(*_ROOT_TONES, "silver", "beige", "pearl"), spellings=_TONES,
           headings=("toner", "toner reflect")),
    _minutes("visits", "toner_minutes", 0, None, "processing time of the toner", "10", False, "toner min",
             "toner time"),
    _visit("toner_ratio", "number", "parts developer to one part toner", "2", reads="ratio", low=0),
    _visit("start_L", "number", "colorimeter L* before (D65, 10 degrees); tells how an eye reads", "",
           low=0, high=100, unit="L*"),
    _visit("achieved_L", "number", "colorimeter L* of the result, rinsed (D65, 10 degrees)", "",
           low=0, high=100, unit="L*"),
    Column("checks", "visit", "text", "code of the visit that was looked at", EXAMPLE_VISIT, True,
           headings=_VISIT_HEADINGS),
    _zone("checks", "part of the hair looked at; lengths when absent"),
    _minutes("checks", "minutes", 1, 180, "minutes since application", "20", True, "min", "mins", "time min"),
    _level("checks", "level", "level read at this look", "6.5", True, "level read", "lvl"),
    Column("checks", "read_on", "word", "how the hair was when it was looked at", "product",
           words=("product", "wet", "dry"), headings=("read when",)),
    Column("washes", "visit", "text", "code of the visit that is fading", EXAMPLE_VISIT, True,
           headings=_VISIT_HEADINGS),
    _zone("washes", "where it was read (roots reads the root shade); lengths when absent"),
    Column("washes", "washes", "number", "washes since that visit", "6", True, low=0, high=200,
           headings=("wash", "number of washes", "washes since")),
    _level("washes", "level", "depth by eye", "7.5", False, "level read", "lvl"),
    Column("washes", "tone_left", "number", "share of the applied tone still there, by eye", "75", low=0,
           high=100, step=25, unit="%", headings=("tone left %",)),
    Column("washes", "L", "number", "colorimeter L* (D65, 10 degrees)", "", low=0, high=100,
           headings=("L*",)),
    *(Column("washes", name, "number", f"colorimeter {name}* (D65, 10 degrees)", "", low=-150, high=150,
             headings=(f"{name}*",)) for name in ("a", "b")),
    Column("washes", "shampoo", "word", "what it was mostly washed with", "sulphate_free",
           words=("plain", "sulphate_free", "pigmented"),
           spellings={"sulfate_free": "sulphate_free", "purple": "pigmented", "silver": "pigmented",
                      "normal": "plain"}),
)  # fmt: skip

_BY_TABLE = {table: tuple(c for c in _COLUMNS if c.table == table) for table in TABLES}


def columns(table: str) -> tuple[Column, ...]:
    """Columns of `visits`, `checks` or `washes`, in canonical order.

    Parameters
    ----------
    table : str
        `visits`, `checks` or `washes`.

    Returns
    -------
    tuple of Column
    """
    return _BY_TABLE[table]


def column(table: str, name: str) -> Column:
    """One column by its table and canonical name.

    Parameters
    ----------
    table : str
        `visits`, `checks` or `washes`.
    name : str
        Canonical name; must be one of the table's.

    Returns
    -------
    Column
    """
    return next(c for c in _BY_TABLE[table] if c.name == name)


_REASONS = (
    Reason("missing", "fault", "a needed value is missing", "fill it in"),
    Reason("unreadable", "fault", "a value can't be read", "write it as expected"),
    Reason("out_of_range", "fault", "a value is out of range", "correct it, or leave the row out"),
    Reason("off_grid", "fault", "a value lies off its grid", "round it to the grid"),
    Reason("peroxide_limit", "fault", "peroxide stands above 12 %",
           'if the number is volume, write for example "20 vol"; above 12 % nothing is used on hair'),
    Reason("no_such_date", "fault", "the calendar has no such day", "write the day as YYYY-MM-DD"),
    Reason("date_order", "fault", "the column holds day-first and month-first dates",
           "write every date as YYYY-MM-DD"),
    Reason("date_unsettled", "fault", "nothing settles whether a date has its day or its month first",
           "write the date as YYYY-MM-DD, or say --dates day-first or --dates month-first"),
    Reason("ambiguous", "fault", "a number can be read in two ways, and nothing settles which",
           "write it so that one reading is left"),
    Reason("fields", "fault", "a row has more or fewer fields than the headings",
           "look for a missing or extra delimiter, or quotes that don't close"),
    Reason("summary", "fault", "a row sums up others", "leave it, or take it out: it's no visit"),
    Reason("goal_not_above_start", "fault", "the goal is at or below the start",
           "correct start_level or goal_level"),
    Reason("achieved_below_start", "fault", "the result is below the start by more than one step",
           "correct start_level or achieved_level"),
    Reason("repeated", "fault", "the same visit and zone stands in an earlier row",
           "keep one of the rows, or give this one its own visit code or zone"),
    Reason("codes_collide", "fault", "one visit code stands for two clients or two days",
           "give each visit its own code (where logs were joined: a prefix for each log)"),
    Reason("no_visit", "fault", "a reading belongs to a visit that isn't there",
           "correct the visit code or zone, or add the visit"),
    Reason("visit_set_aside", "fault", "a reading belongs to a visit that was set aside",
           "mend the visit's own row"),
    Reason("after_rinse", "fault", "a look was taken after the rinse",
           "correct the minutes of the look or of the visit"),
    Reason("unreadable_optional", "warning", "a value that isn't needed can't be read",
           "it counts as not given; write it as expected, or leave it empty"),
    Reason("target_below_goal", "warning", "stop is target but the result is below the goal",
           "leave it if the hair read at its goal while wet, or else correct a level or the stop"),
    Reason("heaped_minutes", "warning", "a stylist's minutes stand on one value",
           "write the minutes as they were, not as planned"),
    Reason("no_time_stops", "warning", "a stylist has no time stops",
           "write stop = time where the time was up before the goal"),
    Reason("start_far_from_last", "warning", "a session starts far from the last achieved level",
           "look at both levels, and whether both visits belong together"),
    Reason("level_jump", "warning", "the level jumps by 4 or more between two looks",
           "look at both readings"),
    Reason("no_checks", "warning", "there are no looks during processing at all",
           "write down the minutes and level of each look; it makes the answers much surer"),
    Reason("unit_unclear", "warning", "a bare developer strength may be meant in the other unit, volume or %",
           'write the unit, for example "20 vol" or "6 %"'),
)  # fmt: skip

REASONS: Mapping[str, Reason] = MappingProxyType({reason.code: reason for reason in _REASONS})
