"""Calls of the CAD kernel for STEP files: written the same each time, read back and measured."""

import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
from OCP.APIHeaderSection import APIHeaderSection_MakeHeader
from OCP.gp import gp_Trsf
from OCP.IFSelect import IFSelect_RetDone
from OCP.Interface import Interface_Static
from OCP.Message import Message
from OCP.STEPCAFControl import STEPCAFControl_Writer
from OCP.STEPControl import STEPControl_AsIs, STEPControl_Reader
from OCP.TCollection import TCollection_ExtendedString, TCollection_HAsciiString
from OCP.TDataStd import TDataStd_Name
from OCP.TDocStd import TDocStd_Document
from OCP.TopAbs import TopAbs_SOLID
from OCP.TopLoc import TopLoc_Location
from OCP.XCAFApp import XCAFApp_Application
from OCP.XCAFDoc import XCAFDoc_DocumentTool

from acoustics.arrays import Floats
from optimizer.handoff.step.kernel import (
    KernelError,
    Solid,
    bounding_box,
    euler_number,
    explored,
    round_faces,
    valid,
    volume_mm3,
)
from optimizer.handoff.step.read_back import Found

SCHEMA = "AP214IS"
"""What every CAD program reads."""

NO_TIME = "1970-01-01T00:00:00"
"""In place of when a file was written: the same solids make the same bytes."""

OCCURRENCE = re.compile(r"NEXT_ASSEMBLY_USAGE_OCCURRENCE\(\s*'\d+',(.*?)\);", re.DOTALL)
"""A part in an assembly, by a number that the kernel counts up from file to file."""


class Part(NamedTuple):
    """A part of a STEP file by its name: a shape, or parts of its own; how it lies in what it is a part of: a rotation
    (3, 3), then a shift (3,) [mm]."""

    name: str
    shape: Solid | None = None
    parts: Sequence["Part"] = ()
    turn: Floats = np.eye(3)
    shift: Sequence[float] | Floats = (0.0, 0.0, 0.0)


def _quieten() -> None:
    """The kernel prints to stdout as it reads and writes, where records may be expected."""
    Message.DefaultMessenger_s().ChangePrinters().Clear()


def found_in(path: Path) -> Found:
    """What of the solids in a STEP file can be measured, on reading it anew.

    Raises
    ------
    KernelError
        when it is none
    """
    shape = read_step(path)
    each = list(explored(shape, TopAbs_SOLID))
    low, high = bounding_box(shape)
    return Found(
        solids=len(each),
        valid=valid(shape),
        euler=sum(map(euler_number, each)),
        volume_mm3=sum(map(volume_mm3, each)),
        box_mm=(high[0] - low[0], high[1] - low[1], high[2] - low[2]),
        faces=tuple(face for solid in each for face in round_faces(solid)),
    )


def write_step(path: Path, part: Part, told: str, source: str) -> None:
    """Write a part as a STEP file that is the same whenever it is written.

    Parameters
    ----------
    path : of the file
    part : what it holds
    told : what the file says of itself in its head
    source : of which program it is

    Raises
    ------
    KernelError
        when the kernel cannot
    """
    _quieten()
    document = TDocStd_Document(TCollection_ExtendedString("XmlOcaf"))
    XCAFApp_Application.GetApplication_s().InitDocument(document)
    tool = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    _added(tool, part)
    tool.UpdateAssemblies()
    writer = STEPCAFControl_Writer()
    writer.SetNameMode(True)
    Interface_Static.SetCVal_s("write.step.schema", SCHEMA)  # ignored before there is a writer
    if not writer.Transfer(document, STEPControl_AsIs):
        raise KernelError("the kernel cannot tell a solid in a STEP file")
    head = APIHeaderSection_MakeHeader(writer.ChangeWriter().Model(False))
    head.SetName(_ascii(path.name))
    head.SetTimeStamp(_ascii(NO_TIME))
    head.SetAuthorValue(1, _ascii(""))
    head.SetOrganizationValue(1, _ascii(""))
    head.SetOriginatingSystem(_ascii(source))
    head.SetDescriptionValue(1, _ascii(told))
    if writer.Write(str(path)) != IFSelect_RetDone:
        raise KernelError("the kernel cannot write the file")
    path.write_text(_settled(path.read_text(encoding="utf-8")), encoding="ascii")


def _ascii(text: str) -> Any:
    return TCollection_HAsciiString(text.encode("ascii", "replace").decode())


def _added(tool: Any, part: Part) -> Any:
    """A part's label in a document, with the parts that it is made of below it."""
    label = tool.NewShape() if part.shape is None else tool.AddShape(part.shape, False)
    name = TCollection_ExtendedString(part.name, True)
    TDataStd_Name.Set_s(label, name)
    for below in part.parts:
        moved = gp_Trsf()
        moved.SetValues(*(float(each) for row in np.column_stack([below.turn, below.shift]) for each in row))
        component = tool.AddComponent(label, _added(tool, below), TopLoc_Location(moved))
        TDataStd_Name.Set_s(component, TCollection_ExtendedString(below.name, True))
    return label


def _settled(text: str) -> str:
    """A STEP file's text with parts numbered from 1, and letters beyond ASCII as ISO 10303-21 spells them."""
    number = 0

    def numbered(found: re.Match[str]) -> str:
        nonlocal number
        number += 1
        told = "".join(line.strip() for line in found[1].splitlines())
        return f"NEXT_ASSEMBLY_USAGE_OCCURRENCE('{number}',{told});"

    text = OCCURRENCE.sub(numbered, text)
    return re.sub(r"[^\x00-\x7f]+", lambda found: f"\\X4\\{found[0].encode('utf-32-be').hex().upper()}\\X0\\", text)


def read_step(path: Path) -> Solid:
    """What a STEP file holds, its parts in one.

    Raises
    ------
    KernelError
        when it is none
    """
    _quieten()
    reader = STEPControl_Reader()
    if reader.ReadFile(str(path)) != IFSelect_RetDone or not reader.TransferRoots():
        raise KernelError("a STEP file cannot be read back")
    return reader.OneShape()
