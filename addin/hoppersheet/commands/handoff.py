"""``hoppersheet handoff BOOK --out F``: a copy, or a page, that lives without the add-in."""

from __future__ import annotations

import sys
from collections import Counter
from typing import TYPE_CHECKING

import click

from ..audit import ENGINES
from ..cells.wording import counted
from ..existing import may_write
from . import FORCE
from .audit import progress_bar

if TYPE_CHECKING:
    from ..handoff import HandedOff

_MOST_NAMED = 20


@click.command("handoff")
@click.argument("book", metavar="BOOK")
@click.option("--out", metavar="F", required=True, help="The copy.")
@click.option(
    "--plain", is_flag=True, help="Plain formulas instead of ours; the copy still calculates."
)
@click.option("--with-functions", is_flag=True, help="Store the functions in the copy itself.")
@click.option(
    "--values",
    "values_only",
    is_flag=True,
    help="Values instead of our formulas; comments keep the formulas.",
)
@click.option("--page", metavar="SHEET", help="Recalculate, and print only this sheet as a PDF.")
@click.option("--draft", is_flag=True, help="With --page: print DRAFT on every page.")
@click.option(
    "--engine",
    type=click.Choice(ENGINES),
    help="calc is LibreOffice Calc, core is hoppersheet alone. Default: calc if installed, else "
    "core.",
)
@FORCE
def command(
    book: str,
    out: str,
    plain: bool,
    with_functions: bool,
    values_only: bool,
    page: str | None,
    draft: bool,
    engine: str | None,
    force: bool,
) -> None:
    """Write a copy of BOOK that works without the add-in, or print one sheet as a PDF.

    The copy keeps every sheet, with prices, margins and reasons. For a customer, use --page Quote.

    Exit status 1: some formulas became values (a comment on the cell says so), some cells could not
    be computed (they are named), or the page is not ready for a customer (the reason is printed).
    """
    if plain + with_functions + values_only + (page is not None) != 1:
        raise click.UsageError("choose one of --with-functions, --plain, --values and --page")
    if draft and page is None:
        raise click.UsageError("--draft works only with --page")
    may_write(out, book, force=force)
    if page is not None:
        _print(book, out, page, engine, draft)
        return
    from ..handoff import hand_off, hand_off_with_functions

    with progress_bar() as report:
        if with_functions:
            done = hand_off_with_functions(book, out, engine=engine, progress=report)
        else:
            done = hand_off(book, out, values_only=values_only, engine=engine, progress=report)
    for formula in done.left:
        click.echo(f"not changed, shows #NAME? without the add-in: {formula}", err=True)
    _name_what_was_not_computed(done)
    if values_only:
        click.echo(f"{len(done.frozen)} cells became values. Written: {out}.")
        sys.exit(1 if done.left or done.not_computed else 0)
    if with_functions:
        click.echo(
            f"{counted(len(done.carried), 'function')} stored in the copy: "
            f"{', '.join(done.carried)}. Written: {out}.\nThey work in Microsoft 365 and Excel "
            "2024. Older versions show the stored values until they recalculate, then #NAME?."
        )
        if done.replaced:
            click.echo(
                f"replaced, because the workbook had other formulas under these names: "
                f"{', '.join(done.replaced)}"
            )
    else:
        others = f" and {counted(done.others, 'formula')} outside of cells" if done.others else ""
        click.echo(f"{done.plain} cells{others} now use plain formulas. Written: {out}.")
    if done.frozen:
        click.echo(
            f"{len(done.frozen)} cells became values; comments say so, one for each block of "
            "prepared rows:"
        )
        for why, count in Counter(done.frozen.values()).most_common(_MOST_NAMED):
            first = next(cell for cell, reason in done.frozen.items() if reason == why)
            click.echo(f"  {count} like {first}: {why}")
    if done.frozen or done.left or done.not_computed or done.replaced:
        sys.exit(1)


def _name_what_was_not_computed(done: HandedOff) -> None:
    reasons: dict[str, list[str]] = {}
    for cell, why in done.not_computed.items():
        reasons.setdefault(why, []).append(cell)
    for why, cells in reasons.items():
        click.echo(f"not computed, stored value kept: {_named(cells)}: {why}", err=True)
    if done.follows:
        click.echo(f"depends on cells that were not computed: {_named(done.follows)}", err=True)


def _named(cells: list[str]) -> str:
    more = f" and {len(cells) - _MOST_NAMED} more" if len(cells) > _MOST_NAMED else ""
    return ", ".join(cells[:_MOST_NAMED]) + more


def _print(book: str, out: str, page: str, engine: str | None, draft: bool) -> None:
    from ..handoff.page import print_page

    if engine not in (None, "calc"):
        raise click.UsageError("--page is printed by LibreOffice Calc; leave --engine out")
    done = print_page(book, out, page, draft=draft)
    state = done.state
    for stop in state.stops:
        click.echo(f"not ready for a customer: {stop}", err=True)
    if done.written:
        mark = f", with {done.mark} on every page" if done.mark else ""
        click.echo(f"The sheet {done.sheet}, computed by {done.report.engine}{mark}.")
        if done.paper:
            click.echo(
                f"Paper: {done.paper}, by the unit system; the workbook was made for the other one."
            )
    if state.looked_at:
        click.echo(f"Looked at: {'; '.join(state.looked_at)}.")
    if state.missing:
        click.echo(f"Not looked at, because the workbook has {', '.join(state.missing)}.")
    if done.report.untouched:
        click.echo(f"Left out: {done.report.untouched}.")
    click.echo(f"Written: {out}." if done.written else "Nothing written; --draft prints a draft.")
    if state.stops:
        sys.exit(1)
