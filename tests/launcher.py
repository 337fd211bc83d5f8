"""Start a command so that what it and its workers held in memory can be told from all else."""

LAUNCHER = (  # a process of few megabytes, since a child counts what its parent held
    "import resource, subprocess, sys\n"
    "code = subprocess.call(sys.argv[1:])\n"
    "print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss, file=sys.stderr)\n"
    "sys.exit(code)"
)
"""Runs its arguments, and ends its own words with the most that any process held [kB]."""
