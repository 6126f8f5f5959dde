from .app import make_app as make_app
from .settings import Settings as Settings
