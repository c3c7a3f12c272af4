"""`python -m outcomes` is the `outcomes` command."""

from __future__ import annotations

import sys

from outcomes.cli.main import main

if __name__ == "__main__":
    sys.exit(main())
