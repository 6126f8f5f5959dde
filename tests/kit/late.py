"""Packages that take long to load, as names within a name, loaded where a test uses them: pytest, which looks at every
name of a test module when it collects it, and Hypothesis, at every module there is, would load what stands there."""

from importlib import import_module

NAMES = {
    "trimesh": "trimesh",
    "built": "optimizer.handoff.step.built",
    "kernel": "optimizer.handoff.step.kernel",
    "kernel_files": "optimizer.handoff.step.kernel_files",
}


class Late:
    """Modules by the names that tests call them."""

    def __getattr__(self, name):
        if name not in NAMES:
            raise AttributeError(name)
        return import_module(NAMES[name])


late = Late()
