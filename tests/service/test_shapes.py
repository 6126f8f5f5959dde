"""What the page's scripts take the service's answers for, against the service's own OpenAPI document."""

import re

import pytest
from served import PROJECTS

from optimizer.service.app import STATIC, make_app
from optimizer.service.following import Moment
from optimizer.service.settings import Settings

SHAPES = (STATIC / "shapes.js").read_text(encoding="utf-8")
OBJECT = re.compile(r"@typedef \{object\} (\w+)(.*?)\*/", re.DOTALL)
PROPERTY = re.compile(r"@property \{(.*)\} (\[?)(\w+)\]?$", re.MULTILINE)
STATES = re.search(r"@typedef \{(.*)\} State$", SHAPES, re.MULTILINE)[1]
OTHER_NAMES = {
    "ComparedNote": "optimizer__records__comparison__NoteChange",
    "ExtendedNote": "optimizer__records__extension__NoteChange",
}
OBJECTS = dict(OBJECT.findall(SHAPES))


@pytest.fixture(scope="module")
def schemas(tmp_path_factory):
    """Schemas by name, with that of the one shape which is told as an event."""
    app = make_app(Settings(results=tmp_path_factory.mktemp("shelf"), projects=PROJECTS))
    return {**app.openapi()["components"]["schemas"], "Moment": Moment.model_json_schema()}


def typed(schema):
    """A JSON schema as a type of TypeScript."""
    if "anyOf" in schema:
        return " | ".join(dict.fromkeys(typed(each) for each in schema["anyOf"]))  # integers are numbers
    if "$ref" in schema:
        name = schema["$ref"].rpartition("/")[2]
        return next((own for own, other in OTHER_NAMES.items() if other == name), name)
    if "enum" in schema:
        return " | ".join(f'"{each}"' for each in schema["enum"])
    if "prefixItems" in schema:
        return f"[{', '.join(typed(each) for each in schema['prefixItems'])}]"
    kind = schema["type"]
    if kind == "array":
        items = typed(schema["items"])
        return f"({items})[]" if "|" in items else f"{items}[]"
    if kind == "object":
        return f"Record<string, {typed(schema['additionalProperties'])}>"
    return {"integer": "number"}.get(kind, kind)


@pytest.mark.parametrize("name", OBJECTS)
def test_a_shape_is_what_the_service_describes(name, schemas):
    schema = schemas[OTHER_NAMES.get(name, name)]
    properties = PROPERTY.findall(OBJECTS[name])
    assert len(properties) == OBJECTS[name].count("@property") > 0
    for kind, optional, key in properties:
        assert re.sub(r"\bState\b", STATES, kind) == typed(schema["properties"][key]), f"{name}.{key}"
        assert bool(optional) == (key not in schema["required"]), f"{name}.{key}"


def test_every_shape_is_used_by_a_script():
    scripts = "".join(path.read_text(encoding="utf-8") for path in STATIC.glob("*.js") if path.name != "shapes.js")
    imported = set(re.findall(r"\w+", " ".join(re.findall(r"@import \{(.*?)\} from \"./shapes.js\"", scripts))))
    within = " ".join(re.findall(r"@property \{(.*)\}", SHAPES))
    assert imported <= {*OBJECTS, "State"}
    assert [name for name in OBJECTS if name not in imported and not re.search(rf"\b{name}\b", within)] == []
