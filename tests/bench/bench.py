"""How long the commands take, whole processes from start to end, beside two yardsticks of the same run.

The yardsticks are a bare start of Python and a checker that only holds the same files against the same
schemas. Ratios to them travel between machines better than seconds do. Nothing is judged here.
"""

from __future__ import annotations

import argparse
import dataclasses
import importlib.util
import json
import os
import platform
import shutil
import statistics
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from pathlib import Path

from generate import TODAY, TOP, Made, commit, stage_change

__all__ = ["Case", "Sample", "measure"]

_HERE = Path(__file__).resolve().parent
_SCHEMAS = _HERE.parents[1] / "schema"
_EXAMPLE = _HERE.parents[1] / "example-product"
_PLAN, _SKU, _DAY = "first-season", "W20-SINGLE", "2026-11-25"
#: Levers beside the example's nine, so that there are twenty: terms, dearer prices, a lane, a margin.
_MORE_LEVERS = """
[lever.deposit-20]
set = { "firm.harbour.payment.0.share" = "20 %" }
[lever.chips-60]
set = { "firm.norholt.payment.0.due" = "shipment + 60 days" }
[lever.wages-less]
set = { "overhead.0.amount" = "13000 EUR" }
[lever.second-tool]
set = { "tool.T-002.schedule" = [{ share = "100 %", due = "approval + 60 days" }] }
[lever.reserve]
set = { "channel.web.settlement.reserve" = "5 %" }
[lever.freight-60]
set = { "lane.halden-sea.payment" = [{ share = "100 %", due = "arrival + 60 days" }] }
price = { "lane.halden-sea.per_m3" = 90 }
[lever.balance-15]
set = { "firm.harbour.payment.1.due" = "shipment + 15 days" }
price = { "firm.harbour.factory.markup.0.rate" = "9 %" }
[lever.larkfield-45]
set = { "channel.larkfield.payment.0.due" = "receipt + 45 days" }
price = { "channel.larkfield.margin" = "46 %" }
[lever.registration]
set = { "one_off.2.payment" = [{ share = "100 %", due = "invoice + 60 days" }] }
[lever.print-90]
set = { "firm.mossgrove.payment.0.due" = "receipt + 90 days" }
[lever.buckle]
set = { "part.BUCKLE-25.source.0.payment" = [{ share = "100 %", due = "receipt + 60 days" }] }
price = { "part.BUCKLE-25.source.0.price.0.each" = 1 }
"""
_PYTHON, _CHECKER = "python -c pass", "schemas only"

#: Runs one command and prints its seconds, processor seconds, peak memory and exit code. It is a process of
#: its own, and a small one: the system counts the memory of whoever starts a process into that process's peak.
_STARTER = """\
import os, sys, time
quiet = [(os.POSIX_SPAWN_OPEN, 1, os.devnull, os.O_WRONLY, 0), (os.POSIX_SPAWN_DUP2, 1, 2)]
began = time.perf_counter()
child = os.posix_spawn(sys.argv[1], sys.argv[1:], os.environ, file_actions=quiet)
_, status, used = os.wait4(child, 0)
took = time.perf_counter() - began
print(took, used.ru_utime + used.ru_stime, used.ru_maxrss, os.waitstatus_to_exitcode(status))
"""

#: Kind of file → where a generated product keeps its files.
_FILES = {
    "product": "product.toml",
    "parts": "parts/*.toml",
    "assembly": "assemblies/**/*.toml",
    "firms": "firms/*.toml",
}


@dataclasses.dataclass(frozen=True)
class Case:
    """One thing to measure: its name, the processes it takes one after the other, a word each must print.

    ``code`` is the exit code of work done; a command that did not do its work is not worth measuring.
    """

    name: str
    commands: tuple[tuple[str, ...], ...]
    word: str = ""
    code: int = 0


@dataclasses.dataclass(frozen=True)
class Sample:
    """One measurement: seconds from start to end, seconds of processor, peak memory in MiB."""

    seconds: float
    processor: float
    peak: float


def measure(case: Case, folder: Path) -> Sample:
    """Return what one run of a case took in ``folder``; times add up, the highest peak counts.

    Raises RuntimeError where a process ends with another exit code than the case's.
    """
    took = [_one(command, folder, case.code) for command in case.commands]
    return Sample(
        sum(sample.seconds for sample in took),
        sum(sample.processor for sample in took),
        max(sample.peak for sample in took),
    )


