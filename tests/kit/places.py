"""Where tests find what is not theirs: the tree, its demo projects, reference data."""

import subprocess
from pathlib import Path

KIT = Path(__file__).parent
TESTS = KIT.parent
ROOT = TESTS.parent
CONFIGS = ROOT / "configs"
TENOR = CONFIGS / "lantern-tenor.toml"
REFERENCE = TESTS / "reference"


def tracked():
    """Files that git keeps of the tree, from its top."""
    command = ["git", "-c", f"safe.directory={ROOT}", "ls-files", "-z"]
    listed = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True).stdout
    return [Path(name) for name in listed.split("\0") if name and (ROOT / name).exists()]
