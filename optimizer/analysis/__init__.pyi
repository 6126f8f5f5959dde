from .comparison import Candidate as Candidate
from .comparison import compared as compared
from .extension import extended as extended
from .hand_fit import HandFit as HandFit
from .hand_fit import fit as fit
from .prices import prices_of as prices_of
from .printed_pieces import with_locked as with_locked
from .reliefs import relieved as relieved
