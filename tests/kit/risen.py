"""The chain with the rises of `acoustics.hole_rises` in it, by NumPy."""

import numpy as np

from acoustics import elements, kernel, toneholes
from acoustics.air import Air
from acoustics.hole_rises import inner_rise, length_rise, mouth_share


def with_rises(monkeypatch):
    """Let holes be told by the rises while a test runs."""
    ports, top = toneholes.hole_ports, toneholes.top_admittance

    def risen_top(f, holes, *rest):
        air = next(item for item in rest if isinstance(item, Air))
        rise = length_rise(2.0 * np.pi * f / air.c, holes.top_radius, holes.body_radius)
        found = top(f, holes, *rest)
        return found / (1.0 + found * 2j * np.pi * f * air.rho * rise / (np.pi * holes.top_radius**2))

    def risen_inner(b, delta, ka):
        return toneholes.static_inner_length(b, delta) + inner_rise(ka * delta / b, b, b / delta)

    def shared_ports(f, holes, bore_radius, openness, air, lossless=False):
        share = mouth_share(2.0 * np.pi * f / air.c, holes.radius)
        port = ports(f, holes, bore_radius, openness, air, lossless)
        return toneholes.Port(port.admittance * share**2, port.transfer * share, port.gain / share)

    monkeypatch.setenv(kernel.SWITCH, "off")
    monkeypatch.setattr(toneholes, "inner_length", risen_inner)
    monkeypatch.setattr(toneholes, "top_admittance", risen_top)
    monkeypatch.setattr(elements, "hole_ports", shared_ports)
