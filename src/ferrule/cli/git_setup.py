"""``ferrule git-setup``."""

from __future__ import annotations

from pathlib import Path

import click

from ferrule.cli.main import FINDINGS, FINE

__all__ = ["command"]


@click.command("git-setup")
@click.option("--remove", is_flag=True, help="Take the settings out again.")
@click.option("--as-text", "shown", type=click.Path(path_type=Path), hidden=True)
@click.option("--merge", "merged", nargs=5, hidden=True)
def command(*, remove: bool, shown: Path | None, merged: tuple[str, str, str, str, str] | None) -> int:
    """Let git show our files as facts and merge them record by record, in this clone.

    `git diff` and `git log -p` then show one fact a row under lasting names (`--no-textconv` shows the text), and
    merges, rebases and cherry-picks join what two branches changed by part, line and source. A fact that both
    changed is left to you in git's own marks and said in words. Nothing in the work tree changes; hosting services
    merge by their own rules.
    """
    from ferrule.app import git_setup as use

    if shown is not None:
        click.echo(use.shown_as_text(shown).encode("utf-8", "surrogateescape"), nl=False)
        return FINE
    if merged is not None:
        base, ours, theirs, size, name = merged
        done = use.merge_files((Path(base), Path(ours), Path(theirs)), size, name)
        for words in done.words:
            click.echo(f"conflict: {words}", err=True)
        return FINE if done.clean else FINDINGS
    if remove:
        gone = use.switch_off(Path.cwd())
        click.echo("git-setup: taken out" if gone else "git-setup: there was nothing to take out")
        return FINE
    folders, changed = use.switch_on(Path.cwd())
    names = ", ".join(folder or "." for folder in folders)
    click.echo(f"git-setup: {'set up' if changed else 'set up already'} for {names}")
    return FINE
