"""The live inbox: a queue that threads put into. One thread hears, one looks while the eyes are open."""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable, Sequence
from contextlib import closing

from assistant.bench.clock import Clock
from assistant.bench.hearing import Hearing
from assistant.bench.shelf import Shelf
from assistant.core.effects import Scan
from assistant.core.events import DeviceBack, DeviceLost, EarsClosed, Event, Heard, Scanned, Tick
from assistant.core.problems import LayupProblem
from assistant.devices.eyes import Onlooker, look
from assistant.devices.microphone import SoundSource
from assistant.devices.photograph import photograph
from assistant.devices.protocols import AudioBlock, Camera, LabelReader

TRY_AGAIN_AFTER_S = 2.0
"""A lost microphone is looked for again so often (common practice, no source)."""
HANDLED_WITHIN_S = 1.0
"""How long the ears wait at most for what follows from an utterance: some ms, as a rule (an append with fsync takes 6)."""


class LiveInbox:
    """Events of all threads, in the order they came."""

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self._queue: queue.SimpleQueue[Event] = queue.SimpleQueue()
        self._counting = threading.Condition()
        self._put = self._taken = self._handled = 0

    def put(self, event: Event) -> None:
        """From any thread."""
        with self._counting:
            self._put += 1
            self._queue.put(event)

    def next_event(self, wake_at_s: float | None) -> Event:
        """The next event, or Tick when its time has come first. Who asks for it has handled the one before."""
        with self._counting:
            self._handled = self._taken
            self._counting.notify_all()
        wait_s = None if wake_at_s is None else max(0.0, wake_at_s - self._clock.now_s())
        try:
            event = self._queue.get(timeout=wait_s)
        except queue.Empty:
            return Tick(self._clock.now_s())
        self._taken += 1
        return event

    def wait_until_handled(self, timeout_s: float) -> None:
        """Until all that was put so far has been handled, or time is up."""
        with self._counting:
            put = self._put
            self._counting.wait_for(lambda: self._handled >= put, timeout_s)


class HearingThread:
    """Reads the microphone and puts what was heard into the inbox; a lost microphone is opened again until it is back.

    `may_hear` says whether the assistant can be talked over (a headset); without one it is deaf while it speaks.
    """

    def __init__(
        self,
        open_source: Callable[[], SoundSource],
        hearing: Hearing,
        inbox: LiveInbox,
        clock: Clock,
        may_hear: Callable[[], bool] = lambda: True,
        *,
        try_again_after_s: float = TRY_AGAIN_AFTER_S,
    ) -> None:
        self._try_again_after_s = try_again_after_s
        self._open = open_source
        self._hearing = hearing
        self._inbox = inbox
        self._clock = clock
        self._may_hear = may_hear
        self._closing = threading.Event()
        self._source = open_source()
        self._thread = threading.Thread(target=self._run, name="hearing", daemon=True)

    def start(self) -> None:
        """Begin to listen."""
        self._thread.start()

    def close(self) -> None:
        """Stop listening and let go of the microphone."""
        self._closing.set()
        self._thread.join(timeout=5.0)
        self._source.close()

    def _run(self) -> None:
        deaf = False
        while not self._closing.is_set():
            try:
                block = self._source.read()
            except LayupProblem as problem:
                self._wait_until_back(problem)
                continue
            if block is None:
                self._put_all(self._hearing.finish())
                self._inbox.put(EarsClosed(self._clock.now_s()))
                return
            if not self._may_hear():
                deaf = True
                continue
            heard = AudioBlock(block.samples, block.at_s, lost=True) if deaf else block
            deaf = False
            self._put_all(self._hearing.feed(heard))

    def _put_all(self, events: tuple[Event, ...]) -> None:
        """What was heard changes what may be said: nothing more is heard before that is known."""
        for event in events:
            self._inbox.put(event)
            if isinstance(event, Heard):
                self._inbox.wait_until_handled(HANDLED_WITHIN_S)

    def _wait_until_back(self, problem: LayupProblem) -> None:
        self._inbox.put(DeviceLost(self._clock.now_s(), "microphone", problem.what))
        self._source.close()
        while not self._closing.wait(self._try_again_after_s):
            try:
                self._source = self._open()
            except LayupProblem:
                continue
            self._inbox.put(DeviceBack(self._clock.now_s(), "microphone"))
            return


class EyesThread:
    """Opens the camera when asked, looks, closes it, and puts Scanned into the inbox."""

    def __init__(
        self,
        open_camera: Callable[[], Camera],
        reader: LabelReader,
        shelf: Shelf,
        inbox: LiveInbox,
        clock: Clock,
        onlookers: Callable[[float], Sequence[Onlooker]] = lambda _seconds: (),
    ) -> None:
        self._onlookers = onlookers
        self._open = open_camera
        self._reader = reader
        self._shelf = shelf
        self._inbox = inbox
        self._clock = clock
        self._thread: threading.Thread | None = None

    def scan(self, wanted: Scan) -> None:
        """Look for as long as is wanted; returns at once. One look at a time."""
        if self._thread is None or not self._thread.is_alive():
            self._thread = threading.Thread(target=self._look, args=(wanted,), name="eyes", daemon=True)
            self._thread.start()

    def _look(self, wanted: Scan) -> None:
        onlookers = self._onlookers(wanted.seconds)
        self._inbox.put(scan_once(self._open, self._reader, self._shelf, self._clock, wanted, onlookers))


def scan_once(
    open_camera: Callable[[], Camera],
    reader: LabelReader,
    shelf: Shelf,
    clock: Clock,
    wanted: Scan,
    onlookers: Sequence[Onlooker] = (),
) -> Scanned:
    """Open the eyes, look, close them: what was seen, with the picture on the shelf."""
    try:
        with closing(open_camera()) as camera:
            if wanted.photograph:
                seen = photograph(camera, wanted.seconds, clock.now_s, onlookers)
            else:
                seen = look(camera, reader, wanted.seconds, clock.now_s, onlookers)
    except LayupProblem as problem:
        return Scanned(clock.now_s(), (), trouble=f"{problem.what}.")
    picture = shelf.put_picture(seen.picture_png) if seen.picture_png is not None else ""
    return Scanned(clock.now_s(), seen.labels, picture, seen.trouble)
