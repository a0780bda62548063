"""One function a command: build the real parts, call one function, print. `cli` says which arguments each takes."""

from __future__ import annotations

import json
import sys
from argparse import Namespace
from collections.abc import Iterable
from dataclasses import asdict
from datetime import date, datetime
from pathlib import Path

from assistant.bench.clock import WallClock
from assistant.bench.equipment import camera_of, chosen_ears, hearing_with, label_reader, load_ears
from assistant.bench.hearing import Ears
from assistant.bench.known_words import sample_work, tell_lacking, words_of
from assistant.bench.learnt_voice import names_for_record, tell_voices, with_voice
from assistant.bench.listening import hear_files, parse_words
from assistant.bench.recorded import PlainTechnician
from assistant.bench.repeating_prompts import prompts_of
from assistant.bench.running import Session, run_live, run_recorded
from assistant.bench.shelf import Shelf
from assistant.bench.starting import Work, open_job, read_work, readings_of, resume_job, work_in
from assistant.bench.transcript import Transcript
from assistant.core.enrolment import PROMPTS
from assistant.core.problems import CallProblem, LayupProblem
from assistant.core.state import State
from assistant.devices.recognisers.choosing import EarsChosen
from assistant.devices.voice.conversation import ConversationTrack
from assistant.files.job_file import JobFile
from assistant.files.keys import keys_root
from assistant.files.model_store import models_root
from assistant.files.voices import voices_root
from assistant.measure.recordings import read_manifest
from assistant.settings import Settings, find_settings


def print_line(text: str) -> None:
    """One line on standard output, at once."""
    print(text, flush=True)


def run(args: Namespace) -> int:
    """Do a job: read each step aloud, take spoken readings, look at labels, keep everything in the job file."""
    settings = find_settings(args.settings)
    work = read_work(args.procedure, args.machine, args.site)
    print_line(f"site: {work.site.shop}")
    path = args.job or Path(f"{datetime.now():%Y-%m-%d}-{work.sheet.model.lower().replace(' ', '-')}.job")
    _check_new(path)
    earlier = readings_of(args.last_season) if args.last_season else ()
    _check_parts(args)
    chosen = with_voice(chosen_ears(settings, models_root()), _technician(args, settings), voices_root())
    _say_which(chosen)
    ears = load_ears(chosen)
    _say_lacking(ears, settings, work)

    def begin() -> tuple[JobFile, State]:
        names, technician = names_for_record(ears, chosen), _technician(args, settings)
        keeps_sound = settings.keep_sound and not args.no_sound
        return open_job(path, work, WallClock(), names, technician, earlier, keeps_sound=keeps_sound)

    return _work(
        args, path, Session(begin, ears, camera_of(args.eyes, settings), settings, _watchers(), window=args.window)
    )


def resume(args: Namespace) -> int:
    """Carry on with a job at the step that was open. Everything is read from the job file itself."""
    settings = find_settings(args.settings)
    with JobFile.open(args.job, read_only=True) as job_file:
        work = work_in(job_file)  # a wrong or broken job is told before any device is opened
    _check_parts(args)
    chosen = with_voice(chosen_ears(settings, models_root()), _technician(args, settings), voices_root())
    _say_which(chosen)
    ears = load_ears(chosen)
    _say_lacking(ears, settings, work)

    def begin() -> tuple[JobFile, State]:
        return resume_job(args.job, WallClock(), names_for_record(ears, chosen), _technician(args, settings))

    return _work(
        args, args.job, Session(begin, ears, camera_of(args.eyes, settings), settings, _watchers(), window=args.window)
    )


def _technician(args: Namespace, settings: Settings) -> str:
    """Who does the job: as the call says, else as the settings say."""
    named: str = settings.technician if args.technician is None else args.technician
    return " ".join(named.split())


def _say_which(chosen: EarsChosen) -> None:
    print_line(chosen.why)


