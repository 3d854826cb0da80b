"""`python -m firststart` is the command `firststart`."""

import sys

from firststart.cli import main

sys.exit(main())
