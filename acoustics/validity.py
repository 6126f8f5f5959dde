"""When a layout leaves the range in which a formula was checked: sentences that name the hole and the formula."""

import numpy as np

from acoustics.bore import VALIDITY as BORE_VALIDITY
from acoustics.bore import radius_at
from acoustics.network import Duct


def out_of_range(duct: Duct, hole_names: list[str], f_highest: float) -> list[str]:
    """Sentences for every formula whose checked range the duct leaves; f_highest [Hz] is the highest note."""
    holes = duct.holes
    bore = np.asarray(radius_at(duct.bore, holes.position))
    b, t = np.asarray(holes.radius), np.asarray(holes.chimney_height)
    gap, pad, rim = (np.asarray(item) for item in (holes.pad_gap, holes.pad_radius, holes.rim_width))
    sentences = []
    for i, name in enumerate(hole_names):
        delta, ratio = b[i] / bore[i], t[i] / b[i]
        if delta > 1.0:
            sentences.append(f"{name}: wider than the bore (radius ratio {delta:.2f}); inner length checked up to 1")
        if not ratio >= 0.1:
            sentences.append(f"{name}: chimney only {ratio:.2f} of the radius; series length checked from 0.1")
        if not 0.4e-3 <= b[i] <= 40e-3:
            sentences.append(f"{name}: radius {1e3 * b[i]:.2f} mm; losses checked from 0.4 to 40 mm")
        ka = 2.0 * np.pi * f_highest / 345.0 * bore[i]
        if ka > 0.6:
            sentences.append(f"{name}: k a = {ka:.2f} at the highest note; inner length checked up to 0.6")
        if gap[i] > 0 and gap[i] < 0.2 * b[i]:
            sentences.append(f"{name}: pad opens {gap[i] / b[i]:.2f} of the hole radius; pad length checked from 0.2")
        if gap[i] > 0 and pad[i] < b[i] + rim[i]:
            sentences.append(f"{name}: pad narrower than the rim around the hole; pad length assumes it covers it")
    position, radius = np.asarray(duct.bore.position), np.asarray(duct.bore.radius)
    length = np.diff(position)
    rise = np.abs(np.diff(radius))[length > 0] / length[length > 0]
    if rise.size and np.degrees(np.arctan(rise.max())) > 10.0:
        sentences.append(f"bore: a piece opens at {np.degrees(np.arctan(rise.max())):.1f} degrees; {BORE_VALIDITY}")
    if not (radius.min() >= 0.4e-3 and radius.max() <= 40e-3):
        sentences.append("bore: radius outside 0.4 to 40 mm, where the losses were checked")
    return sentences
