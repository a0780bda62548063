"""Who may do what on the pages: one table, ROLE -> acts. Routes, templates and tests all ask it; nothing else decides.

A technician may look, listen, watch the bay and answer what the foreman asked back. A foreman may do everything: he answers
for the work (design of the job: the foreman reviews it, amends with a reason, approves and signs).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal, get_args

Role = Literal["technician", "foreman"]
Act = Literal["look", "listen", "watch", "answer", "amend", "uphold", "ask", "decide", "sign"]
"""look: jobs, entries, sheets in every form; listen: kept sounds; watch: the bay screen; answer: a question asked back;
amend: another value for a kept one; uphold: an entry stands as it is; ask: something back; decide: a finding; sign: a job."""

ROLES: tuple[Role, ...] = get_args(Role)
ACTS: tuple[Act, ...] = get_args(Act)

MAY: Mapping[Role, frozenset[Act]] = MappingProxyType(
    {
        "technician": frozenset(("look", "listen", "watch", "answer")),
        "foreman": frozenset(ACTS),
    }
)


@dataclass(frozen=True)
class Who:
    """The person at the browser, as entries are to name them."""

    name: str
    role: Role

    def may(self, act: Act) -> bool:
        """Is it in the table.

        >>> Who("Ines", "technician").may("listen"), Who("Ines", "technician").may("sign")
        (True, False)
        """
        return act in MAY[self.role]
