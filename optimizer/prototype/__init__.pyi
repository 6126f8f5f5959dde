from .calibration import calibrated as calibrated
from .gauged_layout import gauged as gauged
from .measured_table import TableError as TableError
from .next_best import best_next as best_next
from .present_layout import present_run as present_run
from .present_project import Told as Told
