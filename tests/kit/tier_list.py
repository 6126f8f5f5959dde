"""The means of working charts out that there are here: NumPy, and the compiled kernel for processors such as this."""

from acoustics import kernel, tiers

KERNELS = kernel.variants()
TIERS = ("numpy", *KERNELS)


def use(monkeypatch, tier: str) -> None:
    """Work charts out by one of them for the rest of a test."""
    monkeypatch.setenv(kernel.SWITCH, "off" if tier == "numpy" else tier)
    assert tiers.in_use() == ("numpy" if tier == "numpy" else f"kernel-{tier}")
