"""A long sound through short responses, block by block, so that memory does not grow with it."""

from collections.abc import Iterable, Iterator

import numpy as np

from apoyando.sound.samples import Floats, Sound

_KERNELS_IN_TRANSFORM = 3
"""A transform so many times as long as the kernel costs least for each sample (measured)."""


def convolve(blocks: Iterable[Sound], kernels: Floats, rest: int) -> Iterator[Sound]:
    """Each channel through its kernel, or one channel through each; ``rest`` samples longer than the sound.

    ``blocks`` have one row a channel and any lengths. Overlap-add (Stockham 1966).
    """
    reach = kernels.shape[1] - 1
    size = 1 << (_KERNELS_IN_TRANSFORM * reach).bit_length()
    spectra = np.fft.rfft(kernels.astype(np.float32), size)
    tail = np.zeros((len(kernels), reach), dtype=np.float32)
    for block in in_hops(blocks, size - reach):
        length = block.shape[1]
        heard: Sound = np.fft.irfft(np.fft.rfft(block, size) * spectra, size).astype(np.float32)
        heard = heard[:, : length + reach]
        heard[:, :reach] += tail
        yield heard[:, :length]
        tail = heard[:, length:]
    yield tail[:, :rest]


def in_hops(blocks: Iterable[Sound], hop: int) -> Iterator[Sound]:
    """The same sound in blocks of ``hop`` samples, the last one shorter."""
    rest: Sound | None = None
    for block in blocks:
        joined = block if rest is None else np.concatenate([rest, block], axis=1)
        whole = joined.shape[1] // hop * hop
        for start in range(0, whole, hop):
            yield joined[:, start : start + hop]
        rest = joined[:, whole:]
    if rest is not None and rest.shape[1]:
        yield rest
