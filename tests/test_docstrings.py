"""Everything public says what it is, and every public function what it takes, gives and raises."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

import outcomes

PACKAGE = Path(outcomes.__path__[0])


def public(body, owner=""):
    """Name and node of everything that others use: classes, their methods, functions."""
    for node in body:
        if isinstance(node, (ast.ClassDef, ast.FunctionDef)) and not node.name.startswith("_"):
            yield owner + node.name, node
            if isinstance(node, ast.ClassDef):
                yield from public(node.body, f"{owner}{node.name}.")


def in_one_line(place, node):
    """Properties, and what the command line asks of a command's module."""
    is_property = any("property" in ast.unparse(decorator) for decorator in node.decorator_list)
    return is_property or (place.startswith("cli.") and node.name in ("add_arguments", "run"))


EVERYTHING = [
    (f"{'.'.join(source.relative_to(PACKAGE).with_suffix('').parts)}.{name}", node)
    for source in sorted(PACKAGE.rglob("*.py"))
    for name, node in public(ast.parse(source.read_text(encoding="utf-8")).body)
]
FUNCTIONS = [
    pytest.param(node, in_one_line(place, node), id=place)
    for place, node in EVERYTHING
    if isinstance(node, ast.FunctionDef)
]
RUNS = [
    pytest.param(node, id=place)
    for place, node in EVERYTHING
    if place.startswith("cli.") and place.endswith(".run")
]


def told_by(node):
    return (ast.get_docstring(node) or "").splitlines()


@pytest.mark.parametrize("node", [pytest.param(node, id=place) for place, node in EVERYTHING])
def test_everything_public_says_what_it_is(node):
    assert told_by(node)


@pytest.mark.parametrize(("function", "in_one_line"), FUNCTIONS)
def test_parameters_results_and_errors_are_told(function, in_one_line):
    told = told_by(function)
    if not in_one_line:
        every = (*function.args.args, *function.args.kwonlyargs)
        names = [arg.arg for arg in every if arg.arg not in ("self", "cls")]
        assert not names or "Parameters" in told
        heads = {name for line in told if " : " in line for name in line.partition(" : ")[0].split(", ")}
        assert set(names) <= heads
        # without parameters, the one line says what is given
        gives = bool(names) and ast.unparse(function.returns) != "None"
        assert not gives or {"Returns", "Yields"} & set(told)
    assert "Raises" in told or not any(isinstance(node, ast.Raise) for node in ast.walk(function))


@pytest.mark.parametrize("run", RUNS)
def test_every_command_says_what_it_refuses(run):
    assert "Raises" in told_by(run)
