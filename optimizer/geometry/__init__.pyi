from .choices import Choices as Choices
from .duct import make_duct as make_duct
from .layout import Layout as Layout
from .layout import Parametrisation as Parametrisation
from .layout import parametrise as parametrise
from .measured_layout import Geometry as Geometry
