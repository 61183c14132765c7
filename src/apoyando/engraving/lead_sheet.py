"""A lead sheet as its own page: melody and chord symbols, as they were understood.

It stands in the guitar's clef an octave below the song, so that it looks as the song does.
"""

from fractions import Fraction

from apoyando.model.arrangement import MELODY_ALONE, Arrangement, Note, Role, SearchSummary
from apoyando.model.hand import Finger
from apoyando.model.instrument import OPEN, STANDARD_TUNING, STRINGS, Place
from apoyando.model.pitch import Interval
from apoyando.model.song import DEFAULT_TEMPO_QUARTERS_PER_MINUTE, MelodyNote, Song

_OCTAVE_LOWER = Interval(0, -12)
_NOWHERE = Place(STRINGS[0], OPEN)
"""A lead sheet says nothing of strings and fingers; none are printed."""


def lay_melody(song: Song) -> Arrangement:
    """The song as a page of one voice, for the engraver alone: it cannot be played from its places."""
    return Arrangement(
        title=song.title,
        composer=song.composer,
        lyricist=song.lyricist,
        rights=song.rights,
        key=song.key,
        transposition=_OCTAVE_LOWER,
        tuning=STANDARD_TUNING,
        capo=0,
        level="",
        texture=MELODY_ALONE,
        tempo_quarters_per_minute=Fraction(
            song.tempo_quarters_per_minute or DEFAULT_TEMPO_QUARTERS_PER_MINUTE
        ),
        tempo_words=song.tempo_words,
        bars=song.bars,
        notes=tuple(_lay_note(index, note) for index, note in enumerate(song.melody)),
        barres=(),
        harmony=song.harmony,
        search=SearchSummary(0.0, 0.0, is_optimal=True),
    )


def _lay_note(index: int, note: MelodyNote) -> Note:
    return Note(
        role=Role.MELODY,
        span=note.span,
        pitch=note.pitch.transposed(_OCTAVE_LOWER),
        place=_NOWHERE,
        finger=Finger.OPEN,
        source=index,
        lyrics=note.lyrics,
        has_fermata=note.has_fermata,
    )
