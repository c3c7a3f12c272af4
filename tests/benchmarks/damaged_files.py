"""Damaged files: python tests/benchmarks/damaged_files.py [--files 50000]

Sound logs of every form (CSV in several delimiters and encodings, workbooks, Parquet, the untidy demo logs)
with bytes flipped, cut, doubled, moved or put in, parts of workbooks damaged within, rows mixed. Reading one
may take 2 seconds of a core. A file is either refused in one line, or read: then rows in = rows used + rows
set aside. Prints how many were read and refused, and everything that went otherwise (aim: nothing).
"""

from __future__ import annotations

import argparse
import io
import multiprocessing
import random
import shutil
import signal
import tempfile
import time
import zipfile
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path

SECONDS = 2.0
TOP = Path(__file__).parents[2]
PIECES = [
    *(b'"', b",", b";", b"\t", b"\n", b"\r", b"\x00", b"\xff\xfe", b"\xef\xbb\xbf", b"=1+1", b"'", b"\x85"),
    *(b"\xe2\x80\xa8", b"9" * 400, b"1e999", b"<", b"&#x0;", b"]]>", b"\xed\xa0\x80", b"0/0/0000", b"99"),
]


def sound_logs(folder: Path) -> list[Path]:
    """Files to be damaged."""
    from outcomes.log.read import read_log
    from outcomes.log.write import write_log

    small = read_log(TOP / "data_demo" / "faulty")
    write_log(small, folder / "csv")
    write_log(small, folder / "parquet", form="parquet")
    text = (folder / "csv" / "visits.csv").read_text(encoding="utf-8")
    for name, changed, encoding in (
        ("semicolon.csv", text.replace(",", ";"), "cp1252"),
        ("tabs.tsv", text.replace(",", "\t"), "utf-16"),
        (
            "quoted.csv",
            "\n".join(",".join(f'"{c}"' for c in row.split(",")) for row in text.split("\n")),
            "utf-8",
        ),
    ):
        (folder / name).write_bytes(changed.encode(encoding))
    found = [folder / "csv" / "visits.csv", folder / "parquet" / "visits.parquet", *folder.glob("*.?sv")]
    return found + sorted(
        p for p in (TOP / "data_demo" / "untidy").iterdir() if p.suffix in (".csv", ".tsv", ".xlsx")
    )


def damaged(data: bytes, suffix: str, draw: random.Random) -> bytes:
    """The same bytes with one to five things done to them; now and then something very large."""
    if draw.random() < 0.005:
        return _swollen(data, suffix, draw)
    if suffix == ".xlsx" and draw.random() < 0.7:
        return _damaged_within(data, draw)
    found = bytearray(data)
    for _ in range(draw.randint(1, 5)):
        at, size = draw.randrange(len(found) + 1), draw.choice([1, 1, 2, 8, 64, 1024])
        kind = draw.randrange(7)
        if kind == 0 and found:
            found[at % len(found)] ^= 1 << draw.randrange(8)
        elif kind == 1:
            del found[at : at + size]
        elif kind == 2:
            found[at:at] = found[at : at + size] * draw.randint(1, 20)
        elif kind == 3:
            found[at:at] = draw.choice(PIECES)
        elif kind == 4:
            del found[at:]
        elif kind == 5:
            found[at : at + size] = draw.randbytes(size)
        else:
            rows = bytes(found).split(b"\n")
            draw.shuffle(rows)
            found = bytearray(b"\n".join(rows))
    return bytes(found)


def _swollen(data: bytes, suffix: str, draw: random.Random) -> bytes:
    """A part that unpacks to a great deal, or a quote that doesn't close before very many lines."""
    if suffix == ".xlsx":
        with zipfile.ZipFile(io.BytesIO(data)) as old:
            parts = {name: old.read(name) for name in old.namelist()}
        name = draw.choice(sorted(parts))
        parts[name] += draw.choice([b" ", b"<c/>", b"x"]) * draw.choice([2**20, 2**24, 2**27])
        return _packed(parts)
    at = draw.randrange(len(data) + 1)
    lines = draw.choice([b"x\n", b",,\n", b'"\n']) * draw.choice([1000, 50_000, 400_000])
    return data[:at] + b'"' + lines + data[at:]


