"""Sound files as other programs read them: mutagen for the tags, soundfile for the samples."""

import io
import struct
from typing import Any

import mutagen
import numpy as np
import pytest
import soundfile

from apoyando.sound import AudioFormat, Tags, encode_audio

FORMATS = tuple(AudioFormat)
TAGS = Tags(title="Das Tor: Melodie", artist="Volkslied, äöü", album="Das Tor", track=3)


def tone(seconds: float = 1.0) -> np.ndarray:
    wave = 0.4 * np.sin(2 * np.pi * 440 * np.arange(int(seconds * 48_000)) / 48_000)
    return np.stack([wave, 0.5 * wave]).astype(np.float32)


def encode(audio_format: AudioFormat, sound: np.ndarray, tags: Tags = TAGS) -> bytes:
    return encode_audio([sound[:, :1000], sound[:, 1000:]], audio_format, tags)


def read(data: bytes) -> tuple[np.ndarray, int]:
    samples, rate = soundfile.read(io.BytesIO(data), always_2d=True)
    return samples.T, rate


@pytest.mark.parametrize("audio_format", [AudioFormat.FLAC, AudioFormat.WAV])
def test_lossless_formats_keep_every_sample_to_16_bits(audio_format: AudioFormat) -> None:
    samples, rate = read(encode(audio_format, tone()))
    assert rate == 48_000
    np.testing.assert_allclose(samples, tone(), atol=1.0 / 32_768)


@pytest.mark.parametrize("audio_format", [AudioFormat.OGG, AudioFormat.MP3])
def test_lossy_formats_keep_the_tone_and_its_length(audio_format: AudioFormat) -> None:
    samples, _ = read(encode(audio_format, tone(3.0)))
    middle = samples[:, 48_000:96_000]
    spectrum = np.abs(np.fft.rfft(middle[0]))
    assert int(np.argmax(spectrum)) == 440
    assert samples.shape[1] == pytest.approx(3 * 48_000, abs=3000)
    assert np.sqrt(np.mean(middle[0] ** 2) / np.mean(middle[1] ** 2)) == pytest.approx(2.0, rel=0.05)


@pytest.mark.parametrize("audio_format", FORMATS)
def test_the_same_sound_gives_the_same_bytes(audio_format: AudioFormat) -> None:
    assert encode(audio_format, tone()) == encode(audio_format, tone())


@pytest.mark.parametrize(
    ("audio_format", "names"),
    [
        (AudioFormat.FLAC, ("title", "artist", "album", "tracknumber")),
        (AudioFormat.OGG, ("title", "artist", "album", "tracknumber")),
        (AudioFormat.MP3, ("TIT2", "TPE1", "TALB", "TRCK")),
    ],
)
def test_another_reader_finds_title_artist_album_and_track(
    audio_format: AudioFormat, names: tuple[str, ...]
) -> None:
    """Vorbis comments (Xiph) and ID3 frames (id3.org)."""
    found: Any = mutagen.File(io.BytesIO(encode(audio_format, tone()))).tags
    values = [str(found[name] if audio_format is AudioFormat.MP3 else found[name][0]) for name in names]
    assert values == [TAGS.title, TAGS.artist, TAGS.album, "3"]


def test_a_wav_carries_its_title() -> None:
    """RIFF INFO, in which text is not said to be UTF-8: players read it so."""
    with soundfile.SoundFile(io.BytesIO(encode(AudioFormat.WAV, tone()))) as file:
        assert (file.title, file.artist, file.tracknumber) == (TAGS.title, TAGS.artist, "3")


def test_tags_that_are_not_known_are_left_out() -> None:
    found = mutagen.File(io.BytesIO(encode(AudioFormat.FLAC, tone(), Tags(title="A"))))
    assert set(found.tags.keys()) == {"title"}


def test_a_long_ogg_is_written_whole() -> None:
    samples, _ = read(encode(AudioFormat.OGG, tone(60.0)))
    assert samples.shape[1] == 60 * 48_000


def crc_of_rfc_3533(page: bytes) -> int:
    """Polynomial 0x04C11DB7, bit by bit, as the standard defines it."""
    value = 0
    for byte in page:
        value ^= byte << 24
        for _ in range(8):
            value = ((value << 1) ^ (0x04C11DB7 if value & 0x80000000 else 0)) & 0xFFFFFFFF
    return value


def test_every_page_of_an_ogg_has_a_right_checksum_and_the_same_serial() -> None:
    """RFC 3533, section 6."""
    data = encode(AudioFormat.OGG, tone(0.2))
    serials, start = set(), 0
    while start < len(data):
        assert data[start : start + 4] == b"OggS"
        serial, _, checksum, segments = struct.unpack_from("<IIIB", data, start + 14)
        end = start + 27 + segments + sum(data[start + 27 : start + 27 + segments])
        page = bytearray(data[start:end])
        page[22:26] = bytes(4)
        assert crc_of_rfc_3533(bytes(page)) == checksum
        serials.add(serial)
        start = end
    assert len(serials) == 1


def test_one_channel_will_do() -> None:
    samples, _ = read(encode_audio([tone()[:1]], AudioFormat.OGG, Tags(title="one"), channels=1))
    assert samples.shape[0] == 1


@pytest.mark.parametrize("audio_format", FORMATS)
def test_each_format_has_its_suffix_and_media_type(audio_format: AudioFormat) -> None:
    assert audio_format.suffix == f".{audio_format.value}"
    assert audio_format.media_type in {"audio/flac", "audio/ogg", "audio/mpeg", "audio/wav"}
