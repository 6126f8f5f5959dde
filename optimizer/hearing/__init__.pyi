from .recording import read_recording as read_recording
from .session import Session as Session
from .session import measured as measured
from .wanted import lines_of as lines_of
from .wanted import read_order as read_order
