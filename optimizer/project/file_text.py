"""The text of a file that a maker wrote, or a sentence why there is none; names of those that may be taken."""

import re
from collections.abc import Callable, Iterable
from difflib import SequenceMatcher
from pathlib import Path

FOLDERS = {"hand": "hands", "printer": "printers", "stock": "stock", "learned": "learned"}
"""Where files of a kind lie beside the projects that name them."""

OFFERED = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,63}\.toml")
"""Names of files that are offered, to be taken by their names."""

TOLD_MOST = 6
"""Files named in place of one that is not there."""

ENDINGS = {"TOML text": ".toml", "CSV text": ".csv"}
"""How names of files end by what their text is; one that is named with an ending may be of another."""


def text_of(
    path: Path,
    unusable: Callable[[str], Exception],
    *,
    missing: str,
    name: str,
    whole: str,
    kind: str = "TOML text",
    most: int | None = None,
) -> str:
    """The text of a file.

    Parameters
    ----------
    path : of the file
    unusable : makes the error that is raised, from its sentence, where the file cannot be read
    missing, name, whole : what the file is called where it is not there, where a folder is, and as a text
    kind : what such a text is
    most : bytes that it may have; no more of a larger one is read
    """
    try:
        text = _bytes_of(path, unusable, most).decode("utf-8-sig")
        return text.replace("\r\n", "\n").replace("\r", "\n")
    except FileNotFoundError:
        ending = path.suffix if path.suffix and kind != "TOML text" else ENDINGS.get(kind, "")
        raise unusable(f"there is no {missing} {path}{_those_there(path, missing.split()[0], ending)}") from None
    except IsADirectoryError:
        raise unusable(f"{path} is a folder; name a {name} in it") from None
    except UnicodeDecodeError:
        raise unusable(f"{path} {_as_it_is(_bytes_of(path, unusable, most))}; a {whole} is {kind} in UTF-8") from None
    except OSError as error:
        raise unusable(f"{path} cannot be read: {error.strerror}") from None


def _bytes_of(path: Path, unusable: Callable[[str], Exception], most: int | None) -> bytes:
    """What a file holds, where that is not too much."""
    if most is None:
        return path.read_bytes()
    with path.open("rb") as stream:
        data = stream.read(most + 1)
    if len(data) > most:
        raise unusable(f"{path} has more than {most / 1e6:g} MB, more than anybody writes")
    return data


def _as_it_is(data: bytes) -> str:
    """What a file holds that is no text in UTF-8."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        try:
            data.decode("utf-16")
        except UnicodeDecodeError:
            return "is not a text file"
        return "is text in UTF-16; save it as UTF-8"
    odd = next((number for number, byte in enumerate(data) if byte >= 0x80), 0)
    if any(byte < 0x20 and byte not in b"\t\r\n\f" for byte in data):
        return "is not a text file"
    letter, line = data[odd : odd + 1].decode("cp1252", "replace"), data.count(b"\n", 0, odd) + 1
    return f"has {letter!r} on line {line} as Windows or Latin-1 writes it; save the file as UTF-8"


def offered_names(folder: Path) -> list[str]:
    """Names of the files that a folder of projects, hands, printers or stock offers."""
    if not folder.is_dir():
        return []
    return sorted(path.name for path in folder.iterdir() if OFFERED.fullmatch(path.name) and path.is_file())


def nearest_first(name: str, names: Iterable[str]) -> list[str]:
    """Names of files, those likest to one first."""
    stem = Path(name).stem.lower()
    return sorted(names, key=lambda each: (-SequenceMatcher(None, stem, Path(each).stem.lower()).ratio(), each))


def _those_there(path: Path, kind: str, ending: str) -> str:
    """The end of a sentence that names the files of an ending beside a path and in the folder of their kind, likeliest
    first; empty where there are none."""
    try:
        pattern = f"*{ending}"
        near = [each.name for each in path.parent.glob(pattern)]
        folder = FOLDERS.get(kind, f"{kind}s")
        near += [f"{folder}/{each.name}" for each in (path.parent / folder).glob(pattern)]
    except OSError:
        return ""
    return f"; there are: {', '.join(nearest_first(path.name, near)[:TOLD_MOST])}" if near else ""
