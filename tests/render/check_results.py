"""Results of a check for the tests of every format: small, made by hand, with places counted by hand."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from ferrule.diagnostics.finding import (
    CheckResult,
    Finding,
    Located,
    Place,
    Related,
    RuleCard,
    Severity,
    Spot,
)

DATA = Path(__file__).parent / "data"

CARDS = (
    RuleCard(
        name="name-missing",
        summary="a part has no name",
        page="# name-missing\n\nA part has no name.\n",
        severity=Severity.NOTE,
    ),
    RuleCard(
        name="price-not-falling",
        summary="a larger quantity costs more",
        page="# price-not-falling\n\nA larger quantity costs more.\n",
        severity=Severity.WARNING,
    ),
    RuleCard(
        name="unknown-part",
        summary="a part is used that no file defines",
        page="# unknown-part\n\nA part is used that no file defines.\n",
        severity=Severity.ERROR,
    ),
)

FILES = ("assemblies/top.toml", "parts/board.toml", "parts/cable 2.toml", "product.toml")


def located(  # noqa: PLR0913  a finding has that many facts; all have defaults
    rule: str = "unknown-part",
    severity: Severity = Severity.ERROR,
    message: str = 'part "R-0012" is used here but no file defines it',
    *,
    spot: Spot | None = None,
    related: tuple[Spot, ...] = (),
    hint: str = "",
    subject: str = "part/B-1/part",
    number: int = 1,
) -> Located:
    spot = (
        spot
        if spot is not None
        else Spot(file="parts/board.toml", line=14, column=9, end_line=14, end_column=15)
    )
    places = tuple(Related(place=Place(file=other.file), note=other.note) for other in related)
    finding = Finding(
        rule=rule, severity=severity, message=message, place=Place(file=spot.file), related=places, hint=hint
    )
    return Located(finding=finding, spot=spot, related=related, fingerprint=f"{number:064x}", subject=subject)


def result(
    *findings: Located, waived: int = 0, old: int = 0, since: str = "", product: str = "W20"
) -> CheckResult:
    return CheckResult(
        product=product,
        stage="dvt",
        findings=findings,
        files=FILES,
        rules=CARDS,
        waived=waived,
        old=old,
        since=since,
    )


def clean_result() -> CheckResult:
    """Four files and nothing found."""
    return result()


def full_result() -> CheckResult:
    """An error with a second place and a hint, a warning under wide characters, a note without excerpt."""
    return result(
        located(
            spot=Spot(
                file="parts/board.toml",
                line=14,
                column=9,
                end_line=14,
                end_column=15,
                excerpt='part = "R-0012"',
            ),
            related=(
                Spot(
                    file="assemblies/top.toml", line=22, column=8, end_line=22, end_column=14, note="and here"
                ),
            ),
            hint='did you mean "R-0021" (parts/resistors.toml:5)?',
            number=1,
        ),
        located(
            rule="price-not-falling",
            severity=Severity.WARNING,
            message="1,000 cost more each than 100",
            spot=Spot(
                file="parts/cable 2.toml",
                line=7,
                column=10,
                end_line=7,
                end_column=13,
                excerpt='\tname = "電源線" # Länge',
            ),
            subject="part/C-2/source/Übersee/price/1000",
            number=2,
        ),
        located(
            rule="name-missing",
            severity=Severity.NOTE,
            message='part "C-2" has no name',
            spot=Spot(file="parts/cable 2.toml", line=9),
            subject="",
            number=3,
        ),
        waived=3,
        old=12,
        since="v1.0",
    )


HOSTILE = (
    "\x1b[31mred\x1b]8;;https://evil.invalid\x07link",
    "turned \u202egnp.exe\u2066 around",
    "first\n::error::owned\r\n::stop-commands::x",
    "::error::owned",
    "  ::warning file=x::owned",
    "##[error]owned and ##vso[task.setvariable variable=PATH]owned",
    "]]><evil/><!-- -->",
    "a|b|c \\| `code` ```",
    "[/x] [bold]x[/bold] [link=https://evil.invalid]x[/link] :bomb:",
    "![i](https://evil.invalid/i.png) [click](javascript:alert(1)) <img src=x onerror=alert(1)> <script>",
    "@everyone #12 GH-12 https://evil.invalid www.evil.invalid _x_ *y* ~~z~~ $1$ &lt;",
    "\x00\x08\x7f\x85\xad\u200b\u2028\ufeff\ufffe\uffff\U000e0041",
    "not utf-8: \udcff and half a pair: \ud83d",
    "100%25 100%0A",
    '=cmd|" /C calc"!A0',
    "--> <!-- x --!> y",
)


def hostile_result(text: str) -> CheckResult:
    """Every text of a result is the same hostile one."""
    return hostile_findings(text, 1)


def hostile_findings(text: str, count: int) -> CheckResult:
    spot = Spot(file=text, line=3, column=2, end_line=3, end_column=5, excerpt=text, note=text)
    finding = located(message=text, spot=spot, related=(spot,), hint=text, subject=text)
    made = result(*[finding] * count, old=1, since=text, product=text)
    return CheckResult(
        product=made.product,
        stage=text,
        findings=made.findings,
        files=(text, *FILES),
        rules=CARDS,
        old=1,
        since=text,
    )


def judge(schema: Path, text: str, folder: Path) -> tuple[int, str]:
    """Return the exit code and the words of check-jsonschema about a document."""
    file = folder / "document.json"
    file.write_text(text, encoding="utf-8")
    command = [sys.executable, "-m", "check_jsonschema", "--schemafile", str(schema), str(file)]
    done = subprocess.run(command, capture_output=True, text=True, check=False, encoding="utf-8")
    return done.returncode, done.stdout + done.stderr
