"""Which outside programs a test needs, and what happens when one is not there.

Without a part a test is skipped with a plain sentence that says what to install. Where all parts
are promised (``SILKBOOK_ALL_PARTS=1``, as in CI) a missing part is a failure: a skip would hide it.
"""

import os
import shutil
import subprocess
from functools import cache
from importlib.util import find_spec
from pathlib import Path

import pytest

CHROMIUM_NAMES = ("chromium", "chromium-browser", "google-chrome")
POPPLER_NAMES = ("pdfinfo", "pdftoppm", "pdftotext")
UNO_PYTHONS = ("/usr/bin/python3", "/usr/lib/libreoffice/program/python")


def need(missing: str | None) -> None:
    """Skip (or fail, where all parts are promised) when `missing` says that a part is not there."""
    if missing is None:
        return
    if os.environ.get("SILKBOOK_ALL_PARTS") == "1":
        pytest.fail(missing, pytrace=False)
    pytest.skip(missing)


def soffice_path() -> str | None:
    """Path of LibreOffice's start program, or None."""
    return shutil.which("soffice") or shutil.which("libreoffice")


@cache
def uno_python() -> str | None:
    """Path of a Python that can talk to LibreOffice (the venv's own usually cannot), or None."""
    return next((path for path in UNO_PYTHONS if _has_uno(path)), None)


def _has_uno(python: str) -> bool:
    if not Path(python).exists():
        return False
    run = subprocess.run([python, "-I", "-c", "import uno"], capture_output=True, check=False)
    return run.returncode == 0


def chromium_path() -> str | None:
    """Path of Chromium, or None."""
    return next((path for name in CHROMIUM_NAMES if (path := shutil.which(name))), None)


def office_missing() -> str | None:
    """Say what LibreOffice tests lack, or None."""
    if soffice_path() is None:
        return "LibreOffice is not here: install libreoffice-calc-nogui (or libreoffice-calc)."
    if uno_python() is None:
        return "No Python can talk to LibreOffice: install python3-uno for the system's Python."
    return None


def chromium_missing() -> str | None:
    """Say what browser tests lack, or None."""
    return None if chromium_path() else "Chromium is not here: install chromium."


@cache
def pango_missing() -> str | None:
    """Say what PDF tests lack, or None.

    Only the import itself tells whether every shared library is found, so it is tried.
    """
    try:
        import weasyprint  # noqa: F401  (half a second: only for tests that ask)
    except (ImportError, OSError):
        return (
            "WeasyPrint cannot load Pango: install libpango-1.0-0, libpangoft2-1.0-0, "
            "libharfbuzz-subset0 and the weasyprint package."
        )
    return None


def cluster_missing() -> str | None:
    """Say what tests of a cluster lack, or None."""
    if os.name != "posix":
        return "The cluster's tests run where processes have groups: not here."
    if find_spec("distributed") is None:
        return "Dask is not here: pip install -c pins.txt -e '.[cluster]'."
    return None


def postgres_folder() -> Path | None:
    """Where the newest PostgreSQL server's programs are, or None."""
    debian = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    found = shutil.which("initdb") or (debian[-1] if debian else None)
    return Path(found).resolve().parent if found else None


def postgres_missing() -> str | None:
    """Say what tests of a team's ledger lack, or None."""
    if os.name != "posix" or postgres_folder() is None:
        return "PostgreSQL is not here: install postgresql."
    if find_spec("psycopg") is None:
        return "PostgreSQL's package is not here: pip install -c pins.txt -e '.[team]'."
    return None


def poppler_missing() -> str | None:
    """Say what tests that look into a PDF lack, or None."""
    if all(shutil.which(name) for name in POPPLER_NAMES):
        return None
    return "pdfinfo, pdftoppm or pdftotext is not here: install poppler-utils."
