from .demos import demo_names as demo_names
from .demos import demo_path as demo_path
from .loading import LoadedProject as LoadedProject
from .loading import ProjectError as ProjectError
from .loading import load_project as load_project
from .loading import parse_project as parse_project
from .model import Project as Project
