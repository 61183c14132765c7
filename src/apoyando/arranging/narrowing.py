"""What each note of the plot may still be, once the player's locks are on it.

A note that the player asks for is let in though the level would not have it; what cannot be had is told.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from apoyando.arranging.assembly import spell_in_chord
from apoyando.arranging.lock_places import VOICE_NAMES, entries_there, list_candidates, list_onsets, misplaced
from apoyando.arranging.plot import Plot, melody_floor
from apoyando.arranging.posed import PosedSong
from apoyando.arranging.setting import Setting
from apoyando.arranging.texture import BassDue, InnerDue
from apoyando.arranging.voices import telling_bits
from apoyando.fingering import Candidate, NoWayError
from apoyando.model.arrangement import Role
from apoyando.model.chord_text import write_chord_symbol
from apoyando.model.hand import FINGERS, Finger
from apoyando.model.harmony import Chord, chord_tones
from apoyando.model.instrument import Fret, Place, StringNumber
from apoyando.model.locks import Lock, NoteLock, PositionLock, ShapeLock
from apoyando.model.pitch import Pitch, PitchName
from apoyando.model.time import Span

Entry = tuple[Role, int]
"""A note of the plot: its voice, and its index among the entries of that voice."""

Narrowed = dict[Entry, tuple[Candidate, ...]]
"""What the entries that a lock touches may still be."""

Placed = tuple[Lock, Span]


def narrow_notes(posed: PosedSong, placed: Sequence[Placed], at: Mapping[NoteLock, Entry]) -> Narrowed:
    """What the locks leave of the notes that they touch. ``at`` has the note of each lock that strikes one.

    Raises UsageError for a lock that names what is not there, and NoWayError where locks leave a note no choice.
    """
    narrowed: Narrowed = {}
    _free_the_tune(posed, placed, at, narrowed)
    _reach_positions(posed, placed, narrowed)
    _narrow_to_notes(posed, at, narrowed)
    _narrow_to_shapes(posed, placed, narrowed)
    _silence(posed, placed, at, narrowed)
    _check_left(narrowed, set(at.values()))
    return narrowed


@dataclass(frozen=True, slots=True)
class _Way:
    """How a note is to be sounded; None where any will do."""

    string: StringNumber | None = None
    fret: Fret | None = None
    finger: Finger | None = None

    def allows(self, place: Place) -> bool:
        if self.finger is not None and (self.finger is Finger.OPEN) != place.is_open:
            return False
        return self.string in {None, place.string} and self.fret in {None, place.fret}


def _narrow(candidates: Iterable[Candidate], ways: Sequence[_Way], setting: Setting) -> tuple[Candidate, ...]:
    """The candidates as far as they can be sounded in one of the ways: one for each way."""
    narrowed = [
        _narrow_one(candidate, way, places)
        for candidate in candidates
        for places in [setting.tuning.places(candidate.note, setting.last_fret)]
        for way in ways
    ]
    return tuple(candidate for candidate in narrowed if candidate)


def _narrow_one(candidate: Candidate, way: _Way, places: Iterable[Place]) -> Candidate | None:
    highest = max(candidate.highest_fret, way.fret or 0)
    allowed = [place.string for place in places if place.fret <= highest and way.allows(place)]
    strings = tuple(string for string in allowed if not candidate.strings or string in candidate.strings)
    fingers = candidate.fingers if way.finger is None else (way.finger,)
    if not strings or (candidate.fingers and not set(fingers) <= set(candidate.fingers)):
        return None
    return replace(candidate, strings=strings, fingers=fingers, highest_fret=highest)


def _left(posed: PosedSong, narrowed: Narrowed, entry: Entry) -> tuple[Candidate, ...]:
    """What an entry may be, as far as it has been narrowed."""
    voice, index = entry
    return narrowed[entry] if entry in narrowed else list_candidates(posed.plot, voice)[index]


def _due(plot: Plot, entry: Entry) -> BassDue | InnerDue:
    voice, index = entry
    return plot.bass[index][0] if voice is Role.BASS else plot.inner[index][0]


def _entries_in(posed: PosedSong, span: Span, voices: Iterable[Role]) -> list[Entry]:
    """The notes that begin in a span."""
    return [
        (voice, index)
        for voice in voices
        for index, onset in enumerate(list_onsets(posed.plot, voice))
        if span.contains(onset)
    ]


def _free_the_tune(
    posed: PosedSong, placed: Iterable[Placed], at: Mapping[NoteLock, Entry], narrowed: Narrowed
) -> None:
    """Where the player names a place the tune may lie as high as it must, whatever the level."""
    spans = [_span_of(posed.plot, entry) for entry in at.values()]
    spans += [span for lock, span in placed if isinstance(lock, PositionLock | ShapeLock)]
    for index, note in enumerate(posed.plot.melody):
        if any(note.span.overlaps(span) for span in spans):
            narrowed[Role.MELODY, index] = tuple(
                replace(candidate, highest_fret=posed.setting.last_fret)
                for candidate in posed.plot.sung[index]
            )


def _span_of(plot: Plot, entry: Entry) -> Span:
    voice, index = entry
    return plot.melody[index].span if voice is Role.MELODY else _due(plot, entry).span


def _reach_positions(posed: PosedSong, placed: Iterable[Placed], narrowed: Narrowed) -> None:
    """In a position that the player names all four fingers may press, whatever the level's highest fret."""
    for lock, span in placed:
        if isinstance(lock, PositionLock):
            highest = min(lock.position + len(FINGERS) - 1, posed.setting.last_fret)
            for entry in _entries_in(posed, span, (Role.BASS, Role.INNER)):
                narrowed[entry] = tuple(
                    replace(candidate, highest_fret=max(candidate.highest_fret, highest))
                    for candidate in _left(posed, narrowed, entry)
                )


