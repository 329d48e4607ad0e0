"""The addresses of this PC in the home network, and listening at one of them."""

from __future__ import annotations

import contextlib
import ipaddress
import socket
import struct
import sys

_LIKELY = ("192.168.0.1", "10.0.0.1", "172.16.0.1", "169.254.0.1", "192.0.2.1")
"""Looked for in the system's table of ways, from which the own address is known; nothing is sent
there. The last is kept for documents (RFC 5737) and stands for all that is elsewhere."""
_ADDRESS_OF_INTERFACE = 0x8915  # SIOCGIFADDR of linux/sockios.h


def own_addresses() -> list[str]:
    """Addresses of this PC that another device at home may come to, the likeliest first.

    One that the whole world can come to is none of them, and never listened at.
    """
    found = [*_on_the_way(), *_of_name(), *_of_interfaces()]
    return [one for one in dict.fromkeys(found) if is_at_home(one)]


def is_at_home(address: str) -> bool:
    """Whether it is of a network of its own (RFC 1918 and the like), and not of this PC alone."""
    with contextlib.suppress(ValueError):
        known = ipaddress.IPv4Address(address)
        return known.is_private and not (known.is_loopback or known.is_unspecified)
    return False


def listening_at(address: str, port: int) -> socket.socket:
    """A socket at one address of this PC; any port where 0 is given. Raises OSError."""
    if not is_at_home(address):
        raise OSError(0, "not an address of a home network")
    return bound(address, port)


def bound(address: str, port: int) -> socket.socket:
    """A socket that listens there alone. Raises OSError where the port is not free."""
    # by its protocol's name: of others the loop does not let each answer go at once (TCP_NODELAY)
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    try:
        exclusive = getattr(socket, "SO_EXCLUSIVEADDRUSE", None)  # where "reuse" means to share it
        listening.setsockopt(socket.SOL_SOCKET, exclusive or socket.SO_REUSEADDR, 1)
        listening.bind((address, port))
        listening.listen(256)
    except BaseException:
        listening.close()
        raise
    return listening


def _on_the_way() -> list[str]:
    found = []
    for there in reversed(_LIKELY):
        with contextlib.suppress(OSError), socket.socket(type=socket.SOCK_DGRAM) as one:
            one.connect((there, 9))  # of datagrams this sends nothing
            found.append(str(one.getsockname()[0]))
    return found


def _of_name() -> list[str]:
    with contextlib.suppress(OSError):
        known = socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)
        return [str(one[4][0]) for one in known]
    return []


def _of_interfaces() -> list[str]:
    if sys.platform != "linux":
        return []
    import fcntl

    found = []
    with socket.socket(type=socket.SOCK_DGRAM) as one:
        for _, name in socket.if_nameindex():
            with contextlib.suppress(OSError):
                asked = struct.pack("256s", name.encode()[:15])
                answer = fcntl.ioctl(one.fileno(), _ADDRESS_OF_INTERFACE, asked)
                found.append(socket.inet_ntoa(answer[20:24]))
    return found
