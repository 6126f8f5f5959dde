"""How far a key gives, worked out by hand.

Against Gere & Timoshenko, *Mechanics of Materials* (from memory): phi = T L / G J, J = pi (D^4 - d^4) / 32,
G = E / 2 (1 + nu), delta = F L^3 / 3 E I, I = w h^3 / 12.
"""

import pytest

from optimizer.project.mechanics import Arm, Stock, bending_mm, pad_gives_mm, twist_rad

STEEL = 200e3


@pytest.mark.parametrize(
    ("stock", "expected"),
    [
        # 1 N at 15 mm on 400 mm of stock, E = 200 GPa, nu = 0.3, G = 76.923 GPa; lag 15 mm from the axle.
        # rod of 2: J = pi 16 / 32 = 1.5708; phi = 15 x 400 / (76923 x 1.5708) = 0.049656; x 15 = 0.7448
        (Stock(2.0, 0.0, STEEL, 0.3), 0.7448),
        # rod of 3: J = pi 81 / 32 = 7.9522, a factor (3/2)^4 = 5.0625 stiffer
        (Stock(3.0, 0.0, STEEL, 0.3), 0.14713),
        # brass tube 5 x 3, E = 100: J = pi (625 - 81) / 32 = 53.407; phi = 6000 / (38462 x 53.407) = 0.0029210
        (Stock(5.0, 3.0, 100e3, 0.3), 0.043815),
        # brass tube 4 x 3: J = pi (256 - 81) / 32 = 17.181; phi = 6000 / (38462 x 17.181) = 0.0090800
        (Stock(4.0, 3.0, 100e3, 0.3), 0.13620),
    ],
)
def test_the_twist_of_a_round_bar_or_tube(stock, expected):
    assert 15.0 * twist_rad(15.0, 400.0, stock) == pytest.approx(expected, rel=2e-4)


def test_the_deflection_of_a_cantilever():
    # 2 N at 50 mm, 5 wide and 4 high, E = 100 GPa: I = 5 x 64 / 12 = 26.667; 2 x 125000 / (3 x 1e5 x 26.667) = 0.03125
    assert bending_mm(2.0, 50.0, 5.0, 4.0, 100e3) == pytest.approx(0.03125, rel=1e-12)


def test_a_short_axle_with_stiff_arms_gives_nothing():
    stiff = Arm(5.0, 4.0, 1e15)
    assert pad_gives_mm(1.0, 15.0, 10.0, 1e-9, Stock(3.0, 0.0, STEEL, 0.3), stiff) == pytest.approx(0.0, abs=1e-9)


def test_what_a_pad_gives_is_the_sum_of_its_parts():
    # Touch arm 20, pad arm 10, axle 100 of 3 mm steel, arms 5 x 4 of 100 GPa (E I = 2.6667e6 N mm2), 1.5 N:
    # twist 30 x 100 / (76923 x 7.9522) = 0.0049043, x 10 = 0.049043; touch arm 1.5 x 8000 / 8e6 = 0.0015, at the pad
    # half of it 0.00075; pad arm 3 N: 3 x 1000 / 8e6 = 0.000375
    found = pad_gives_mm(1.5, 20.0, 10.0, 100.0, Stock(3.0, 0.0, STEEL, 0.3), Arm(5.0, 4.0, 100e3))
    assert found == pytest.approx(0.049043 + 0.00075 + 0.000375, rel=1e-4)
