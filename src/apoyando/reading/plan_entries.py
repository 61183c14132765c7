"""What may stand in a plan file: each entry with its comment, and how it is read and written.

What may stand in a lock: ``lock_entries``; in a chord: ``chord_entries``; in a note: ``song_entries``.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from apoyando.model.plan import TEXTURES, TREATMENTS
from apoyando.reading.chord_entries import read_chord_changes, write_chord_changes
from apoyando.reading.lock_entries import read_locks, write_locks
from apoyando.reading.page_entries import read_sheet, write_sheet
from apoyando.reading.plain_entries import (
    read_capo,
    read_ending,
    read_hand_size,
    read_introduction,
    read_level,
    read_melody,
    read_minutes,
    read_octave,
    read_part,
    read_prices,
    read_texture,
    read_tonic,
    read_treatments,
    read_tuning,
)
from apoyando.reading.section_entries import read_sections, write_sections
from apoyando.reading.song_entries import (
    read_note_changes,
    read_pickup,
    read_written_key,
    write_note_changes,
    write_pickup,
    write_written_key,
)
from apoyando.reading.toml_entries import read_flag


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the file: its comment in the player's words, and how its value is read."""

    comments: tuple[str, ...]
    read: Callable[[str, str, object], object]


ENTRIES: dict[str, Entry] = {
    "key": Entry(
        ('The key by its tonic, as "G", "F#" or "Bb"; "" takes the key that lies best on the guitar.',),
        read_tonic,
    ),
    "sounding": Entry(
        (
            "The key in which it must sound, for a singer or a client, as the key; a capo at fret 1 to 5",
            'reaches it with easier shapes. "" leaves that free.',
        ),
        read_tonic,
    ),
    "part": Entry(
        (
            'The part that is the melody, by its name or its number in a score of several; "" takes the',
            "one that is called so, has the words, or lies highest.",
        ),
        read_part,
    ),
    "level": Entry(("How hard it may be: early, intermediate or advanced.",), read_level),
    "texture": Entry(
        (
            f"The accompaniment: {', '.join(TEXTURES[:4])},",
            f'{", ".join(TEXTURES[4:])}; "" takes what suits meter, tempo and level.',
        ),
        read_texture,
    ),
    "sections": Entry(
        (
            "Bars with a texture of their own, or made easier, one [[sections]] for each: from bar to to_bar,",
            "or the one bar. Of several on a bar the last counts.",
        ),
        read_sections,
    ),
    "tuning": Entry(
        ('standard, or drop-d: the sixth string a tone lower; "" takes the one that lies better.',),
        read_tuning,
    ),
    "capo": Entry(
        ("The fret of the capo; 0 is none, or the one that lies best where the sounding key must stay.",),
        read_capo,
    ),
    "melody": Entry(
        (
            "The tune: by-level (made simpler where the level asks for it), as-written, or simpler:",
            "nothing shorter than an eighth, no syncopations.",
        ),
        read_melody,
    ),
    "simplify": Entry(
        (f"What may be made simpler in the tune, some of: {', '.join(TREATMENTS)}.",),
        read_treatments,
    ),
    "melody_octave": Entry(
        (
            "The tune so many octaves higher (1) or lower (-1) than in the song.",
            "Left out: where it sings best.",
        ),
        read_octave,
    ),
    "hand_size": Entry(
        ("1.0 is a hand with the stretches of the level; 0.9 stretches a tenth less.",),
        read_hand_size,
    ),
    "same_fingering": Entry(
        ("Bars that come again are played as the first time: true or false.",),
        read_flag,
    ),
    "introduction": Entry(
        ('What stands before the song: "" nothing, "last-phrase", or two bars on the "dominant".',),
        read_introduction,
    ),
    "ending": Entry(
        (
            'The last chord: "" as written, held under a "fermata", a "rolled-chord", or on "harmonics" (advanced).',
        ),
        read_ending,
    ),
    "spell_out": Entry(
        ("Repeats, D.C. and D.S. written out, so that nobody turns back: true or false.",),
        read_flag,
    ),
    "minutes": Entry(
        (
            "How long the piece should last: whole sections are left out or played again.",
            "Left out: as long as the song.",
        ),
        read_minutes,
    ),
    "written_key": Entry(
        ("The key that the song is written in, with its mode. Left out: as the song has it.",),
        read_written_key,
    ),
    "pickup": Entry(
        (
            'What stands before the first full bar, as a note value, or "none"; the barlines move with it.',
            "Left out: as the song has it.",
        ),
        read_pickup,
    ),
    "prices": Entry(
        (
            "What you mind more (a factor above 1) or less (below 1) than usual, by the names that",
            "the report uses.",
        ),
        read_prices,
    ),
    "page": Entry(
        (
            "The page: paper a4 or letter; margin and height of the staff in millimetres; marking clean, normal",
            "or full (how much fingering is printed); staves notation, notation-and-tablature or tablature; and",
            "whether lyrics, chord symbols, chord diagrams and lines for what is held are printed.",
        ),
        read_sheet,
    ),
    "notes": Entry(
        (
            "Notes of the tune that you would have otherwise, one [[notes]] for each: another pitch or length,",
            "a note where none begins, or rest = true for one that is not there.",
        ),
        read_note_changes,
    ),
    "chords": Entry(
        (
            "Chords that you would have otherwise, one [[chords]] for each: from its beat on to the next chord.",
        ),
        read_chord_changes,
    ),
    "locks": Entry(
        (
            "What is settled for the hands, one [[locks]] for each: a note on its string, fret or finger,",
            "a bar's position or chord shape, no barre, a finger that stays free. They are never broken.",
        ),
        read_locks,
    ),
}
EXAMPLES = {
    "notes": ("[[notes]]", "bar = 1", "beat = 1", 'pitch = "F#4"', 'length = "dotted quarter"'),
    "chords": ("[[chords]]", "bar = 1", "beat = 1", 'chord = "Am7"'),
    "sections": ("[[sections]]", "bar = 1", "to_bar = 8", 'texture = "bare"'),
    "locks": ("[[locks]]", "bar = 1", "beat = 1", 'voice = "melody"', "string = 2"),
}
WRITERS: dict[str, Callable[[str, Any], object]] = {
    "page": write_sheet,
    "written_key": write_written_key,
    "pickup": write_pickup,
    "notes": write_note_changes,
    "chords": write_chord_changes,
    "sections": write_sections,
    "locks": write_locks,
}
"""How the entries that are tables or lists of tables are written."""
LEFT_OPEN = {
    "melody_octave": "0",
    "minutes": "2.5",
    "written_key": '"D minor"',
    "pickup": '"quarter"',
}
"""What stands in the comment for an entry that is left out."""
