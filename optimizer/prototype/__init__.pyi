from .calibration import calibrated as calibrated
from .next_best import next_best as next_best
