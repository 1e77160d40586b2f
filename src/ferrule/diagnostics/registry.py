"""All rules by name, and running them over a product."""

from __future__ import annotations

import functools
import hashlib
import importlib
import pkgutil
from collections.abc import Iterator, Mapping

from msgspec import Struct

from ferrule.diagnostics import rules
from ferrule.diagnostics.finding import Finding
from ferrule.diagnostics.rule import Rule, Setting, severity_at
from ferrule.model.product import Product

__all__ = ["Entry", "all_rules", "rule_set", "run_rules"]


class Entry(Struct, frozen=True, kw_only=True):
    """A rule with its name and its page in Markdown."""

    name: str
    rule: Rule
    page: str

    @property
    def summary(self) -> str:
        """The page's first line."""
        return self.page.split("\n", 1)[0]


@functools.cache
def all_rules() -> Mapping[str, Entry]:
    """Return every rule by name, sorted: one module of `rules` each, ``RULE`` in it, its docstring the page."""
    found = {}
    for module_info in sorted(pkgutil.iter_modules(rules.__path__), key=lambda m: m.name):
        if module_info.name.startswith("_"):
            continue
        module = importlib.import_module(f"{rules.__name__}.{module_info.name}")
        name = module_info.name.replace("_", "-")
        found[name] = Entry(name=name, rule=module.RULE, page=(module.__doc__ or "").strip() + "\n")
    return found


def rule_set() -> str:
    """Return the version of the rule set: how many rules there are, and a hash of their names and weights."""
    rows = (
        f"{name} {entry.rule.warns_from} {entry.rule.blocks_from} {entry.rule.waivable}\n"
        for name, entry in all_rules().items()
    )
    return f"{len(all_rules())} rules {hashlib.sha256(''.join(rows).encode()).hexdigest()[:16]}"


def run_rules(product: Product, setting: Setting, only: frozenset[str] = frozenset()) -> Iterator[Finding]:
    """Yield the findings of every rule (or of those named) that the product's stage reports."""
    for entry in all_rules().values():
        if entry.rule.check is None or (only and entry.name not in only):
            continue
        own = product.severities.get(entry.name)
        for fault in entry.rule.check(product, setting):
            severity = severity_at(entry.rule, setting.stage, own, undecided=fault.undecided)
            if severity is not None:
                yield Finding(
                    rule=entry.name,
                    severity=severity,
                    message=fault.message,
                    place=fault.place,
                    related=fault.related,
                    hint=fault.hint,
                    facts=fault.facts,
                )
