"""Values as the text of a project file has them."""

from collections.abc import Mapping
from typing import Any


def toml(value: Any) -> str:
    """A value as TOML has it."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        escaped = value.replace("\\", "\\\\").replace('"', '\\"')
        return f'"{escaped}"'
    if isinstance(value, tuple | list):
        return f"[{', '.join(toml(each) for each in value)}]"
    return f"{value:g}" if abs(value) < 1e5 else repr(value)


def span(value: tuple[float, float]) -> str:
    """A range, or a point."""
    return toml(list(value))


def entry(table: Mapping[str, Any]) -> str:
    """The inside of an inline table; ranges of one number are that number."""

    def told(value: Any) -> str:
        return toml(value[0] if isinstance(value, tuple) and value[0] == value[1] else value)

    return ", ".join(f"{bare(name)} = {told(value)}" for name, value in table.items())


def bare(name: str) -> str:
    """A key of TOML, quoted where it must be."""
    return name if name.replace("_", "").replace("-", "").isalnum() and name.isascii() else toml(name)
