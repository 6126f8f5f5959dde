from .kernel_process import cad_kernel as cad_kernel
from .step_files import write_step_files as write_step_files
