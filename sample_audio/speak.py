"""Speak a narration to an audio file, by one of several voices, with pauses and shop noise.

    python sample_audio/speak.py CASE.toml --voice joe --noise shop --snr 15 --seed 7 --out a.ogg

The same text, options and seed give the same samples.
"""

import math
import re
import tomllib
from pathlib import Path

import click
import numpy as np
from audio_files import Samples, write_audio
from shop_noise import NOISES, RATE, Signal, active_power, mix, prevent_clipping
from voices import VoiceMissingError, engine_of, voice_names

SPEECH_LEVEL = 10 ** (-22 / 20)  # RMS of active speech over full scale
THINKING_CHANCE = 0.08
# Few steps, because Piper is started once for each and takes a second to load its model.
SPEED_JITTER = (0.95, 1.0, 1.05)


def speak(
    text: str,
    *,
    voice: str,
    speed: float = 1.0,
    noise: str | None = None,
    snr_db: float | None = None,
    seed: int = 0,
) -> Samples:
    """Return the spoken text at 16 kHz.

    voice: a name of `voice_names` or the path of a Piper .onnx file. speed: 1 is the voice's own.
    snr_db: active-speech power over mean noise power in dB; None takes the noise's usual ratio.
    """
    if not 0.3 <= speed <= 3.0:
        message = f"a speed of {speed} is not between 0.3 and 3"
        raise ValueError(message)
    if noise is None and snr_db is not None:
        message = "a signal-to-noise ratio needs a noise"
        raise ValueError(message)
    phrases = split_phrases(text)
    if not phrases:
        message = "the text has nothing to say"
        raise ValueError(message)
    # Timing and noise draw from streams of their own: another noise leaves the pauses as they are.
    timing = np.random.default_rng([seed, 0])
    speeds = [speed * float(timing.choice(SPEED_JITTER)) for _ in phrases]
    parts = [_silence(timing.uniform(0.2, 0.6))]
    for phrase, sound in zip(phrases, engine_of(voice)(phrases, speeds), strict=True):
        parts += [_trim(sound), _silence(_pause(phrase, timing))]
    signal = np.concatenate(parts)
    if not signal.any():
        message = f"voice {voice!r} gave silence"
        raise RuntimeError(message)
    signal *= SPEECH_LEVEL / math.sqrt(active_power(signal))
    if noise is not None:
        signal = mix(signal, noise, snr_db, np.random.default_rng([seed, 1]))
    return np.rint(prevent_clipping(signal) * 32767).astype(np.int16)


def split_phrases(text: str) -> list[str]:
    """Return the text cut after each punctuation mark; blank lines end a phrase too."""
    # Only a mark before white space parts phrases: the point of 4.5 and the comma of 1,200 do not.
    pieces = re.split(r"(?<=[,;:.?!])\s+|\s+[-\u2013\u2014]+\s+|\n\s*\n", text.strip())
    phrases = [" ".join(piece.split()) for piece in pieces]
    return [phrase for phrase in phrases if re.search(r"\w", phrase)]


def _pause(phrase: str, rng: np.random.Generator) -> float:
    """Draw the pause after a phrase, in seconds."""
    if rng.random() < THINKING_CHANCE:
        return rng.uniform(1.0, 2.5)
    if phrase[-1] in ".?!":
        return rng.uniform(0.4, 1.2)
    return rng.uniform(0.15, 0.5)


def _silence(seconds: float) -> Signal:
    """Return silence at 16 kHz."""
    return np.zeros(int(seconds * RATE))


def _trim(sound: Signal) -> Signal:
    """Cut the voice's own silence off both ends, so that the pauses are those drawn."""
    loud = np.flatnonzero(np.abs(sound) > 0.005 * np.abs(sound).max(initial=0.0))
    if not loud.size:
        return sound
    margin = int(0.02 * RATE)  # 20 ms, for soft beginnings and endings
    return sound[max(0, loud[0] - margin) : loud[-1] + margin]


def read_text(path: Path) -> str:
    """Return what a case file (.toml, key `said`) or a plain text file says."""
    text = path.read_text(encoding="utf-8")
    if path.suffix.lower() != ".toml":
        return text
    said = tomllib.loads(text).get("said")
    if not isinstance(said, str):
        message = f"{path} has no text under the key 'said'"
        raise ValueError(message)
    return said


def _list_voices(context: click.Context, _option: click.Parameter, wanted: bool) -> None:
    """Print each voice and whether it can speak here, then leave."""
    if not wanted or context.resilient_parsing:
        return
    for name in voice_names():
        try:
            engine_of(name)
            state = "ready"
        except VoiceMissingError as missing:
            state = str(missing)
        click.echo(f"{name:16}{state}")
    context.exit()


@click.command()
@click.argument("case", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--voice", default="joe", show_default=True, help="Name, or path of a Piper .onnx.")
@click.option("--speed", default=1.0, show_default=True, help="1 is the voice's own speed.")
@click.option("--noise", type=click.Choice(list(NOISES)), help="Noise to mix in; none if left out.")
@click.option("--snr", "snr_db", type=float, help="Speech over noise in dB.")
@click.option("--seed", default=0, show_default=True, type=click.IntRange(min=0))
@click.option("--out", required=True, type=click.Path(dir_okay=False, path_type=Path))
@click.option(
    "--list-voices",
    is_flag=True,
    is_eager=True,
    expose_value=False,
    callback=_list_voices,
    help="Show the voices and what each lacks.",
)
def main(
    case: Path,
    voice: str,
    speed: float,
    noise: str | None,
    snr_db: float | None,
    seed: int,
    out: Path,
) -> None:
    """Speak CASE, a narrate.case/1 TOML or a plain text file, to an audio file."""
    try:
        text = read_text(case)
        samples = speak(text, voice=voice, speed=speed, noise=noise, snr_db=snr_db, seed=seed)
        write_audio(out, samples)
    except (VoiceMissingError, ValueError, RuntimeError, OSError) as error:
        raise click.ClickException(str(error)) from None
    click.echo(f"{out}: {samples.size / RATE:.1f} s by {voice}")


if __name__ == "__main__":
    main()
