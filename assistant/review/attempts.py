"""How often a log-in may be tried: a token bucket for each name and address, that fills more slowly with every try.

So a mistyped passphrase costs seconds, guessing costs years (NIST SP 800-63B, 5.2.2, asks for such a limit). How many tries
there were is forgotten by a log-in, or after a night without any: no rhythm of guessing gains by it. The clock is passed in;
nothing sleeps.
"""

from __future__ import annotations

import ipaddress
from collections.abc import Callable
from dataclasses import dataclass

from assistant.review.users import name_key

NAME_BURST = 5
"""Tries on one name at once; then they wait."""
ADDRESS_BURST = 20
"""Tries from one address at once, on whatever names: several people log in at a shop's one PC."""
FIRST_PAUSE_S, LONGEST_PAUSE_S = 2.0, 15 * 60.0
FORGOTTEN_S = 12 * 60 * 60.0
MOST_BUCKETS = 10_000
DUST_S = 1e-6
"""What is left over of a wait when floats are added."""


@dataclass
class Bucket:
    """`left` of at most `burst` tries at the time `at_s`; `taken` so far, the last at `tried_s`."""

    burst: int
    tried_s: float
    at_s: float
    left: float
    taken: int = 0

    @property
    def pause_s(self) -> float:
        """Until there is one try more: 2 s, doubled for every try beyond the burst, up to 15 minutes."""
        return float(min(FIRST_PAUSE_S * 2 ** min(max(0, self.taken - self.burst), 20), LONGEST_PAUSE_S))


class Attempts:
    """Buckets by what they are of; at most 10,000, then the one tried longest ago is forgotten."""

    def __init__(self, clock: Callable[[], float]) -> None:
        self._clock = clock
        self._buckets: dict[str, Bucket] = {}

    def take(self, name: str, address: str) -> float:
        """Take a try on that name from that address: 0.0, or the seconds to wait before there is one (then none is taken)."""
        buckets = [self._bucket(key, burst) for key, burst in _keys(name, address)]
        wait_s = max((1 - bucket.left) * bucket.pause_s for bucket in buckets)
        if wait_s > DUST_S:
            return wait_s
        for bucket in buckets:
            bucket.left -= 1
            bucket.taken += 1
            bucket.tried_s = bucket.at_s
        return 0.0

    def went_well(self, name: str, address: str) -> None:
        """The try was a log-in: the name may err again, the address gets this try back and no more."""
        (of_name, _), (of_address, burst) = _keys(name, address)
        self._buckets.pop(of_name, None)
        bucket = self._bucket(of_address, burst)
        bucket.left = min(burst, bucket.left + 1)
        bucket.taken = max(0, bucket.taken - 1)

    def _bucket(self, key: str, burst: int) -> Bucket:
        now = self._clock()
        bucket = self._buckets.pop(key, None)
        if bucket is None or now - bucket.tried_s >= FORGOTTEN_S:
            bucket = Bucket(burst, now, now, burst)
        bucket.left = min(burst, bucket.left + (now - bucket.at_s) / bucket.pause_s)
        bucket.at_s = now
        while len(self._buckets) >= MOST_BUCKETS:
            del self._buckets[next(iter(self._buckets))]  # the one that was tried longest ago
        self._buckets[key] = bucket
        return bucket


def _keys(name: str, address: str) -> tuple[tuple[str, int], tuple[str, int]]:
    return (f"name {name_key(name)}", NAME_BURST), (f"address {network_of(address)}", ADDRESS_BURST)


def network_of(address: str) -> str:
    """What one person has in hand: an IPv4 address, an IPv6 /64 (RFC 6177: a site has at least that much).

    >>> network_of("192.0.2.7"), network_of("2001:db8:1:2:3::4"), network_of("::ffff:192.0.2.7")
    ('192.0.2.7', '2001:db8:1:2::/64', '192.0.2.7')
    """
    try:
        found = ipaddress.ip_address(address.partition("%")[0])
    except ValueError:
        return address
    if isinstance(found, ipaddress.IPv4Address):
        return str(found)
    if found.ipv4_mapped:
        return str(found.ipv4_mapped)
    return str(ipaddress.ip_network((found, 64), strict=False))
