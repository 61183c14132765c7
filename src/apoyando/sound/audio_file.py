"""Sound as a file: FLAC, OGG (Vorbis), MP3 or WAV, with its tags.

Conventions: 48 kHz; 16 bits where the format counts bits. The same sound gives the same bytes.
Written by libsndfile, which is loaded when first asked for.
"""

import codecs
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from io import BytesIO
from struct import pack, pack_into
from zlib import crc32

from apoyando.sound.convolution import in_hops
from apoyando.sound.samples import SAMPLE_RATE_HZ, Sound


class AudioFormat(StrEnum):
    FLAC = "flac"
    OGG = "ogg"
    MP3 = "mp3"
    WAV = "wav"

    @property
    def suffix(self) -> str:
        return f".{self}"

    @property
    def media_type(self) -> str:
        """As servers and pages name it (IANA; audio/wav is not registered and known by all)."""
        return {"mp3": "audio/mpeg"}.get(self, f"audio/{self}")


_CODINGS = {
    AudioFormat.FLAC: "PCM_16",
    AudioFormat.OGG: "VORBIS",
    AudioFormat.MP3: "MPEG_LAYER_III",
    AudioFormat.WAV: "PCM_16",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Tags:
    """What a player of sound files shows. ``track`` counts from 1; 0 for none."""

    title: str
    artist: str = ""
    album: str = ""
    track: int = 0


_FRAMES_AT_ONCE = 1 << 16
"""One long write of OGG has been seen to crash libsndfile 1.2."""


def encode_audio(blocks: Iterable[Sound], audio_format: AudioFormat, tags: Tags, channels: int = 2) -> bytes:
    """A sound that comes in blocks, one row a channel, as one file."""
    import soundfile  # noqa: PLC0415 - heavy

    stream = BytesIO()
    with soundfile.SoundFile(
        stream,
        "w",
        samplerate=SAMPLE_RATE_HZ,
        channels=channels,
        format=audio_format.upper(),
        subtype=_CODINGS[audio_format],
    ) as file:
        if audio_format is not AudioFormat.MP3:
            for name, value in _named(tags).items():
                setattr(file, name, value)
        for block in in_hops(blocks, _FRAMES_AT_ONCE):
            file.write(block.T)
    data = stream.getvalue()
    match audio_format:
        case AudioFormat.OGG:
            return _number_ogg(data)
        case AudioFormat.MP3:
            return _write_id3(tags) + data
        case _:
            return data


def _named(tags: Tags) -> dict[str, str]:
    """Tags that are not empty, by the names of libsndfile."""
    named = {
        "title": tags.title,
        "artist": tags.artist,
        "album": tags.album,
        "tracknumber": str(tags.track) if tags.track else "",
    }
    return {name: value for name, value in named.items() if value}


# --- the tags of an MP3 file -----------------------------------------------------------------

_FRAMES = {"title": b"TIT2", "artist": b"TPE1", "album": b"TALB", "tracknumber": b"TRCK"}
_UTF_16 = b"\x01"


def _write_id3(tags: Tags) -> bytes:
    """The tags before the sound (ID3 version 2.3.0, which every player reads; libsndfile's are Latin-1 alone)."""
    frames = b"".join(_write_frame(_FRAMES[name], value) for name, value in _named(tags).items())
    size = len(frames)
    seven_bits = bytes(size >> shift & 0x7F for shift in (21, 14, 7, 0))
    return b"ID3\x03\x00\x00" + seven_bits + frames if frames else b""


def _write_frame(name: bytes, value: str) -> bytes:
    text = _UTF_16 + codecs.BOM_UTF16_LE + value.encode("utf-16-le")
    return name + pack(">IH", len(text), 0) + text


# --- the number of an OGG stream -----------------------------------------------------------

_PAGE = b"OggS"
_SERIAL_AT, _CHECKSUM_AT, _SEGMENTS_AT, _HEAD = 14, 22, 26, 27
_SERIAL = 1
_MIRRORED = bytes(int(f"{byte:08b}"[::-1], 2) for byte in range(256))
_ALL_ONES = 0xFFFFFFFF


def _number_ogg(data: bytes) -> bytes:
    """The same stream with a serial number of its own kind instead of a random one (RFC 3533, section 6)."""
    file = bytearray(data)
    start = 0
    while start < len(file):
        end = _page_end(file, start)
        pack_into("<I", file, start + _SERIAL_AT, _SERIAL)
        pack_into("<I", file, start + _CHECKSUM_AT, 0)
        pack_into("<I", file, start + _CHECKSUM_AT, _checksum(bytes(file[start:end])))
        start = end
    return bytes(file)


def _page_end(file: bytearray, start: int) -> int:
    if not file.startswith(_PAGE, start):
        message = f"no OGG page at byte {start}"
        raise ValueError(message)
    segments = file[start + _SEGMENTS_AT]
    return start + _HEAD + segments + sum(file[start + _HEAD : start + _HEAD + segments])


def _checksum(page: bytes) -> int:
    """The CRC of RFC 3533: zlib's polynomial with the bits of each byte and of the result the other way round."""
    mirrored = crc32(page.translate(_MIRRORED), _ALL_ONES) ^ _ALL_ONES
    return int(f"{mirrored:032b}"[::-1], 2)
