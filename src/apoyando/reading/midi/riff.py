"""A MIDI file in a RIFF form, as in ``.rmi``: what is in its chunk of data is the file itself.

Source: MIDI Association, RP-029, "Bundling SMF and DLS files in an RMID file": ``RIFF``, size, ``RMID``,
then chunks of a name, a size (little-endian) and what they hold, each filled up to an even size.
"""

_NAME_BYTES = 4
_HEAD_BYTES = 8
"""Of a chunk: its name and its size."""


def is_midi_in_riff(data: bytes) -> bool:
    return data[:_NAME_BYTES] == b"RIFF" and data[_HEAD_BYTES : _HEAD_BYTES + _NAME_BYTES] == b"RMID"


def take_midi_out(data: bytes) -> bytes:
    """The MIDI file in the form; what is no such form as it is, and nothing if there is no data in it."""
    if not is_midi_in_riff(data):
        return data
    place = _HEAD_BYTES + _NAME_BYTES
    while place < len(data):
        name = data[place : place + _NAME_BYTES]
        size = int.from_bytes(data[place + _NAME_BYTES : place + _HEAD_BYTES], "little")
        place += _HEAD_BYTES
        if name == b"data":
            return data[place : place + size]
        place += size + size % 2
    return b""
