"""Commands, one after the other, in a process that stands on another system; what each came to goes to a file."""

import json
import sys

from optimizer.entry import main


def run(said, *lines):
    """Call each command, its words apart by a bar; exit codes in `said`."""
    codes = []
    for line in lines:
        sys.argv = ["holewright", *line.split("|")]
        print(f"\n<<< {line}", flush=True)
        codes.append(main())
    with open(said, "w", encoding="utf-8") as file:
        json.dump(codes, file)


if __name__ == "__main__":
    run(*sys.argv[1:])
