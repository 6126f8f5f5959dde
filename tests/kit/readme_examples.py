"""The examples of the service's README, run as they stand against a service elsewhere."""

import os
import re
import subprocess
import sys
from pathlib import Path

from places import ROOT

EXAMPLES = (ROOT / "optimizer" / "service" / "README.md").read_text(encoding="utf-8")
STATED, MANY = "127.0.0.1:8750", '"trials": 40'
FEW = 4


def example(kind, part):
    """The fenced block of the service's README that has a part in it."""
    (block,) = (each for each in re.findall(rf"```{kind}\n(.*?)```", EXAMPLES, re.DOTALL) if part in each)
    return block


def run_example(command, text, place, port):
    """Run an example with its stated address replaced by where the service is, and its trials by a few."""
    assert STATED in text
    assert text.count(MANY) == 1
    text = text.replace(MANY, f'"trials": {FEW}')
    environment = os.environ | {"PATH": f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}"}
    done = subprocess.run(
        [*command, text.replace(STATED, f"127.0.0.1:{port}")], cwd=place, env=environment, capture_output=True,
        text=True, timeout=600,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return done.stdout
