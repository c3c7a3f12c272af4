"""What to expect today, look by look: level, band, chance that the goal was read, and when to look."""

from __future__ import annotations

import argparse

from outcomes.cli.plan import add_client, add_plan, read_plan
from outcomes.cli.tell import tell

EXAMPLE = """example:
  outcomes today salon.model.json --start 3 --goal 9.5 --hair natural --peroxide 6 --heat low --minutes 45
  outcomes today salon.model.json --start 6.5 --goal 9.5 --hair natural --peroxide 6 --heat low \\
      --minutes 45 --past "start=3,achieved=6.5,minutes=45,peroxide=6,heat=low,stop=time\""""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `outcomes today`."""
    add_plan(parser)
    parser.add_argument(
        "--every", metavar="MINUTES", help="from look to look (default: as the log's stylists)"
    )
    parser.add_argument("--json", action="store_true", help="print JSON")
    add_client(parser)


def run(args: argparse.Namespace) -> int:
    """Print the looks of one session.

    Raises
    ------
    InputError
        Options that are lacking or don't go together; as `outcomes.today`.
    ModelFileError
        As `load_model`.
    """
    asked = read_plan(args, "a session")
    from outcomes.answers.today import look_by_look

    answer = look_by_look(asked.predictive, asked.question, every=args.every, past=asked.past)

    def text() -> str:
        from outcomes.show.today_text import today_text

        return today_text(answer)

    return tell(answer, text, json=args.json)
