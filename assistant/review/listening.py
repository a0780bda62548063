"""Where the pages are served: the places to listen at, the names to be called by, and when TLS must be."""

from __future__ import annotations

import errno
import ipaddress
import re
import socket
import ssl
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path

from assistant.core.problems import CallProblem
from assistant.review.entrance import LOOPBACK_NAMES, PORT

LOOPBACK = ("127.0.0.1", "::1")
BACKLOG = 100
PLACE = re.compile(r"(?:\[(?P<v6>[0-9A-Fa-f:.]+)\]|(?P<host>[^\[\]:]+))(?::(?P<port>\d{1,5}))?")


@dataclass(frozen=True)
class Place:
    """An address or a name of this machine, and a port (0: any that is free)."""

    host: str
    port: int

    @property
    def is_loopback(self) -> bool:
        """Only this machine reaches it."""
        return self.host in LOOPBACK_NAMES or (is_address(self.host) and ipaddress.ip_address(self.host).is_loopback)

    @property
    def is_any(self) -> bool:
        """All addresses of this machine."""
        return is_address(self.host) and ipaddress.ip_address(self.host).is_unspecified

    def url(self, *, secure: bool) -> str:
        """What to type into a browser; 0.0.0.0 is nothing to type, so there this machine's name."""
        host = socket.gethostname() if self.is_any else self.host
        return f"http{'s' if secure else ''}://{f'[{host}]' if ':' in host else host}:{self.port}/"


def is_address(name: str) -> bool:
    """Is it an IP address and no name."""
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return False
    return True


def read_place(text: str) -> Place:
    """`ADDRESS`, `ADDRESS:PORT`, `[IPV6]:PORT` or a name of this machine. CallProblem for anything else.

    >>> read_place("192.0.2.7"), read_place("[::]:443"), read_place("::1")
    (Place(host='192.0.2.7', port=8710), Place(host='::', port=443), Place(host='::1', port=8710))
    """
    if is_address(text):
        return Place(text, PORT)
    found = PLACE.fullmatch(text)
    port = int(found["port"] or PORT) if found else -1
    if not found or not 0 <= port <= 65535 or (found["v6"] and not is_address(found["v6"])):
        do = "give ADDRESS or ADDRESS:PORT, such as 192.0.2.7:8710 or [::]:8710"
        raise CallProblem(f"{text!r} is no address to listen at", where="--listen", do=do)
    return Place(found["v6"] or found["host"], port)


def names_of(place: Place, more: tuple[str, ...]) -> frozenset[str]:
    """By what names a browser may call us: loopback's, the place's own, this machine's, and those given."""
    own = {socket.gethostname().lower()} if place.is_any else {place.host.lower()}
    return LOOPBACK_NAMES | own | {name.lower() for name in more}


def check_tls(place: Place, certificate: Path | None, key: Path | None, *, without: bool) -> str:
    """Is what was asked for safe enough; a warning to show, or "". CallProblem where it is not."""
    if (certificate is None) != (key is None):
        raise CallProblem("a certificate needs its key", where="--certificate", do="give both --certificate and --key")
    if certificate is not None and without:
        raise CallProblem("with a certificate, or without TLS", where="--without-tls", do="leave one of the two out")
    if place.is_loopback or certificate is not None:
        return ""
    if not without:
        do = "give --certificate FILE --key FILE (or say --without-tls, and mean it)"
        raise CallProblem("passphrases would cross the network readable by anybody", where="--listen", do=do)
    return "without TLS, anybody on this network can read passphrases and pages, and can sign in another's name"


def tls_of(certificate: Path, key: Path) -> ssl.SSLContext:
    """TLS 1.2 or newer with that certificate (PEM, whole chain) and key (PEM, no passphrase). CallProblem if unusable."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.minimum_version = ssl.TLSVersion.TLSv1_2
    for path in (certificate, key):
        try:
            path.open("rb").close()
        except OSError as fault:
            raise CallProblem(f"cannot be read: {fault.strerror}", where=str(path), do="check the name") from fault
    try:
        context.load_cert_chain(certificate, key, password=lambda: "")
    except (ssl.SSLError, ValueError) as fault:
        do = f"give a certificate in PEM, and with --key its own key without a passphrase (now {key})"
        raise CallProblem("certificate and key cannot be used together", where=str(certificate), do=do) from fault
    return context


def sockets_at(places: tuple[Place, ...]) -> tuple[list[socket.socket], Place]:
    """Listening sockets at all these places, and the first place with its true port (which the others share).

    An address family that this machine does not have is left out after the first. CallProblem where none can be had.
    """
    with ExitStack() as opened:
        sockets: list[socket.socket] = []
        port = places[0].port
        for place in places:
            try:
                sockets.append(opened.enter_context(_listen(place.host, port)))
            except OSError as fault:
                if sockets and fault.errno in (errno.EAFNOSUPPORT, errno.EADDRNOTAVAIL):
                    continue
                do = (
                    "give another --port, or end the program that has it"
                    if fault.errno == errno.EADDRINUSE
                    else "check --listen"
                )
                where = f"{place.host}:{port}"
                raise CallProblem(f"cannot listen there: {fault.strerror or fault}", where=where, do=do) from fault
            port = port or sockets[0].getsockname()[1]
        opened.pop_all()
    return sockets, Place(places[0].host, port)


def _listen(host: str, port: int) -> socket.socket:
    family, kind, protocol, _, address = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0]
    made = socket.socket(family, kind, protocol)
    try:
        made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        made.bind(address)
        made.listen(BACKLOG)
    except OSError:
        made.close()
        raise
    return made
