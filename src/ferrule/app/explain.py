"""`explain`: the page of a rule, and the list of all of them."""

from __future__ import annotations

from ferrule.diagnostics.registry import Entry, all_rules
from ferrule.errors import FerruleError
from ferrule.model.text import nearest

__all__ = ["LOCK", "named_rule", "page", "rule_list", "weight"]


#: The page that is about no rule: the format of a frozen build.
LOCK = "frozen-lock"


def named_rule(name: str) -> Entry:
    """Return the rule with this name; raises FerruleError, with the nearest name, where there is none."""
    entry = all_rules().get(name)
    if entry is None:
        best = nearest(name, all_rules())
        raise FerruleError(
            f"there is no rule {name}",
            f"did you mean {best}?" if best else "`ferrule explain` lists the rules",
        )
    return entry


def weight(entry: Entry) -> str:
    """Return in words from which stage a rule warns and blocks."""
    rule = entry.rule
    if rule.blocks_from == "prototype":
        return "blocks at every stage"
    warns = "warns at every stage" if rule.warns_from == "prototype" else f"warns from {rule.warns_from} on"
    if rule.blocks_from is None:
        return f"{warns}, never blocks"
    if rule.warns_from == rule.blocks_from:
        return f"blocks from {rule.blocks_from} on"
    return f"{warns}, blocks from {rule.blocks_from} on"


def page(name: str) -> str:
    """Return a rule's page in Markdown with its weight, or that on the lock's format; raises FerruleError."""
    if name == LOCK:
        from ferrule.report.lock_page import lock_page

        return lock_page()
    entry = named_rule(name)
    own = f"A product can say otherwise in product.toml under `[rule.{name}]`."
    if not entry.rule.waivable:
        own = "No waiver covers it, and a product cannot lower it."
    return f"# {name}\n\n{entry.page}\n## When it weighs\n\nIt {weight(entry)}. {own}\n"


def rule_list() -> str:
    """Return all rules, a line each: name, weight, what it finds."""
    entries = list(all_rules().values())
    name = max(len(entry.name) for entry in entries)
    words = max(len(weight(entry)) for entry in entries)
    return "".join(f"{entry.name:<{name}}  {weight(entry):<{words}}  {entry.summary}\n" for entry in entries)
