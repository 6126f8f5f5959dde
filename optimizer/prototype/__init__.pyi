from .calibration import calibrated as calibrated
from .gauged_layout import gauged as gauged
from .impedance_file import read_impedance as read_impedance
from .impedance_match import matched as matched
from .measured_table import TableError as TableError
from .next_best import best_next as best_next
from .present_layout import present_run as present_run
from .present_project import Told as Told
