"""What stands out in a team's quarter, its numbers first; what is said where nothing does."""

from __future__ import annotations

from dataclasses import dataclass

from outcomes.answers.wording import count
from outcomes.review.findings import FALSE_DISCOVERIES, MOST
from outcomes.review.team_review import Finding, TeamReview
from outcomes.show.report.rounded import faster, hundredths, is_lacking, mean, share

__all__ = ["Told", "comparing_sentence", "nothing_sentences", "rule_sentence", "told"]

_RATES = {"rate": "lift", "fade": "fade", "change": "lift than the quarter before"}


@dataclass(frozen=True)
class Told:
    """A finding as it's printed: its number first.

    Attributes
    ----------
    number, unit : str
    who : str
        Stylist; empty where the sentence says so itself, and of the team.
    sentence : str
    """

    number: str
    unit: str
    who: str
    sentence: str


def told(finding: Finding) -> Told:
    """A finding with its number set apart.

    Parameters
    ----------
    finding : Finding

    Returns
    -------
    Told
    """
    number, unit = _number(finding)
    return Told(number, unit, "" if finding.who in finding.sentence else finding.who, finding.sentence)


def _number(finding: Finding) -> tuple[str, str]:
    value = finding.value
    if is_lacking(value):
        return "", ""
    if finding.kind in _RATES:
        number, way = faster(value)
        return number, f"{way} {_RATES[finding.kind]}"
    if finding.kind == "goal":
        return share(value), "of visits reached their goal"
    if finding.kind == "promise":
        return mean(abs(value)), f"sessions {'fewer' if value < 0.0 else 'more'} than quoted"
    if finding.kind == "condition":
        return hundredths(abs(value)), f"points of condition lost {'less' if value < 0.0 else 'more'}"
    return hundredths(value), ""


def rule_sentence(review: TeamReview) -> str:
    """How findings are chosen.

    Parameters
    ----------
    review : TeamReview

    Returns
    -------
    str
    """
    among = f"chosen among {count(review.compared, 'comparison')}" if review.compared else "chosen"
    return (
        f"At most {_word(MOST)} are ever named, {among} by the rule of Benjamini and Hochberg: of all that "
        f"are named over many quarters, about one in {_word(round(1 / FALSE_DISCOVERIES))} is chance."
    )


def comparing_sentence(review: TeamReview) -> str:
    """Why stylists can't be compared; empty where they can.

    Parameters
    ----------
    review : TeamReview

    Returns
    -------
    str
    """
    every = len(review.stylists)
    shown = every - int(review.stylists["suppressed"].astype(bool).sum())
    if not every:
        return "No visits are logged in this quarter."
    if not shown:
        return "No stylist's numbers may be shown in this quarter, so nothing is compared here."
    if shown > 1:
        return ""
    whose = "One stylist worked" if every == 1 else "The numbers of one stylist only may be shown"
    return f"{whose} in this quarter, so there is no team to compare with."


def nothing_sentences(review: TeamReview) -> tuple[str, str]:
    """What is said where nothing is named.

    Parameters
    ----------
    review : TeamReview

    Returns
    -------
    tuple of str
        In large letters, and what it means; the second may be empty.
    """
    alone = comparing_sentence(review)
    if not review.compared:
        return alone or "Too little was written in this quarter to compare anything.", ""
    if alone:
        return (
            alone,
            "Of what could be compared, nothing stands out beyond chance, which is the usual result.",
        )
    return "Nothing stands out beyond chance.", (
        "That is the usual result of a quarter. Numbers below still differ from stylist to stylist; where "
        "they rest on few visits, chance alone makes them differ."
    )


def _word(number: int) -> str:
    return {5: "five", 10: "ten"}.get(number, f"{number}")
