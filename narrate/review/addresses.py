"""Where this computer is found in the shop's network."""

import ipaddress
import socket
from collections.abc import Iterable


def own_address() -> str:
    """This computer's address in the network, as the system would choose it to reach others; nothing is sent."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))
        except OSError:
            return socket.gethostname()
        return str(probe.getsockname()[0])


def reached_at(bound_to: str, names: Iterable[str]) -> tuple[str, ...]:
    """Every name and address under which others may open a page bound to `bound_to`, which goes by `names`."""
    address = {own_address()} if bound_to in ("0.0.0.0", "::") else set()
    return tuple(sorted({*names, *address}))


def as_host(name: str) -> str:
    """A name or an address as it stands in the address of a page.

    >>> as_host("fd00::1"), as_host("bay-pc")
    ('[fd00::1]', 'bay-pc')
    """
    try:
        return f"[{name}]" if ipaddress.ip_address(name).version == 6 else name
    except ValueError:
        return name
