"""``ferrule import``."""

from __future__ import annotations

from pathlib import Path

import click

from ferrule.cli.answer import print_document
from ferrule.cli.options import format_option, table_option

__all__ = ["command"]


@click.command("import")
@click.argument("sheet", type=click.Path(path_type=Path))
@click.option(
    "--to",
    "folder",
    metavar="DIR",
    type=click.Path(path_type=Path),
    help="Write into the product in this folder, or start one there.",
)
@click.option(
    "--as", "top", metavar="NUMBER", help="Number of the assembly the sheet describes, else its file's name."
)
@click.option("--name", help="Name of a new product, else the assembly's number.")
@click.option("--currency", metavar="CODE", help="Home currency of a new product, where the sheet says none.")
@click.option(
    "--mapping",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="What columns mean, as saved and edited.",
)
@click.option(
    "--save-mapping",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Save what columns were taken for.",
)
@click.option("--encoding", help="Encoding of a text file, such as cp1252, where the guess is wrong.")
@click.option("--delimiter", help="What parts the cells of a text file, where the guess is wrong.")
@click.option("--dry-run", is_flag=True, help="With --to: show what would be written, write nothing.")
@table_option
@format_option("text", "json", "csv")
@click.pass_context
def command(
    context: click.Context,
    sheet: Path,
    folder: Path | None,
    top: str | None,
    name: str | None,
    currency: str | None,
    mapping: Path | None,
    save_mapping: Path | None,
    encoding: str | None,
    delimiter: str | None,
    dry_run: bool,
    table: str | None,
    form: str | None,
) -> None:
    """Read a parts list from a spreadsheet, say what was read and doubted, and write it as files.

    CSV and other delimited or aligned text in any encoding, XLSX and ODS. Headings may stand anywhere and in any
    words; what each column was taken for is shown and can be corrected. Rows that are no part lines are listed,
    never dropped. Without --to nothing is written.

    A sheet of an assembly that was read before is a newer state of it: what it changed is taken over, what was
    changed in the files since then stays, comments too. Exits with 1 where both changed the same fact.
    """
    from ferrule.app import importing as use
    from ferrule.exchange.naming import number_for
    from ferrule.report.importing import Outcome, describe_import
    from ferrule.source.writing import write_file

    if folder is None and (dry_run or name or currency):
        raise click.UsageError("--dry-run, --name and --currency go with --to")
    delimiter = {"\\t": "\t", "tab": "\t"}.get(delimiter or "", delimiter)
    reading = use.read_sheet(
        sheet,
        encoding=encoding,
        delimiter=delimiter,
        mapping=use.read_mapping(mapping) if mapping is not None else None,
    )
    if save_mapping is not None:
        write_file(save_mapping, use.mapping_text(reading.found).encode())
    everything = form == "json" or table == "lines"
    if folder is None:
        print_document(describe_import(reading.found, everything=everything), form, table=table)
        return
    done = use.import_sheet(
        reading, top or number_for(sheet.stem, ()), folder, name=name or "", currency=currency or ""
    )
    if not dry_run:
        done = use.write_import(done, folder)
    outcome = Outcome(drafted=done.drafted, files=done.files, changes=done.changes, written=done.written)
    document = describe_import(reading.found, outcome, everything=everything)
    print_document(document, form, table=table)
    if not all(change.taken for change in done.changes):
        context.exit(1)
