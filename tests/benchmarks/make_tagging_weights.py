"""Makes audio/measure/tagging_weights.npz from the published checkpoint; only needed to repeat or replace the file.

    pip download --no-deps musicnn==0.1.0
    unzip musicnn-0.1.0-py3-none-any.whl 'musicnn/MTT_musicnn/*'
    python tests/benchmarks/make_tagging_weights.py musicnn/MTT_musicnn audio/measure/tagging_weights.npz

J. Pons, X. Serra, "musicnn: pre-trained convolutional neural networks for music audio tagging", 2019, ISC licence. The
checkpoint is a table of sorted keys (the format of LevelDB tables) beside a flat file of numbers; batch normalisations
become one factor and one offset a channel. Kernels are kept as float16.
"""

import struct
import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np

Arrays = dict[str, np.ndarray]
LAYERS = [f"timbral_{i}" for i in range(2)] + [f"temporal_{i}" for i in range(3)] + [f"middle_{i}" for i in range(3)]


def varint(data: bytes, at: int) -> tuple[int, int]:
    result = shift = 0
    while True:
        byte = data[at]
        at += 1
        result |= (byte & 127) << shift
        shift += 7
        if byte < 128:
            return result, at


def table_block(data: bytes, offset: int, size: int) -> Iterator[tuple[bytes, bytes]]:
    """Key and value of every entry of a block; keys share a prefix with the one before."""
    block = data[offset : offset + size]
    end = size - 4 - 4 * struct.unpack("<I", block[-4:])[0]
    at, key = 0, b""
    while at < end:
        shared, at = varint(block, at)
        own, at = varint(block, at)
        length, at = varint(block, at)
        key = key[:shared] + block[at : at + own]
        at += own
        yield key, block[at : at + length]
        at += length


def message(data: bytes) -> dict[int, list]:
    """Fields of a protocol buffer message, undecoded."""
    at, fields = 0, {}
    while at < len(data):
        tag, at = varint(data, at)
        if tag & 7 == 0:
            value, at = varint(data, at)
        else:
            length, at = varint(data, at) if tag & 7 == 2 else (4 if tag & 7 == 5 else 8, at)
            value = data[at : at + length]
            at += length
        fields.setdefault(tag >> 3, []).append(value)
    return fields


def checkpoint(folder: Path) -> Arrays:
    """All variables of the network by name."""
    index = (folder / ".index").read_bytes()
    data = (folder / ".data-00000-of-00001").read_bytes()
    footer, at = index[-48:], 0
    for _ in range(2):
        _, at = varint(footer, at)
    offset, at = varint(footer, at)
    size, at = varint(footer, at)
    variables = {}
    for _, handle in table_block(index, offset, size):
        start, at = varint(handle, 0)
        length, _ = varint(handle, at)
        for key, value in table_block(index, start, length):
            name = key.decode()
            if name and "Adam" not in name and "power" not in name:
                fields = message(value)
                shape = [message(size).get(1, [0])[0] for size in message(fields[2][0]).get(2, [])]
                first, count = fields.get(4, [0])[0], fields[5][0]
                variables[name] = np.frombuffer(data[first : first + count], np.float32).reshape(shape)
    return variables


def normalisation(variables: Arrays, number: int) -> tuple[np.ndarray, np.ndarray]:
    prefix = "batch_normalization" + (f"_{number}" if number else "")
    gamma, beta, mean, variance = (
        variables[f"{prefix}/{part}"] for part in ("gamma", "beta", "moving_mean", "moving_variance")
    )
    factor = gamma / np.sqrt(variance + 1e-3)
    return factor, beta - mean * factor


def converted(variables: Arrays) -> Arrays:
    """The arrays of the weight file; see `audio.measure.tagging`."""
    result = {}
    result["input/factor"], result["input/offset"] = normalisation(variables, 0)
    for number, name in enumerate(LAYERS):
        conv = "conv2d" + (f"_{number}" if number else "")
        result[f"{name}/kernel"] = variables[f"{conv}/kernel"][:, :, 0].astype(np.float16)
        result[f"{name}/bias"] = variables[f"{conv}/bias"]
        result[f"{name}/factor"], result[f"{name}/offset"] = normalisation(variables, number + 1)
    result["pooled/factor"], result["pooled/offset"] = normalisation(variables, 9)
    result["dense/factor"], result["dense/offset"] = normalisation(variables, 10)
    for name, dense in (("dense", "dense"), ("output", "dense_1")):
        result[f"{name}/kernel"] = variables[f"{dense}/kernel"].astype(np.float16)
        result[f"{name}/bias"] = variables[f"{dense}/bias"]
    return result


if __name__ == "__main__":
    np.savez_compressed(sys.argv[2], **converted(checkpoint(Path(sys.argv[1]))))
