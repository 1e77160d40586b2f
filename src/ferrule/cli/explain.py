"""``ferrule explain``."""

from __future__ import annotations

import click

from ferrule.errors import FerruleError

__all__ = ["command"]


@click.command("explain")
@click.argument("rule", required=False)
def command(rule: str | None) -> None:
    """Show the page of a rule: what it finds, why it matters, how to fix it.

    Without RULE, list all rules with the stage from which each one warns and blocks.
    """
    from ferrule.app.explain import page, rule_list

    if rule is None:
        click.echo(rule_list(), nl=False)
        return
    text = page(rule)
    if text is None:
        from ferrule.diagnostics.registry import all_rules
        from ferrule.model.text import nearest

        best = nearest(rule, list(all_rules()))
        raise FerruleError(
            f"there is no rule {rule}",
            f"did you mean {best}?" if best else "`ferrule explain` lists the rules",
        )
    click.echo(text, nl=False)
