"""Take books in or write pages in a process of its own, and print the most memory that it held.

``python peak_of_a_run.py intake SEASON BOOKS``, ``report SEASON BOOKS`` (HTML alone) or ``print
SEASON BOOKS`` (with PDF) prints two numbers [kB]: of the run itself, and of its largest worker.
"""

import resource
import sys
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parents[1])]

from grown import AS_OF, taken  # noqa: E402

from fieldbook.report.build import write_reports  # noqa: E402
from fieldbook.season.season import open_season  # noqa: E402


def own_peak_kb() -> int:
    """Return the most that this process held; its `ru_maxrss` would count who started it, too."""
    lines = Path("/proc/self/status").read_text("ascii").splitlines()
    return next(int(line.split()[1]) for line in lines if line.startswith("VmHWM:"))


def main(what: str, folder: str, books: str) -> None:
    """Do the work and print."""
    season, problems = open_season(Path(folder))
    assert season is not None, problems
    if what == "intake":
        for accepted in taken(season, sorted(Path(books).iterdir())):
            assert accepted
    else:
        wanted = {"as_of": AS_OF, "field_id": None, "templates": None}
        for _ in write_reports(season, pdf=what == "print", **wanted):  # type: ignore[arg-type]
            pass
    print(own_peak_kb(), resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)


if __name__ == "__main__":
    main(*sys.argv[1:])
