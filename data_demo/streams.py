"""Random streams that don't depend on what happens: a visit changes its consequences and nothing else."""

import zlib

import numpy as np


def stream(seed: int, purpose: str, chunk: int = 0) -> np.random.Generator:
    """Return the stream of one purpose and chunk of sites."""
    return np.random.Generator(np.random.Philox(key=[seed, (zlib.crc32(purpose.encode()) << 20) + chunk]))
