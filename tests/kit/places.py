"""Where tests find what is not theirs: the tree, its demo projects, reference data."""

from pathlib import Path

KIT = Path(__file__).parent
TESTS = KIT.parent
ROOT = TESTS.parent
CONFIGS = ROOT / "configs"
TENOR = CONFIGS / "lantern-tenor.toml"
REFERENCE = TESTS / "reference"
README = ROOT / "README.md"
