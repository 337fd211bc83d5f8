"""The command line: the group of all commands, and what ends any of them.

Exit codes: 0 clean, 1 something to look at, 2 wrong use. Heavy parts are imported by the command
that needs them.
"""

from __future__ import annotations

import errno
import io
import sys
from typing import Any

import click

from fieldbook import __version__
from fieldbook.commands import books, figures, keeping, mailing, pages, readings, start, taking
from fieldbook.commands.shared import LOOK_CODE

# Faults of our own by name, so that none of their modules is loaded: code, and names of parameters.
_OUR_FAULTS = {
    "SeasonBusyError": ("season-busy", ()),
    "DamagedEventError": ("kept-event-damaged", ("event",)),
    "SharedDiskError": ("ledger-on-shared-disk", ("folder", "kind")),
    "OtherVersionError": ("ledger-of-other-version", ()),
    "OtherKeptError": ("ledger-of-other-folder", ("event",)),
    "DatabasePackageError": ("ledger-package-missing", ()),
}


class _Commands(click.Group):
    """The group of commands; what a folder or a disk refuses ends in one clear line."""

    def invoke(self, ctx: click.Context) -> Any:
        """Run a command; turn the operating system's refusals into a sentence."""
        _speak_anywhere()
        try:
            return super().invoke(ctx)
        except Exception as fault:
            told = _told(fault)
            if told is None:
                raise
            _complain(*told)
            ctx.exit(LOOK_CODE)


def _speak_anywhere() -> None:
    """Let a console that can't show a letter show a mark instead of ending the command."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")


def _told(fault: Exception) -> tuple[str, dict[str, str]] | None:
    """Say what a folder's or a disk's fault is, as a code and its parameters; None for others."""
    if isinstance(fault, BrokenPipeError):  # the reader of our output has seen enough
        return None
    kind, room = type(fault).__name__, type(fault).__module__.partition(".")[0]
    if kind == "EngineError":
        return fault.args
    if kind in _OUR_FAULTS:
        code, names = _OUR_FAULTS[kind]
        return code, dict(zip(names, map(str, fault.args), strict=False))
    if room == "sqlalchemy":
        return _told_of_database(fault) or _told_of_ledger(str(fault))
    return _told_of_system(fault) if isinstance(fault, OSError) else None


def _told_of_system(fault: OSError) -> tuple[str, dict[str, str]]:
    if fault.errno in (errno.ENOSPC, errno.EDQUOT):
        return "disk-full", {}
    detail = fault.strerror or type(fault).__name__
    return "not-writable", {"folder": str(fault.filename or "."), "detail": detail}


def _told_of_database(fault: Exception) -> tuple[str, dict[str, str]] | None:
    """Tell what PostgreSQL said, in its first line; None where it was not that."""
    orig = getattr(fault, "orig", None)
    if orig is None or not type(orig).__module__.startswith("psycopg"):
        return None
    first = str(orig).strip().partition("\n")[0]
    lost = type(orig).__name__ in ("OperationalError", "AdminShutdown", "ConnectionTimeout")
    return "ledger-no-answer" if lost else "ledger-refused", {"detail": first}


def _told_of_ledger(said: str) -> tuple[str, dict[str, str]]:
    """Tell by the database's own words what it met."""
    if "locked" in said:
        return "season-busy", {}
    if "full" in said or "disk I/O" in said:
        return "disk-full", {}
    if "readonly" in said or "unable to open" in said:
        return "not-writable", {"folder": "season.db", "detail": "no right to write"}
    return "ledger-damaged", {}


def _complain(code: str, params: dict[str, str]) -> None:
    from fieldbook.problems import line, problem

    click.echo(line(problem(code, **params)), err=True)


@click.group(cls=_Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="silkbook")
def main() -> None:
    """Scouting workbooks out, checked counts in, grower reports back.

    Example: silkbook demo demo-season
    """


for command in (
    start.new,
    start.demo,
    books.plan,
    books.blank,
    books.ask,
    taking.intake,
    taking.check,
    readings.history,
    readings.decide,
    figures.results,
    pages.report,
    pages.board,
    pages.compare,
    pages.settle,
    mailing.letters,
    mailing.watch,
    keeping.rebuild,
    keeping.doctor,
):
    main.add_command(command)
