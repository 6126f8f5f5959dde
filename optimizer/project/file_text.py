"""The text of a file that a maker wrote, or a sentence why there is none."""

from collections.abc import Callable
from pathlib import Path


def text_of(path: Path, unusable: Callable[[str], Exception], *, missing: str, name: str, whole: str) -> str:
    """The text of a TOML file.

    Parameters
    ----------
    path : of the file
    unusable : makes the error that is raised, from its sentence, where the file cannot be read
    missing, name, whole : what the file is called where it is not there, where a folder is, and as a text
    """
    try:
        return path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise unusable(f"there is no {missing} {path}") from None
    except IsADirectoryError:
        raise unusable(f"{path} is a folder; name a {name} in it") from None
    except UnicodeDecodeError:
        raise unusable(f"{path} is not a text file; a {whole} is TOML text in UTF-8") from None
    except OSError as error:
        raise unusable(f"{path} cannot be read: {error.strerror}") from None
