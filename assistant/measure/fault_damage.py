"""Damage to a job that is closed: every bit of a small signed one, and files damaged by chance (`job_damage`).

The rule: a damaged file is called so, or every entry, clip and signature that the last signature covers reads as before.
Which bytes may change nothing is not listed here, but found: the file is called whole, and all rows are read again and
compared. (They are free room inside pages and such counters of SQLite's header as no row depends on: JOBFILE.md, "What a
chain can't show".) What came after the last signature has nobody's word for it and is counted apart. The signer's key is
asked for, as by whoever knows the signer: else a signature cut off together with its entry would not show.
"""

from __future__ import annotations

import random
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from assistant.core.problems import LayupProblem
from assistant.files.verify import verify
from assistant.measure.fault_judging import Count, Trial, counts
from assistant.measure.fault_samples import KEY, full_job, smallest_job
from assistant.measure.fault_strokes import chosen, clear
from assistant.measure.job_damage import Rows, compared, content, damage
from assistant.measure.speech_table import section

FLIPPED = "one bit flipped"
DAMAGED = 200
"""Files damaged by chance, where `--most` does not say."""
HEAD = (
    "damage", "tried", "survived", "called damaged", "no row changed", "after the signature", "lost", "unseen changes",
    "verifiers agree",
)  # fmt: skip


@dataclass(frozen=True)
class Look(Trial):
    """A look at one damaged file. found: it is called damaged. after: only what came after the last signature changed.

    agree: both verifiers say the same; None where the plain one was not asked.
    """

    found: bool = False
    after: bool = False
    agree: bool | None = None


@dataclass(frozen=True)
class DamageCount:
    """One kind of damage, all looks at it. unchanged: called whole, and every row reads as before; the rest as in `Look`."""

    count: Count
    found: int
    unchanged: int
    after: int
    agree: int | None

    def as_json(self) -> dict[str, object]:
        """The object that `layup measure faults --json` prints."""
        more = {"found": self.found, "unchanged": self.unchanged, "after_signature": self.after, "agree": self.agree}
        return self.count.as_json() | more

    def row(self) -> tuple[str, ...]:
        """Of the table."""
        one, agree = self.count, "" if self.agree is None else str(self.agree)
        numbers = (one.tried, one.survived, self.found, self.unchanged, self.after, one.lost, one.unseen)
        return (one.fault, *map(str, numbers), agree)


def damage_campaign(folder: Path, most: int) -> Iterator[Look]:
    """Every bit, and 200 files; at most so many of each where `most` is not 0."""
    small = smallest_job(folder / "small.job")
    bits = chosen(8 * small.stat().st_size, most)
    yield from flips(small, (bit - 1 for bit in bits))
    yield from damaged(full_job(folder / "full.job"), range(most or DAMAGED))


def flips(path: Path, bits: Iterable[int]) -> Iterator[Look]:
    """Flip each bit (8 times the byte's place, plus 0 to 7) in a copy beside `path`, and look whether `verify` finds it."""
    data, before = path.read_bytes(), content(path)
    copy = path.with_name(f"flipped-{path.name}")
    for bit in bits:
        copy.write_bytes(data[: bit // 8] + bytes([data[bit // 8] ^ 1 << bit % 8]) + data[bit // 8 + 1 :])
        yield _look(FLIPPED, f"bit {bit}", before, copy, whole=_is_whole(copy))
        clear(copy)


def damaged(path: Path, seeds: Iterable[int]) -> Iterator[Look]:
    """Damage a copy beside `path` by each chance, and have both verifiers look at it."""
    before = content(path)
    copy = path.with_name(f"damaged-{path.name}")
    for seed in seeds:
        way = damage(path, copy, random.Random(seed)).split(",")[0].replace("_", " ")
        said = compared(copy, KEY.public)
        trouble = "" if said.agree else f"verify says {said.ours!r}, check_job {said.plain!r}"
        yield _look(way, f"chance {seed}", before, copy, said.ours == "whole", trouble, agree=said.agree)
        clear(copy)


def _look(
    fault: str, where: str, before: Rows, copy: Path, whole: bool, trouble: str = "", agree: bool | None = None
) -> Look:
    if not whole:
        return Look(fault, trouble=trouble, where=where, found=True, agree=agree)
    lost, changed, after = differences(before, content(copy))
    return Look(fault, lost, changed, trouble, where, after=after and not (lost or changed), agree=agree)


def differences(before: Rows, now: Rows) -> tuple[int, int, bool]:
    """Of what the last signature covers: rows gone, and rows changed or put in; and whether anything after it differs."""
    signed = max((int(str(name)) for table, name in before if table == "signature"), default=0)
    covered = _covered(before, signed)
    lost = sum(key not in now for key in covered)
    changed = sum(key in now and now[key] != before[key] for key in covered)
    added = len(_covered(now, signed) - covered)
    return lost, changed + added, now != before


def _covered(rows: Rows, signed: int) -> set[tuple[str, object]]:
    """The keys of all but the entries after this one, what only they name, and signatures over them."""
    later = {key for key in rows if key[0] in ("entry", "signature") and int(str(key[1])) > signed}
    named, late = (
        {row[5] for key, row in rows.items() if key[0] == "entry" and (key in later) is after}
        for after in (False, True)
    )
    return {key for key in rows.keys() - later if key[0] != "clip" or key[1] in named or key[1] not in late}


def _is_whole(path: Path) -> bool:
    try:
        return verify(path, key=KEY.public).whole
    except LayupProblem:
        return False


def damage_counts(looks: Iterable[Look]) -> Iterator[DamageCount]:
    """One count a kind of damage, in the order in which they came."""
    all_of = list(looks)
    for count in counts(all_of):
        of = [look for look in all_of if look.fault == count.fault]
        agree = [look.agree for look in of if look.agree is not None]
        found, after = sum(look.found for look in of), sum(look.after for look in of)
        unchanged = sum(not (look.found or look.after or look.lost or look.unseen) for look in of)
        yield DamageCount(count, found, unchanged, after, sum(agree) if agree else None)


def damage_table(found: Sequence[DamageCount]) -> Iterator[str]:
    """For a person."""
    yield from section("Damage", HEAD, (one.row() for one in found))
    agree, asked = sum(one.agree or 0 for one in found), sum(one.count.tried for one in found if one.agree is not None)
    yield f"- both verifiers agree: {agree} of {asked}"
    for one in found:
        for trouble in one.count.troubles:
            yield f"- {one.count.fault}: {trouble}"
