"""The computer's microphones: found by name, brought to one rate, and every way in which they fail is one sentence."""

import sys
from collections.abc import Callable

import numpy as np
import pytest
from fake_portaudio import FakePortAudio

from narrate.errors import AudioError, UsageError
from narrate.hear import microphone
from narrate.hear.audio import RATE
from narrate.hear.microphone import Microphone, list_microphones


def tone(rate: int, seconds: float = 2.0) -> list[bytes]:
    """Blocks of a tenth of a second of a tone of 440 Hz."""
    samples = np.rint(8000 * np.sin(2 * np.pi * 440 * np.arange(int(seconds * rate)) / rate)).astype("<i2")
    step = rate // 10
    return [samples[at : at + step].tobytes() for at in range(0, samples.size, step)]


@pytest.fixture
def portaudio(monkeypatch: pytest.MonkeyPatch) -> FakePortAudio:
    fake = FakePortAudio(sound=tone)
    monkeypatch.setitem(sys.modules, "sounddevice", fake)  # type: ignore[arg-type]
    return fake


def taken(source: Microphone, count: int) -> bytes:
    blocks: list[bytes] = []
    for block in source.blocks(lambda: len(blocks) >= count):
        blocks.append(block)
    return b"".join(blocks)


def test_sound_comes_as_it_is(portaudio: FakePortAudio) -> None:
    source = Microphone()
    assert source.name == "Built-in Microphone"
    assert taken(source, 20) == b"".join(tone(RATE))
    assert portaudio.opened[0]["channels"] == 1
    assert (portaudio.opened[0]["dtype"], portaudio.opened[0]["blocksize"], portaudio.closed) == ("int16", 1600, 1)
    assert source.missed == 0


@pytest.mark.parametrize("rate", [44_100, 48_000])
def test_one_that_has_only_its_own_rate_is_brought_to_ours(portaudio: FakePortAudio, rate: int) -> None:
    portaudio.rates = (rate,)
    source = Microphone("headset" if rate == 48_000 else "built")
    samples = np.frombuffer(taken(source, 20), dtype="<i2").astype(float)
    assert samples.size == pytest.approx(2 * RATE, abs=RATE // 10)
    strengths = np.abs(np.fft.rfft(samples[: RATE * 3 // 2]))
    assert strengths.argmax() * RATE / (RATE * 3 // 2) == pytest.approx(440, abs=1)
    assert np.abs(samples).max() == pytest.approx(8000, rel=0.05)


def test_microphones_are_listed_and_loudspeakers_are_not(portaudio: FakePortAudio) -> None:
    assert [(each.number, each.name, each.usual) for each in list_microphones()] == [
        (1, "Built-in Microphone", True),
        (2, "USB Headset", False),
    ]


@pytest.mark.parametrize(("asked", "name"), [("2", "USB Headset"), ("usb", "USB Headset")])
def test_one_is_chosen_by_number_or_by_part_of_its_name(portaudio: FakePortAudio, asked: str, name: str) -> None:
    assert Microphone(asked).name == name


@pytest.mark.parametrize("asked", ["9", "gramophone", "0"])
def test_one_there_is_not_is_told(portaudio: FakePortAudio, asked: str) -> None:
    with pytest.raises(UsageError, match=f"no one microphone '{asked}' here; .*--list-devices"):
        Microphone(asked)


def test_one_that_another_program_holds_is_told(portaudio: FakePortAudio) -> None:
    portaudio.rates = ()
    with pytest.raises(AudioError, match=r"cannot be opened \(Invalid sample rate\); another program may hold it"):
        taken(Microphone(), 1)


@pytest.mark.parametrize("dies", [True, False])
def test_one_that_is_pulled_out_is_told(portaudio: FakePortAudio, monkeypatch: pytest.MonkeyPatch, dies: bool) -> None:
    """Whether PortAudio says so or simply gives nothing more; what came before was given."""
    monkeypatch.setattr(microphone, "LOST_S", 0.5)
    portaudio.dies = dies
    blocks: list[bytes] = []

    def take_all() -> None:
        for block in Microphone().blocks(lambda: False):
            blocks.append(block)

    with pytest.raises(AudioError, match="Built-in Microphone gives no more sound; see that it is plugged in"):
        take_all()
    assert b"".join(blocks) == b"".join(tone(RATE))
    assert portaudio.closed == 1


def test_sound_that_was_missed_is_counted(portaudio: FakePortAudio) -> None:
    portaudio.overflow = True
    source = Microphone()
    taken(source, 5)
    assert source.missed >= 5


@pytest.mark.parametrize(
    ("fails", "says"), [(ImportError, "extra 'microphone'"), (OSError, "PortAudio library: .*libportaudio2")]
)
def test_what_is_not_installed_is_one_sentence(
    monkeypatch: pytest.MonkeyPatch, fails: type[Exception], says: str
) -> None:
    def load(name: str, *given: object) -> object:
        if name == "sounddevice":
            message = "PortAudio library not found"
            raise fails(message)
        return real(name, *given)

    real: Callable[..., object] = __import__
    monkeypatch.delitem(sys.modules, "sounddevice", raising=False)
    monkeypatch.setattr("builtins.__import__", load)
    for begin in (Microphone, list_microphones):
        with pytest.raises(UsageError, match=says):
            begin()
