"""Every rule on the products of its case file, and the pages of all rules.

A case file is ``cases/RULE.toml``. ``base`` holds files every case starts from; a case replaces files
(``files``), edits them (``edit``: old text → new text, each found exactly once) and says what is expected.
A file ``frozen/NAME.lock`` is a frozen build; ``tags`` holds the locks at tags by name (else the file itself
is tagged, unless the case says ``untagged``), ``tag_faults`` what is wrong with a tag. ``last_changes`` says
who last changed a record, as git would.
``path:line:column: severity: message`` for each finding of this rule, none for a product that passes.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import re
from pathlib import Path
from typing import Any

import msgspec
import pytest
import tomli

from builders import HEAD, load
from ferrule.diagnostics.registry import all_rules, run_rules
from ferrule.diagnostics.rule import Setting
from ferrule.load.locate import Positions, spot_of
from ferrule.model.frozen import FrozenBuild, LastChange, RecordKey

CASES = Path(__file__).parent / "cases"
#: Rules about two revisions: their case files say ``before_is_base``, for the base is the product before.
WITH_BASE = {
    path.stem for path in CASES.glob("*.toml") if tomli.loads(path.read_text()).get("before_is_base")
}
SECTIONS = ["What it finds", "Why it matters", "Example", "How to fix", "Who may accept it"]


def cases() -> list[Any]:
    found = []
    for path in sorted(CASES.glob("*.toml")):
        document = tomli.loads(path.read_text())
        for number, case in enumerate(document["case"]):
            label = f"{path.stem}-{number}-{case['name']}"
            found.append(pytest.param(path.stem, document.get("base", {}), case, id=label.replace(" ", "-")))
    return found


def files_of(base: dict[str, str], case: dict[str, Any]) -> dict[str, str]:
    head = HEAD.replace('"dvt"', f'"{case.get("stage", "dvt")}"')
    files: dict[str, str] = {"product.toml": head} | base | case.get("files", {})
    for old, new in case.get("edit", {}).items():
        holders = [path for path, text in files.items() if text.count(old) == 1]
        assert len(holders) == 1, f"{old!r} stands in {holders}, not in one place of one file"
        files[holders[0]] = files[holders[0]].replace(old, new)
    return files


def frozen_of(others: dict[str, str], case: dict[str, Any]) -> tuple[FrozenBuild, ...]:
    tags = case.get("tags", {})
    here = {
        path.removeprefix("frozen/").removesuffix(".lock"): text
        for path, text in others.items()
        if path.startswith("frozen/") and text
    }
    return tuple(
        FrozenBuild(
            name=name,
            file=f"frozen/{name}.lock",
            text=here.get(name),
            tagged=tags.get(name, None if case.get("untagged") else here.get(name)),
            tag_fault=case.get("tag_faults", {}).get(name, ""),
            in_git=not case.get("outside_git", False),
        )
        for name in sorted(here.keys() | tags.keys())
    )


def changes_of(case: dict[str, Any]) -> dict[RecordKey, LastChange]:
    return {
        (row["kind"], row["number"], tuple(row.get("path", ()))): LastChange(
            name=row["name"], email=row["email"], approvers=tuple(row.get("approvers", ()))
        )
        for row in case.get("last_changes", ())
    }


def found_by(rule: str, base: dict[str, str], case: dict[str, Any]) -> list[str]:
    toml = {path: text for path, text in files_of(base, case).items() if path.endswith(".toml")}
    loaded = load(toml)
    assert [finding.message for finding in loaded.findings] == []
    others = {path: text for path, text in files_of(base, case).items() if not path.endswith(".toml")}
    digests = {path: hashlib.sha256(text.encode()).hexdigest() for path, text in others.items()}
    product = msgspec.structs.replace(
        loaded.product, digests=digests, frozen=frozen_of(others, case), last_changes=changes_of(case)
    )
    today = case.get("today", dt.date(2026, 11, 25))
    rows = []
    before = load({"product.toml": HEAD} | base).product if rule in WITH_BASE else None
    setting = Setting(today=today, stage=product.head.stage, before=before)
    for finding in run_rules(product, setting, frozenset({rule})):
        text = toml.get(finding.place.file, HEAD)
        spot = spot_of(finding.place, text, Positions(text))
        for related in finding.related:
            spot_of(related.place, toml[related.place.file], Positions(toml[related.place.file]))
        rows.append(f"{spot.file}:{spot.line}:{spot.column}: {finding.severity.value}: {finding.message}")
    return rows


@pytest.mark.parametrize(("rule", "base", "case"), cases())
def test_case(rule: str, base: dict[str, str], case: dict[str, Any]) -> None:
    assert found_by(rule, base, case) == case["expect"]


@pytest.mark.parametrize(
    "name", [name for name, entry in all_rules().items() if entry.rule.check is not None]
)
def test_every_rule_has_cases_that_fail_and_cases_that_pass(name: str) -> None:
    path = CASES / f"{name}.toml"
    assert path.is_file()
    expectations = [case["expect"] for case in tomli.loads(path.read_text())["case"]]
    assert sum(1 for expected in expectations if expected) >= 1
    assert sum(1 for expected in expectations if not expected) >= 2


def test_no_case_file_without_a_rule() -> None:
    assert {path.stem for path in CASES.glob("*.toml")} <= set(all_rules())


@pytest.mark.parametrize("name", list(all_rules()))
def test_page(name: str) -> None:
    page = all_rules()[name].page
    assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", name)
    assert page.split("\n", 1)[0].endswith(".")
    assert re.findall(r"^## (.+)$", page, re.MULTILINE) == SECTIONS
    example = page.split("## Example")[1].split("## How to fix")[0]
    blocks = re.findall(r"(Bad|Good):\n\n```toml\n(.*?)```", example, re.DOTALL)
    assert [word for word, _ in blocks] == ["Bad", "Good"]
    for _, block in blocks:
        tomli.loads(re.sub(r"(?m)^[#].*$", "", block))
    for section in SECTIONS:
        assert page.split(f"## {section}")[1].split("\n## ")[0].strip()
