"""What is installed elsewhere has its words, weights and sample with it."""

import subprocess
import sys
import zipfile
from pathlib import Path

ROOT = Path(__file__).parents[1]


def test_the_wheel_holds_what_narrate_reads_at_run_time(tmp_path: Path) -> None:
    """Every file of lexicon/, the model manifest, the weights and the demo's recording are inside, byte for byte."""
    build = [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "--no-build-isolation"]
    subprocess.run([*build, "--wheel-dir", tmp_path, ROOT], check=True, capture_output=True)
    (wheel,) = tmp_path.glob("*.whl")
    wanted = [
        *(path.relative_to(ROOT) for path in (ROOT / "lexicon").rglob("*") if path.is_file()),
        Path("models/manifest.toml"),
        Path("models/joining.json"),
        *(path.relative_to(ROOT) for path in (ROOT / "models" / "encoder").iterdir()),
        Path("sample_audio/compact_brakes_tires.ogg"),
    ]
    with zipfile.ZipFile(wheel) as inside:
        for path in wanted:
            assert (ROOT / path).read_bytes() == inside.read(f"narrate/_data/{path.as_posix()}")