def _narrow_to_notes(posed: PosedSong, at: Mapping[NoteLock, Entry], narrowed: Narrowed) -> None:
    """First every pitch that is asked for is let in, so that the order of the locks does not matter."""
    for lock, entry in at.items():
        narrowed[entry] = _with_asked_for(posed, lock, entry, _left(posed, narrowed, entry))
    for lock, entry in at.items():
        narrowed[entry] = _narrow(narrowed[entry], (_way_of(lock),), posed.setting)


def _way_of(lock: NoteLock) -> _Way:
    return _Way(lock.string, lock.fret, lock.finger)


def _narrow_to_shapes(posed: PosedSong, placed: Iterable[Placed], narrowed: Narrowed) -> None:
    """All that the accompaniment strikes comes from the shape; what cannot is left out."""
    for lock, span in placed:
        if isinstance(lock, ShapeLock):
            ways = [_Way(place.string, place.fret, finger) for place, finger in lock.stops]
            entries = _entries_in(posed, span, Role)
            playable = [entry for entry in entries if _is_playable(posed, entry, ways)]
            if not any(voice.is_accompaniment for voice, _ in playable):
                raise misplaced(lock, _unplayable(posed, lock, entries))
            for entry in entries:
                if entry[0].is_accompaniment or entry in playable:
                    left = _left(posed, narrowed, entry)
                    narrowed[entry] = _narrow(left, ways, posed.setting)


def _silence(
    posed: PosedSong, placed: Iterable[Placed], at: Mapping[NoteLock, Entry], narrowed: Narrowed
) -> None:
    """Of notes struck together those are left out that no other lock wants to be struck."""
    for lock, _ in placed:
        if isinstance(lock, NoteLock) and lock.is_silent:
            there = [(lock.voice, entry) for entry in entries_there(posed.plot, posed.song, lock)]
            unasked = [entry for entry in there if entry not in at.values()]
            for entry in unasked or there:
                narrowed[entry] = ()


def _is_playable(posed: PosedSong, entry: Entry, ways: Sequence[_Way]) -> bool:
    voice, index = entry
    return bool(_narrow(list_candidates(posed.plot, voice)[index], ways, posed.setting))


