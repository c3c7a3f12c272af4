"""The package as a whole: what lies at the top, which way imports point, what a wheel holds."""

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

import outcomes

ROOT = Path(__file__).parents[1]
TOP = {"README.md", "DEVELOPERS.md", "pyproject.toml", "outcomes", "notebooks", "data_demo", "tests"}


def _tracked() -> list[str]:
    """Files under version control; a copy without it is looked at as it lies there."""
    done = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False)
    found = done.stdout.split("\n")[:-1] if done.returncode == 0 else []
    return found or [str(path.relative_to(ROOT)) for path in ROOT.rglob("*") if path.is_file()]


def test_the_top_level_is_exactly_this():
    assert {name.partition("/")[0] for name in _tracked() if not name.startswith(".")} == TOP


def test_no_module_is_named_after_nothing():
    names = {Path(name).stem for name in _tracked() if name.endswith(".py")}
    assert not names & {"utils", "helpers", "common", "misc"}


def test_imports_point_one_way():
    command = [
        sys.executable,
        "-c",
        "from importlinter.cli import lint_imports_command; lint_imports_command()",
    ]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, encoding="utf-8", check=False)
    assert done.returncode == 0, done.stdout
    assert "4 kept, 0 broken" in done.stdout


@pytest.mark.parametrize("name", outcomes.__all__)
def test_public_names_are_there(name):
    assert getattr(outcomes, name) is not None


def test_a_name_that_is_not_public():
    with pytest.raises(AttributeError, match="no attribute 'forecast'"):
        outcomes.forecast  # noqa: B018


@pytest.mark.parametrize(
    "statement", ["import outcomes", "from outcomes import load_model, sessions, lift_curve"]
)
def test_answers_are_loaded_without_pandas(statement):
    code = f"import sys; {statement}; print(sorted({{m.partition('.')[0] for m in sys.modules}}))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert not set(eval(done.stdout)) & {"pandas", "scipy", "sklearn", "statsmodels", "matplotlib", "seaborn"}


def _built(place: Path, kind: str) -> Path:
    """A wheel built from this checkout, and unpacked."""
    code = f"from hatchling.build import {kind} as build; print(build({str(place)!r}))"
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    with zipfile.ZipFile(place / done.stdout.split()[-1]) as packed:
        packed.extractall(place / "unpacked")
    return place / "unpacked"


def _names(folder: Path) -> set[str]:
    return {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}


@pytest.fixture(scope="module")
def unpacked(tmp_path_factory) -> Path:
    return _built(tmp_path_factory.mktemp("wheel"), "build_wheel")


@pytest.fixture(scope="module")
def wheel(unpacked) -> set[str]:
    return _names(unpacked)


def test_a_wheel_holds_the_notebooks_where_they_are_looked_for(unpacked, tmp_path):
    names = sorted(path.stem for path in (ROOT / "notebooks").glob("*.ipynb"))
    assert "how_many_sessions" in names
    code = (
        f"import sys; sys.path.insert(0, {str(unpacked)!r})\n"
        "from outcomes.show.notebooks import notebook_names, notebooks_folder, read_notebook\n"
        "print(notebooks_folder(), *notebook_names()); read_notebook('how_many_sessions')"
    )
    done = subprocess.run(
        [sys.executable, "-P", "-c", code], cwd=tmp_path, capture_output=True, text=True, check=True
    )
    assert done.stdout.split() == [str(unpacked / "outcomes" / "_notebooks"), *names]
    assert {path.suffix for path in (unpacked / "outcomes" / "_notebooks").iterdir()} == {".ipynb"}


def test_an_editable_install_copies_nothing(tmp_path):
    unpacked = _built(tmp_path, "build_editable")
    described = {name for name in _names(unpacked) if ".dist-info/" in name}
    (path_file,) = _names(unpacked) - described
    assert (unpacked / path_file).read_text(encoding="utf-8").strip() == str(ROOT)


def test_a_wheel_holds_every_file_of_the_package(wheel):
    own = {name for name in _tracked() if name.startswith("outcomes/") and "__pycache__" not in name}
    assert {"outcomes/models/starter.csv", "outcomes/demo/data_readme.md"} <= own
    assert "outcomes/show/templates/outcomes_notebook/index.html.j2" in own
    assert own <= wheel


def test_a_wheel_holds_nothing_else(wheel):
    assert {name.partition("/")[0] for name in wheel} == {
        "outcomes",
        f"outcomes-{outcomes.__version__}.dist-info",
    }
