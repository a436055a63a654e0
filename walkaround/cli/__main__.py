"""`python -m walkaround.cli`."""

import sys

from walkaround.cli import main

if __name__ == "__main__":
    sys.exit(main())
