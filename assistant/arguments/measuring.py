"""Arguments of the calls on this machine."""

from __future__ import annotations

import argparse
from pathlib import Path

from assistant import calls
from assistant.arguments.common import Commands, json_argument, machine_arguments


def add_measuring(commands: Commands) -> None:
    """measure, devices, models."""
    measure = commands.add_parser("measure", help="benchmarks, with a table", description=calls.measure.__doc__)
    whats = ("loop", "speech", "labels", "jobfile", "faults", "review")
    measure.add_argument("what", choices=whats, metavar="|".join(whats))
    measure.add_argument(
        "--folder",
        type=Path,
        metavar="DIR",
        help="recordings with a manifest.csv (path, words); labels: pictures (path, text; no text: no label there)",
    )
    measure.add_argument("--grammar", default="numbers", metavar="numbers|STEP", help="what may be said (speech)")
    measure.add_argument("--procedure", type=Path, metavar="PROCEDURE", help="whose STEP it is (speech)")
    machine_arguments(measure, needed=False)
    measure.add_argument(
        "--most",
        type=int,
        default=0,
        metavar="N",
        help="at most N recordings of each set, pictures of each kind, strokes of each fault, bits and files damaged; "
        "jobs of at most N entries, folders of at most N jobs",
    )
    measure.add_argument("--out", type=Path, metavar="DIR", help="write the tables (.md) and pictures (.svg) there")
    _measuring_speech(measure)
    _measuring_labels(measure)
    json_argument(measure)
    measure.set_defaults(call=calls.measure)
    devices = commands.add_parser(
        "devices", help="microphones, loudspeakers, cameras", description=calls.devices.__doc__
    )
    devices.set_defaults(call=calls.devices)
    models = commands.add_parser(
        "models", help="which ears are used and why; get NAME", description=calls.models.__doc__
    )
    models.add_argument("get", nargs="*", metavar="get NAME", help="fetch, check and unpack a model")
    models.set_defaults(call=calls.models)


def _measuring_speech(measure: argparse.ArgumentParser) -> None:
    speech = measure.add_argument_group("speech")
    speech.add_argument("--noise", default="", metavar="NAME,...", help="also in noise: engine,pink,impacts,ratchet")
    speech.add_argument("--snr", default="", metavar="DB,...", help="speech to noise in dB (default: 20,10,5,0)")
    speech.add_argument("--talk", type=Path, metavar="DIR", help="recordings that are all talk, to be refused")
    speech.add_argument("--each", action="store_true", help="one JSON object a recording instead of one a set")
    speech.add_argument(
        "--data", type=Path, default=Path("../shared/speech"), metavar="DIR", help="without --folder: where an4 lies"
    )
    speech.add_argument("--vosk-model", type=Path, metavar="DIR", help="another Vosk model folder")
    speech.add_argument("--parts", action="store_true", help="where the weighing ear's time goes, instead")
    speech.add_argument(
        "--fit", action="store_true", help="fit the program's own numbers on the tuning speakers, instead"
    )


def _measuring_labels(measure: argparse.ArgumentParser) -> None:
    labels = measure.add_argument_group("labels, review")
    labels.add_argument("--workers", type=_above_none, default=0, metavar="N", help="processes (default: one a core)")
    labels.add_argument(
        "--from",
        dest="first",
        type=_number,
        default=0,
        metavar="N",
        help="begin at picture N of each kind, at hostile file N",
    )
    labels.add_argument(
        "--keep", type=Path, metavar="FILE", help="keep each trial there; those that it has are not done again"
    )
    labels.add_argument(
        "--fuzz",
        type=_above_none,
        metavar="N",
        help="labels: bend texts for N seconds for every parser; review: look at N hostile job files; instead",
    )


def _number(text: str) -> int:
    if not text.isascii() or not text.isdecimal():
        raise argparse.ArgumentTypeError(f"{text!r} is no whole number from 0 on")
    return int(text)


def _above_none(text: str) -> int:
    if (number := _number(text)) == 0:
        raise argparse.ArgumentTypeError("0 is too few")
    return number
