from .dxf import dxf_text as dxf_text
from .pdf import pdf_bytes as pdf_bytes
from .plan import Plan as Plan
