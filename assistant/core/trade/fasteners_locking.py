"""What holds a fastener or seals its thread, as notes for a step: common practice, no source, and said to be so."""

from __future__ import annotations

from typing import Literal

from assistant.core.trade.figure import Figure
from assistant.core.trade.reckoning import one_of

Means = Literal[
    "thread_locker", "thread_sealant", "gasket_sealant", "locknut", "lock_washer", "split_pin", "anti_seize"
]

NOTES: dict[Means, tuple[str, ...]] = {
    "thread_locker": (
        "Only where the manual asks for it, and the strength that it names; the strong one comes off only with heat.",
        "Scrape off the old; both threads clean, dry and free of oil.",
        "A few drops where the threads will engage; in a blind hole, into the hole. Never under the bolt's head.",
        "Wet, it lets the thread slide: use the manual's torque for a thread with locker, once, and do not turn back.",
        "Let it cure before the machine runs. Keep it off plastics, many of which it cracks, and off a nylon locknut.",
    ),
    "thread_sealant": (
        "Only on threads that seal by the thread; never where an O-ring, a washer or a cone seals.",
        "Leave the first two threads bare, so that nothing gets into the passage.",
        "It must stand what is behind it: fuel, oil, coolant. A sender that is earthed by its thread gets no tape.",
        "It lets the thread slide: stop at the manual's torque, and do not turn back to line up.",
    ),
    "gasket_sealant": (
        "Only where the manual has no dry gasket; faces clean, flat and free of oil.",
        "A thin unbroken bead, inside the bolt holes and round each of them; what squeezes inward comes loose later.",
        "Close and tighten while it is wet; wait for its cure before oil, water or fuel gets there.",
    ),
    "locknut": (
        "A nut that turns past its insert by hand no longer locks: fit a new one. Many manuals want a new one each time.",
        "At least one whole thread shows past the nut.",
        "Add the drag of the nut, measured before it seats, to the torque (AC 43.13-1B para 7-40).",
        "No nylon insert where it gets hot, as on an exhaust.",
    ),
    "lock_washer": (
        "Tab washers: a new one, or a tab that was not bent yet; bend it against a flat, never against a corner.",
        "Spring washers: with sharp ends and a gap; flat ones are replaced.",
    ),
    "split_pin": (
        "A new one of the right size, always.",
        "Tighten to the least torque, then on to the next slot; never back. Not past the most: change the washer.",
        "Both legs bent, cut so that they catch nothing.",
    ),
    "anti_seize": (
        "Only where the manual asks for it; thin, and off the first threads, off seals and sensors.",
        "It lets the thread slide: a torque for a dry thread then stretches the bolt too far.",
    ),
}
MARK = "common practice, no source"
CAUTIONS = (
    "The manual and the label of the product go before these notes.",
    "Locker, sealant and cleaner harm skin, eyes and lungs: gloves and goggles on, good air, no flame.",
)


def joint_notes(*, means: Means) -> Figure:
    """The rules for thread-locker, sealants, locknuts and what else holds or seals a thread, as notes line by line.

    The answer is how many notes follow, in words. Source: common practice, no source; of the locknut's drag AC 43.13-1B.
    Raises ValueError for a means that has no notes.
    """
    notes = one_of("means", means, NOTES)
    return Figure(f"{len(notes)} notes, {MARK}", notes, (MARK,), cautions=CAUTIONS)


COMPUTATIONS = (joint_notes,)
