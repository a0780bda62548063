"""The calls on this machine: measure, devices, models."""

from __future__ import annotations

from argparse import Namespace

from assistant.bench.equipment import chosen_ears, load_ears
from assistant.bench.known_words import sample_work
from assistant.bench.learnt_voice import tell_voices
from assistant.calls.printing import print_line
from assistant.calls.working import say_lacking, say_which
from assistant.core.problems import CallProblem, LayupProblem
from assistant.files.model_store import models_root
from assistant.files.voices import voices_root
from assistant.settings import Settings, find_settings


def measure(args: Namespace) -> int:
    """Benchmarks with a table: `loop` the delays of the live loop, `speech` how many recordings are understood, `labels`
    how many label pictures are read, `jobfile` how fast entries are kept and read back, `faults` what a job file survives,
    and whether damage to it is found, `review` how fast the foreman's pages are, and what they make of hostile job files.
    """
    from assistant.measure import faults, jobfile, labels, loop, review, speech

    if args.what == "labels":
        return labels.measure_labels(args, line=print_line)
    if args.what == "jobfile":
        return jobfile.measure_jobfile(args, line=print_line)
    if args.what == "faults":
        return faults.measure_faults(args, line=print_line)
    if args.what == "review":
        return review.measure_review(args, line=print_line)
    settings = find_settings(args.settings)
    if args.what == "loop":
        return loop.measure_loop(settings, models_root(), as_json=args.json, line=print_line)
    return speech.measure_speech(args, settings, models_root(), line=print_line)


def devices(args: Namespace) -> int:
    """The sound devices and cameras that the program can see, and which settings choose them."""
    from assistant.devices.camera import list_cameras
    from assistant.devices.microphone import list_sound_devices

    settings = find_settings(args.settings)
    found = list_sound_devices()
    for d in found:
        mark = ("microphone" if d.inputs else "") + (" loudspeaker" if d.outputs else "")
        default = " (default)" if d.default_input or d.default_output else ""
        print_line(f"sound {d.number}: {d.name}, {mark.strip()}, {d.rate_hz} Hz{default}")
    if not found:
        print_line("sound: no devices; recordings can still be heard with --ears WAV...")
    cameras = list_cameras()
    for camera in cameras:
        print_line(f"camera {camera}")
    if not cameras:
        print_line("camera: none; pictures can still be read with --eyes IMAGE...")
    print_line(f"settings: microphone={settings.microphone!r} camera={settings.camera}")
    return 0


def models(args: Namespace) -> int:
    """Which ears are used and why; `layup models get NAME` fetches, checks and unpacks a model."""
    from assistant.files.model_store import get_model, list_models

    if args.get:
        if args.get[0] != "get" or len(args.get) != 2:
            raise CallProblem(
                "say `layup models`, or `layup models get NAME`", where="models", do="see `layup models --help`"
            )
        print_line(get_model(args.get[1], models_root(), print_line))
        return 0
    for state in list_models(models_root()):
        print_line(state.text())
    return _say_ears(find_settings(args.settings))


def _say_ears(settings: Settings) -> int:
    try:
        chosen = chosen_ears(settings, models_root())
        say_which(chosen)
        if settings.vosk_model:
            say_lacking(load_ears(chosen), settings, sample_work())
        for text in tell_voices(chosen, voices_root()):
            print_line(text)
    except LayupProblem as problem:
        print_line(f"no ear: {problem}")
        return 1
    return 0
