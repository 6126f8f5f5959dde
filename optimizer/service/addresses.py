"""Whom a connection or a request counts for, where something is counted by address."""

import ipaddress


def counted_as(host: str) -> str:
    """An address, or its network of 64 bits in IPv6, of which one household has a whole one (RFC 6177, RFC 7084)."""
    try:
        address = ipaddress.ip_address(host)
    except ValueError:
        return host[:64]
    if isinstance(address, ipaddress.IPv4Address):
        return str(address)
    if address.ipv4_mapped is not None:
        return str(address.ipv4_mapped)
    return str(ipaddress.ip_network((int(address) >> 64 << 64, 64)))