def _say_lacking(ears: Ears, settings: Settings, work: Work) -> None:
    """Which of the job's words another Vosk model lacks; ours is not asked, since to gather them all takes seconds."""
    if settings.vosk_model:
        for text in tell_lacking(ears, words_of(work, date.today())):
            print_line(text)


def _watchers() -> tuple[Transcript, ...]:
    return (Transcript(print_line),)


def _check_new(path: Path) -> None:
    """A job file can be made there, as far as can be known before any device is opened."""
    if path.exists():
        raise CallProblem("there is a file of that name already", where=str(path), do="name another, or resume it")
    _check_folder(path)


def _check_folder(path: Path) -> None:
    if not path.parent.is_dir():
        raise CallProblem("there is no such folder", where=str(path.parent), do="make it, or name another")


def _check_parts(args: Namespace) -> None:
    """What can be known to be wrong before anything is begun."""
    if args.ears == ["mic"]:
        if args.voice not in ("speaker", "silent"):
            raise CallProblem(
                "only recordings can be rendered", where="--voice", do="give recordings with --ears WAV..."
            )
        return
    PlainTechnician([Path(name) for name in args.ears])
    if args.voice == "speaker":
        args.voice = "silent"
    if args.voice != "silent" and Path(args.voice).suffix.lower() not in (".wav", ".flac"):
        raise CallProblem(f"{args.voice!r} is no voice", where="--voice", do="say speaker, silent, or FILE.wav")
    _check_folder(Path(args.voice))


def _work(args: Namespace, job: Path, session: Session) -> int:
    print_line(f"job file: {job}")
    if args.ears == ["mic"]:
        why = run_live(session, silent=args.voice == "silent")
    else:
        track = None if args.voice == "silent" else ConversationTrack(0.0)
        why = run_recorded(session, PlainTechnician([Path(name) for name in args.ears]), track)
        if track is not None:
            track.write(Path(args.voice))
    print_line(f"ended: {why}; job file: {job}")
    return 0


def enrol(args: Namespace) -> int:
    """Learn a technician's voice: repeat about two minutes of prompts. Kept only where it is better, and it says by how much.

    The first half is learnt from, the second judges. The voice is kept in this user's data folder, for that name, and used
    by `run` and `resume` with `--technician NAME`; `layup models` lists the voices. Put the headset on as at work, and let
    the bay be quiet. Ctrl-C ends it, and nothing is changed. With recordings: one for each prompt in order (`layup enrol
    --prompts` lists them), or a folder whose manifest.csv says what was said in each (path, words, and speaker where it is
    known). Status 1 where it was no better.
    """
    from assistant.bench.enrolling_session import enrol_from, forget

    settings = find_settings(args.settings)
    if args.prompts:
        print_line("\n".join(PROMPTS))
        return 0
    if args.name is None:
        raise CallProblem("whose voice it is was not said", where="NAME", do="say `layup enrol NAME`, the name first")
    if args.forget:
        print_line(forget(args.name, voices_root()))
        return 0
    prompts, ears = _said_in(args.ears, " ".join(args.name.split()))
    return enrol_from(args.name, prompts, ears, settings, models_root(), voices_root(), args.voice, print_line)


def _said_in(ears: list[str], name: str) -> tuple[tuple[str, ...], list[Path] | None]:
    """The prompts, and their recordings; None for the microphone."""
    if ears == ["mic"]:
        return PROMPTS, None
    paths = [Path(name) for name in ears]
    if len(paths) != 1 or not paths[0].is_dir():
        if len(prompts := prompts_of(paths, PROMPTS)) < len(PROMPTS):
            print_line(f"recordings of the first {len(prompts)} of {len(PROMPTS)} prompts")
        return prompts, paths
    rows = [row for row in read_manifest(paths[0]) if row.words_known]
    speakers = sorted({" ".join(row.speaker.split()) or "(not named)" for row in rows})
    if len(speakers) == 1 and speakers[0] not in (name, "(not named)"):
        what = f"{speakers[0]} speaks in these recordings, as their manifest.csv says, and not {name}"
        do = f"say `layup enrol '{speakers[0]}'`, or put the name by which {name} works into the column speaker"
        raise CallProblem(what, where=str(paths[0]), do=do)
    if len(speakers) > 1:
        what = f"{len(speakers)} people speak in these recordings: {', '.join(speakers[:4])}"
        raise CallProblem(what, where=str(paths[0]), do="one voice is learnt at a time: give each a folder of its own")
    return tuple(row.words for row in rows), [row.path for row in rows]