def _check_left(narrowed: Narrowed, locked: set[Entry]) -> None:
    """Raises NoWayError where a note must sound and no way to sound it is left."""
    for (voice, index), candidates in narrowed.items():
        if not candidates and (voice is Role.MELODY or (voice, index) in locked):
            raise NoWayError(f"the locks leave no way to sound note {index} of the {VOICE_NAMES[voice]}")


# A pitch that the player asks for, and what is said where it cannot be had.


def _with_asked_for(
    posed: PosedSong, lock: NoteLock, entry: Entry, candidates: tuple[Candidate, ...]
) -> tuple[Candidate, ...]:
    """The candidates, and the note at the place that is named if it is none of them. Raises UsageError."""
    if _narrow(candidates, (_way_of(lock),), posed.setting):
        return candidates
    voice, index = entry
    if voice is Role.MELODY:
        raise misplaced(lock, _name_melody_places(posed, lock, index))
    due = _due(posed.plot, entry)
    if lock.string is None or lock.fret is None:
        raise misplaced(lock, _name_choice(voice, due.chord, candidates))
    place = Place(lock.string, lock.fret)
    return (*candidates, _ask_for(posed, lock, place, due))


def _ask_for(posed: PosedSong, lock: NoteLock, place: Place, due: BassDue | InnerDue) -> Candidate:
    """A tone of the chord outside its voice's usual register. Its price is 0: it is not ours to judge."""
    midi = posed.setting.tuning.note_at(place)
    tones = {tone.name.pitch_class: str(tone.name) for tone in chord_tones(due.chord)}
    if midi % 12 not in tones:
        told = f"{place} gives {_spell(posed, midi)}, which is no tone of {write_chord_symbol(due.chord)}"
        raise misplaced(lock, f"{told} ({', '.join(tones.values())}).")
    floor = melody_floor(posed.plot, due.span)
    if midi >= floor:
        told = f"{place} gives {_spell(posed, midi)}, which is not below the melody's {_spell(posed, floor)}"
        raise misplaced(lock, f"{told}.")
    fills = telling_bits(due.chord).get(midi % 12, 0)
    return Candidate(note=midi, fills=fills, highest_fret=lock.fret or 0)


def _name_melody_places(posed: PosedSong, lock: NoteLock, index: int) -> str:
    pitch = posed.plot.melody[index].pitch
    places = ", ".join(map(str, posed.setting.tuning.places(pitch.midi, posed.setting.last_fret)))
    fingers = "; finger 0 is for an open string only" if lock.finger is not None else ""
    return f"the melody has {pitch} there, which lies on {places}{fingers}."


def _name_choice(voice: Role, chord: Chord, candidates: Iterable[Candidate]) -> str:
    pitches = ", ".join(str(spell_in_chord(chord, candidate.note)) for candidate in candidates)
    highest = max(candidate.highest_fret for candidate in candidates)
    told = (
        f"over {write_chord_symbol(chord)} the {VOICE_NAMES[voice]} may take {pitches}, up to fret {highest}"
    )
    return f"{told}, and none of them lies so. To go beyond write both string and fret."


def _unplayable(posed: PosedSong, lock: ShapeLock, entries: Sequence[Entry]) -> str:
    accompaniment = [entry for entry in entries if entry[0].is_accompaniment]
    chords = {write_chord_symbol(_due(posed.plot, entry).chord) for entry in accompaniment}
    if not chords:
        return "no accompaniment is struck there."
    sounds = ", ".join(str(_spell(posed, posed.setting.tuning.note_at(place))) for place, _ in lock.stops)
    return f"it sounds {sounds}, and none of them can be struck there under the melody ({', '.join(sorted(chords))})."


def _spell(posed: PosedSong, midi: int) -> Pitch:
    """A note's name in the key: from a flat on its second degree to a sharp on its fourth."""
    fifths = posed.song.key.fifths
    names = map(PitchName.from_fifths, range(fifths - 5, fifths + 7))
    return Pitch.at(next(name for name in names if name.pitch_class == midi % 12), midi)
