"""Where removed run folders lie, until they are brought back."""

from dataclasses import replace
from pathlib import Path

from optimizer.service.settings import Settings
from optimizer.service.shelf import Shelf


class Aside:
    """Folders set aside; whoever moves one sees to it that nobody writes to it."""

    def __init__(self, settings: Settings) -> None:
        self.settings = settings
        self.shelf = Shelf(replace(settings, results=settings.removed))

    def put(self, folder: Path) -> str:
        """Set a folder aside; the name it has there."""
        self.settings.removed.mkdir(exist_ok=True)
        return moved(folder, self.settings.removed)

    def bring_back(self, name: str) -> str:
        """Bring a folder back; the name it has again.

        Raises
        ------
        RefusedError
            404 when there is none of that name
        """
        return moved(self.shelf.place(name), self.settings.results)

    def names(self) -> list[str]:
        """Names of all that lies here."""
        return self.shelf.all_names() if self.settings.removed.is_dir() else []


def moved(folder: Path, parent: Path) -> str:
    """Move a folder under a parent, by a name that nothing has there yet."""
    path, number = parent / folder.name, 1
    while path.exists():
        number += 1
        path = parent / f"{folder.name}-{number}"
    folder.rename(path)
    return path.name
