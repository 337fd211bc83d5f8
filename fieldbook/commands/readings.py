"""What was read, by whom, and which of two corrections counts."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fieldbook.commands.shared import (
    as_of_option,
    day_of,
    end,
    field_argument,
    moment_of,
    must_know_field,
    opened,
    say_problems,
    tell,
)

if TYPE_CHECKING:
    from fieldbook.season.season import Season


@click.command()
@field_argument
@click.option("--changed", is_flag=True, help="Only readings that something replaced.")
@click.option("--json", "as_json", is_flag=True, help="The same facts for machines.")
@as_of_option
def history(
    field_id: str, folder: Path, changed: bool, as_json: bool, as_of: datetime | None
) -> None:
    """Show who read what in a field, when, and from which file.

    It shows what replaced each reading, too. Corrections that differ stand side by side at the end,
    and how they were settled.

    Example: silkbook history D14 --season season-2027 --changed
    """
    from fieldbook.ledger.ledger import Ledger
    from fieldbook.season.history import changed_only, field_history, history_lines

    season = opened(folder)
    must_know_field(season, field_id)
    with Ledger(season.folder) as ledger:
        found = field_history(ledger, field_id)
    shown = changed_only(found) if changed else found.readings
    if as_json:
        from fieldbook.export.as_json import records_json

        whole = {"history": replace(found, readings=shown)}
        click.echo(records_json(whole, (), as_of=day_of(as_of), language=season.language))
        return
    for text in history_lines(shown, found):
        tell(text)
    if not found.readings:
        click.echo(f"Nothing was taken in for field {field_id} yet.")


@click.command()
@field_argument
@click.option("--conflict", "number", type=click.IntRange(min=1), help="Which one, by its number.")
@click.option("--keep", help="The reading that counts: first, second, or the name of its file.")
@click.option("--value", help="What counts instead, as it would be typed into the book.")
@click.option("--none", "lost", is_flag=True, help="Nobody can count again: none of them counts.")
@click.option("--by", "who", help="Who decides, if not the user of this computer.")
@click.option("--reason", default="", help="Why, for the history.")
@click.option("--json", "as_json", is_flag=True, help="The conflicts for machines.")
@as_of_option
def decide(
    field_id: str,
    folder: Path,
    number: int | None,
    keep: str | None,
    value: str | None,
    lost: bool,
    who: str | None,
    reason: str,
    as_json: bool,
    as_of: datetime | None,
) -> None:
    """Settle corrections that differ, or show them side by side.

    Until then none of them is used. The decision is kept with who made it, when and why, and can
    be made again: name it with --conflict.

    Example: silkbook decide D14 --season season-2027 --keep second --reason "Ana was there again"
    """
    from fieldbook.problems import Problem
    from fieldbook.season.decide import Choice
    from fieldbook.season.decide import decide as settle_conflict

    season = opened(folder)
    must_know_field(season, field_id)
    if sum((keep is not None, value is not None, lost)) > 1:
        raise click.UsageError("Choose one of --keep, --value and --none.")
    if keep is None and value is None and not lost:
        _show_conflicts(season, field_id, as_json, as_of)
        return
    choice = Choice(keep=keep, value=value, who=who or _user(), reason=reason)
    settled = settle_conflict(season, field_id, choice, number=number, now=moment_of(as_of))
    if isinstance(settled, Problem):
        say_problems([settled], season.language)
        end(clean=False)
    else:
        tell(f"{settled.conflict.visit_id}  {settled.conflict.what}: {settled.words}")


def _show_conflicts(season: Season, field_id: str, as_json: bool, as_of: datetime | None) -> None:
    from fieldbook.ledger.conflicts import conflict_lines
    from fieldbook.season.decide import field_conflicts, field_decisions

    found, decided = field_conflicts(season, field_id), field_decisions(season, field_id)
    if as_json:
        from fieldbook.export.as_json import records_json

        records = {"conflicts": found, "decided": decided}
        click.echo(records_json(records, (), as_of=day_of(as_of), language=season.language))
    else:
        for text in conflict_lines(found):
            tell(text)
        if not found:
            click.echo(f"Field {field_id} has no corrections that differ.")
        if decided:
            click.echo("Decided before; to decide one again, name it with --conflict:")
        for text in conflict_lines(decided):
            tell(text)
    end(clean=not found)


def _user() -> str:
    import getpass

    try:
        return getpass.getuser()
    except (OSError, KeyError):  # nobody is logged in, as in a service
        return "?"
