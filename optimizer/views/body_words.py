"""What is said of a layout's body as a whole: what it weighs, and where it balances. Reads records only."""

from optimizer.records.layout import LayoutRecord


def mass_words(record: LayoutRecord) -> str:
    """What a layout weighs, where it balances, and what that counts; empty of a file that does not tell."""
    mass = record.mass
    if mass is None:
        return ""
    parts = ", ".join(f"{name} {value:.0f}" for name, value in mass.parts_g.items() if value)
    return (
        f"about {mass.mass_g:.0f} g, balancing {mass.balance_mm:.0f} mm from the reed end along the bore: {parts} g; "
        f"printed solid at {mass.density_g_per_cm3:g} g/cm3, keys by rule of thumb; not counted: {mass.left_out}"
    )
