"""A second opinion on a procedure: its answers as Horn rules for the fixed-point engine of Z3, a solver made by others.

Written from the words of DEVELOPERS.md alone and without the program's own rules (`core.conditions`, `core.proof`): what is
the same here and there is so because both read the same page. A condition is a number of two bits, `MAY_BE` is "unsure".
"""

from __future__ import annotations

from collections.abc import Sequence

import z3

from assistant.core.procedure import Procedure, Step

MAY_BE = 3
"""No condition of the generated procedures has more than three values."""
BITS, PLACE_BITS = 2, 5


class Rules:
    """The procedure as rules. Three relations over (place, conditions): `at` a step, looking `on`wards, looking `back`."""

    def __init__(self, procedure: Procedure) -> None:
        self.procedure = procedure
        self.names = sorted(procedure.start)
        self.values = {name: sorted(values) for name, values in procedure.conditions.items()}
        self.engine = z3.Fixedpoint()
        self.engine.set("engine", "datalog")
        sorts = [z3.BitVecSort(PLACE_BITS), *[z3.BitVecSort(BITS)] * len(self.names)]
        self.at, self.on, self.back = (
            z3.Function(name, *sorts, z3.BoolSort()) for name in ("at_step", "looking_on", "looking_back")
        )
        self.now = [z3.BitVec(name, BITS) for name in self.names]
        self.engine.declare_var(*self.now)
        for relation in (self.at, self.on, self.back):
            self.engine.register_relation(relation)
        self._write()

    def harm(self) -> bool:
        """Can any never be reached, at any step."""
        place = z3.BitVec("place", PLACE_BITS)
        self.engine.declare_var(place)
        for rule in self.procedure.never:
            kept = [self._may(name, value) for name, value in rule.conditions.items()]
            if self.engine.query(z3.And(self.at(place, *self.now), *kept)) == z3.sat:
                return True
        return False

    def ever_open(self, index: int) -> bool:
        """Can the step in that place, from 0, be opened at all."""
        return bool(self.engine.query(self.at(self._place(index), *self.now)) == z3.sat)

    # From here on the page: "The proof" in DEVELOPERS.md

    def _write(self) -> None:
        start = [self._number(name, self.procedure.start[name]) for name in self.names]
        self.engine.fact(self.on(self._place(0), *start))
        for index, step in enumerate(self.procedure.steps):
            self._looked_at(index, step)
            self._answered(index, step)
        end = self._place(len(self.procedure.steps))
        self.engine.rule(self.at(end, *self.now), self.on(end, *self.now))

    def _looked_at(self, index: int, step: Step) -> None:
        """A step for other machines is passed over both ways."""
        here = self._place(index)
        fits = z3.And(*[self._may(name, value) for name, value in step.only.items()])
        for looking, way in ((self.on, 1), (self.back, -1)):
            self.engine.rule(self.at(here, *self.now), [looking(here, *self.now), fits])
            if index + way >= 0:
                passed = [looking(here, *self.now), z3.Not(fits)]
                self.engine.rule(looking(self._place(index + way), *self.now), passed)

    def _answered(self, index: int, step: Step) -> None:
        wanted = [(name, value) for held in (step.only, step.needs) for name, value in held.items()]
        holds = [self._is(name, value) for name, value in wanted]
        for n, (name, value) in enumerate(wanted):  # asked for one after the other
            asked = [*holds[:n], z3.Not(holds[n])]
            self._move(self.at, index, 0, {name: self._number(name, value)}, asked)
        ends = self._ends(step)
        for end in ends:
            self._move(self.on, index, 1, {c: self._number(c, v) for c, v in end.items()}, holds)
        touched = {c for end in ends for c in end}
        unread = z3.Not(z3.And(*holds))
        for looking, way in ((self.on, 1), (self.back, -1)):
            self._move(looking, index, way, {}, [unread])
            left = {c: self._doubted(c, ends) for c in touched}
            self._move(looking, index, way, left, holds)

    def _ends(self, step: Step) -> list[dict[str, str]]:
        """What the step makes, for each set of answers."""
        ends = [dict(step.makes)]
        for reading in step.readings:
            ends = [{**end, **dict(choice.makes)} for end in ends for choice in reading.choices]
        return ends

    def _doubted(self, name: str, ends: Sequence[dict[str, str]]) -> z3.BitVecRef:
        """Left after it was read: what it may make otherwise than it is may be so or not."""
        now = self.now[self.names.index(name)]
        same = [now == self._number(name, end[name]) for end in ends if name in end]
        return z3.If(z3.And(*same), now, z3.BitVecVal(MAY_BE, BITS))

    def _move(
        self, relation: z3.FuncDeclRef, index: int, way: int, changed: dict[str, z3.BitVecRef], when: list[z3.BoolRef]
    ) -> None:
        if index + way < 0:
            return
        after = [changed.get(name, now) for name, now in zip(self.names, self.now, strict=True)]
        self.engine.rule(relation(self._place(index + way), *after), [self.at(self._place(index), *self.now), *when])

    def _place(self, index: int) -> z3.BitVecRef:
        return z3.BitVecVal(index, PLACE_BITS)

    def _number(self, name: str, value: str) -> z3.BitVecRef:
        return z3.BitVecVal(MAY_BE if value == "unsure" else self.values[name].index(value), BITS)

    def _is(self, name: str, value: str) -> z3.BoolRef:
        return self.now[self.names.index(name)] == self._number(name, value)

    def _may(self, name: str, value: str) -> z3.BoolRef:
        return z3.Or(self._is(name, value), self._is(name, "unsure"))
