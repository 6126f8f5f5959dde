from .coupon_files import write_coupon as write_coupon
from .coupon_shape import coupon_of as coupon_of
