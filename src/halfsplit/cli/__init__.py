"""The command line: words in, tables or one JSON document out. Asks the service, and words of the rooms below for what
was found; how anything is worked out it does not know.

Starts fast: click alone is imported here; numerics, grammar and tables are imported inside the commands.
"""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Sequence

from halfsplit.cli import app, failures

__all__ = ["main"]

SELDOM = 100_000
"""Things made until garbage is looked for: nearly all that a command makes lives as long as it, a twentieth faster."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs one command; its exit code: 0 done, 1 the answer is no, 2 wrong use, 3 bad input file."""
    words = list(sys.argv[1:] if arguments is None else arguments)
    # Small matrices: a second thread costs more than it gives. Whoever sets the variable is obeyed.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    gc.set_threshold(SELDOM)
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    return failures.guarded(lambda: app.app.main(words, "halfsplit", standalone_mode=False), "--json" in words)
