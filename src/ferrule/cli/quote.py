"""``ferrule quote``: ask for quotes, read the answers, compare them."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import click

from ferrule.cli.answer import print_document
from ferrule.cli.options import (
    format_option,
    names_of,
    one,
    placed,
    source_options,
    table_option,
    today_option,
)
from ferrule.errors import FerruleError

__all__ = ["command"]


@click.group("quote")
def command() -> None:
    """Ask firms for quotes without showing more than they may see, and read what they answer."""


@command.command("pack")
@click.argument("assembly", required=False)
@click.option("--for", "recipient", metavar="FIRM", required=True, help="Firm that gets it.")
@click.option("--parts", metavar="A,B", help="Ask for these parts only.")
@click.option(
    "--qty", metavar="N,N", help="Quantities asked, of the assembly or of each part [default: 100,1000]."
)
@click.option("--term", metavar="TERM", help='Delivery term asked for, such as "FCA Port Halden".')
@click.option(
    "--to", type=click.Path(path_type=Path, file_okay=False), metavar="DIR", help="Write the pack there."
)
@click.option("--csv-only", is_flag=True, help="Make no workbook beside the CSV.")
@table_option
@source_options
@today_option
@format_option("text", "json", "csv")
def pack_command(
    assembly: str | None,
    recipient: str,
    parts: str | None,
    qty: str | None,
    term: str | None,
    to: Path | None,
    *,
    csv_only: bool,
    table: str | None,
    folder: Path | None,
    revision: str | None,
    index: bool,
    today: dt.date,
    form: str | None,
) -> int:
    """Show what a request for a quote would reveal to a firm; with --to write it.

    How much it shows is the level in the firm's disclosure. A factory is asked for an assembly and all below it, a
    seller for what it sells. The pack is a sheet to fill as CSV and XLSX and a cover; the record of what was sent
    and the statement of what it reveals are written into the product and never into the pack.
    """
    from ferrule.app.quoting import Wish, pack, write_pack
    from ferrule.report.quote_pack import PackFacts, describe_pack
    from ferrule.source.products import open_products

    opened = one(open_products(Path.cwd(), product=folder, revision=revision, index=index))
    if to is not None and opened.top is None:
        raise FerruleError("a bare repository has no work tree for the record", "run it in a work tree")
    wish = Wish(
        recipient=recipient,
        today=today,
        assembly=assembly,
        parts=tuple(names_of(parts)),
        quantities=tuple(_quantities(qty)),
        term=term,
        sheets=("csv",) if csv_only else ("csv", "xlsx"),
    )
    packed = pack(opened.read(), wish)
    if to is not None and not packed.secrets:
        packed = write_pack(packed, to, opened.top / opened.folder)
    made = packed.made
    facts = PackFacts(
        watermark=made.watermark if made is not None else "",
        agreement=packed.agreement,
        digests=list(made.digests.items()) if made is not None else [],
        record=made.record_path if made is not None else "",
        written=packed.written,
        label=packed.label,
    )
    document = describe_pack(
        packed.product,
        packed.found,
        packed.reveals,
        packed.infers,
        packed.secrets,
        facts=facts,
        where=placed(packed.where, opened.top),
    )
    print_document(document, form, packed.faults, table=table)
    return 1 if packed.secrets else 0


def _quantities(written: str | None) -> list[int]:
    found = []
    for name in names_of(written):
        if not name.isascii() or not name.isdigit() or not 0 < int(name) < 10**9:
            raise click.UsageError(f"{name!r} is no whole number above nought; write it as 100,1000")
        found.append(int(name))
    return found


@command.command("read")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--from", "recipient", metavar="FIRM", help="Match it only to what was sent to this firm.")
@click.option("--write", is_flag=True, help="Add each priced line as a trial source to the file of its part.")
@table_option
@source_options
@today_option
@format_option("text", "json", "csv")
def read_command(
    file: Path,
    recipient: str | None,
    *,
    write: bool,
    table: str | None,
    folder: Path | None,
    revision: str | None,
    index: bool,
    today: dt.date,
    form: str | None,
) -> None:
    """Read a returned sheet: what is priced, what is not, and what is not as it was asked.

    Lines are found by their ids, wherever rows and columns went. A price counts that is above nought, readable, in
    one stated currency and not expired; every other is a hole, never nought.
    """
    from ferrule.app.quoting_read import open_answer, write_sources
    from ferrule.report.quote_read import describe_answer
    from ferrule.source.products import open_products

    if write and (revision is not None or index):
        raise click.UsageError("--write changes the work tree; leave out --at and --index")
    opened = one(open_products(Path.cwd(), product=folder, revision=revision, index=index))
    home = opened.top / opened.folder if opened.top is not None else None
    read = open_answer(opened.read(), file, today, home, recipient=recipient)
    if write and home is not None:
        read = write_sources(read, home)
    document = describe_answer(
        read.product, read.answer, read.label, placed(read.where, opened.top),
        written=read.written, left=read.left, writing=write,
    )  # fmt: skip
    print_document(document, form, read.faults, table=table)


@command.command("sent")
@click.argument("firm", required=False)
@table_option
@source_options
@format_option("text", "json", "csv")
def sent_command(
    firm: str | None,
    *,
    table: str | None,
    folder: Path | None,
    revision: str | None,
    index: bool,
    form: str | None,
) -> None:
    """List what was sent: when, to whom, how much, under which paper, with the hash of every sheet."""
    from ferrule.app.quoting_sent import list_sent
    from ferrule.report.quote_sent import describe_sent
    from ferrule.source.products import open_products

    opened = one(open_products(Path.cwd(), product=folder, revision=revision, index=index))
    done = list_sent(opened.read(), firm)
    document = describe_sent(done.product, done.sents, done.label, placed(done.where, opened.top))
    print_document(document, form, done.faults, table=table)


@command.command("compare")
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path, dir_okay=False))
@click.option(
    "--sku", metavar="SKU", help="Cost a unit of this SKU [default: what was asked for, or is built first]."
)
@click.option("--plan", metavar="NAME", help="Plan whose cash is worked out.")
@click.option("--volumes", metavar="N,N", help="Volumes at which a unit is costed.")
@table_option
@source_options
@today_option
@format_option("text", "json", "csv")
def compare_command(
    files: tuple[Path, ...],
    *,
    sku: str | None,
    plan: str | None,
    volumes: str | None,
    table: str | None,
    folder: Path | None,
    revision: str | None,
    index: bool,
    today: dt.date,
    form: str | None,
) -> None:
    """Set answers side by side: on an equal basis, as a whole, and what each makes of cost, cash and the way out.

    The basis holds what every firm priced as asked; the least is marked there only. A firm's whole is "at least" so
    much while it has holes. The unit and the cash are worked out as if all of the answer were agreed.
    """
    from ferrule.app.quoting_compare import compare_quotes
    from ferrule.report.quote_compare import OutcomeRow, describe_comparison
    from ferrule.source.products import open_products

    opened = one(open_products(Path.cwd(), product=folder, revision=revision, index=index))
    done = compare_quotes(opened.read(), files, today, sku=sku, plan=plan, volumes=_quantities(volumes))
    facts = [("SKU costed", done.sku or "none"), ("plan", done.plan or "none"), ("state", done.label)]
    outcomes = [
        OutcomeRow(costs=each.costs, holes=each.holes, cash=each.cash, leaving=each.leaving)
        for each in done.outcomes
    ]
    document = describe_comparison(done.product, done.answers, done.compared, outcomes, facts)
    print_document(document, form, done.faults, table=table)
