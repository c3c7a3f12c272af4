"""Every public function that reads or writes a log says what it takes, gives and raises."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

import outcomes.log

SOURCES = sorted(Path(outcomes.log.__path__[0]).glob("*.py"))


def public_functions(body, owner=""):
    """Name and node of functions and methods that others call; properties are told in one line."""
    for node in body:
        if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            yield from public_functions(node.body, f"{node.name}.")
        elif (
            isinstance(node, ast.FunctionDef)
            and not node.name.startswith("_")
            and "property" not in map(ast.unparse, node.decorator_list)
        ):
            yield owner + node.name, node


FUNCTIONS = [
    pytest.param(node, id=f"{source.stem}.{name}")
    for source in SOURCES
    for name, node in public_functions(ast.parse(source.read_text(encoding="utf-8")).body)
]


@pytest.mark.parametrize("function", FUNCTIONS)
def test_parameters_results_and_errors_are_told(function):
    told = (ast.get_docstring(function) or "").splitlines()
    names = [arg.arg for arg in (*function.args.args, *function.args.kwonlyargs) if arg.arg != "self"]
    assert not names or "Parameters" in told
    heads = {name for line in told if " : " in line for name in line.partition(" : ")[0].split(", ")}
    assert set(names) <= heads
    assert ast.unparse(function.returns) == "None" or {"Returns", "Yields"} & set(told)
    assert "Raises" in told or not any(isinstance(node, ast.Raise) for node in ast.walk(function))