def _one(command: Sequence[str], folder: Path, wanted: int) -> Sample:
    done = subprocess.run(
        [sys.executable, "-I", "-S", "-c", _STARTER, *command],
        cwd=folder,
        capture_output=True,
        text=True,
        check=True,
    )
    seconds, processor, peak, code = done.stdout.split()
    if int(code) != wanted:
        raise RuntimeError(f"exit code {code}, not {wanted}: {' '.join(command[:6])}")
    units = 1 << (20 if sys.platform == "darwin" else 10)  # a MiB in bytes there, in KiB elsewhere
    return Sample(float(seconds), float(processor), int(peak) / units)


def _prove(case: Case, folder: Path) -> None:
    """Run a case once, unmeasured, and raise RuntimeError where it does not do its work."""
    for command in case.commands:
        done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
        if done.returncode != case.code or case.word not in done.stdout:
            raise RuntimeError(
                f"{' '.join(command[:6])}: exit code {done.returncode}\n{done.stderr or done.stdout}"
            )


def _cases(made: Made, *, checker: bool) -> Iterator[Case]:
    def ferrule(name: str, word: str, *arguments: str, code: int = 0) -> Case:
        return Case(name, ((sys.executable, "-m", "ferrule", *arguments),), word, code)

    yield Case(_PYTHON, ((sys.executable, "-c", "pass"),))
    yield ferrule("ferrule --version", "ferrule", "--version")
    # some parts have no price, so that a check ends with 1
    yield ferrule("ferrule check --index", "has no price", "check", "--index", "--today", TODAY, code=1)
    yield ferrule("ferrule check", "has no price", "check", "--today", TODAY, code=1)
    yield ferrule("ferrule explode TOP", made.part, "explode", TOP, "--today", TODAY)
    yield ferrule("ferrule where PART", TOP, "where", made.part, "--today", TODAY)
    if checker:
        yield Case(_CHECKER, tuple(_checker(made.folder)), "ok")


def _example_cases() -> Iterator[Case]:
    """Yield the commands that answer in money and days, on the example and its plan."""

    def ferrule(word: str, *arguments: str) -> Case:
        command = (sys.executable, "-m", "ferrule", *arguments, "--today", _DAY)
        return Case(f"ferrule {' '.join(a for a in arguments if a != _PLAN)}", (command,), word)

    yield Case(_PYTHON, ((sys.executable, "-c", "pass"),))
    yield Case("ferrule --version", ((sys.executable, "-m", "ferrule", "--version"),), "ferrule")
    yield ferrule("no findings", "check")
    yield ferrule("order by", "buy", _PLAN)
    yield ferrule("= landed", "cost", _SKU)
    yield ferrule("order by", "schedule", _PLAN)
    yield ferrule("trough", "cash", _PLAN)
    yield ferrule("Side by side", "cash", _PLAN, "--all")
    yield ferrule("In pairs", "levers", _PLAN)


def _checker(folder: Path) -> Iterator[tuple[str, ...]]:
    for kind, pattern in _FILES.items():
        files = sorted(str(path.relative_to(folder)) for path in folder.glob(pattern))
        schema = str(_SCHEMAS / f"{kind}.schema.json")
        yield (sys.executable, "-m", "check_jsonschema", "--schemafile", schema, *files)


# --- the product ---------------------------------------------------------------------------------------


def _made(folder: Path, parts: int, assemblies: int, lines: int) -> Made:
    """Return a product with one change staged. A process of its own makes it, to keep this one small."""
    code = (
        "import dataclasses, json, pathlib, sys; import generate; folder, *sizes = sys.argv[1:];"
        "parts, assemblies, lines = map(int, sizes);"
        "made = generate.make(pathlib.Path(folder), parts=parts, assemblies=assemblies, lines=lines);"
        "print(json.dumps(dataclasses.asdict(made), default=str))"
    )
    sizes = map(str, (parts, assemblies, lines))
    told = json.loads(
        subprocess.run(
            [sys.executable, "-c", code, str(folder), *sizes], cwd=_HERE, capture_output=True, check=True
        ).stdout
    )
    made = Made(**{**told, "folder": Path(told["folder"]), "changed": Path(told["changed"])})
    commit(folder)
    stage_change(made)
    return made


# --- the table -----------------------------------------------------------------------------------------


