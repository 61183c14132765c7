"""Short ways to type a few measures of MusicXML in tests."""

import io
import zipfile

from apoyando.model.song import Song
from apoyando.reading.assembly import assemble_melody
from apoyando.reading.musicxml import draft_musicxml

DOCTYPE = (
    '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" '
    '"http://www.musicxml.org/dtds/partwise.dtd">'
)
FOUR_FOUR = (
    "<attributes><divisions>2</divisions><key><fifths>0</fifths></key>"
    "<time><beats>4</beats><beat-type>4</beat-type></time></attributes>"
)
CONTAINER = (
    '<container><rootfiles><rootfile full-path="{path}" media-type="application/vnd.recordare.musicxml+xml"/>'
    "</rootfiles></container>"
)


def note(pitch: str, duration: int, inside: str = "", attributes: str = "") -> str:
    """A note such as ``C#4`` lasting so many eighths; ``z`` is a rest."""
    return (
        f"<note{attributes}>{_pitch(pitch)}<duration>{duration}</duration>"
        f"{inside if '<voice>' in inside else inside + '<voice>1</voice>'}</note>"
    )


def _pitch(pitch: str) -> str:
    if pitch == "z":
        return "<rest/>"
    step, alter, octave = pitch[0], {"#": 1, "b": -1}.get(pitch[1:-1], 0), pitch[-1]
    return f"<pitch><step>{step}</step><alter>{alter}</alter><octave>{octave}</octave></pitch>"


def stacked(pitch: str, duration: int, voice: int = 1) -> str:
    return f"<note><chord/>{_pitch(pitch)}<duration>{duration}</duration><voice>{voice}</voice></note>"


def chord(root: str, kind: str = "major", inside: str = "", text: str = "") -> str:
    alter = {"#": 1, "b": -1}.get(root[1:], 0)
    shown = f' text="{text}"' if text else ""
    return (
        f"<harmony><root><root-step>{root[0]}</root-step><root-alter>{alter}</root-alter></root>"
        f"<kind{shown}>{kind}</kind>{inside}</harmony>"
    )


def measure(content: str, number: object = 1, attributes: str = "") -> str:
    return f'<measure number="{number}"{attributes}>{content}</measure>'


def score(*parts: str, heading: str = "") -> str:
    """A score of parts, each the text of its measures."""
    listed = "".join(f'<score-part id="P{n}"><part-name/></score-part>' for n in range(1, len(parts) + 1))
    music = "".join(f'<part id="P{n}">{part}</part>' for n, part in enumerate(parts, 1))
    return (
        f'<?xml version="1.0" encoding="UTF-8"?>{DOCTYPE}<score-partwise version="4.0">{heading}'
        f"<part-list>{listed}</part-list>{music}</score-partwise>"
    )


def song_of(*contents: str, attributes: str = FOUR_FOUR) -> Song:
    """A song of one part, a measure for each content; with or without chords."""
    measures = [measure((attributes if n == 1 else "") + text, n) for n, text in enumerate(contents, 1)]
    return read_score_text(score("".join(measures)))


def read_score_text(text: str) -> Song:
    return assemble_melody(draft_musicxml(text.encode(), "test.musicxml"), "test.musicxml")


def packed(*members: tuple[str, bytes], compression: int = zipfile.ZIP_DEFLATED) -> bytes:
    """A zip archive with these members."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", compression) as archive:
        for name, data in members:
            archive.writestr(name, data)
    return buffer.getvalue()


def compressed(text: str, path: str = "score.xml") -> bytes:
    return packed(("META-INF/container.xml", CONTAINER.format(path=path).encode()), (path, text.encode()))
