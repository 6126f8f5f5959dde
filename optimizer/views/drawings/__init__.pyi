from .body import body_drawing as body_drawing
from .canvas import Canvas as Canvas
