"""The changes to the melody are what they are said to be, and leave what makes the tune.

What must stay is stated in ``docs/simpler.md`` and checked here on the song and the
arrangement alone, whoever made the change.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain, pairwise

from apoyando.model.arrangement import Arrangement, MelodyChange, Note, Role
from apoyando.model.note_values import name_line
from apoyando.model.phrase import PHRASE_REST, is_long, is_ornament, split_phrases
from apoyando.model.pitch import Pitch
from apoyando.model.song import MelodyNote, Song
from apoyando.model.time import Quarters, Span, Spanned
from apoyando.proofing.certificate import Breach, Witness
from apoyando.proofing.wording import show_breach


@dataclass(frozen=True, slots=True)
class ChangedMelody:
    """The song's melody beside the arrangement's; ``octaves`` is the shift of the whole."""

    arrangement: Arrangement
    song: Song
    octaves: int

    @property
    def notes(self) -> tuple[Note, ...]:
        return tuple(sorted(self.arrangement.voice(Role.MELODY), key=lambda note: note.onset))

    def on_page(self, sung: MelodyNote) -> Pitch:
        """A pitch of the song as the page has it, where no phrase is moved by octaves."""
        pitch = sung.pitch.transposed(self.arrangement.transposition)
        return Pitch(pitch.name, pitch.octave + self.octaves)

    def witness(self, span: Span, breach: Breach, fault: str) -> Witness:
        return show_breach(self.arrangement.bars, breach, span, fault)


@dataclass(frozen=True, slots=True)
class _Stretch:
    """A stretch that is set anew: the song's notes in it by their indices, and what is played."""

    change: MelodyChange
    span: Span
    sung: Mapping[int, MelodyNote]
    played: tuple[Note, ...]

    @property
    def sources(self) -> list[int]:
        """The notes of the song that are played, in the order in which they are."""
        return [note.source for note in self.played if note.source is not None and note.source in self.sung]


def find_false_changes(melody: ChangedMelody) -> Iterator[Witness]:
    """What is wrong with the listed changes.

    A change of octave names the note's pitch and the one that is played. Stretches that are
    set anew do not overlap; each is filled without a rest by notes of its own in their order,
    pitches unchanged, where only rests shorter than those between phrases were, and is listed in the words of ``name_line``. Every phrase keeps its first
    note and when it begins, its last note and when it ends, and its highest and lowest pitch;
    every long note is kept, long, until it ended.
    """
    changes = melody.arrangement.melody_changes
    refolded = frozenset(change.onset for change in changes if change.until is None)
    stretches = list(_stretches(melody))
    return chain(
        chain.from_iterable(_false_octaves(melody, change) for change in changes if change.until is None),
        _overlaps(melody, stretches),
        chain.from_iterable(_false_setting(melody, stretch, refolded) for stretch in stretches),
        _lost_marks(melody) if stretches else (),
    )


def _stretches(melody: ChangedMelody) -> Iterator[_Stretch]:
    """Those of some length; ``prove_report`` shows the others."""
    for change in sorted(melody.arrangement.melody_changes, key=lambda change: change.onset):
        if change.until is not None and change.onset < change.until:
            span = Span(change.onset, change.until)
            sung = {i: note for i, note in enumerate(melody.song.melody) if span.contains(note.onset)}
            yield _Stretch(change, span, sung, tuple(n for n in melody.notes if span.contains(n.onset)))


def _false_octaves(melody: ChangedMelody, change: MelodyChange) -> Iterator[Witness]:
    sung = dict(enumerate(melody.song.melody))
    for note in melody.notes:
        if note.onset == change.onset and note.source in sung:
            wanted = melody.on_page(sung[note.source])
            if note.pitch.name != wanted.name or (change.old, change.new) != (str(wanted), str(note.pitch)):
                fault = (
                    f"{wanted} is played as {note.pitch}, and listed as {change.old} played as {change.new}"
                )
                yield melody.witness(note.span, Breach.MELODY_CHANGE, fault)


def _overlaps(melody: ChangedMelody, stretches: Sequence[_Stretch]) -> Iterator[Witness]:
    for stretch, following in pairwise(stretches):
        if stretch.span.overlaps(following.span):
            fault = f"the change to {stretch.change.new} is not over where {following.change.old} is changed"
            yield melody.witness(following.span, Breach.MELODY_CHANGE, fault)


