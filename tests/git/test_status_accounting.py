"""The questions that status accounting has to answer, each answered by one command in one scenario.

ISO 10007 (Quality management: guidelines for configuration management, 2017) and EIA-649 ask for records of
the approved configuration, of changes, concessions and deviations, and of how units really were built. The
questions are in our words. The scenario: a build is frozen and made, a bad lot turns up, the list goes on,
a second build supersedes the first.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from frozen_builders import PRODUCT, TODAY, WAIVER, freeze, frozen_repository
from git_builders import Repository, ferrule

AS_BUILT = """\
[as_built]
freeze = "first"

[[run]]
serials = "1-60"
sku = "TOP"
factory = "harbour"
date = 2026-12-18
identities = "K-0001 to K-0060"

[[fitted]]
part = "BOLT"
lot = "2634"
serials = "1-40"
maker = "boltrow"
seller = "norholt"
evidence = "bag label"

[[fitted]]
part = "BOLT"
lot = "2641"
serials = "41-60"
maker = "harbour"

[[built_under]]
rule = "sole-source"
subject = "part/BOLT"
serials = "1-60"

[[result]]
kind = "first article"
file = "docs/first-article.txt"
date = 2026-12-10
passed = true
serials = "1-5"
"""
APPROVED = PRODUCT["parts/bolts.toml"].replace(
    'class = "mechanical"\n',
    'class = "mechanical"\napproval = [{ role = "supply", by = "R. Alder", date = 2026-11-02, evidence = "docs/bolt.txt" }]\n',
)


@pytest.fixture(scope="module")
def scenario(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("scenario") / "r"


@pytest.fixture
def repository(scenario: Path) -> Repository:
    """Return the scenario, made once: frozen, built, changed, frozen again."""
    if scenario.exists():
        return Repository(scenario)
    head = PRODUCT["product.toml"] + '\n[role.supply]\npeople = ["R. Alder"]\napproves = ["supplier"]\n'
    files = {"product.toml": head, "waivers/w.toml": WAIVER, "parts/bolts.toml": APPROVED}
    made = frozen_repository(scenario, more=files)
    made.commit({"frozen/first.asbuilt.toml": AS_BUILT, "docs/first-article.txt": "measured\n"})
    made.commit({"assemblies/top.toml": PRODUCT["assemblies/top.toml"].replace("qty = 4", "qty = 6")})
    assert freeze(made, "second", "--supersedes", "first").returncode == 0
    return made


def ask(repository: Repository, *arguments: str) -> dict[str, Any]:
    done = ferrule(*arguments, "--format", "json", cwd=repository.path)
    assert (done.returncode, done.stderr) == (0, "")
    answered: dict[str, Any] = json.loads(done.stdout)
    return answered


def test_which_configurations_are_released_and_which_holds_now(repository: Repository) -> None:
    rows = ask(repository, "verify")["builds"]
    assert [(row["name"], row["day"], row["supersedes"], row["differences"]) for row in rows] == [
        ("first", TODAY, "", 0),
        ("second", TODAY, "first", 0),
    ]


def test_what_exactly_was_the_approved_configuration(repository: Repository) -> None:
    rows = ask(repository, "verify", "first", "--show", "parts")["parts"]
    assert [(row["part"], row["sku"], row["quantity"]) for row in rows] == [("BOLT", "TOP", "4")]
    assert ask(repository, "explode", "TOP", "--at", "first")["parts"][0]["quantity"] == "4"


def test_by_which_documents_was_it_defined(repository: Repository) -> None:
    rows = ask(repository, "verify", "first", "--show", "documents")["documents"]
    assert [(row["file"], row["kind"], row["rev"], row["of"]) for row in rows] == [
        ("docs/bolt.txt", "drawing", "A", "BOLT")
    ]
    assert rows[0]["sha256"] == "5d51e12088b88c356fb9b7533fd934235a7d8280527ec5986c2d18a64b6733b7"


def test_who_approved_what_and_on_which_evidence(repository: Repository) -> None:
    rows = ask(repository, "verify", "first", "--show", "approvals")["approvals"]
    assert [(row["number"], row["by"], row["date"], row["role"], row["evidence"]) for row in rows] == [
        ("BOLT", "R. Alder", "2026-11-02", "supply", "docs/bolt.txt"),
        ("part/BOLT", "M. Tarn", "2026-11-01", "", "one maker for the first build"),
    ]


def test_which_concessions_and_deviations_were_in_force_and_until_when(repository: Repository) -> None:
    rows = ask(repository, "verify", "first", "--show", "waivers")["waivers"]
    assert [(row["subject"], row["limit"], row["risk_owner"], row["renewals"]) for row in rows] == [
        ("part/BOLT", "until 2027-04-30, serials 1-60", "R. Alder", 0)
    ]


def test_which_units_hold_lot_x_of_part_y(repository: Repository) -> None:
    answered = ask(repository, "built", "--part", "BOLT", "--lot", "2634")
    assert (answered["serials"], answered["units"]) == ("1-40", 40)
    assert [(row["lot"], row["serials"], row["source"]) for row in answered["lots"]] == [
        ("2634", "1-40", "as frozen")
    ]


def test_which_units_were_built_with_another_source_than_approved(repository: Repository) -> None:
    rows = ask(repository, "built", "first")["lots"]
    assert [(row["serials"], row["maker"]) for row in rows if row["source"] == "another than frozen"] == [
        ("41-60", "harbour")
    ]


def test_which_units_were_built_under_waiver_z(repository: Repository) -> None:
    rows = ask(repository, "built", "--waiver", "sole-source part/BOLT")["waivers"]
    assert [(row["serials"], row["units"], row["until"]) for row in rows] == [("1-60", 60, "2027-04-30")]
    assert ask(repository, "built", "--waiver", "origin-missing")["serials"] == "none"


def test_what_is_known_of_one_unit(repository: Repository) -> None:
    answered = ask(repository, "built", "--serial", "41")
    assert [(row["sku"], row["serials"]) for row in answered["runs"]] == [("TOP", "41")]
    assert [row["lot"] for row in answered["lots"]] == ["2641"]
    assert [row["rule"] for row in answered["waivers"]] == ["sole-source"]
    assert "results" not in answered
    assert [row["file"] for row in ask(repository, "built", "--serial", "5")["results"]] == [
        "docs/first-article.txt"
    ]


def test_what_has_changed_since(repository: Repository) -> None:
    then = ask(repository, "explode", "TOP", "--at", "first")["parts"]
    now = ask(repository, "explode", "TOP", "--at", "second")["parts"]
    assert [(a["part"], a["quantity"], b["quantity"]) for a, b in zip(then, now, strict=True)] == [
        ("BOLT", "4", "6")
    ]


def test_can_it_be_built_again(repository: Repository) -> None:
    assert ask(repository, "rebuild", "first", "--today", TODAY)["missing"] == 0
    gaps = ask(repository, "rebuild", "first", "--today", "2027-06-01")["gaps"]
    assert [(row["kind"], row["words"], row["parts"]) for row in gaps] == [
        ("quote", "the quote of norholt ended on 2027-01-31", "BOLT")
    ]


def test_can_the_record_be_shown_not_to_have_been_altered(repository: Repository) -> None:
    assert ask(repository, "verify", "first")["result"] == "unaltered"


def test_a_unit_nobody_recorded_and_a_build_nobody_recorded(repository: Repository) -> None:
    assert ask(repository, "built", "--serial", "61")["serials"] == "none"
    done = ferrule("built", "frist", cwd=repository.path)
    assert (done.returncode, done.stderr) == (
        2,
        "error: nothing is recorded of how frist was built\nhint: did you mean first?\n",
    )
