"""``python -m planner`` does the same as ``fieldstop``."""

import sys

from planner.cli import main

sys.exit(main())