def _false_setting(
    melody: ChangedMelody, stretch: _Stretch, refolded: frozenset[Quarters]
) -> Iterator[Witness]:
    sources = stretch.sources
    if len(sources) < len(stretch.played) or any(one >= other for one, other in pairwise(sources)):
        fault = "the notes that are played are not some of the song's in their order"
        yield melody.witness(stretch.span, Breach.MELODY_CHANGE, fault)
        return
    for fault in _false_words(melody, stretch):
        yield melody.witness(stretch.span, Breach.MELODY_CHANGE, fault)
    for note, source in zip(stretch.played, sources, strict=True):
        wanted = melody.on_page(stretch.sung[source])
        if note.pitch != wanted and note.onset not in refolded:
            yield melody.witness(note.span, Breach.MELODY_PITCH, f"{note.pitch} is played for {wanted}")


def _false_words(melody: ChangedMelody, stretch: _Stretch) -> Iterator[str]:
    change, played = stretch.change, stretch.played
    sung = [(note, melody.on_page(note)) for note in stretch.sung.values()]
    if any(rest != 0 for rest in _rests(played, stretch.span)):
        yield f"{change.new} does not fill the time of {change.old}"
    if not all(0 <= rest < PHRASE_REST for rest in _rests(tuple(stretch.sung.values()), stretch.span)):
        yield f"{change.old} has a rest, or goes on after the change"
    old = name_line([(note.span, pitch) for note, pitch in sung], stretch.span.offset)
    if change.old != old:
        yield f"{change.old} is listed as changed, the song has {old}"
    pitches = [melody.on_page(stretch.sung[source]) for source in stretch.sources]
    spans = [note.span for note in played]
    new = name_line(zip(spans, pitches, strict=True), stretch.span.offset)
    if change.new != new:
        yield f"{change.new} is listed as played, the piece has {new}"


def _rests(notes: Sequence[Spanned], span: Span) -> list[Quarters]:
    """The time between a stretch's notes in order, and before and after them; negative where they overlap."""
    edges = [span.onset, *(edge for note in notes for edge in (note.onset, note.offset)), span.offset]
    return [after - before for before, after in zip(edges[::2], edges[1::2], strict=True)]


def _lost_marks(melody: ChangedMelody) -> Iterator[Witness]:
    """What every phrase keeps, looked at in all phrases of the song."""
    played = {note.source: note for note in melody.notes if note.source is not None}
    first = 0
    for phrase in split_phrases(melody.song.melody):
        indices = range(first, first + len(phrase))
        first += len(phrase)
        kept = {index: played[index] for index in indices if index in played}
        for sung, mark in _lost_in_phrase(dict(zip(indices, phrase, strict=True)), kept):
            fault = f"{melody.on_page(sung)}, {mark}, does not stay"
            yield melody.witness(sung.span, Breach.MELODY_CARRIED, fault)


def _lost_in_phrase(phrase: dict[int, MelodyNote], kept: dict[int, Note]) -> Iterator[tuple[MelodyNote, str]]:
    begin, end = min(phrase), max(phrase)
    if begin not in kept or kept[begin].onset != phrase[begin].onset:
        yield phrase[begin], "the first note of its phrase"
    if end not in kept or kept[end].offset != phrase[end].offset:
        yield phrase[end], "the last note of its phrase"
    for index, sung in phrase.items():
        if is_long(sung) and not (index in kept and _is_as_long(kept[index], sung)):
            yield sung, "a long note"
    line = {i: sung for i, sung in phrase.items() if i in {begin, end} or not is_ornament(sung)}
    left = {sung.pitch.midi for index, sung in line.items() if index in kept}
    for extreme, mark in ((max, "the highest note of its phrase"), (min, "the lowest note of its phrase")):
        sung = extreme(line.values(), key=lambda each: each.pitch.midi)
        if sung.pitch.midi not in left:
            yield sung, mark


def _is_as_long(note: Note, sung: MelodyNote) -> bool:
    return is_long(note) and note.offset == sung.offset
