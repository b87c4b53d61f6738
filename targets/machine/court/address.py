"""Where the page is served: one address of this computer, the loopback unless another is asked for; a certificate."""

import ipaddress
import socket
import ssl
from dataclasses import dataclass

LOOPBACK = "127.0.0.1"
PORT = 8437
"""Free for private use; another with ADDRESS:PORT."""


class AddressRefused(Exception):
    """Why the page cannot be served, in one sentence."""


@dataclass(frozen=True, slots=True)
class Address:
    """`name`: as people type it into a browser, which sends it as Host."""

    name: str
    port: int

    @property
    def loopback(self) -> bool:
        return self.name == "localhost" or (_is_ip(self.name) and ipaddress.ip_address(self.name).is_loopback)

    def authority(self, port: int, tls: bool) -> str:
        """Host and port as a browser writes them."""
        host = f"[{self.name}]" if ":" in self.name else self.name.lower()
        return host if port == (443 if tls else 80) else f"{host}:{port}"

    def bound(self) -> socket.socket:
        """A socket that listens there; AddressRefused if it cannot be had."""
        try:
            family, _, _, _, where = socket.getaddrinfo(self.name, self.port, type=socket.SOCK_STREAM)[0]
            made = socket.create_server(where[:2], family=family, backlog=64)
        except (OSError, UnicodeError) as error:
            raise AddressRefused(
                f"no page can be served at {self.name}, port {self.port}: {getattr(error, 'strerror', None) or error}"
            ) from error
        made.setblocking(False)
        return made


def address_of(text: str) -> Address:
    """ADDRESS, NAME, or either with :PORT; an IPv6 address with a port stands in brackets."""
    name, port = text, str(PORT)
    if text.startswith("["):
        name, _, rest = text[1:].partition("]")
        port = rest[1:] if rest.startswith(":") else rest or port
    elif text.count(":") == 1:
        name, _, port = text.partition(":")
    if not name or not (port.isascii() and port.isdigit() and int(port) < 65536):
        raise AddressRefused(f"{text!r} is no address; write an address of this computer, such as 192.168.1.5")
    if _is_ip(name) and ipaddress.ip_address(name).is_unspecified:
        raise AddressRefused("name one address of this computer: the page is not served on all of them")
    return Address(name, int(port))


def own_address() -> str | None:
    """This computer's address in its network, if it has one. Nothing is sent: the address is one for documentation
    (RFC 5737)."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
        try:
            asked.connect(("192.0.2.1", 9))
            found = str(asked.getsockname()[0])
        except OSError:
            return None
    return None if ipaddress.ip_address(found).is_loopback else found


def certificate(path: str) -> ssl.SSLContext:
    """TLS with a certificate and its key, both in one PEM file."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.minimum_version = ssl.TLSVersion.TLSv1_2
    try:
        context.load_cert_chain(path)
    except (OSError, ssl.SSLError) as error:
        why = error.strerror or str(error)
        raise AddressRefused(f"{path} holds no certificate with its key, in PEM: {why}") from error
    return context


def _is_ip(name: str) -> bool:
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return False
    return True
