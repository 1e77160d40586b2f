"""`check`: all findings of a product, or those a change adds."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Sequence

from msgspec import Struct

from ferrule.app.explain import named_rule
from ferrule.app.loading import load_snapshot, located, original, problem_findings, reading_order
from ferrule.app.provenance import with_history
from ferrule.diagnostics.finding import CheckResult, Located, RuleCard, Severity
from ferrule.diagnostics.registry import all_rules, run_rules
from ferrule.diagnostics.rule import Setting, severity_at
from ferrule.diagnostics.waiving import unwaived
from ferrule.load.build import Loaded
from ferrule.model.product import Product
from ferrule.model.records.product import Stage
from ferrule.source.products import Opened
from ferrule.source.snapshot import Snapshot

__all__ = ["Request", "check", "check_opened", "check_since"]


class Request(Struct, frozen=True, kw_only=True):
    """What is asked: the day, a stage other than the product's own, and the rules to run (none: all)."""

    today: dt.date
    stage: Stage | None = None
    rules: frozenset[str] = frozenset()


def check(snapshot: Snapshot, request: Request, before: Product | None = None) -> CheckResult:
    """Return everything wrong with a product as it stands in a snapshot, or against the one ``before``."""
    for name in sorted(request.rules):
        named_rule(name)
    loaded = with_history(load_snapshot(snapshot), snapshot)
    findings, waived = _findings(snapshot, loaded, request, before)
    stage = request.stage or loaded.product.head.stage
    return CheckResult(
        product=loaded.product.head.id,
        stage=stage,
        findings=tuple(findings),
        waived=waived,
        files=tuple(file.path for file in snapshot.files),
        rules=_cards(loaded, stage),
    )


def check_since(snapshot: Snapshot, before: Snapshot | None, since: str, request: Request) -> CheckResult:
    """Return the findings that ``snapshot`` has and ``before`` had not; the old ones are only counted.

    Both sides are judged on the same day at the same stage. ``before`` is None where the product did not
    exist yet: everything is new then.
    """
    if before is None:
        result = check(snapshot, request)
        return _with(result, result.findings, 0, since)
    loaded = with_history(load_snapshot(before), before)
    result = check(snapshot, request, loaded.product)
    same = Request(today=request.today, stage=_stage(result), rules=request.rules)
    then, _ = _findings(before, loaded, same)
    left = Counter(found.fingerprint for found in then)
    new: list[Located] = []
    for found in result.findings:
        if left[found.fingerprint] > 0:
            left[found.fingerprint] -= 1
        else:
            new.append(found)
    return _with(result, tuple(new), len(result.findings) - len(new), since)


def _stage(result: CheckResult) -> Stage:
    return result.stage  # type: ignore[return-value]  # it came out of a product's head or an option


def _with(result: CheckResult, findings: tuple[Located, ...], old: int, since: str) -> CheckResult:
    return CheckResult(
        product=result.product,
        stage=result.stage,
        findings=findings,
        files=result.files,
        rules=result.rules,
        waived=result.waived,
        old=old,
        since=since,
    )


def _findings(
    snapshot: Snapshot, loaded: Loaded, request: Request, before: Product | None = None
) -> tuple[list[Located], int]:
    product = loaded.product
    setting = Setting(today=request.today, stage=request.stage or product.head.stage, before=before)
    form = [*problem_findings(snapshot.problems), *loaded.findings]
    if request.rules:
        form = [
            finding for finding in form if finding.rule in request.rules or finding.severity is Severity.ERROR
        ]
    ruled = [original(loaded, finding) for finding in run_rules(product, setting, request.rules)]
    return unwaived(product, located(loaded, snapshot, [*form, *ruled]), request.today)


def _cards(loaded: Loaded, stage: Stage) -> tuple[RuleCard, ...]:
    own = loaded.product.severities
    return tuple(
        RuleCard(
            name=entry.name,
            summary=entry.summary,
            page=entry.page,
            severity=severity_at(entry.rule, stage, own.get(entry.name)) or Severity.NOTE,
        )
        for entry in all_rules().values()
    )


def check_opened(opened: Sequence[Opened], request: Request, since: str | None = None) -> CheckResult:
    """Return the findings of one or several products as one result, sorted by file."""
    results = []
    for product in opened:
        snapshot = product.read()
        if since is None:
            results.append(check(snapshot, request))
        else:
            results.append(check_since(snapshot, product.read_at(since), since, request))
    return results[0] if len(results) == 1 else _joined(results)


def _joined(results: Sequence[CheckResult]) -> CheckResult:
    findings = [found for result in results for found in result.findings]
    stages = sorted({result.stage for result in results})
    return CheckResult(
        product=", ".join(result.product for result in results),
        stage=", ".join(stages),
        findings=tuple(sorted(findings, key=reading_order)),
        files=tuple(sorted(file for result in results for file in result.files)),
        rules=results[0].rules,
        waived=sum(result.waived for result in results),
        old=sum(result.old for result in results),
        since=results[0].since,
    )
