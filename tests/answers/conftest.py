"""Lets the tests of the answers share invented books."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
