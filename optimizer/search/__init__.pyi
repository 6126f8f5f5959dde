from .pareto import Front as Front
from .pareto import hypervolume as hypervolume
from .run_folder import RunFolder as RunFolder
from .run_folder import create_run as create_run
from .run_folder import reopen_run as reopen_run
from .runs import resume as resume
from .runs import search as search
from .search_limits import Limits as Limits