def hear(args: Namespace) -> int:
    """What the ears make of recordings at that step: words, readings, verdict, and whether it would ask."""
    settings = find_settings(args.settings)
    work = read_work(args.procedure, args.machine, args.site)
    chosen = chosen_ears(settings, models_root())
    if not args.json:
        _say_which(chosen)
    hearing = hearing_with(load_ears(chosen), settings, Shelf(), WallClock().now_s)
    _print_rows(hear_files(work, args.step, args.sounds, hearing, date.today()), as_json=args.json)
    return 0


def parse(args: Namespace) -> int:
    """What a sentence would mean at that step, as if it had been heard beyond doubt."""
    work = read_work(args.procedure, args.machine, args.site)
    lines = [line.strip() for line in sys.stdin] if args.words == ["-"] else args.words
    rows = (parse_words(work, args.step, line, date.today()) for line in lines if line)
    _print_rows(rows, as_json=args.json)
    return 0


def _print_rows(rows: Iterable[dict[str, object]], *, as_json: bool) -> None:
    for row in rows:
        print_line(json.dumps(row, ensure_ascii=False) if as_json else _row_text(row))


def _row_text(row: dict[str, object]) -> str:
    """One row for a person."""
    parts = [f"{row['sound']}: " if "sound" in row else "", f"{row['words']!r} -> {row['kind']}"]
    if row["command"]:
        parts.append(f" {row['command']}")
    readings = row["readings"]
    assert isinstance(readings, list)
    for r in readings:
        where = " ".join(f"{k} {v}" for k, v in r["at"].items())
        parts.append(
            f"  {r['name']} {where} = {r['value']} {r['unit'] or ''} [{r['verdict'] or 'no limit'}; ask {r['ask']}]"
        )
    parts.append(f"  ({row['reason']}; {row['confidence']})")
    return "".join(parts).replace("  =", " =")


def scan(args: Namespace) -> int:
    """What the labels in pictures say. Status 1 where a picture has none, or one that cannot be trusted; 2 where one is no
    picture: the others are told all the same."""
    from assistant.devices.scan import scan_pictures

    reader, worst = label_reader(still=True), 0
    for path in args.images:
        try:
            rows = [row.as_json() for row in scan_pictures([path], reader, date.today())]
        except LayupProblem as problem:
            print(f"layup: {problem}", file=sys.stderr)
            worst = max(worst, problem.exit_status)
            continue
        for row in rows:
            print_line(json.dumps(row, ensure_ascii=False) if args.json else _label_text(row))
            worst = max(worst, 1 if row["problem"] else 0)
    return worst


def _label_text(row: dict[str, object]) -> str:
    fields = row["fields"]
    assert isinstance(fields, dict)
    said = " ".join(f"({k}){v}" for k, v in fields.items()) or row["text"]
    problem = f"  PROBLEM: {row['problem']}" if row["problem"] else ""
    return f"{row['image']}: {row['symbology'] or 'nothing'} {said}{problem}"


def prove(args: Namespace) -> int:
    """Check procedure files: the form, and that no order of answers reaches a never. With a machine sheet, names too.

    With --sounds, what sounds alike at each step and leads elsewhere.
    """
    from assistant.bench.proving import prove_file, with_sounds

    if args.sounds and args.machine is None:
        raise CallProblem("what can be said hangs on the machine", where="--sounds", do="name its sheet with --machine")
    proofs = [prove_file(path, args.machine, args.site) for path in args.procedures]
    if args.sounds:
        named = zip(proofs, args.procedures, strict=True)
        proofs = [with_sounds(proof, path, args.machine, args.site, date.today()) for proof, path in named]
    for proof in proofs:
        print_line(json.dumps(proof.as_json(), ensure_ascii=False) if args.json else proof.text())
    return 0 if all(proof.ok for proof in proofs) else 1


