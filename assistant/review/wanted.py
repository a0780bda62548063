"""What a call of `layup review` comes to: where to listen, who is let in, with TLS or not; refused where it is not safe."""

from __future__ import annotations

import ssl
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from assistant.core.problems import CallProblem
from assistant.review.entrance import LOOPBACK_NAMES, PORT, GateSettings
from assistant.review.listening import LOOPBACK, Place, check_tls, names_of, read_place, tls_of
from assistant.review.users import person_name, read_users


@dataclass(frozen=True)
class Wanted:
    """`users` is None on loopback without passphrases; `warning` is to be shown, "" where there is none."""

    places: tuple[Place, ...]
    who: str = ""
    users: Path | None = None
    hosts: frozenset[str] = LOOPBACK_NAMES
    any_address: bool = False
    tls: ssl.SSLContext | None = None
    warning: str = ""

    def settings_at(self, port: int, told: Callable[[str], None]) -> GateSettings:
        """The gate's settings, now that the port is known."""
        return GateSettings(
            who=self.who,
            users=self.users,
            hosts=self.hosts,
            any_address=self.any_address,
            secure=self.tls is not None,
            port=port,
            told=told,
        )


def on_loopback(port: int | None, who: str) -> Wanted:
    """On this machine alone, IPv4 and IPv6, without a passphrase."""
    at = PORT if port is None else port
    return Wanted(tuple(Place(host, at) for host in LOOPBACK), who=person_name(who) if who else "")


def for_others(
    listen: str, names: tuple[str, ...], certificate: Path | None, key: Path | None, *, without_tls: bool, users: Path
) -> Wanted:
    """At an address that other machines reach. CallProblem without TLS (unless `without_tls`) and without users."""
    place = read_place(listen)
    warning = check_tls(place, certificate, key, without=without_tls)
    if not read_users(users):
        do = "`layup users add NAME --role foreman` first"
        raise CallProblem("nobody could log in: there are no users", where=str(users), do=do)
    return Wanted(
        (place,),
        users=users,
        hosts=names_of(place, names),
        any_address=place.is_any,
        tls=tls_of(certificate, key) if certificate and key else None,
        warning=warning,
    )
