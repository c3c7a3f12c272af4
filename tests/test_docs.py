"""The two pages say what the package does: commands, dictionary and the CI's command are compared."""

from pathlib import Path

from outcomes.cli.main import COMMANDS
from outcomes.log.dictionary import data_dictionary

TOP = Path(__file__).parent.parent
README = (TOP / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (TOP / "DEVELOPERS.md").read_text(encoding="utf-8")


def test_every_command_is_documented():
    for command in COMMANDS:
        assert f"### `outcomes {command}`" in DEVELOPERS


def test_data_dictionary_is_the_schema_s():
    assert data_dictionary().rstrip() in DEVELOPERS


def test_ci_runs_the_readme_s_test_command():
    command = next(line for line in README.splitlines() if line.endswith("-m pytest -n auto"))
    assert command in (TOP / ".ci" / "run").read_text(encoding="utf-8").splitlines()


def test_readme_shows_every_caution():
    for words in (
        "Patch test and strand test first",
        "spring back",
        "broken or irritated skin",
        "licensed practice",
    ):
        assert words in README