def _damaged_within(data: bytes, draw: random.Random) -> bytes:
    """A workbook of which one part was damaged before it was packed."""
    with zipfile.ZipFile(io.BytesIO(data)) as old:
        parts = {name: old.read(name) for name in old.namelist()}
    name = draw.choice(sorted(parts))
    parts[name] = damaged(parts[name], ".xml", draw)
    if draw.random() < 0.1:
        del parts[draw.choice(sorted(parts))]
    return _packed(parts)


def _packed(parts: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for part, text in parts.items():
            new.writestr(part, text)
    return out.getvalue()


class _TooLong(Exception):
    pass


def _late(*_: object) -> None:
    raise _TooLong


def read_one(path: Path) -> str:
    """What became of a file: `read`, `refused`, or what went wrong."""
    from outcomes.errors import OutcomesError
    from outcomes.log.read import read_log

    signal.signal(signal.SIGPROF, _late)
    signal.setitimer(signal.ITIMER_PROF, SECONDS)
    try:
        log = read_log(path)
        wrong = [
            t
            for t, n in log.counts.items()
            if n["in"] != n["used"] + n["set_aside"] or n["used"] != len(getattr(log, t))
        ]
        return f"counts of {wrong} don't add up" if wrong else "read"
    except OutcomesError as error:
        return "refused" if "\n" not in str(error) and str(error) else f"refused in no line: {error!r}"
    except _TooLong:
        return "more than 2 s"
    except BaseException as error:
        return f"{type(error).__name__}: {str(error)[:80]}"
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)


def work(task: tuple[str, int, int]) -> Counter[str]:
    """Damage and read files of some numbers, one after the other."""
    folder, first, last = task
    logs = [Path(line) for line in (Path(folder) / "logs").read_text().splitlines()]
    told: Counter[str] = Counter()
    for number in range(first, last):
        draw = random.Random(number)
        log = draw.choice(logs)
        path = Path(folder) / f"damaged{number}{log.suffix}"
        path.write_bytes(damaged(log.read_bytes(), log.suffix, draw))
        what = read_one(path)
        told[what if what in ("read", "refused") else f"file {number} ({log.name}): {what}"] += 1
        path.unlink()
    return told


def main() -> None:
    """Print the counts."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--files", type=int, default=50_000)
    parser.add_argument("--from", type=int, default=0, dest="first", help="number of the first file")
    args = parser.parse_args()
    folder = tempfile.mkdtemp()
    began = time.perf_counter()
    try:
        (Path(folder) / "logs").write_text("\n".join(map(str, sound_logs(Path(folder)))))
        step = 100
        last = args.first + args.files
        tasks = [(folder, at, min(at + step, last)) for at in range(args.first, last, step)]
        told: Counter[str] = Counter()
        with ProcessPoolExecutor(2, mp_context=multiprocessing.get_context("fork")) as pool:
            for result in pool.map(work, tasks):
                told += result
    except BrokenProcessPool:
        left = sorted(path.name for path in Path(folder).glob("damaged*"))
        raise SystemExit(
            f"a process died over one of {left}; give its number as --from, with --files 1"
        ) from None
    finally:
        shutil.rmtree(folder)
    print(f"{args.files:,} files in {time.perf_counter() - began:.0f} s: {told.pop('read', 0):,} read, "
          f"{told.pop('refused', 0):,} refused in one line, {sum(told.values()):,} otherwise")  # fmt: skip
    for what, times in told.most_common():
        print(f"  {what} ({times})")


if __name__ == "__main__":
    main()
