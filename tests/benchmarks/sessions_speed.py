"""Speed of `outcomes sessions`, as ratios in one run: python tests/benchmarks/sessions_speed.py MODEL

A whole process for one answer against `python -c "import pandas"` (aim: at most 0.8), pairs interleaved
after one warm-up; answers about fade against it, where the model has fade; and 1,000 plans in one `--cases`
call, start-up taken off (aim: at most 3 s).
"""

from __future__ import annotations

import json
import random
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

PAIRS = 7
ASKED = ["--start", "3", "--goal", "9.5", "--hair", "natural", "--peroxide", "6", "--heat", "low"]
ASKED += ["--minutes", "45"]
OF_FADE = {
    "fade": [],
    "root-shade": ["--natural", "2.5", "--lengths", "9.5", "--washes", "18", "--limit", "7.5"],
    "refresh": ["--zone", "roots", "--fade", "1", "--washes-per-week", "3"],
    "aftercare": [],
}


def _seconds(*command: str) -> float:
    began = time.perf_counter()
    subprocess.run([sys.executable, *command], check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - began


def _cases(path: Path) -> None:
    draw = random.Random(1)
    lines = ["start,goal,hair,peroxide,heat,minutes"]
    for _ in range(1000):
        start = draw.randrange(4, 14) / 2
        goal = min(start + draw.randrange(2, 15) / 2, 10.0)
        hair, heat = draw.choice(["natural", "coloured", "lightened"]), draw.choice(["none", "low", "medium"])
        lines.append(
            f"{start},{goal},{hair},{draw.choice([3, 6, 9, 12])},{heat},{draw.choice([30, 40, 45, 60])}"
        )
    path.write_text("\n".join(lines) + "\n")


def main(model: str) -> None:
    """Print both figures."""
    question = ("-m", "outcomes", "sessions", model, *ASKED)
    pairs = [(_seconds(*question), _seconds("-c", "import pandas")) for _ in range(PAIRS + 1)][1:]
    ratios = sorted(ours / theirs for ours, theirs in pairs)
    print(
        f"one answer / import pandas: {statistics.median(ratios):.2f} ({ratios[0]:.2f} to {ratios[-1]:.2f}); "
        f"{statistics.median(ours for ours, _ in pairs):.2f} s"
    )
    for name, asked in OF_FADE.items() if "fade" in json.loads(Path(model).read_text()) else ():
        _seconds("-m", "outcomes", name, model, *asked)
        ratios = sorted(
            _seconds("-m", "outcomes", name, model, *asked) / _seconds(*question) for _ in range(PAIRS)
        )
        print(f"{name} / sessions: {statistics.median(ratios):.2f} ({ratios[0]:.2f} to {ratios[-1]:.2f})")
    with tempfile.TemporaryDirectory() as folder:
        _cases(Path(folder) / "cases.csv")
        whole = _seconds(
            "-m", "outcomes", "sessions", model, "--cases", str(Path(folder) / "cases.csv"), "--json"
        )
    start_up = _seconds("-m", "outcomes", "effects", model)
    print(f"1,000 plans: {whole - start_up:.2f} s beyond start-up ({start_up:.2f} s)")


if __name__ == "__main__":
    main(sys.argv[1])