def figure(args: Namespace) -> int:
    """One trade computation, with its working line by line and its source. Without a NAME they are listed.

    Inputs are NAME=VALUE with the unit behind the number: sg=1.065, t=-5degC, sets with commas: 120,115,118psi. Without
    inputs, what that computation takes. Any unit of the same kind will do; a value outside of a table is refused.
    """
    from assistant.reports.worked_figure import computations_text, figure_json, figure_text, inputs_text, work_figure

    if args.name is None:
        print_line(computations_text())
    elif not args.inputs:
        print_line(inputs_text(args.name))
    else:
        found = work_figure(args.name, args.inputs)
        print_line(json.dumps(figure_json(args.name, found), ensure_ascii=False) if args.json else figure_text(found))
    return 0


def seasons(args: Namespace) -> int:
    """A machine's readings season by season: what changed, how fast by the engine hours, and when a limit may be reached.

    The newest job is this season. What so few seasons cannot tell is refused, and why.
    """
    from assistant.reports.seasons import tell_seasons

    tell_seasons(args, print_line)
    return 0


def parts(args: Namespace) -> int:
    """The parts used in all job files of a folder, by part and lot, and which machines got them.

    Status 1 where a file cannot be read (the others are told all the same), or where two jobs took one serial.
    """
    from assistant.reports.parts_text import tell_parts

    return tell_parts(args, print_line, lambda text: print(f"layup: {text}", file=sys.stderr))


def verify(args: Namespace) -> int:
    """Is each job file whole and unchanged: the chain of its entries, every clip and signature. --key: and signed so."""
    from assistant.files.keys import known_keys, public_in
    from assistant.files.verify import verify as look

    verdicts, worst = [], 0
    known, key = known_keys(keys_root()), public_in(args.key) if args.key else ""
    for path in args.jobs:
        try:
            verdicts.append(look(path, known, key))
        except LayupProblem as problem:
            print(f"layup: {problem}", file=sys.stderr)
            worst = max(worst, problem.exit_status)
    for verdict in verdicts:
        print_line(
            json.dumps({**asdict(verdict), "whole": verdict.whole}, ensure_ascii=False) if args.json else str(verdict)
        )
    return max(worst, 0 if all(verdict.whole for verdict in verdicts) else 1)


def report(args: Namespace) -> int:
    """Write a job as a page to read and print (.html) or a table (.csv, .json)."""
    from assistant.reports.write import write_report

    with JobFile.open(args.job, read_only=True) as job_file:
        write_report(job_file.entries(), args.output, job_file.clip_bytes)
    print_line(f"written: {args.output}")
    return 0


def amend(args: Namespace) -> int:
    """Put another value in the place of a kept one, with a reason and a name. The old entry and its sound stay."""
    from assistant.bench.amending import amend as amend_entry
    from assistant.reports.values import told_reading

    with JobFile.open(args.job) as job_file:
        for kept in amend_entry(job_file, WallClock(), args.sequence, args.value, args.reason, args.who):
            print_line(told_reading(kept))
    return 0


def keys(args: Namespace) -> int:
    """Which keys sign here, and whose public keys are known; `layup keys make NAME` makes one, under a passphrase.

    The passphrase is asked for, or the first line of --passphrase-file, or what LAYUP_PASSPHRASE says. Give the public key
    (the .pem) to who is to check your signatures; put theirs into the same folder, and verify knows it by the file's name.
    """
    from assistant.files.keys import list_keys, make_key
    from assistant.files.passphrases import passphrase

    if not args.make:
        for text in list_keys(keys_root()):
            print_line(text)
        return 0
    if args.make[0] != "make" or len(args.make) != 2:
        raise CallProblem("say `layup keys`, or `layup keys make NAME`", where="keys", do="see `layup keys --help`")
    public = make_key(args.make[1], passphrase(args.passphrase_file, new=True), keys_root())
    print_line(f"made in {keys_root()}: a .key, for you alone, and a .pem, for everybody; public key {public}")
    return 0


