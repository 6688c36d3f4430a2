"""`python -m mv` is the command `tallylux`."""

import sys

from mv.cli import main

sys.exit(main())
