"""`layup run` as in the bay: a microphone and a loudspeaker through PortAudio, real ears, a real voice, hands off."""

from __future__ import annotations

import ctypes.util
import subprocess
import sys
import time
from pathlib import Path

import pytest

from assistant.core.entries import CautionAnswered, ReadingKept, StepDone
from assistant.devices.sound_file import read_sound
from assistant.files.job_file import JobFile
from assistant.files.verify import verify
from tests.sound_card import SoundCard

ROOT = Path(__file__).resolve().parents[1]
RECORDINGS = ROOT / "demo" / "recordings"
SHEETS = ["--machine", "procedures/tern-3.sheet.yaml", "--site", "procedures/our-shop.site.yaml"]
LONGEST_S = 60.0
ANSWERS = {
    "Roger?": "roger",
    "sling off": "done",
    "exhaust fan on": "done",
    "Number?": "twenty-four",
}
"""When the assistant has said this, the technician says that (over its speech: he wears a headset)."""


@pytest.mark.speech
@pytest.mark.skipif(
    not (sys.platform == "linux" and ctypes.util.find_library("portaudio") and ctypes.util.find_library("asound")),
    reason="needs Linux with libportaudio2 for a sound card of ALSA's own plugins",
)
def test_three_steps_by_voice_alone(tmp_path: Path) -> None:
    """Cautions answered, steps done, a reading kept, speech stopped by *stop*: nothing but sound goes in."""
    card = SoundCard(tmp_path)
    job = tmp_path / "live.job"
    call = [sys.executable, "-m", "assistant.cli", "run", "procedures/pwc-off-season.yaml", *SHEETS, "--job", str(job)]
    lines: list[str] = []
    began_s = time.monotonic()
    with subprocess.Popen(call, env=card.environment, cwd=ROOT, stdout=subprocess.PIPE, text=True) as program:
        assert program.stdout is not None
        for line in program.stdout:
            lines.append(line.strip())
            answer = next((said for heard, said in ANSWERS.items() if heard in line), None)
            if answer:
                card.play(read_sound(RECORDINGS / f"{answer}.engine18.flac"))
            if "Hull?" in line:
                card.play(read_sound(RECORDINGS / "stop.engine18.flac"))
            if "(stops)" in line or time.monotonic() - began_s > LONGEST_S:
                break
        program.terminate()
    card.close()
    assert "assistant  (stops)" in lines, lines
    assert verify(job).whole
    with JobFile.open(job, read_only=True) as job_file:
        kept = [one.entry for one in job_file.entries()]
        clips = [one.clip for one in job_file.entries() if isinstance(one.entry, CautionAnswered | ReadingKept)]
        assert all(len(job_file.clip_samples(clip)) > 4000 for clip in clips)
    assert sum(isinstance(entry, CautionAnswered) for entry in kept) == 2
    assert [entry.step for entry in kept if isinstance(entry, StepDone)] == ["stand", "ventilation", "tools_out"]
    (reading,) = [entry for entry in kept if isinstance(entry, ReadingKept)]
    assert (reading.name, reading.value) == ("tools_out", "24")
    assert card.played.stat().st_size > 22_050 * 2, "the assistant was heard for more than a second"
