"""DXF as the standard has it: pairs of lines, a group code and a value. Knows nothing of any library that writes it.

Autodesk's DXF reference (from memory): 0 begins an entity, 2 names a section or table entry, 8 is the layer, 9 a header
variable, 10 and 20 are x and y, 40 a radius or a height, 1 a text, 70 the flags of a polyline, of which 1 is closed.
"""

from dataclasses import dataclass, field


@dataclass
class Entity:
    """An entity: its kind, and its pairs of group code and value."""

    kind: str
    pairs: list[tuple[int, str]] = field(default_factory=list)

    def all(self, code):
        return [value for found, value in self.pairs if found == code]

    def first(self, code):
        return self.all(code)[0]

    @property
    def layer(self):
        return self.first(8)

    @property
    def points(self):
        return list(zip(map(float, self.all(10)), map(float, self.all(20)), strict=True))


def pairs_of(text):
    lines = text.splitlines()
    assert len(lines) % 2 == 0
    return [(int(code), value) for code, value in zip(lines[::2], lines[1::2], strict=True)]


def section(text, name):
    """The pairs of a section."""
    pairs = pairs_of(text)
    start = next(at for at in range(len(pairs)) if pairs[at : at + 2] == [(0, "SECTION"), (2, name)])
    end = next(at for at in range(start, len(pairs)) if pairs[at] == (0, "ENDSEC"))
    return pairs[start + 2 : end]


def header(text):
    """Variables of the header, each with its first value."""
    pairs = section(text, "HEADER")
    return {name: pairs[at + 1][1] for at, (code, name) in enumerate(pairs) if code == 9}


def entities(text):
    """What is drawn, in order."""
    found = []
    for code, value in section(text, "ENTITIES"):
        if code == 0:
            found.append(Entity(value))
        else:
            found[-1].pairs.append((code, value))
    return found
