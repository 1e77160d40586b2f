"""``ferrule explain``."""

from __future__ import annotations

import click

__all__ = ["command"]


@click.command("explain")
@click.argument("rule", required=False)
def command(rule: str | None) -> None:
    """Show the page of a rule: what it finds, why it matters, how to fix it.

    Without RULE, list all rules with the stage from which each one warns and blocks. `ferrule explain
    frozen-lock` shows the format of a frozen build, key by key.
    """
    from ferrule.app.explain import page, rule_list

    if rule is None:
        click.echo(rule_list(), nl=False)
        return
    click.echo(page(rule), nl=False)
