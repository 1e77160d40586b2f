"""The command ``ferrule``: commands loaded when called, and the one place where errors become text."""

from __future__ import annotations

import gc
import importlib
import os
import sys

import click

from ferrule.errors import FerruleError

__all__ = ["COMMANDS", "cli", "run"]

#: Command → module and the one line that help shows, so that help imports no command.
COMMANDS: dict[str, tuple[str, str]] = {
    "init": ("ferrule.cli.init", "Start a product in a folder."),
    "demo": ("ferrule.cli.demo", "Write the example product as a git repository with three revisions."),
    "import": ("ferrule.cli.importing", "Read a parts list from a spreadsheet and write it as files."),
    "export": ("ferrule.cli.export", "Write lists, sources or purchases for other programs."),
    "check": ("ferrule.cli.check", "List everything wrong with a product, or what a change adds."),
    "explain": ("ferrule.cli.explain", "Show the page of a rule."),
    "explode": ("ferrule.cli.explode", "Show how many of every part an assembly needs."),
    "where": ("ferrule.cli.where", "Show every assembly and SKU above a part."),
    "buy": ("ferrule.cli.buy", "Show what a plan has to buy, from whom, and what is left over."),
    "cost": ("ferrule.cli.cost", "Show what one good, landed unit costs, by element and quantity."),
    "schedule": ("ferrule.cli.schedule", "Show when to order everything, what decides, and what is late."),
    "cash": ("ferrule.cli.cash", "Show the money of a plan week by week, and how low it gets."),
    "levers": ("ferrule.cli.levers", "Show which negotiable terms free how much cash, and at what price."),
    "limits": (
        "ferrule.cli.limits",
        "Show how far each fact may go before a plan breaks, and the largest build.",
    ),
    "regret": ("ferrule.cli.regret", "Show what is owed if we stop, cut or slip in any week."),
    "terms": ("ferrule.cli.terms", "Say whether to take one offer of money for time, and what that gains."),
    "risk": ("ferrule.cli.risk", "Show supply risk in money and days, and what takes it away at what price."),
    "reconcile": (
        "ferrule.cli.reconcile",
        "Set consigned parts against what is accounted for, and bound the unseen.",
    ),
    "sample": ("ferrule.cli.sample", "Show how many units of a lot to inspect, and judge what was found."),
    "quote": (
        "ferrule.cli.quote",
        "Ask a firm for a quote showing only what it may see; read and compare answers.",
    ),
    "leave": (
        "ferrule.cli.leave",
        "Show what moving away from a firm takes: weeks, money, what only it knows.",
    ),
    "diff": ("ferrule.cli.diff", "Show what changed between two states, in parts, money, days and cash."),
    "history": ("ferrule.cli.history", "Show cost, lead time, trough and findings commit by commit."),
    "invoice": (
        "ferrule.cli.invoice",
        "Check an invoice against orders and the quotes in force on their day.",
    ),
    "git-setup": ("ferrule.cli.git_setup", "Let git show and merge our files record by record."),
    "freeze": ("ferrule.cli.freeze", "Freeze the last commit as a build: lock, commit and tag."),
    "verify": ("ferrule.cli.verify", "Show whether a frozen build is still what was frozen."),
    "rebuild": ("ferrule.cli.rebuild", "Show what is missing to build a frozen build again today."),
    "notes": ("ferrule.cli.notes", "Write release notes of a frozen build against an earlier one."),
    "built": ("ferrule.cli.built", "Show which units hold a lot, or were built under a waiver."),
}

FINE, FINDINGS, CANNOT, BUG, INTERRUPTED = 0, 1, 2, 3, 130


class _Commands(click.Group):
    """A group that imports a command only when it is called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the names in the order of the job, not of the alphabet."""
        del ctx
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Return the command, imported now."""
        del ctx
        if cmd_name not in COMMANDS:
            return None
        found: click.Command = importlib.import_module(COMMANDS[cmd_name][0]).command
        return found

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command, or say which one is near."""
        from ferrule.model.text import nearest

        if args and args[0] not in COMMANDS and not args[0].startswith("-"):
            best = nearest(args[0], list(COMMANDS))
            ctx.fail(f"there is no command {args[0]!r}" + (f"; did you mean {best!r}?" if best else ""))
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the list of commands without importing any."""
        del ctx
        with formatter.section("Commands"):
            formatter.write_dl([(name, line) for name, (_, line) in COMMANDS.items()])


@click.group(
    cls=_Commands,
    context_settings={
        "help_option_names": ["-h", "--help"],
        "auto_envvar_prefix": "FERRULE",
        "max_content_width": 100,
    },
)
@click.version_option(package_name="ferrule", prog_name="ferrule", message="%(prog)s %(version)s")
def cli() -> None:
    """Keep a hardware product's parts list as text in git, and ask it questions.

    Results go to standard output, everything else to standard error. Exit codes: 0 fine; 1 findings that
    block; 2 could not start or go on; 3 a bug of ours; 130 interrupted.
    """


def run() -> None:
    """Run the command line and leave with its exit code."""
    gc.disable()  # a run is short and its records live to the end: collecting them only costs time
    for stream in (sys.stdout, sys.stderr):
        stream.reconfigure(errors="backslashreplace")  # type: ignore[union-attr]  # a text stream at start
    sys.exit(_run())


def _run() -> int:  # noqa: PLR0911  one return for each way a command can end
    try:
        code = cli.main(standalone_mode=False, prog_name="ferrule")
        sys.stdout.flush()
    except click.exceptions.Exit as leave:
        return leave.exit_code
    except click.UsageError as error:
        command = error.ctx.command_path if error.ctx is not None else "ferrule"
        _say(_lower(error.format_message()), f"`{command} --help` shows what it takes")
        return CANNOT
    except click.ClickException as error:
        _say(_lower(error.format_message()))
        return CANNOT
    except FerruleError as error:
        _say(error.message, error.hint)
        return CANNOT
    except (KeyboardInterrupt, click.Abort):
        return INTERRUPTED
    except (
        BrokenPipeError,
        SystemExit,
    ):  # click leaves with 1 when the reader has left, as if there were findings
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return FINE
    except Exception as error:  # noqa: BLE001  the boundary: a bug is reported, not thrown at the user
        return _report_bug(error)
    return code if isinstance(code, int) else FINE


def _lower(message: str) -> str:
    """Return click's sentence in our form: a phrase without capital and stop."""
    return (message[:1].lower() + message[1:]).rstrip(".")


def _say(message: str, hint: str = "") -> None:
    from ferrule.model.text import visible

    click.echo(f"error: {visible(message)}", err=True)
    if hint:
        click.echo(f"hint: {visible(hint)}", err=True)


def _report_bug(error: Exception) -> int:
    import platform
    import tempfile
    import traceback
    from importlib.metadata import version

    lines = [
        f"ferrule {version('ferrule')}, Python {platform.python_version()}, {platform.system()}",
        "arguments: " + " ".join(sys.argv[1:]),
    ]
    lines += traceback.format_exception(error)
    with tempfile.NamedTemporaryFile(
        "w", prefix="ferrule-", suffix=".log", delete=False, encoding="utf-8"
    ) as file:
        file.write("\n".join(lines))
    _say(
        f"this is a bug in ferrule, not in your files: {type(error).__name__}: {error}",
        f"please send {file.name}",
    )
    return BUG
