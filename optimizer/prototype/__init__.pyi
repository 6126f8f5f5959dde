from .calibration import calibrated as calibrated
from .next_best import best_next as best_next
