"""The file in which what a measured instrument taught goes from one project to the next."""

import tomlkit

from optimizer.project.learned import Learned


def learned_toml(learned: Learned) -> str:
    """TOML text of it, for `learned = "FILE"` of a project or `--learned FILE` of a command."""
    rows = tomlkit.array()
    rows.extend(learned.correlation)
    return tomlkit.dumps(
        {
            "source": learned.source,
            "numbers": {kind: list(pair) for kind, pair in learned.numbers.items()},
            "correlation": rows.multiline(True),
        }
    )
