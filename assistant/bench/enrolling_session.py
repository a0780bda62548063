"""`layup enrol` from its parts: who repeats the prompts, what came of it in words."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, contextmanager
from pathlib import Path

from assistant.bench.clock import WallClock
from assistant.bench.enrolling import Enrolment, enrol
from assistant.bench.equipment import chosen_ears, microphone_of, voice_settings
from assistant.bench.repeating_prompts import Live, Recorded, Repeating, endpointer_of
from assistant.devices.protocols import Speaker
from assistant.devices.voice.scripted_speaker import ScriptedSpeaker
from assistant.devices.voice.speaker import ProcessSpeaker
from assistant.files.voices import Tally, checked_name, find_voice, forget_voice, noted_of
from assistant.settings import Settings

STOPPED = 130
"""The exit status after Ctrl-C, as shells have it: 128 and the number of the signal."""


def enrol_from(
    name: str,
    prompts: Sequence[str],
    recordings: Sequence[Path] | None,
    settings: Settings,
    models: Path,
    root: Path,
    voice: str,
    line: Callable[[str], None],
) -> int:
    """Learn the voice; 0 where it was kept, 1 where it was no better.

    `recordings` None: the microphone, and `voice` says whether the prompts are spoken or only shown. STOPPED after Ctrl-C,
    whenever it comes.
    """
    plain = checked_name(name)
    noted = noted_of(root, plain)
    try:
        base = chosen_ears(settings, models).vosk
        now = find_voice(root, plain, base)
        used = now if now and now.state == "usable" else None
        if now and not used:
            line(now.text())
        clock = WallClock()
        with _repeating(prompts, recordings, settings, voice, clock, line) as repeating:
            found = enrol(plain, prompts, repeating, base, used, root, clock.utc()[:10], line)
    except KeyboardInterrupt:
        line(
            "stopped; nothing was changed" if noted_of(root, plain) == noted else "stopped; the voice was kept already"
        )
        return STOPPED
    for text in told(found, learnt_before=used is not None):
        line(text)
    return 0 if found.folder else 1


@contextmanager
def _repeating(
    prompts: Sequence[str],
    recordings: Sequence[Path] | None,
    settings: Settings,
    voice: str,
    clock: WallClock,
    line: Callable[[str], None],
) -> Iterator[Repeating]:
    """Who repeats the prompts: recordings, or a technician before the microphone, which is let go of afterwards."""
    if recordings is not None:
        yield Recorded(recordings, endpointer_of(settings))
        return
    with ExitStack() as closing:
        speaker: Speaker = ScriptedSpeaker() if voice == "silent" else ProcessSpeaker(voice_settings(settings))
        closing.callback(speaker.close)
        source = microphone_of(settings, clock.now_s)()
        closing.callback(source.close)
        line(f"{len(prompts)} prompts: repeat each after it was said. Ctrl-C ends it; nothing is changed then.")
        yield Live(speaker, source, endpointer_of(settings))


def forget(name: str, root: Path) -> str:
    """Remove a voice, and say so."""
    return f"forgotten: {forget_voice(root, name)}"


def told(found: Enrolment, *, learnt_before: bool) -> tuple[str, ...]:
    """What came of it, a sentence a line."""
    a = found.about
    now = "as learnt before" if learnt_before else "as any other"
    gain = a.after.score - a.before.score
    outcome = (
        f"better, so it is kept: {found.folder}"
        if found.folder
        else "no better by these prompts, so nothing was changed"
    )
    return (
        f"level: speech {a.speech_dbfs:.0f} dBFS, noise floor {a.noise_dbfs:.0f} dBFS",
        f"heard {now}: {_told(a.before)}",
        f"with what was learnt: {_told(a.after)}",
        f"what was said is likelier by {gain:+.3f} a word (natural logarithm; {found.surely:.1f} standard errors)",
        f"{outcome}",
    )


def _told(tally: Tally) -> str:
    return f"{tally.wrong} of {tally.words} words wrong, {tally.right} of {tally.prompts} prompts right"
