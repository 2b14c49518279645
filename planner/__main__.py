"""``python -m planner`` does the same as ``fieldstop``."""

import sys

from planner.cli.main import main

sys.exit(main())
