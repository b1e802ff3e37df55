"""`python -m lidoff` is the `lidoff` command."""

import sys

from lidoff.cli import main

if __name__ == "__main__":
    sys.exit(main())
