from .files import read_record as read_record
from .files import write_record as write_record
from .kinds import schema_text as schema_text
from .layout import LayoutRecord as LayoutRecord
from .run import FrontRecord as FrontRecord
from .run import ProgressRecord as ProgressRecord
from .run import RunRecord as RunRecord
