from .bill import counted_parts as counted_parts
from .list_tables import parts_table as parts_table
from .tables import csv_text as csv_text
