"""`freeze`, `verify`, `rebuild` and `built` on the example: screens at 80 columns and machine forms.

Read a changed golden file before accepting it: `pytest tests/cli/test_frozen_screens.py --update` writes them.
"""

from __future__ import annotations

import re
from pathlib import Path

from answers import golden
from ferrule.model.columns import width
from git_builders import Repository, ferrule

TODAY = ("--today", "2026-11-25")
AS_BUILT = """\
[as_built]
freeze = "spring-27"

[[run]]
serials = "1-1200"
sku = "W20-SINGLE"
factory = "harbour"
date = 2027-04-09

[[fitted]]
part = "CELL-18650"
lot = "KV-2702"
serials = "1-640"
maker = "korvel"
evidence = "cell trays, pack line log"

[[fitted]]
part = "CELL-18650"
lot = "EL-2709"
serials = "641-1200"
maker = "elmstead"

[[built_under]]
rule = "sole-source"
subject = "part/U-MCU"
serials = "1-1200"
"""

#: Golden file → columns (0: a pipe), exit code and command.
ANSWERS: dict[str, tuple[int, int, tuple[str, ...]]] = {
    "freeze-80.txt": (80, 0, ("freeze", "spring-27", *TODAY)),
    "freeze-again-80.txt": (80, 2, ("freeze", "spring-27", *TODAY)),
    "verify-80.txt": (80, 0, ("verify", "spring-27")),
    "verify-all-80.txt": (80, 0, ("verify",)),
    "verify.json": (0, 0, ("verify", "spring-27", "--format", "json")),
    "verify-waivers-80.txt": (80, 0, ("verify", "spring-27", "--show", "waivers")),
    "verify-approvals-80.txt": (80, 0, ("verify", "spring-27", "--show", "approvals")),
    "verify-tools-80.txt": (80, 0, ("verify", "spring-27", "--show", "tools")),
    "verify-documents-80.txt": (80, 0, ("verify", "spring-27", "--show", "documents")),
    "verify-sources-80.txt": (80, 0, ("verify", "spring-27", "--show", "sources")),
    "verify-parts.csv": (0, 0, ("verify", "spring-27", "--show", "parts", "--format", "csv")),
    "rebuild-80.txt": (80, 0, ("rebuild", "spring-27", *TODAY)),
    "rebuild-2028-80.txt": (80, 1, ("rebuild", "spring-27", "--today", "2028-06-01", "--exit-code")),
    "rebuild.json": (
        0,
        0,
        ("rebuild", "spring-27", "--sku", "W20-SINGLE", "--today", "2028-06-01", "--format", "json"),
    ),
    "built-80.txt": (80, 0, ("built", "spring-27")),
    "built-lot-80.txt": (80, 0, ("built", "--part", "CELL-18650", "--lot", "EL-2709")),
    "built-serial-80.txt": (80, 0, ("built", "--serial", "700")),
    "built.json": (0, 0, ("built", "--waiver", "sole-source", "--format", "json")),
    "verify-altered-80.txt": (80, 1, ("verify", "spring-27")),
}


def test_answers(tmp_path: Path, *, update: bool) -> None:
    """One after another, as in the table: frozen, asked, built, altered. One test, for each needs those before it."""
    recorder = tmp_path / "recorder"
    for name, (columns, code, arguments) in ANSWERS.items():
        prepare(name, recorder)
        done = ferrule(*arguments, cwd=recorder, **({"COLUMNS": str(columns)} if columns else {}))
        assert (name, done.returncode) == (name, code)
        golden(name, without_hashes(done.stdout + done.stderr), update=update)
        assert not [line for line in done.stdout.splitlines() if columns and width(line) > columns]


def without_hashes(text: str) -> str:
    """Return an answer without what changes with every rule and every edit of the example."""
    text = re.sub(r"[0-9a-f]{16,}", lambda found: "#" * len(found[0]), text)
    text = re.sub(r"(commit\"?: \"?)[0-9a-f]{7,40}", lambda found: found[1] + "#######", text)
    text = re.sub(r"(spring-27 +2026-11-25  )[0-9a-f]{7}", r"\1#######", text)
    return re.sub(r"[0-9]+ rules #+", "# rules", text)


def prepare(name: str, recorder: Path) -> None:
    """Bring the example to where an answer is asked."""
    if name == "freeze-80.txt":
        assert ferrule("demo", str(recorder), cwd=recorder.parent).returncode == 0
    repository = Repository(recorder)
    lock = recorder / "frozen/spring-27.lock"
    if name == "rebuild-2028-80.txt":
        path = next(
            each for each in (recorder / "parts").glob("*.toml") if "[part.U-MCU]" in each.read_text()
        )
        text = path.read_text().replace('lead_time = "24 weeks"', 'lead_time = "30 weeks"')
        path.write_text(text.replace("each = 5.6 ", "each = 6.1 "))
        repository.git("rm", "-q", "docs/firmware/w20-2.4.1.txt")
    elif name == "built-80.txt":
        repository.git("checkout", "-q", "HEAD", "--", ".")
        repository.commit({"frozen/spring-27.asbuilt.toml": AS_BUILT}, "what was built")
    elif name == "verify-altered-80.txt":
        lock.write_text(
            re.sub(r'qty = "28"', 'qty = "29"', lock.read_text(), count=1).replace('"B"', '"C"', 1)
        )
