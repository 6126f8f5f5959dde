"""Meshes as files for a slicer: binary STL and 3MF, written and read back. Both hold millimetres.

STL, from memory: 80 bytes of heading, the number of triangles, and of each its normal and corners in single precision
and two bytes more. 3MF: a zip archive with a model in XML, as the core specification of the 3MF Consortium has it.
"""

import io
import zipfile
from itertools import chain
from xml.etree import ElementTree
from xml.sax.saxutils import quoteattr

import numpy as np

from acoustics.arrays import Floats
from optimizer.handoff.meshes.mesh import Mesh, snapped

TRIANGLE = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("rest", "<u2")])
CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
PARTS = {
    "[Content_Types].xml": '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
    '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    '<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/></Types>\n',
    "_rels/.rels": '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    '<Relationship Id="rel0" Target="/3D/3dmodel.model" '
    'Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>\n',
}
MODEL = "3D/3dmodel.model"
WRITTEN = (1980, 1, 1, 0, 0, 0)
"""When every part of an archive was written, so that two are the same."""


def stl(mesh: Mesh, title: str) -> bytes:
    """A mesh as a binary STL file.

    Parameters
    ----------
    mesh : closed
    title : its heading, cut to 80 bytes
    """
    corners = mesh.corners[mesh.triangles]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    rows = np.zeros(len(corners), TRIANGLE)
    length = np.linalg.norm(normals, axis=1, keepdims=True)
    rows["normal"] = normals / np.where(length > 0.0, length, 1.0)
    rows["corners"] = corners
    heading = title.encode("ascii", "replace")[:80].ljust(80)
    return heading + np.uint32(len(rows)).tobytes() + rows.tobytes()


def read_stl(content: bytes) -> Mesh:
    """A mesh from a binary STL file, corners at one place made one.

    Parameters
    ----------
    content : of the file
    """
    rows = np.frombuffer(content, TRIANGLE, offset=84)
    corners = rows["corners"].reshape(-1, 3).astype(float)
    return snapped(corners, np.arange(len(corners)).reshape(-1, 3))


def three_mf(mesh: Mesh, title: str) -> bytes:
    """A mesh as a 3MF file with one object.

    Parameters
    ----------
    mesh : closed
    title : the object's name
    """
    corners = "".join(f'<vertex x="{x:.4f}" y="{y:.4f}" z="{z:.4f}"/>' for x, y, z in mesh.corners.tolist())
    triangles = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in mesh.triangles.tolist())
    model = (
        f'<?xml version="1.0" encoding="UTF-8"?>\n<model unit="millimeter" xml:lang="en-US" xmlns="{CORE}">\n'
        f'<resources><object id="1" type="model" name={quoteattr(title)}><mesh>\n<vertices>{corners}</vertices>\n'
        f"<triangles>{triangles}</triangles>\n</mesh></object></resources>\n"
        '<build><item objectid="1"/></build></model>\n'
    )
    archive = io.BytesIO()
    with zipfile.ZipFile(archive, "w", zipfile.ZIP_DEFLATED) as parts:
        for name, text in (*PARTS.items(), (MODEL, model)):
            parts.writestr(zipfile.ZipInfo(name, WRITTEN), text, zipfile.ZIP_DEFLATED)
    return archive.getvalue()


def read_three_mf(content: bytes) -> Mesh:
    """The first mesh of a 3MF file written here, corners at one place made one.

    Parameters
    ----------
    content : of the file
    """
    with zipfile.ZipFile(io.BytesIO(content)) as parts:
        model = ElementTree.fromstring(parts.read(MODEL))
    corners = _numbers(model, "vertex", ("x", "y", "z"))
    return snapped(corners, _numbers(model, "triangle", ("v1", "v2", "v3")).astype(np.int64))


def _numbers(model: ElementTree.Element, tag: str, names: tuple[str, str, str]) -> Floats:
    """Three attributes (n, 3) of every element of a kind."""
    told = (map(each.attrib.__getitem__, names) for each in model.iter(f"{{{CORE}}}{tag}"))
    return np.fromiter(map(float, chain.from_iterable(told)), float).reshape(-1, 3)
