"""Looking at the camera until a label is sure, or the time is up: what *part* starts.

Sure is a label of which two frames gave the same text, and that the reader trusts: one decoder may take the same bars for
the same wrong text in every frame. When one is, the picture that shows it is read once as a still is, for the lot or the date
beside it. What was read beside it gets a few frames more to be sure as well,
unless it can only be another product: a packet may carry its product in one symbol and its lot in another. A still picture
has one frame only: there a symbol with a check digit or character is sure at once, and one without it when both decoders
read the same.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from typing import Protocol, runtime_checkable

from assistant.core.events import Label
from assistant.core.labels.meaning import carries_check
from assistant.core.speech.english import ENGLISH
from assistant.devices.camera import PictureFiles
from assistant.devices.decoders import is_another_product
from assistant.devices.frame_quality import measure_frame, png
from assistant.devices.protocols import Camera, LabelReader, Picture

FRAMES_THAT_AGREE = 2
MORE_FRAMES = 4
"""So long a label that was read once may still become sure when another is: a quarter of a second at 15 frames a second."""


@runtime_checkable
class SecondOpinion(Protocol):
    """A reader that can ask each of its decoders by itself."""

    def begin(self) -> None:
        """A new look begins."""

    def trusts(self, label: Label) -> bool:
        """Whether this label was read in more ways than one since then."""

    def agreed_in(self, picture: Picture) -> tuple[Label, ...]:
        """What is sure in this one picture, however long that takes."""

    def confirms(self, picture: Picture, label: Label) -> bool:
        """Whether all of them read this label from this picture."""


class Onlooker(Protocol):
    """Is shown each frame while the eyes look: a window, a tone."""

    def show(self, picture: Picture, labels: tuple[Label, ...]) -> None:
        """A frame, and the labels read from it or before."""

    def close(self) -> None:
        """The look is over."""


@dataclass(frozen=True)
class Seen:
    """The labels that are sure, with the last frame that shows one as PNG; or the trouble, in words to be spoken."""

    labels: tuple[Label, ...]
    picture_png: bytes | None
    trouble: str = ""


def look(
    camera: Camera,
    reader: LabelReader,
    seconds: float,
    clock: Callable[[], float],
    onlookers: Sequence[Onlooker] = (),
) -> Seen:
    """Take frames until a label is sure, and all of them that are then. Of picture files one look takes one.

    `clock` gives seconds; at least one frame is looked at, however little time there is. DeviceTrouble of the camera
    passes through. Onlookers are shown each frame of a camera, and are closed in any case.
    """
    with ExitStack() as closing:
        for onlooker in onlookers:
            closing.callback(onlooker.close)
        return _look(camera, reader, seconds, clock, onlookers)


def _look(
    camera: Camera, reader: LabelReader, seconds: float, clock: Callable[[], float], onlookers: Sequence[Onlooker]
) -> Seen:
    if isinstance(camera, PictureFiles):
        return _look_once(camera, reader)
    if isinstance(reader, SecondOpinion):
        reader.begin()
    votes: Counter[Label] = Counter()
    sure: tuple[Label, ...] = ()
    last, shows, more = None, None, MORE_FRAMES
    for last in _frames(camera, seconds, clock):
        found = tuple(dict.fromkeys(reader.read(last)))
        more -= bool(sure)
        votes.update(found)
        for onlooker in onlookers:
            onlooker.show(last, tuple(votes))
        beside = [label for label in votes if label not in sure and not is_another_product(label, sure)]
        sure += tuple(label for label in beside if votes[label] >= FRAMES_THAT_AGREE and _trusts(reader, label))
        shows = last if set(found) & set(sure) else shows
        waited_for = any(not is_another_product(label, sure) for label in beside if label not in sure)
        if sure and not (more and waited_for):
            break
    if shows is not None:
        return _seen_closely(reader, shows, sure)
    if not votes:
        return _nothing(last)
    often = max(votes.values()) >= FRAMES_THAT_AGREE
    return _nothing(last, ENGLISH.phrase("label unsure" if often else "label once"))


def _trusts(reader: LabelReader, label: Label) -> bool:
    return not isinstance(reader, SecondOpinion) or reader.trusts(label)


def _seen_closely(reader: LabelReader, picture: Picture, sure: tuple[Label, ...]) -> Seen:
    """With what else stands on the packet, perhaps smaller or worn, as its lot or date: looked for once, as in a still.

    Where the still has another text of that kind in the place of a sure one, neither is believed.
    """
    closely = reader.agreed_in(picture) if isinstance(reader, SecondOpinion) else ()
    kinds = {label.symbology for label in closely}
    if any(label.symbology in kinds and label not in closely for label in sure):
        return _nothing(picture, ENGLISH.phrase("label unsure"))
    return Seen(
        (*sure, *(one for one in closely if one not in sure and not is_another_product(one, sure))), png(picture)
    )


def _frames(camera: Camera, seconds: float, clock: Callable[[], float]) -> Iterator[Picture]:
    began = clock()
    while (frame := camera.frame()) is not None:
        yield frame
        if clock() - began >= seconds:
            return


def _look_once(camera: PictureFiles, reader: LabelReader) -> Seen:
    picture = camera.frame()
    if picture is None:
        return Seen((), None, ENGLISH.phrase("no more pictures"))
    found = reader.read(picture)
    sure = tuple(label for label in found if is_sure(reader, picture, label))
    if sure:
        return Seen(sure, png(picture))
    return _nothing(picture, ENGLISH.phrase("label unsure") if found else "")


def is_sure(reader: LabelReader, picture: Picture, label: Label) -> bool:
    """Whether one picture is enough for this label."""
    return carries_check(label) or (isinstance(reader, SecondOpinion) and reader.confirms(picture, label))


def _nothing(picture: Picture | None, trouble: str = "") -> Seen:
    if picture is None:
        return Seen((), None, ENGLISH.phrase("no picture"))
    return Seen((), png(picture), trouble or measure_frame(picture).trouble())