def sign(args: Namespace) -> int:
    """Answer for all that stands in a job: the foreman's signature over the last hash, kept in the job file.

    The key is the one called NAME, or --key. What is amended afterwards is not signed: sign again. Keep what this prints, or
    a copy of the file, where whoever has the job file can't change it: only that shows if the signature is cut off too.
    """
    from assistant.files.answering import sign_job
    from assistant.files.keys import key_file, known_keys, unlock
    from assistant.files.passphrases import passphrase
    from assistant.files.verify import verify as look

    key = unlock(key_file(args.key or args.who, keys_root()), passphrase(args.passphrase_file, new=False))
    sign_job(args.job, WallClock().utc(), args.who, key)
    print_line(str(look(args.job, known_keys(keys_root()), key.public)))
    return 0


def forget(args: Namespace) -> int:
    """Remove the sound of jobs for good, and keep an entry that says so. Words, values, hashes and pictures stay.

    With --clips of each job named; with --due only of those whose last work lies longer back than keep_clips_days of the
    settings. Copies of the file, and reports with sound in them, are not found by this: remove those too.
    """
    from assistant.files.answering import forget_due, forget_sound

    at, days = WallClock().utc(), find_settings(args.settings).keep_clips_days
    if args.due and days <= 0:
        raise CallProblem("the settings keep sound for ever", where="--due", do="set keep_clips_days, or say --clips")
    worst = 0
    for path in args.jobs:
        try:
            kept = forget_due(path, at, days) if args.due else forget_sound(path, at, args.who, "asked for")
        except LayupProblem as problem:
            print(f"layup: {problem}", file=sys.stderr)
            worst = max(worst, problem.exit_status)
            continue
        said = (
            f"{len(kept.entry.body()['clips'])} sounds forgotten, entry {kept.sequence}"
            if kept
            else "nothing to forget"
        )
        print_line(f"{path}: {said}")
    return worst


def bundle(args: Namespace) -> int:
    """Write one zip: the job file, its report, the public keys that signed it, and a check that needs nothing but Python."""
    from assistant.reports.bundle import write_bundle

    out = args.output or args.job.with_suffix(".zip")
    print_line(str(write_bundle(args.job, out)))
    print_line(f"written: {out}")
    return 0


def export(args: Namespace) -> int:
    """Print a job's entries, one JSON object a line as they are hashed, and then its signatures."""
    from assistant.files.answering import json_lines

    for line in json_lines(args.job):
        print_line(line)
    return 0


def hearback(args: Namespace) -> int:
    """Hear the kept sounds of jobs again, with these ears or others, and compare with what is known to have been said."""
    from assistant.measure.hearback import measure_hearback

    return measure_hearback(args, find_settings(args.settings), models_root(), line=print_line)


def measure(args: Namespace) -> int:
    """Benchmarks with a table: `loop` the delays of the live loop, `speech` how many recordings are understood, `labels`
    how many label pictures are read.
    """
    from assistant.measure import labels, loop, speech

    if args.what == "labels":
        return labels.measure_labels(args, line=print_line)
    settings = find_settings(args.settings)
    if args.what == "loop":
        return loop.measure_loop(settings, models_root(), as_json=args.json, line=print_line)
    return speech.measure_speech(args, settings, models_root(), line=print_line)


def demo(args: Namespace) -> int:
    """A whole short job of our own: recorded lines, label pictures, one power cut, everything real but the hands."""
    from assistant.measure.demo import run_demo

    return run_demo(args.out, find_settings(args.settings), quiet=args.quiet, line=print_line)


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
        _say_which(chosen)
        if settings.vosk_model:
            _say_lacking(load_ears(chosen), settings, sample_work())
        for text in tell_voices(chosen, voices_root()):
            print_line(text)
    except LayupProblem as problem:
        print_line(f"no ear: {problem}")
        return 1
    return 0
