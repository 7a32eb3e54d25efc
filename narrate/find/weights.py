"""Which trained models decide: one digest for the record."""

import hashlib

from narrate.find.encoder import encoder_digest
from narrate.find.linear import joiner_digest


def models_digest() -> str:
    """`sha256:` and a digest of the linear models and, where it is there, the encoder."""
    digests = [joiner_digest(), encoder_digest() or ""]
    return f"sha256:{hashlib.sha256(' '.join(digests).encode()).hexdigest()}"
