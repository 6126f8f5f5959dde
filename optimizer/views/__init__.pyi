from .comparison_page import compare_page as compare_page
from .comparison_tables import show_comparison as show_comparison
from .front_tables import show_front as show_front
from .layout_screen import show_layout as show_layout
from .report import report_page as report_page
