from .mesh import piece_mesh as piece_mesh
from .scene import scene_of as scene_of
