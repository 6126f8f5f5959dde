"""Every kind of file that is written, and its JSON Schema."""

import json
from typing import Literal

from optimizer.comparison_record import ComparisonRecord
from optimizer.extension_record import ExtensionRecord
from optimizer.fit_records import HandsRecord, ReliefsRecord
from optimizer.prices_record import PricesRecord
from optimizer.project import Project
from optimizer.record_base import Record
from optimizer.records import SCHEMA_DIALECT, LayoutRecord
from optimizer.run_records import FrontRecord, ProgressRecord, RunRecord
from optimizer.tolerance_record import ToleranceRecord

RECORDS: dict[str, type[Record]] = {
    "layout": LayoutRecord,
    "front": FrontRecord,
    "run": RunRecord,
    "progress": ProgressRecord,
    "hands": HandsRecord,
    "reliefs": ReliefsRecord,
    "comparison": ComparisonRecord,
    "tolerance": ToleranceRecord,
    "extension": ExtensionRecord,
    "prices": PricesRecord,
}


def schema_text(name: str) -> str:
    """JSON Schema of a record kind (`project` or one of `RECORDS`), as kept in `optimizer/schemas/`."""
    mode: Literal["validation", "serialization"] = "validation" if name == "project" else "serialization"
    schema = (Project if name == "project" else RECORDS[name]).model_json_schema(mode=mode)
    return json.dumps({"$schema": SCHEMA_DIALECT, **schema}, indent=1, sort_keys=True) + "\n"
