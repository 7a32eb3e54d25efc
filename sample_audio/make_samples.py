"""Remake the recordings of this folder, or speak the cases of another folder.

    python sample_audio/make_samples.py
    python sample_audio/make_samples.py --cases DIR --out DIR

The same text and way of speaking give the same recording; one that is there already is left alone.
"""

import hashlib
import json
from dataclasses import asdict, dataclass
from pathlib import Path

import click
from audio_files import write_audio
from shop_noise import RATE
from speak import read_text, speak
from voices import VoiceMissingError

HERE = Path(__file__).resolve().parent
MADE = "made.json"
"""Beside the recordings: each one's digest of the text and the way it was spoken."""


@dataclass(frozen=True)
class Way:
    """How a text is spoken."""

    voice: str
    speed: float
    seed: int
    noise: str | None = None
    snr_db: float | None = None


SAMPLES = {
    "awd_wagon_driveline": Way("joe", 1.05, 11, "wrench", 14.0),
    "charging_and_lights": Way("joe", 1.15, 12),
    "compact_brakes_tires": Way("joe", 1.0, 13),
    "electric_car_service": Way("awb", 1.0, 14),
    "hatchback_annual_inspection": Way("en-gb", 0.9, 15),
    "minivan_comfort_body": Way("slt", 1.0, 16),
    "pickup_front_end": Way("joe", 1.0, 17, "shop", 15.0),
    "sedan_cooling_oil": Way("joe", 0.95, 18, "room", 30.0),
}

# Cases of other folders take these in turn, in the order of their names.
OTHERS = (
    Way("joe", 1.0, 21),
    Way("slt", 1.0, 22),
    Way("joe", 1.15, 23),
    Way("awb", 1.0, 24),
    Way("joe", 1.0, 25, "shop", 15.0),
    Way("rms", 1.0, 26),
)


def make(cases: Path, out: Path, ways: dict[str, Way]) -> None:
    """Speak each case named in `ways` into `out`, unless the recording there is already the one wanted."""
    out.mkdir(parents=True, exist_ok=True)
    made_file = out / MADE
    made = json.loads(made_file.read_text("utf-8")) if made_file.is_file() else {}
    for name, way in ways.items():
        text, sound = read_text(cases / f"{name}.toml"), out / f"{name}.ogg"
        digest = digest_of(text, way)
        if made.get(name) == digest and sound.is_file():
            continue
        samples = speak(text, **asdict(way))
        write_audio(sound, samples)
        made[name] = digest
        made_file.write_text(json.dumps(made, indent=1, sort_keys=True) + "\n", "utf-8")
        click.echo(f"{sound}: {samples.size / RATE:.1f} s by {way.voice}")


def ways_for(cases: Path) -> dict[str, Way]:
    """Return a way for each case of a folder."""
    names = sorted(path.stem for path in cases.glob("*.toml"))
    return {name: OTHERS[index % len(OTHERS)] for index, name in enumerate(names)}


def digest_of(text: str, way: Way) -> str:
    """Return the digest of what decides a recording."""
    return hashlib.sha256(json.dumps([text, asdict(way)]).encode()).hexdigest()


@click.command()
@click.option(
    "--cases",
    type=click.Path(exists=True, file_okay=False, path_type=Path),
    help="A folder of cases; without it, this one.",
)
@click.option("--out", type=click.Path(file_okay=False, path_type=Path), help="Needed with --cases.")
def main(cases: Path | None, out: Path | None) -> None:
    """Speak the cases of a folder, each to a recording of its name."""
    if (cases is None) is not (out is None):
        message = "give --cases and --out together, or neither"
        raise click.UsageError(message)
    try:
        if cases and out:
            make(cases, out, ways_for(cases))
        else:
            make(HERE, HERE, SAMPLES)
    except (VoiceMissingError, ValueError, RuntimeError, OSError) as error:
        raise click.ClickException(str(error)) from None


if __name__ == "__main__":
    main()