def _table(samples: dict[str, list[Sample]]) -> Iterator[str]:
    names = [
        ("", "seconds", "", "", "cpu s", "peak", "times", "times"),
        ("", "min", "median", "max", "median", "MiB", "python", "schemas"),
    ]
    middle = {name: statistics.median(sample.seconds for sample in runs) for name, runs in samples.items()}
    for row in names:
        yield _row(row)
    for name, runs in samples.items():
        seconds = [sample.seconds for sample in runs]
        figures = (
            min(seconds),
            middle[name],
            max(seconds),
            statistics.median(sample.processor for sample in runs),
        )
        yield _row(
            (
                name,
                *(f"{figure:.3f}" for figure in figures),
                f"{max(sample.peak for sample in runs):.0f}",
                f"{middle[name] / middle[_PYTHON]:.1f}",
                f"{middle[name] / middle[_CHECKER]:.3f}" if _CHECKER in middle else "-",
            )
        )


def _row(cells: Sequence[str]) -> str:
    return f"{cells[0]:<22}" + "".join(f"{cell:>9}" for cell in cells[1:])


def _asked() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description="Measure the commands on a generated product.")
    parser.add_argument("--lines", type=int, default=20_000)
    parser.add_argument("--parts", type=int, default=10_000)
    parser.add_argument("--assemblies", type=int, default=1_000)
    parser.add_argument("--runs", type=int, default=5)
    parser.add_argument("--example", action="store_true", help="measure on the example instead")
    parser.add_argument("--no-schemas", action="store_true", help="leave out the schema-only checker")
    return parser.parse_args()


def _say(text: str) -> None:
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


def _with_twenty_levers(scratch: Path) -> Path:
    """Return a copy of the example whose plan has twenty levers: with all pairs and all together 211 answers."""
    folder = scratch / "twenty"
    shutil.copytree(_EXAMPLE, folder, ignore=shutil.ignore_patterns(".*"))
    plan = folder / "plans" / f"{_PLAN}.toml"
    plan.write_text(plan.read_text(encoding="utf-8") + _MORE_LEVERS, encoding="utf-8")
    return folder


def _measure_example(runs: int) -> None:
    _say(f"the example; {os.cpu_count()} cores, Python {platform.python_version()}, runs: {runs}")
    with tempfile.TemporaryDirectory(prefix="bench-") as scratch:
        command = (sys.executable, "-m", "ferrule", "levers", _PLAN, "--today", _DAY)
        twenty = Case("ferrule levers, 20", (command,), "all 20")
        cases = [(case, _EXAMPLE) for case in _example_cases()]
        cases.append((twenty, _with_twenty_levers(Path(scratch))))
        for case, folder in cases:
            _prove(case, folder)
        samples: dict[str, list[Sample]] = {}
        for _ in range(runs):
            for case, folder in cases:
                samples.setdefault(case.name, []).append(measure(case, folder))
    for row in _table(samples):
        _say(row)


def main() -> None:
    """Make the product, measure in rounds so that a slow minute falls on every case, print the table."""
    asked = _asked()
    if asked.example:
        _measure_example(asked.runs)
        return
    checker = not asked.no_schemas and importlib.util.find_spec("check_jsonschema") is not None
    with tempfile.TemporaryDirectory(prefix="bench-") as scratch:
        small = _made(Path(scratch, "small"), 200, 6, 400)
        for case in _cases(small, checker=checker):  # unmeasured: compiles what is compiled once
            _prove(case, small.folder)
        made = _made(Path(scratch, "product"), asked.parts, asked.assemblies, asked.lines)
        _say(
            f"{asked.lines:,} lines, {asked.parts:,} parts, {asked.assemblies:,} assemblies: {made.files:,} files, {made.size / 2**20:.1f} MiB"
        )
        _say(
            f"{os.cpu_count()} cores, Python {platform.python_version()}, runs: {asked.runs}; TOP {made.top}, PART {made.part}"
        )
        if not checker:
            _say(
                "the schema-only checker was left out"
                if asked.no_schemas
                else "check-jsonschema is not installed: no schema-only yardstick"
            )
        samples: dict[str, list[Sample]] = {}
        for _ in range(asked.runs):
            for case in _cases(made, checker=checker):
                samples.setdefault(case.name, []).append(measure(case, made.folder))
        for row in _table(samples):
            _say(row)


if __name__ == "__main__":
    main()
