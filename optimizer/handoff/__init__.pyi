from .handed import Handed as Handed
from .handing_over import hand_off as hand_off
from .kinds import Kind as Kind
