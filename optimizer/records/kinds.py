"""Every kind of file that is written, and its JSON Schema."""

import json
from typing import Literal

from optimizer.project.model import Project
from optimizer.records.blowing import BlowingRecord
from optimizer.records.calibration import CalibrationRecord
from optimizer.records.comparison import ComparisonRecord
from optimizer.records.correction import CorrectionRecord
from optimizer.records.coupon import CouponRecord
from optimizer.records.extension import ExtensionRecord
from optimizer.records.files import SCHEMA_DIALECT, Record
from optimizer.records.fingerings import FingeringsRecord
from optimizer.records.fits import HandsRecord, ReliefsRecord
from optimizer.records.gauge import GaugedRecord
from optimizer.records.handoff import HandoffRecord
from optimizer.records.impedance import ImpedanceRecord
from optimizer.records.layout import LayoutRecord
from optimizer.records.measurement import MeasurementRecord
from optimizer.records.prediction import PredictionRecord
from optimizer.records.prices import PricesRecord
from optimizer.records.recommendation import RecommendationRecord
from optimizer.records.run import FrontRecord, ProgressRecord, RunRecord
from optimizer.records.sound import SoundRecord
from optimizer.records.takes import TakesRecord
from optimizer.records.tolerance import ToleranceRecord

RECORDS: dict[str, type[Record]] = {
    "layout": LayoutRecord,
    "front": FrontRecord,
    "recommendation": RecommendationRecord,
    "run": RunRecord,
    "progress": ProgressRecord,
    "hands": HandsRecord,
    "reliefs": ReliefsRecord,
    "comparison": ComparisonRecord,
    "tolerance": ToleranceRecord,
    "extension": ExtensionRecord,
    "prices": PricesRecord,
    "prediction": PredictionRecord,
    "sound": SoundRecord,
    "blowing": BlowingRecord,
    "fingerings": FingeringsRecord,
    "gauged": GaugedRecord,
    "coupon": CouponRecord,
    "impedance": ImpedanceRecord,
    "measurement": MeasurementRecord,
    "takes": TakesRecord,
    "calibration": CalibrationRecord,
    "correction": CorrectionRecord,
    "handoff": HandoffRecord,
}


def schema_text(name: str) -> str:
    """JSON Schema of a record kind (`project` or one of `RECORDS`), as kept in `schemas/`."""
    mode: Literal["validation", "serialization"] = "validation" if name == "project" else "serialization"
    schema = (Project if name == "project" else RECORDS[name]).model_json_schema(mode=mode)
    return json.dumps({"$schema": SCHEMA_DIALECT, **schema}, indent=1, sort_keys=True) + "\n"
