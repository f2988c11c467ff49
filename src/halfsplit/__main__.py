"""`python -m halfsplit`: the same as the command `halfsplit`."""

from __future__ import annotations

import sys

from halfsplit.cli import main

sys.exit(main())
